"""The documented list of causes, the traces they leave, and what to do on deck. Layer: engine.diagnosis.

Causes that leave the same trace form one class. ``docs/methods/diagnosis.md`` holds the same list.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

CAUSES = {
    "reading-misread": "one reading of one instrument was misread or miswritten",
    "digit-slipped": "a digit of one reading slipped: the shift is a round amount",
    "reading-sign": "one reading was written on the wrong side of reading 0",
    "reading-repeated": "one reading repeats the one before it",
    "instrument-hung": "the instrument hung or had not settled",
    "readings-swapped": "two readings that follow one another were written in each other's place",
    "bob-aground": "the bob was aground or the wire rubbed the batten",
    "tube-held-up": "the water of the tube was held up: air, a kink, or a leg run full or empty",
    "end-of-range": "the instrument came to the end of its range",
    "instrument-reversed": "the side to which the instrument's readings grow is stated the wrong way round",
    "instrument-length": "the instrument's length, spread or scale is wrong",
    "mooring-fender-or-bottom": "a mooring line, a fender or the bottom took part of the heel",
    "gust": "a gust, a swell or a passing wash held her over",
    "people-out-of-place": "people were not at their stations",
    "wind-after-zero": "a steady wind or current set in after reading 0",
    "zero-disturbed": "reading 0 itself was disturbed",
    "lasting-shift": "something aboard shifted, or the wind changed, and stayed so",
    "drift-of-liquid": "liquid was crossing, being pumped or used",
    "drift-of-tide": "the tide or a tightening line turned her slowly",
    "slow-to-settle": "readings lag behind the moves: lines creep, or she was read before she settled",
    "weight-mass": "a weight's mass is wrong, or another weight was moved",
    "weight-arm": "a weight did not stand where it was logged",
    "move-wrong-side": "a move was logged to the wrong side of the centreline",
    "first-place-off": "where a weight lay before its first move was entered off by a length",
    "first-place-wrong-side": "where a weight lay before its first move was entered on the wrong side",
    "shift-or-place": "something shifted for good just when a weight was moved, or a place of that weight is off",
    "pocketing-liquid": "a shallow or nearly full tank pockets: its free surface changes as she heels",
    "knuckle-or-flare": "flare, a knuckle or a strong BM bends the line: the hull's form, not a fault",
    "readings-coarse": "the readings were rounded to coarser steps than their stated uncertainty",
}
"""Code and sentence of every cause an incline may show."""


class Trace(NamedTuple):
    """A class of causes with one trace.

    Attributes
    ----------
    members : tuple of str
        Causes that leave it.
    action : str
        What to do on deck.
    separate : str
        The measurement that tells the members apart.
    of : mapping
        The same for an instrument of another kind than a pendulum: ``UTube``, ``Inclinometer``.
    """

    members: tuple[str, ...]
    action: str
    separate: str
    of: Mapping[str, "Trace"] = MappingProxyType({})


TRACES = {
    "one-reading": Trace(
        ("reading-misread", "digit-slipped", "reading-sign", "reading-repeated", "bob-aground", "instrument-hung"),
        "Read this instrument again before the next move; keep both readings.",
        "A second reader, and a look at bob, trough and batten: a misread reading changes, a bob aground does not.",
        of={
            "UTube": Trace(
                (
                    "reading-misread",
                    "digit-slipped",
                    "reading-sign",
                    "reading-repeated",
                    "tube-held-up",
                    "instrument-hung",
                ),
                "Read both legs again before the next move; keep both readings.",
                "A second reader, and a look along the tube for air: a misread level changes, one held up does not.",
            ),
            "Inclinometer": Trace(
                (
                    "reading-misread",
                    "digit-slipped",
                    "reading-sign",
                    "reading-repeated",
                    "end-of-range",
                    "instrument-hung",
                ),
                "Read this instrument again before the next move; keep both readings.",
                "A second reader, and its range: a misread angle changes.",
            ),
        },
    ),
    "readings-swapped": Trace(
        ("readings-swapped",), "Compare the observer's own sheet with the log.", "The observer's own sheet."
    ),
    "instrument-reversed": Trace(
        ("instrument-reversed",),
        "Ask which way its readings grow when she heels to starboard, and correct that entry only.",
        "The next move: to which side does it go?",
        of={
            "UTube": Trace(
                ("instrument-reversed",),
                "Ask which leg is to port, and correct that entry only.",
                "The next move: in which leg does the water rise?",
            ),
        },
    ),
    "instrument-length": Trace(
        ("instrument-length",),
        "Measure pivot to batten again, in metres, and ask in which unit the batten was read.",
        "The length, by a second tape; the batten's own figures.",
        of={
            "UTube": Trace(
                ("instrument-length",),
                "Measure the spread of the legs again, square to the centreline, in metres, and ask in which unit the "
                "levels were read.",
                "The spread, by a second tape; the scale's own figures.",
            ),
            "Inclinometer": Trace(
                ("instrument-length",),
                "Ask in which unit it shows angles, and when it was calibrated.",
                "A known angle, by a wedge.",
            ),
        },
    ),
    "bob-aground": Trace(
        ("bob-aground",),
        "Look at bob, trough and batten at the largest heel; free it and read those plateaus again.",
        "Swing the bob by hand at the largest heel.",
        of={
            "UTube": Trace(
                ("tube-held-up",),
                "Look along the tube for air and kinks, and whether a leg ran full or empty at the largest heel; read "
                "those plateaus again.",
                "Lift one end of the tube: the levels must follow at once.",
            ),
            "Inclinometer": Trace(
                ("end-of-range",),
                "Look up the range of the instrument, and leave the plateaus beyond it to the others.",
                "Its range, by the maker's sheet.",
            ),
        },
    ),
    "restraint": Trace(
        ("mooring-fender-or-bottom",),
        "Slack all lines, clear the fenders, sound all round, and repeat the moves to that side.",
        "Soundings along the low side; the lines' slack at the largest heel; the tide table.",
    ),
    "one-move": Trace(
        ("gust", "people-out-of-place", "mooring-fender-or-bottom"),
        "Call everyone to stations, look at lines and wind, and repeat the reading on all instruments.",
        "Repeat the reading with no wind, people counted at their stations: a gust is gone, a restraint is not.",
    ),
    "first-place": Trace(
        ("first-place-off", "first-place-wrong-side"),
        "Ask where the weight lay before its first move, and correct that entry of the record.",
        "A tape over the spot where it lay, or the deck sheet; set down there again, reading 0 comes back but for what "
        "else was moved: a shift that stays is none of its place.",
    ),
    "after-zero": Trace(
        ("wind-after-zero", "zero-disturbed"),
        "No repeat needed for GM: the slope does not use the zero alone. Bring all weights home and read a zero again.",
        "A second zero: a steady wind keeps it off the first, a disturbed reading 0 does not agree with either.",
    ),
    "lasting-shift": Trace(
        ("lasting-shift", "people-out-of-place", "drift-of-liquid", "mooring-fender-or-bottom"),
        "Find what moved: people, loose gear, a pump, a line; then read a zero again.",
        "The zeros before and after, and the soundings of slack tanks.",
    ),
    "drift": Trace(
        ("drift-of-liquid", "drift-of-tide"),
        "Stop pumps and transfers, close cross-connections, sound the slack tanks, look at the lines; then repeat.",
        "Soundings before and after show liquid; the zero follows the tide with the tanks unchanged.",
    ),
    "direction": Trace(
        ("slow-to-settle",),
        "Wait longer after each move, slack the lines, and repeat.",
        "Two readings of the same plateau, ten minutes apart.",
    ),
    "weight-moment": Trace(
        ("weight-mass", "weight-arm", "people-out-of-place"),
        "Look at the weight's number and place; measure the distance moved from centre to centre.",
        "Tape the place (arm), then weigh the weight (mass).",
    ),
    "wrong-side": Trace(
        ("move-wrong-side",),
        "Look where the weight stands, and correct that entry of the log only.",
        "Where the weight stands now, or the deck sheet.",
    ),
    "curvature": Trace(
        ("pocketing-liquid", "mooring-fender-or-bottom"),
        "Sound the slack tanks for shallow or nearly full liquid, and the bottom on both sides; empty or press up, "
        "then repeat all moves.",
        "Tank soundings (pocketing) against soundings under the bilges (bottom touched on both sides).",
    ),
    "quantised": Trace(
        ("readings-coarse",),
        "Read to the nearest half millimetre, or fit a longer pendulum.",
        "The batten's finest division.",
        of={
            "UTube": Trace(
                ("readings-coarse",),
                "Read the levels to the nearest half millimetre, or set the legs farther apart.",
                "The scale's finest division.",
            ),
            "Inclinometer": Trace(
                ("readings-coarse",),
                "Read to the nearest hundredth of a degree, or use another instrument.",
                "Its last digit.",
            ),
        },
    ),
}
"""What each trace means; where a U-tube or an inclinometer leaves it, by its own causes and words."""

GM_MOVES = (
    "GM moves with it: use neither GM before this is settled. Ask where the weight moved first lay at reading 0, look "
    "at lines and wind, bring all weights home and read a zero again."
)
"""What to do where a shift after reading 0 moves GM by more than the scatter explains."""


def trace_of(name: str, kind: str = "") -> Trace:
    """Return what a trace means for an instrument: ``UTube``, ``Inclinometer``, any other as for a pendulum."""
    trace = TRACES[name]
    return trace.of.get(kind, trace)


CLASS_OF = {"reading-sign": "one-reading", "reading-repeated": "one-reading", "named-length": "instrument-length"}
"""Candidates of a given size within a class; the size tells the member."""
