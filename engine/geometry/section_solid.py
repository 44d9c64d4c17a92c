"""A solid given by transverse sections. Layer: engine.geometry.

Each plane cuts every section by Green's theorem on the section's own edges (``station_cuts``), and the results are
integrated along x (``integrate_x``, ``ruled``). The waterplane's area element is dl dx / hypot(n_y, n_z), with l
along the water line of the section.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.checks import Floats, finite, points, positive
from engine.deadline import checkpoint
from engine.errors import InputError
from engine.geometry.contour import Contour, oriented
from engine.geometry.cut import Cuts
from engine.geometry.integrate_x import interpolant_share
from engine.geometry.plane import Planes
from engine.geometry.polygon_cut import PolygonCut, cut_polygons
from engine.geometry.ruled import Integrals, Ruled, SectionLines, gather
from engine.geometry.section_functions import SectionFunctions
from engine.geometry.section_tables import SectionTables, section_tables
from engine.geometry.station_cuts import StationCuts

STEEPEST_RATIO = 1e-6
_BENT_INTERVALS = 8


@dataclass(frozen=True, eq=False)
class SectionSolid:
    """Sections along x; between them parabolas of the section functions, or the ruled body.

    Attributes
    ----------
    x_m : (n,) float64
        Stations, ascending; a repeated x is a break. [m]
    contours : tuple of n tuples of Contour
        Loops of each section: outer ones positive, holes negative.

    Notes
    -----
    ``docs/methods/sections.md`` says where the results are exact.
    """

    x_m: Floats
    contours: tuple[tuple[Contour, ...], ...]

    @classmethod
    def from_loops(cls, *, x_m: ArrayLike, loops_m: Sequence[Sequence[ArrayLike]]) -> Self:
        """Build from closed loops, a sequence of (m, 2) arrays of y and z for each station, either way round."""
        sections = [
            [Contour.from_points(points(loop, columns=2, field=f"loops_m/{i}/{j}")) for j, loop in enumerate(station)]
            for i, station in enumerate(loops_m)
        ]
        return cls.from_contours(x_m=x_m, contours=sections)

    @classmethod
    def from_contours(cls, *, x_m: ArrayLike, contours: Sequence[Sequence[Contour]]) -> Self:
        """Build from contours; they are turned, outer loops positive and holes negative.

        Raises
        ------
        InputError
            "too-few-stations" (fewer than two), "wrong-shape", "not-finite", "stations-not-ascending",
            "station-repeated" (one x more than twice), "no-length".
        """
        stations = finite(x_m, field="x_m")
        if stations.ndim != 1 or len(stations) != len(contours) or not all(len(c) for c in contours):
            raise InputError("every station needs one x and at least one loop", code="wrong-shape", field="x_m")
        if len(stations) < 2:
            raise InputError(
                f"two stations at least, not {len(stations)}",
                code="too-few-stations",
                field="x_m",
                value=float(len(stations)),
                limit=2.0,
            )
        steps = np.diff(stations)
        if (steps < 0).any():
            raise InputError("stations must ascend", code="stations-not-ascending", field="x_m")
        if ((steps[1:] == 0) & (steps[:-1] == 0)).any():
            raise InputError("one x may be given twice, not more", code="station-repeated", field="x_m")
        if stations[0] == stations[-1]:
            raise InputError("all stations stand at one x", code="no-length", field="x_m")
        return cls(x_m=stations, contours=tuple(oriented(section) for section in contours))

    # -- what the body is -------------------------------------------------------------------------------------------

    @cached_property
    def volume_m3(self) -> float:
        """Whole volume. [m³]"""
        top = self.bounds_m[1, 2] + 1.0
        return float(self.cut(Planes.from_normals(normals=[[0.0, 0.0, 1.0]], offsets_m=[top])).volume_m3[0])

    @property
    def bounds_m(self) -> Floats:
        """(2, 3) least and greatest coordinates. [m]"""
        flat = np.concatenate([contour.points_m for section in self.contours for contour in section])
        return np.array([[self.x_m[0], *flat.min(axis=0)], [self.x_m[-1], *flat.max(axis=0)]])

    def bent(self, *, sag_m: float, length_bp_m: float) -> Self:
        """Return the body sagged at midlength: every point moves by -sag (1 - (2x/L - 1)²); hog is negative.

        A ruled length (two stations only) first gets stations between, so that it bends too.
        """
        length = positive(length_bp_m, field="length_bp_m", unit="m")
        sag = float(finite(sag_m, field="sag_m"))
        stations, sections = [], []
        for i, (x, section) in enumerate(zip(self.x_m, self.contours, strict=True)):
            stations.append(float(x))
            sections.append(section)
            if any(panel.ruled and panel.members == (i, i + 1) for panel in self._tables.panels):
                for step in range(1, _BENT_INTERVALS):
                    ratio = step / _BENT_INTERVALS
                    stations.append(float((1.0 - ratio) * x + ratio * self.x_m[i + 1]))
                    sections.append(_between(section, self.contours[i + 1], ratio))
        x_m = np.array(stations)
        drops = sag * (1.0 - (2.0 * x_m / length - 1.0) ** 2)
        moved = tuple(
            tuple(contour._replace(points_m=contour.points_m - [0.0, drop]) for contour in section)
            for section, drop in zip(sections, drops, strict=True)
        )
        return type(self)(x_m=x_m, contours=moved)

    # -- what planes cut --------------------------------------------------------------------------------------------

    def cut(self, planes: Planes) -> Cuts:
        """Return what lies below each plane.

        Raises
        ------
        InputError
            "plane-square-to-x": hypot(n_y, n_z) below 1e-6, a plane that cuts no section along a line.
        """
        lines = self._lines(planes)
        sums, extents = np.empty((len(Integrals._fields), len(planes))), np.empty((len(planes), 2, 3))
        for rows, functions in self._stations.batches(lines):
            checkpoint()
            sums[:, rows], extents[rows] = self._integrate(lines.take(rows), functions)
        return _assemble(planes, lines, Integrals(*sums), extents, self._tables.reference_m)

    def section_area_m2(self, planes: Planes, *, x_m: float) -> Floats:
        """(k,) immersed area of the transverse section at x. [m²]

        At a station its own area (at a break the greater of the two); between stations what the integration takes
        there: the parabola through the panel's stations, the ruled section, or part of both. Outside the body 0.
        """
        x = float(finite(x_m, field="x_m"))
        lines = self._lines(planes)
        if not self.x_m[0] <= x <= self.x_m[-1]:
            return np.zeros(len(planes))
        areas = np.empty(len(planes))
        for rows, functions in self._stations.batches(lines):
            checkpoint()
            areas[rows] = self._area_at(lines.take(rows), functions, x)
        return areas

    def section_extent_m(self, *, x_m: float) -> Floats:
        """(2, 2) least and greatest y and z of the whole transverse section at x; NaN outside the body. [m]

        Straight between stations; at a break those of both sections.
        """
        x = float(x_m)
        if not self.x_m[0] <= x <= self.x_m[-1]:
            return np.full((2, 2), np.nan)
        low, high = self._extents
        aft = np.searchsorted(self.x_m, x, side="left")
        if self.x_m[aft] == x:
            here = self.x_m == x
            return np.stack([low[here].min(axis=0), high[here].max(axis=0)])
        ratio = (x - self.x_m[aft - 1]) / (self.x_m[aft] - self.x_m[aft - 1])
        return np.stack([end[aft - 1] + ratio * (end[aft] - end[aft - 1]) for end in (low, high)])

    @cached_property
    def _extents(self) -> Floats:
        """(2, n, 2) least and greatest y and z of each station."""
        stations = [np.concatenate([contour.points_m for contour in section]) for section in self.contours]
        return np.array([[one.min(axis=0) for one in stations], [one.max(axis=0) for one in stations]])

    def _area_at(self, lines: SectionLines, functions: SectionFunctions | None, x: float) -> Floats:
        tables = self._tables
        stations = self._stations.cut(lines, functions)
        here = np.flatnonzero(self.x_m == x)
        if len(here):
            return np.asarray(stations.area_m2[:, here].max(axis=1))
        aft = int(np.searchsorted(self.x_m, x)) - 1
        panel = next(panel for panel in tables.panels if aft in panel.intervals)
        nodes = self.x_m[list(panel.members)]
        basis = np.linalg.inv(np.vander(nodes - x, increasing=True))[0]
        area = np.asarray(stations.area_m2[:, list(panel.members)] @ basis)  # the interpolant's value at x
        link = tables.links[aft]
        if link is None:
            return area
        share = self._shares(stations)[:, tables.panels.index(panel)]
        ratio = (x - self.x_m[aft]) / (self.x_m[aft + 1] - self.x_m[aft])
        section = link.section(float(ratio))
        ruled = cut_polygons(
            level_m=lines.levels(section, x - tables.reference_m[0]),
            along_m=lines.alongs(section),
            skin_m=np.zeros(len(section) - 1),
            layout=link.layout,
        ).area_m2[:, 0]
        return np.asarray(share * area + (1.0 - share) * ruled)

    # -- how --------------------------------------------------------------------------------------------------------

    @cached_property
    def _tables(self) -> SectionTables:
        return section_tables(self.x_m, self.contours, reference_m=self.bounds_m.mean(axis=0))

    @cached_property
    def _stations(self) -> StationCuts:
        return StationCuts(self._tables)

    def _lines(self, planes: Planes) -> SectionLines:
        across = np.hypot(planes.normals[:, 1], planes.normals[:, 2])
        if (across < STEEPEST_RATIO).any():
            raise InputError(
                "a plane square to x cuts no section along a line",
                code="plane-square-to-x",
                field="planes",
                value=float(across.min()),
                limit=STEEPEST_RATIO,
            )
        offsets = planes.offsets_m - planes.normals @ self._tables.reference_m
        return SectionLines(planes.normals[:, 1:] / across[:, None], planes.normals[:, 0] / across, offsets / across)

    def _shares(self, stations: PolygonCut) -> Floats:
        """(k, p) share of each panel's interpolant in its integral; the ruled body has the rest."""
        tables = self._tables
        shares = np.ones((len(stations.area_m2), len(tables.panels)))
        shares[:, [panel.ruled for panel in tables.panels]] = 0.0
        state = (stations.lowest_m < 0).astype(np.int8) + (stations.highest_m < 0)
        bent = np.diff(state, axis=1) != 0
        for panels, covered in tables.curved:
            row, which = np.nonzero(bent[:, covered[:, :-1]].any(axis=2))
            if len(row):
                at = row[:, None], covered[which]
                shares[row, panels[which]] = interpolant_share(stations.lowest_m[at], stations.highest_m[at])
        return shares

    def _integrate(self, lines: SectionLines, functions: SectionFunctions | None) -> tuple[Floats, Floats]:
        stations = self._stations.cut(lines, functions)
        shares = self._shares(stations)
        totals = gather(stations, shares @ self._tables.weights)
        extent = self._extent(lines, stations)
        self._add_ruled(totals, extent, lines, 1.0 - shares, stations.lowest_m < 0)
        self._add_faces(totals, stations)
        return totals, extent

    def _add_ruled(
        self, totals: Floats, extent: Floats, lines: SectionLines, rest: Floats, wet: NDArray[np.bool_]
    ) -> None:
        """Add the ruled body's part of each panel, all pairs of a plane and an interval of one layout at once."""
        tables = self._tables
        rest = rest[:, tables.panel_of]
        row, interval = np.nonzero((rest > 0) & (wet[:, :-1] | wet[:, 1:]) & (tables.stack_of >= 0))
        for number in np.unique(tables.stack_of[interval]):
            mine = tables.stack_of[interval] == number
            k, i = row[mine], interval[mine]
            part, met = tables.stacks[number].integrals(
                lines.take(k), body=tables.place[i], most_breaks=tables.most_breaks[i]
            )
            first = np.flatnonzero(np.diff(k, prepend=-1))
            totals[:, k[first]] += np.add.reduceat(part * rest[k, i], first, axis=1)
            for side, extreme in enumerate((np.fmin, np.fmax)):
                extent[k[first], side] = extreme(extent[k[first], side], extreme.reduceat(met[:, side], first, axis=0))

    def _add_faces(self, totals: Floats, stations: PolygonCut) -> None:
        """Add the wet end faces, and at a break the difference of its two sections, to the skin."""
        tables = self._tables
        moments = np.stack([stations.area_m2, stations.along_moment_m3, stations.level_moment_m3])
        breaks = tables.faces
        steps = moments[:, :, breaks + 1] - moments[:, :, breaks]
        faces = np.concatenate([moments[:, :, [0, -1]], steps * np.sign(steps[0])], axis=2)
        x = np.concatenate([tables.x_m[[0, -1]], tables.x_m[breaks]])
        skin, skin_x, skin_l, skin_f = totals[-4:]
        skin += faces[0].sum(axis=1)
        skin_x += faces[0] @ x
        skin_l += faces[1].sum(axis=1)
        skin_f += faces[2].sum(axis=1)

    def _extent(self, lines: SectionLines, stations: PolygonCut) -> Floats:
        """(k, 2, 3) extremes of the water line on the stations, NaN where none."""
        x = self._tables.x_m
        ends = np.stack([stations.line_least_m, stations.line_greatest_m])
        meets = np.isfinite(ends[0])
        ends = np.where(meets, ends, 0.0)
        none = np.where(meets, 0.0, np.inf)
        foot = lines.heights(x)
        n_y, n_z = lines.normals[:, :1], lines.normals[:, 1:]
        extent = np.empty((len(foot), 2, 3))
        for axis, met in enumerate((x[None, None], n_z * ends + n_y * foot, n_z * foot - n_y * ends)):
            extent[:, 0, axis] = (met + none).min(axis=2).min(axis=0)
            extent[:, 1, axis] = (met - none).max(axis=2).max(axis=0)
        return np.where(np.isfinite(extent), extent, np.nan)


def _assemble(planes: Planes, lines: SectionLines, sums: Integrals, extent: Floats, reference: Floats) -> Cuts:
    """Turn the integrals in section coordinates into the answer in the ship's frame."""
    n_y, n_z = lines.normals.T
    across = 1.0 / np.sqrt(1.0 + lines.slopes**2)

    def centroid(whole: Floats, by_x: Floats, by_l: Floats, by_f: Floats | float) -> Floats:
        size = np.where(whole > 0, whole, np.nan)
        x, along, level = by_x / size, by_l / size, by_f / size
        level = level + lines.offsets_m - lines.slopes * x
        centre = np.stack([x, n_z * along + n_y * level, n_z * level - n_y * along], axis=1)
        return np.asarray(centre + reference)

    line = np.where(sums.line > 0, sums.line, np.nan)
    x, along = sums.line_x / line, sums.line_l / line
    xx = sums.line_xx - sums.line * x * x
    xl = sums.line_lx - sums.line * x * along
    ll = sums.line_ll - sums.line * along * along
    axes = np.zeros((len(planes), 2, 3))  # forward and sideways in the plane
    axes[:, 0, 0] = 1.0
    axes[:, 0, 1:] = -lines.slopes[:, None] * lines.normals
    axes[:, 1, 1], axes[:, 1, 2] = n_z, -n_y
    moments = np.stack([xx, xl, xl, ll], axis=1).reshape(-1, 2, 2) / across[:, None, None]
    tensor = axes.transpose(0, 2, 1) @ moments @ axes
    floats = sums.line > 0
    return Cuts(
        planes=planes,
        volume_m3=sums.volume,
        centroid_m=centroid(sums.volume, sums.volume_x, sums.volume_l, sums.volume_f),
        waterplane_area_m2=np.where(floats, sums.line / across, 0.0),
        waterplane_centroid_m=centroid(sums.line, sums.line_x, sums.line_l, 0.0),
        waterplane_tensor_m4=np.where(floats[:, None, None], tensor, 0.0),
        waterplane_extent_m=np.where(floats[:, None, None], extent + reference, np.nan),
        wetted_area_m2=sums.skin,
        wetted_centroid_m=centroid(sums.skin, sums.skin_x, sums.skin_l, sums.skin_f),
    )


def _between(aft: tuple[Contour, ...], forward: tuple[Contour, ...], ratio: float) -> tuple[Contour, ...]:
    """Return ruled loops between two sections."""
    found = []
    for a, b in zip(aft, forward, strict=True):
        link = Ruled.between((a,), (b,), x_m=np.array([0.0, 1.0]))
        assert link is not None
        found.append(Contour.from_points(link.section(ratio)[:-1]))
    return tuple(found)
