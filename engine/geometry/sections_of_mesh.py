"""Transverse sections of a mesh: the second way to compute a mesh. Layer: engine.geometry.

Triangles are sliced at chosen x and the slices joined to polygons with holes; the answer is a ``SectionSolid`` that
shares no formula with the surface integrals. Flat transverse faces are breaks, with a section on either side.
"""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, points
from engine.deadline import checkpoint
from engine.errors import InputError
from engine.geometry.contour import Contour, arc_ratio
from engine.geometry.polygon_cut import Ints
from engine.geometry.section_solid import SectionSolid

DEFAULT_INTERVALS = 60
NUDGE_RATIO = 1e-8
_END_STEPS = 8


def sections_of_mesh(
    *,
    vertices_m: ArrayLike,
    faces: ArrayLike,
    x_positions_m: ArrayLike | None = None,
    intervals: int = DEFAULT_INTERVALS,
) -> SectionSolid:
    """Slice a closed mesh into stations.

    Parameters
    ----------
    vertices_m : (n, 3) array_like
        Vertices. [m]
    faces : (m, 3) array_like of int
        Triangles; their orientation does not matter.
    x_positions_m : (k,) array_like, optional
        Where to slice, besides the ends and flat transverse faces. [m]
    intervals : int
        Without positions: about so many equal intervals over the length, the two at each end of a smooth length
        divided in eight.

    Raises
    ------
    InputError
        "wrong-shape", "not-finite", "no-length", "section-not-closed" (a slice that makes no closed loop).
    """
    vertices = points(vertices_m, columns=3, field="vertices_m")
    triangles = np.asarray(faces, dtype=np.intp)
    if triangles.ndim != 2 or triangles.shape[1] != 3 or not len(triangles):
        raise InputError("must be a table of 3 columns", code="wrong-shape", field="faces")
    low, high = float(vertices[:, 0].min()), float(vertices[:, 0].max())
    length = high - low
    if length <= 0:
        raise InputError("the mesh has no length along x", code="no-length", field="vertices_m")
    flats = _flat_faces(vertices, triangles, length)
    asked = None if x_positions_m is None else finite(x_positions_m, field="x_positions_m")
    slices = list(_slices(_breaks(flats, low, high, length), asked, intervals, length))
    vertices, welded = np.unique(vertices, axis=0, return_inverse=True)
    triangles = welded.reshape(-1)[triangles]
    reach = np.sort(vertices[triangles, 0], axis=1)[:, [0, 2]]
    levels = np.sort(vertices[:, 0])
    stations, sections = [], []
    for x, wanted in slices:
        checkpoint()
        at = _clear_of(levels, wanted, length)
        loops = _loops(_slice(vertices, triangles[(reach[:, 0] < at) & (reach[:, 1] >= at)], at))
        if not loops and x in (low, high):
            loops = [_tip(vertices[np.abs(vertices[:, 0] - x) <= 1e-9 * length, 1:])]
        if not loops:
            message = f"the slice at x {x:.6g} m makes no closed loop"
            raise InputError(message, code="section-not-closed", field="faces", value=float(x))
        stations.append(x)
        sections.append(loops)
    return SectionSolid.from_contours(x_m=stations, contours=sections)


def _flat_faces(vertices: Floats, triangles: Ints, length: float) -> Floats:
    """Return the x of flat transverse faces that have area."""
    corners = vertices[triangles]
    flat = np.ptp(corners[:, :, 0], axis=1) <= 1e-9 * length
    cross = np.cross(corners[flat, 1] - corners[flat, 0], corners[flat, 2] - corners[flat, 0])
    return np.asarray(corners[flat, 0, 0][np.abs(cross[:, 0]) > 1e-12 * length**2])


def _breaks(flats: Floats, low: float, high: float, length: float) -> list[float]:
    """Ends and inner breaks, ascending, none closer than 1e-6 of the length."""
    found = [low]
    for x in np.unique(flats):
        if found[-1] + 1e-6 * length < x < high - 1e-6 * length:
            found.append(float(x))
    return [*found, high]


def _slices(breaks: list[float], asked: Floats | None, intervals: int, length: float) -> Iterator[tuple[float, float]]:
    """Yield every station and where it is sliced, a little inside at ends and breaks."""
    for low, high in pairwise(breaks):
        if asked is None:
            steps = max(4, 2 * round(0.5 * intervals * (high - low) / length))
            grid = np.linspace(0.0, 1.0, steps + 1)
            ends = np.linspace(0.0, grid[2], _END_STEPS + 1)
            ratio = np.unique(np.concatenate([ends, grid[2:-2], 1.0 - ends[::-1]]).round(12))
            inner = low + ratio[1:-1] * (high - low)
        else:
            inner = np.unique(asked[(asked > low) & (asked < high)])
        nudge = NUDGE_RATIO * length
        yield low, low + nudge
        yield from ((float(x), float(x)) for x in inner)
        yield high, high - nudge


def _clear_of(levels: Floats, x: float, length: float) -> float:
    """Move x off the vertices: a slice through a vertex or an edge is ambiguous."""
    nudge = 0.1 * NUDGE_RATIO * length
    for step in (0.0, 1.0, -1.0, 2.0, -2.0, 3.0, -3.0):
        at = x + step * nudge
        i = int(np.searchsorted(levels, at - 0.1 * nudge))
        if i == len(levels) or levels[i] > at + 0.1 * nudge:
            return at
    return x


def _slice(vertices: Floats, triangles: Ints, at: float) -> Floats:
    """(s, 2, 2) y and z of the segments in which triangles that straddle x = at meet it.

    An edge is always taken from its lower to its higher vertex number, so that two triangles that share it give the
    very same point.
    """
    below = vertices[triangles, 0] < at
    alone = np.argmax(below == (below.sum(axis=1) == 1)[:, None], axis=1)
    rows = np.arange(len(triangles))
    ends = []
    for turn in (1, 2):
        pair = np.sort(np.column_stack([triangles[rows, alone], triangles[rows, (alone + turn) % 3]]), axis=1)
        a, b = vertices[pair[:, 0]], vertices[pair[:, 1]]
        part = (at - a[:, :1]) / (b[:, :1] - a[:, :1])
        ends.append(a[:, 1:] + part * (b[:, 1:] - a[:, 1:]))
    return np.stack(ends, axis=1)


def _loops(segments: Floats) -> list[Contour]:
    """Join segments to polygons; outer loops by y, then holes by y."""
    import shapely

    segments = segments[(segments[:, 0] != segments[:, 1]).any(axis=1)]
    if not len(segments):
        return []
    area = shapely.build_area(shapely.multilinestrings(shapely.linestrings(segments)))
    parts = [part for part in shapely.get_parts(area) if part.area > 0]
    rings = [np.asarray(part.exterior.coords)[:-1] for part in parts]
    holes = [np.asarray(hole.coords)[:-1] for part in parts for hole in part.interiors]
    order = [sorted(group, key=lambda ring: (ring[:, 0].mean(), ring[:, 1].mean())) for group in (rings, holes)]
    return [_landmarked(ring) for group in order for ring in group]


def _landmarked(ring: Floats) -> Contour:
    """Start the loop at its bottom on its middle line and put its top halfway round, so that loops match."""
    y, z = ring.T
    if np.sum(y * np.roll(z, -1) - np.roll(y, -1) * z) < 0:
        ring = ring[::-1]
    middle = 0.5 * (ring[:, 0].min() + ring[:, 0].max())
    following = np.roll(ring, -1, axis=0)
    spans = np.flatnonzero((ring[:, 0] <= middle) != (following[:, 0] <= middle))
    part = (middle - ring[spans, 0]) / (following[spans, 0] - ring[spans, 0])
    heights = ring[spans, 1] + part * (following[spans, 1] - ring[spans, 1])
    bottom, top = int(np.argmin(heights)), int(np.argmax(heights))
    with_marks = np.insert(
        ring, [spans[bottom] + 1, spans[top] + 1], [[middle, heights[bottom]], [middle, heights[top]]], axis=0
    )
    start = int(spans[bottom]) + 1 + int(spans[top] < spans[bottom])
    halfway = int(spans[top]) + 1 + int(spans[bottom] < spans[top])
    count = len(with_marks)
    turned = np.roll(with_marks, -start, axis=0)
    half = (halfway - start) % count
    closed = np.concatenate([turned, turned[:1]])
    parameter = np.concatenate([2.0 * arc_ratio(closed[: half + 1]), 2.0 + 2.0 * arc_ratio(closed[half:])[1:]])
    return Contour(closed, parameter, parameter, count)


def _tip(points_m: Floats) -> Contour:
    """Return the loop without area at an end that is a line or a point, from its lowest to its highest point."""
    order = np.argsort(points_m[:, 1])
    ends = points_m[[order[0], order[-1], order[0]]]
    parameter = np.array([0.0, 2.0, 4.0])
    return Contour(ends, parameter, parameter, 2)
