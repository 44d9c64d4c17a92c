"""From a table of offsets to a solid. Layer: engine.geometry.

A station gives ``points_m``, one line of (y, z) points, and ``loops_m``, any number of closed loops.

- *Half* tables (the default where no y is below 0) are mirrored in the centreline. ``points_m`` runs along the port
  side between keel and deck edge, either way, and goes straight across to the other side at both ends. A closed
  loop (in ``loops_m``, or ``points_m`` with its first point repeated at the end) is mirrored as a second loop: the
  other hull of a catamaran; but one with an edge on the centreline is opened there and the two halves joined.
- *Full* tables (the default where some y is below 0) are taken as they are; ``points_m`` is closed by its first
  point. Loops may run either way; a loop inside another one is a hole.
- Two entries with the same x, one after the other, are the two sides of a break.
- ``points_m`` counts as the first loop. Loops are matched from station to station in the order given.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, points
from engine.errors import InputError
from engine.findings import Finding
from engine.geometry.contour import ROUND, Contour
from engine.geometry.section_curve import curve_through
from engine.geometry.section_solid import SectionSolid
from engine.geometry.unfair_points import unfair_points

Lines = Literal["straight", "curve"]
Symmetry = Literal["full", "half"]


@dataclass(frozen=True, eq=False)
class OffsetStation:
    """One entry of the table.

    Attributes
    ----------
    x_m : float
        Forward of the aft perpendicular. [m]
    points_m : (m, 2) array_like
        Line of y and z; may be empty where ``loops_m`` is given. [m]
    knuckles : sequence of int
        Numbers of the points of ``points_m`` where a curve breaks.
    loops_m : sequence of (m, 2) array_like
        Closed loops, the first point repeated at the end or not. [m]
    """

    x_m: float
    points_m: ArrayLike = ()
    knuckles: Sequence[int] = ()
    loops_m: Sequence[ArrayLike] = ()


@dataclass(frozen=True, eq=False)
class OffsetsInput:
    """The solid and what was noticed about its data."""

    solid: SectionSolid
    findings: tuple[Finding, ...]


@dataclass(frozen=True, eq=False)
class _Line:
    """A line of points as given, without a closing point."""

    field: str
    points_m: Floats
    closed: bool
    knuckles: tuple[int, ...]


def solid_from_offsets(
    stations: Sequence[OffsetStation], *, between_points: Lines = "straight", symmetry: Symmetry | None = None
) -> OffsetsInput:
    """Build a solid from a table of offsets.

    Parameters
    ----------
    stations : sequence of OffsetStation
        Ascending or descending in x.
    between_points : "straight" or "curve"
        Straight lines between points, or fair curves (``section_curve``) broken at knuckles. The line that closes a
        section is straight.
    symmetry : "half", "full" or None
        None: half where no y is below 0.

    Raises
    ------
    InputError
        "too-few-stations", "stations-not-ascending" (x goes up and down), "station-repeated", "no-length",
        "too-few-points" (a single point may stand for the first or last station only), "wrong-shape", "not-finite",
        "knuckle-out-of-range", "half-crosses-centreline" (y < 0 in a half table), "section-crosses-itself".

    Notes
    -----
    Findings: "stations-descending", "mirrored-off-centreline" (loops clear of the centreline were mirrored because
    no symmetry was stated), "unfair-point" (``unfair_points``), "curve-crosses-centreline". Sections are searched for
    crossings along straight lines between the given points.
    """
    x_m = _stations(stations)
    table = [_lines(station, i, last=len(stations) - 1) for i, station in enumerate(stations)]
    findings = []
    half = symmetry == "half"
    if symmetry is None:
        half = not any((line.points_m[:, 0] < 0).any() for lines in table for line in lines)
    if half:
        _refuse_crossing_centreline(table)
        clear = sum(line.closed and bool((line.points_m[:, 0] > 0).all()) for lines in table for line in lines)
        if symmetry is None and clear:
            message = "loops clear of the centreline were mirrored; state the symmetry to take them as they are"
            findings.append(Finding(code="mirrored-off-centreline", message=message, count=clear))
    findings += _unfair(table, x_m)
    sections = []
    strays = 0
    for lines in table:
        given = [contour for line in lines for contour in _contours(line, half=half, curve=False)]
        if not (half and len(lines) == 1 and _only_rises(lines[0])):
            _refuse_self_crossing(given, lines[0].field)
        if between_points == "curve":
            given = [contour for line in lines for contour in _contours(line, half=half, curve=True)]
            strays += half and any(_strays(line) for line in lines)
        sections.append(given)
    if strays:
        message = f"the curve crosses the centreline between points at {strays} stations"
        findings.append(Finding(code="curve-crosses-centreline", message=message, count=strays))
    if x_m[0] > x_m[-1]:
        x_m, sections = x_m[::-1], sections[::-1]
        findings.append(Finding(code="stations-descending", message="stations were taken in ascending order of x"))
    return OffsetsInput(solid=SectionSolid.from_contours(x_m=x_m, contours=sections), findings=tuple(findings))


def _stations(stations: Sequence[OffsetStation]) -> Floats:
    """Return x of the stations, in the order given, if it rises or falls throughout."""
    if len(stations) < 2:
        raise InputError(
            f"two stations at least, not {len(stations)}",
            code="too-few-stations",
            field="stations",
            value=float(len(stations)),
            limit=2.0,
        )
    x_m = np.array([float(finite(station.x_m, field=f"stations/{i}/x_m")) for i, station in enumerate(stations)])
    steps = np.diff(x_m) * (1.0 if x_m[-1] >= x_m[0] else -1.0)
    if (steps < 0).any():
        i = int(np.argmax(steps < 0)) + 1
        message = f"x must rise, or fall, from station to station; {x_m[i]:.6g} follows {x_m[i - 1]:.6g}"
        raise InputError(message, code="stations-not-ascending", field=f"stations/{i}/x_m", value=float(x_m[i]))
    thrice = (steps[1:] == 0) & (steps[:-1] == 0)
    if x_m[0] == x_m[-1]:
        raise InputError("all stations stand at one x", code="no-length", field="stations", value=float(x_m[0]))
    if thrice.any():
        i = int(np.argmax(thrice)) + 2
        message = f"one x may be given twice, not more: {x_m[i]:.6g}"
        raise InputError(message, code="station-repeated", field=f"stations/{i}/x_m", value=float(x_m[i]))
    return x_m


def _lines(station: OffsetStation, i: int, *, last: int) -> list[_Line]:
    """Return the lines of one station."""
    given: list[tuple[str, ArrayLike, bool]] = []
    if np.size(np.asarray(station.points_m, dtype=np.float64)) or not len(station.loops_m):
        given.append((f"stations/{i}/points_m", station.points_m, False))
    given += [(f"stations/{i}/loops_m/{j}", loop, True) for j, loop in enumerate(station.loops_m)]
    found = []
    for field, values, closed in given:
        if not np.size(np.asarray(values, dtype=np.float64)):
            _refuse_few(field, 0)
        line = points(values, columns=2, field=field)
        single = bool((line == line[0]).all())
        if single and not (i in (0, last) and not closed):
            _refuse_few(field, 1)
        count = len(line)
        if single:
            line = line[:1]
        elif np.array_equal(line[0], line[-1]):
            line, closed = line[:-1], True
        knuckles = tuple(station.knuckles) if field.endswith("points_m") else ()
        for j, knuckle in enumerate(knuckles):
            if not 0 <= knuckle < count:
                raise InputError(
                    f"a knuckle is the number of a point, 0 to {count - 1}, not {knuckle}",
                    code="knuckle-out-of-range",
                    field=f"stations/{i}/knuckles/{j}",
                    value=float(knuckle),
                    limit=float(count - 1),
                )
        found.append(_Line(field, line, closed, tuple(k for k in knuckles if k < len(line))))
    return found


def _refuse_few(field: str, count: int) -> None:
    raise InputError(
        f"two different points at least, not {count}", code="too-few-points", field=field, value=float(count), limit=2.0
    )


def _refuse_crossing_centreline(table: list[list[_Line]]) -> None:
    for line in (line for lines in table for line in lines):
        beyond = line.points_m[:, 0] < 0
        if beyond.any():
            j = int(np.argmax(beyond))
            y = float(line.points_m[j, 0])
            raise InputError(
                f"a half section lies at y of 0 and above, not {y:.6g} m",
                code="half-crosses-centreline",
                field=f"{line.field}/{j}",
                value=y,
                limit=0.0,
            )


def _contours(line: _Line, *, half: bool, curve: bool) -> list[Contour]:
    """Make the closed loops of one given line."""
    given, closed = line.points_m, line.closed
    knuckles: tuple[int, ...] = line.knuckles
    if half and closed:
        on = np.flatnonzero((given[:, 0] == 0) & (np.roll(given[:, 0], -1) == 0))
        if len(on):
            lengths = np.abs(given[on, 1] - np.roll(given[:, 1], -1)[on])
            first = int(on[np.argmax(lengths)]) + 1
            given, closed = np.roll(given, -first, axis=0), False
            knuckles = tuple((k - first) % len(given) for k in knuckles)
    if half and not closed and _runs_down(given):
        given, knuckles = given[::-1], tuple(len(given) - 1 - k for k in knuckles)
    count = len(given)
    numbers = np.arange(count, dtype=np.float64)
    if curve and count > 1:
        path = np.concatenate([given, given[:1]]) if closed else given
        given, numbers = curve_through(path, knuckles=knuckles)
        if closed:
            given, numbers = given[:-1], numbers[:-1]
    if not half:
        return [Contour.from_points(given, by_index=ROUND * numbers / count, given_count=count)]
    if not closed:
        return [Contour.from_half(given, by_index=numbers / max(count - 1, 1), given_count=count)]
    loop = Contour.from_points(given, by_index=ROUND * numbers / count, given_count=count)
    return [loop, loop._replace(points_m=loop.points_m * [-1.0, 1.0])]


def _runs_down(half_m: Floats) -> bool:
    """Tell whether a half section runs from deck to keel."""
    y, z = half_m.T
    area = float((y[1:] + y[:-1]) @ np.diff(z))  # with its mirror image, closed straight across
    return area < 0 or (area == 0 and bool(half_m[0, 1] > half_m[-1, 1]))


def _strays(line: _Line) -> bool:
    if line.closed or len(line.points_m) < 2:
        return False
    return bool((curve_through(line.points_m, knuckles=line.knuckles)[0][:, 0] < 0).any())


def _unfair(table: list[list[_Line]], x_m: Floats) -> list[Finding]:
    """Search the first line of every station."""
    lines = [row[0] for row in table]
    found = unfair_points([line.points_m for line in lines], x_m=x_m, knuckles=[line.knuckles for line in lines])
    if not found:
        return []
    worst = max(found, key=lambda point: point.miss_m)
    y, z = lines[worst.station].points_m[worst.point]
    message = (
        f"point {worst.point} of station {worst.station} is {worst.miss_m:.6g} m off the run of its neighbours"
        f" ({len(found)} such points)"
    )
    place = (float(x_m[worst.station]), float(y), float(z))
    return [Finding(code="unfair-point", message=message, count=len(found), place_m=place)]


def _only_rises(line: _Line) -> bool:
    """Tell whether an open half section never turns down: no two of its edges, nor of its mirror image's, can cross."""
    return not line.closed and bool((np.diff(line.points_m[:, 1]) >= 0).all())


def _refuse_self_crossing(contours: list[Contour], field: str) -> None:
    """Refuse a section whose edges cross one another away from their ends."""
    a = np.concatenate([contour.points_m[:-1] for contour in contours])
    b = np.concatenate([contour.points_m[1:] for contour in contours])
    size = float(np.hypot(*np.ptp(a, axis=0)))
    if size == 0:
        return

    def side(p: Floats, q: Floats, r: Floats) -> Floats:
        cross = (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1]) - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0])
        return np.where(np.abs(cross) > 1e-12 * size * size, np.sign(cross), 0.0)

    one, other = side(a[:, None], b[:, None], a[None]), side(a[:, None], b[:, None], b[None])
    apart = one * other < 0
    crosses = np.argwhere(apart & apart.T)
    if len(crosses):
        y, z = 0.5 * (a[crosses[0, 0]] + b[crosses[0, 0]])
        raise InputError(
            f"{len(crosses) // 2} pairs of edges of the section cross, one near y {y:.6g} m, z {z:.6g} m",
            code="section-crosses-itself",
            field=field.rsplit("/", 1)[0] if "loops_m" in field else field,
            value=float(len(crosses) // 2),
            limit=0.0,
        )
