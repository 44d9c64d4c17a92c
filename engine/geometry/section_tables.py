"""What a solid of sections works out once, before any plane cuts it. Layer: engine.geometry."""

import math
from typing import NamedTuple

import numpy as np

from engine.checks import Floats
from engine.geometry.contour import Contour, placed
from engine.geometry.integrate_x import Panel, panels
from engine.geometry.polygon_cut import Ints, PolygonLayout
from engine.geometry.ruled import Ruled, RuledStack, stretched

Sections = tuple[tuple[Contour, ...], ...]

_FEW_POINTS = 17
_MOST_BREAKS = 8


class SectionTables(NamedTuple):
    """What does not depend on the planes; positions are from the reference point.

    Attributes
    ----------
    reference_m : (3,) float64
        The middle of the body's bounds, for the sake of round-off. [m]
    x_m : (n,) float64
        The stations. [m]
    points_m : (p, 2) float64
        All points of all loops. [m]
    point_x_m : (p,) float64
        Their stations. [m]
    skin_m : (p - 1,) float64
        Length of each edge, stretched by the slope of the skin along x. [m]
    layout : PolygonLayout
        Which points make which section.
    links : list of Ruled or None
        The ruled body of each interval; None at a break and where loops do not match.
    stacks : list of RuledStack
        The same ruled bodies, those of one layout together.
    stack_of, place : (n - 1,) int
        Stack of each interval and its number there; -1 where it has no ruled body.
    most_breaks : (n - 1,) int
        How many crossings divide each interval, at most.
    panels : list of Panel
        The pieces of the length.
    panel_of : (n - 1,) int
        Panel that covers each interval.
    curved : list of ((c,) int, (c, 2 or 3) int)
        Panels of three stations, and the stations at the ends of their intervals; those of two intervals, then of one.
    weights : (3, panels, n) float64
        Weights of the stations in each panel for ∫F dx, ∫F x dx, ∫F x² dx.
    faces : (b,) int
        Aft station of each break.
    """

    reference_m: Floats
    x_m: Floats
    points_m: Floats
    point_x_m: Floats
    skin_m: Floats
    layout: PolygonLayout
    links: list[Ruled | None]
    stacks: list[RuledStack]
    stack_of: Ints
    place: Ints
    most_breaks: Ints
    panels: list[Panel]
    panel_of: Ints
    curved: list[tuple[Ints, Ints]]
    weights: Floats
    faces: Ints


def section_tables(x_m: Floats, contours: Sections, *, reference_m: Floats) -> SectionTables:
    """Link stations, cut the length into panels and lay out all points in a row."""
    x = x_m - reference_m[0]
    near = tuple(
        tuple(contour._replace(points_m=contour.points_m - reference_m[1:]) for contour in section)
        for section in contours
    )
    links = [
        Ruled.between(near[i], near[i + 1], x_m=x[i : i + 2]) if x[i + 1] > x[i] else None for i in range(len(x) - 1)
    ]
    pieces = panels(x, linked=np.array([link is not None for link in links]))
    pieces = [panel._replace(ruled=panel.ruled or _flat_sided(panel, x, near, links)) for panel in pieces]
    weights = np.zeros((3, len(pieces), len(x)))
    panel_of, most_breaks = np.zeros(len(links), dtype=np.intp), np.full(len(links), _MOST_BREAKS)
    for p, panel in enumerate(pieces):
        panel_of[list(panel.intervals)] = p
        if panel.ruled:
            most_breaks[list(panel.intervals)] = np.iinfo(np.intp).max
        weights[:, p, list(panel.members)] = panel.weights
    counts = [[len(contour.points_m) for contour in section] for section in near]
    flat = np.concatenate([contour.points_m for section in near for contour in section])
    stacks, stack_of, place = _stacked(links)
    curved = []
    for count in (2, 1):
        alike = [
            p for p, one in enumerate(pieces) if not one.ruled and (len(one.members), len(one.intervals)) == (3, count)
        ]
        covered = [[*pieces[p].intervals, pieces[p].intervals[-1] + 1] for p in alike]
        if alike:
            curved.append((np.array(alike), np.array(covered)))
    return SectionTables(
        reference_m=reference_m,
        x_m=x,
        points_m=flat,
        point_x_m=np.repeat(x, [sum(row) for row in counts]),
        skin_m=_skin_lengths(x, near, [link is not None for link in links]),
        layout=PolygonLayout.of(counts),
        links=links,
        stacks=stacks,
        stack_of=stack_of,
        place=place,
        most_breaks=most_breaks,
        panels=pieces,
        panel_of=panel_of,
        curved=curved,
        weights=weights,
        faces=np.flatnonzero(np.diff(x) == 0),
    )


def _stacked(links: list[Ruled | None]) -> tuple[list[RuledStack], Ints, Ints]:
    """Put ruled bodies of one layout in one stack; with each interval's stack and number in it."""
    alike: dict[tuple[int, ...], list[Ruled]] = {}
    stack_of, place = (np.full(len(links), -1, dtype=np.intp) for _ in range(2))
    for i, link in enumerate(links):
        if link is not None:
            key = (len(link.aft_m), *link.layout.joints.tolist())
            alike.setdefault(key, []).append(link)
            stack_of[i], place[i] = list(alike).index(key), len(alike[key]) - 1
    return [RuledStack.of(members) for members in alike.values()], stack_of, place


def _skin_lengths(x: Floats, sections: Sections, linked: list[bool]) -> Floats:
    """Length of every edge of every section, stretched by the slope of the skin along x there.

    The slope is that of the parabola through a station and its two neighbours, of the straight line where the run
    has two stations, and none where a station stands alone.
    """
    lengths = []
    for i, section in enumerate(sections):
        run = _neighbours(i, linked)
        near = list(range(max(run[0], min(i - 1, run[1] - 2)), min(run[1], max(i + 1, run[0] + 2)) + 1))
        rates = _rates((x[near] - x[i]).tolist())
        for number, contour in enumerate(section):
            slope = np.zeros_like(contour.points_m)
            for j, rate in zip(near, rates, strict=True):
                slope += rate * placed(contour, sections[j][number])
            edges = np.diff(contour.points_m, axis=0)
            lengths.append(stretched(edges[:, 0], edges[:, 1], 0.5 * (slope[:-1] + slope[1:])))
            lengths.append(np.zeros(1))
    return np.concatenate(lengths)[:-1]


def _rates(nodes_m: list[float]) -> list[float]:
    """Return the weights of values at few places for the slope at 0 of the curve through them. [1/m]"""
    rates = []
    for i, at in enumerate(nodes_m):
        others = [node for j, node in enumerate(nodes_m) if j != i]
        below = math.prod(at - node for node in others)
        rates.append(
            sum(math.prod(-node for k, node in enumerate(others) if k != j) for j in range(len(others))) / below
        )
    return rates


def _flat_sided(panel: Panel, x: Floats, sections: Sections, links: list[Ruled | None]) -> bool:
    """Tell whether three linked stations of few points lie on straight rulings: a polyhedron, exact when ruled."""
    if len(panel.members) < 3 or any(links[i] is None for i in panel.members[:-1]):
        return False
    aft, middle, forward = (sections[i] for i in panel.members)
    ratio = (x[panel.members[1]] - x[panel.members[0]]) / (x[panel.members[2]] - x[panel.members[0]])
    for a, b, c in zip(aft, middle, forward, strict=True):
        if not a.given_count == b.given_count == c.given_count or not len(a[0]) == len(b[0]) == len(c[0]):
            return False
        size = np.abs(b.points_m).max()
        off = np.abs((1.0 - ratio) * a.points_m + ratio * c.points_m - b.points_m).max()
        if len(b.points_m) > _FEW_POINTS or off > 1e-12 * size:
            return False
    return True


def _neighbours(i: int, linked: list[bool]) -> tuple[int, int]:
    """Return the first and last station of the run that station ``i`` belongs to."""
    low = high = i
    while low > 0 and linked[low - 1]:
        low -= 1
    while high < len(linked) and linked[high]:
        high += 1
    return low, high
