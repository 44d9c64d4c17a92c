"""Blank sheets to fill in by hand, numbered as the fields of the record. Layer: service.report."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from service.report.document import Block, Cell, Column, Section, Table, Words
from service.report.incline_sections import READINGS, label_of
from service.report.numbers import Printer
from service.report.survey_sections import contents
from service.report.values import Values

ROW_MM = 9.5
SPARE_FREEBOARDS, SPARE_ITEMS, SPARE_TANKS, SPARE_WEIGHTS = 10, 13, 4, 2
USUAL_MOVES = 8
INSTRUMENT_COLUMNS = 3
SAMPLES, MARKS, DIFFERENCES = 6, 5, 3
SURVEYED = frozenset({"freeboard_m", "draft_m", "sounding_m", "ullage_m"})
"""Lengths that are written in feet, inches and eighths in US units."""
CONDITIONS = (
    "wind, speed and direction",
    "current, tide, waves",
    "lines, gangway, fenders",
    "depth of water under her",
    "persons aboard at each reading, and where",
    "liquids that could move, valves shut",
    "who was present",
)


@dataclass(frozen=True)
class Known:
    """What is known before the day and printed into the sheets; everything else stays blank."""

    printer: Printer
    vessel: str = ""
    day: str = ""
    stations: Sequence[Values] = ()
    weights: Sequence[Values] = ()
    moves: Sequence[Values] = ()
    """Planned moves: weight and to_y_m."""
    instruments: Sequence[Values] = ()
    tanks: Sequence[Values] = ()
    items: Sequence[Values] = field(default=())


def field_sheets(known: Known) -> tuple[Section, ...]:
    """Return the sheets, each on a page of its own."""
    return (
        _sheet("conditions and water", known, (_conditions(), _samples(known))),
        _sheet("freeboards and draft marks", known, (_freeboards(known), _marks(known))),
        _sheet("weights", known, (_weights(known),)),
        *(_sheet(f"moves and readings {i}", known, (one,)) for i, one in enumerate(_readings(known), start=1)),
        _sheet("tanks", known, (_tanks(known),)),
        _sheet("add, remove and relocate", known, (_items(known), _differences(known))),
    )


def _sheet(title: str, known: Known, tables: tuple[Table, ...]) -> Section:
    heads = tuple(Column(words) for words in ("vessel", "day", "filled in by", "from – to"))
    head = Table(heads, ((known.vessel[:60] or None, known.day or None, None, None),), row_height_mm=ROW_MM)
    words = Words("The first column is the place in the record that the row keys into; leave blank what was not read.")
    blocks: tuple[Block, ...] = (head, words, *tables)
    return Section(f"Field sheet: {title}", blocks, new_page=True)


def _by_hand(heads: Sequence[Column], rows: Sequence[Sequence[Cell]], caption: str) -> Table:
    """Return a table with its rows filled up with blanks."""
    full = tuple((*row, *(None for _ in range(len(heads) - len(row)))) for row in rows)
    return Table((Column("place", share=1.3), *heads[1:]), full, caption, row_height_mm=ROW_MM)


def _columns(known: Known, *heads: tuple[str, str], first: str = "place") -> list[Column]:
    """Return heads with units by the names of the record's fields."""
    unit = known.printer.unit
    return [
        Column(first),
        *(Column(words, unit(name, surveyed=name in SURVEYED) if name else "") for words, name in heads),
    ]


def _conditions() -> Table:
    heads = [Column("what"), Column("at the survey", share=1.6), Column("at the incline", share=1.6)]
    rows = tuple((one, None, None) for one in CONDITIONS)
    return Table((Column("what", share=1.5), *heads[1:]), rows, "Conditions of the day", row_height_mm=ROW_MM)


def _samples(known: Known) -> Table:
    heads = _columns(
        known,
        ("where, how deep", ""),
        ("density", "density_t_per_m3"),
        ("temperature", "temperature_c"),
        ("hydrometer", ""),
        ("time", ""),
    )
    return _by_hand(heads, [(f"water/samples/{i}",) for i in range(SAMPLES)], "Water")


def _freeboards(known: Known) -> Table:
    heads = _columns(
        known,
        ("x", "x_m"),
        ("y", "y_m"),
        ("measured from z", "reference_z_m"),
        ("freeboard", "freeboard_m"),
        ("again", "freeboard_m"),
        ("time", ""),
    )
    rows: list[tuple[Cell, ...]] = [
        (f"freeboards/{i}", one.number("x_m"), one.number("y_m"), one.number("reference_z_m"))
        for i, one in enumerate(known.stations)
    ]
    rows = rows or [(f"freeboards/{i}",) for i in range(SPARE_FREEBOARDS)]
    return _by_hand(heads, rows, "Freeboards: the tape plumb, from the very point whose z is given, down to the water")


def _marks(known: Known) -> Table:
    heads = _columns(
        known,
        ("mark", ""),
        ("x", "x_m"),
        ("y", "y_m"),
        ("z of its zero", "zero_z_m"),
        ("draft", "draft_m"),
        ("time", ""),
    )
    return _by_hand(heads, [(f"draft_marks/{i}",) for i in range(MARKS)], "Draft marks")


def _weights(known: Known) -> Table:
    heads = _columns(
        known,
        ("weight", ""),
        ("mass", "mass_t"),
        ("certificate", ""),
        ("x measured", "x_m"),
        ("y measured", "y_m"),
        ("z measured", "z_m"),
    )
    rows: list[tuple[Cell, ...]] = [
        (f"weights/{i}", one.text("id"), one.number("mass_t", decimals=3), one.text("certificate") or None)
        for i, one in enumerate(known.weights)
    ]
    rows += [(f"weights/{i}",) for i in range(len(rows), len(rows) + SPARE_WEIGHTS)]
    return _by_hand(heads, rows, "Weights as placed at reading 0: the centre of each, measured on deck")


def _readings(known: Known) -> list[Table]:
    """Return one table for every few columns of instruments, with all readings."""
    columns = [
        (f"instruments/{j}/{field}", f"{label_of(j, one.text('id'))}, {words}", field)
        for j, one in enumerate(known.instruments)
        for field, words in READINGS.get(one.text("kind"), ())
    ] or [(f"instruments/{j}/deflections_m", f"{j + 1}", "deflections_m") for j in range(INSTRUMENT_COLUMNS)]
    moves = [one for one in known.moves if one.text("weight")]
    count = len(moves) or USUAL_MOVES
    tables = []
    for start in range(0, len(columns), INSTRUMENT_COLUMNS):
        part = columns[start : start + INSTRUMENT_COLUMNS]
        heads = [
            Column("place", share=0.9),
            Column("weight", share=1.0),
            Column("planned to y", known.printer.unit("y_m"), share=0.8),
            Column("to y measured", known.printer.unit("y_m"), share=0.9),
            *(Column(f"{words} ({place})", known.printer.unit(name), share=1.3) for place, words, name in part),
            Column("time", share=0.7),
        ]
        rows: list[tuple[Cell, ...]] = [("reading 0", "before any move")]
        for k in range(count):
            made = moves[k] if k < len(moves) else None
            planned = None if made is None else made.number("to_y_m")
            rows.append((f"moves/{k}, reading {k + 1}", None if made is None else made.text("weight"), planned))
        full = tuple((*row, *(None for _ in range(len(heads) - len(row)))) for row in rows)
        words = "Write the reading itself, untouched; cross out, never rub out"
        tables.append(Table(tuple(heads), full, words, row_height_mm=ROW_MM))
    return tables


def _tanks(known: Known) -> Table:
    heads = _columns(
        known,
        ("tank", ""),
        ("planned", ""),
        ("sounding", "sounding_m"),
        ("ullage", "ullage_m"),
        ("density", "density_t_per_m3"),
        ("temperature", "temperature_c"),
        ("time", ""),
    )
    rows: list[tuple[Cell, ...]] = [
        (f"tanks/{i}", one.text("name"), _planned(one)) for i, one in enumerate(known.tanks)
    ]
    rows += [(f"tanks/{i}",) for i in range(len(rows), len(rows) + SPARE_TANKS)]
    return _by_hand(heads, rows, "Tanks: sounding or ullage, never both; empty ones opened and seen")


def _planned(tank: Values) -> str | None:
    condition = tank.text("condition") or tank.text("state")
    fill = tank.value("fill_percent")
    if condition == "slack" and fill is not None:
        return f"slack, {fill:.0f} %"
    return condition or (contents(tank) if tank.below("contents") else None)


def _items(known: Known) -> Table:
    heads = _columns(
        known,
        ("item", ""),
        ("remove, add or relocate", ""),
        ("mass", "mass_t"),
        ("x", "x_m"),
        ("y", "y_m"),
        ("z", "z_m"),
        ("belongs at (to)", ""),
    )
    rows: list[tuple[Cell, ...]] = [
        (f"items/{i}", one.text("name"), one.text("action")) for i, one in enumerate(known.items)
    ]
    rows += [(f"items/{i}",) for i in range(len(rows), len(rows) + SPARE_ITEMS)]
    return _by_hand(
        heads, rows, "remove: aboard, not lightship; add: lightship, not aboard; relocate: aboard elsewhere"
    )


def _differences(known: Known) -> Table:
    heads = _columns(
        known, ("what came aboard (+) or went (−)", ""), ("mass", "mass_t"), ("x", "x_m"), ("y", "y_m"), ("z", "z_m")
    )
    rows = [(f"survey_differences/{i}",) for i in range(DIFFERENCES)]
    return _by_hand(heads, rows, "Between the reading of the freeboards and reading 0")
