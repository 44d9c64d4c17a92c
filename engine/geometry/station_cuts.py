"""How the stations of a solid are cut: by clipping, or from their section functions where that is cheaper.

Layer: engine.geometry.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.geometry.polygon_cut import Ints, PolygonCut, cut_polygons
from engine.geometry.ruled import SectionLines
from engine.geometry.section_functions import SectionFunctions
from engine.geometry.section_tables import SectionTables

_POINTS = 40_000
_STATIONS = 8_000
_SAME_RAD = 1e-14
_LEAST_POINTS = 20_000
_LEAST_ROWS = 16


@dataclass(frozen=True, eq=False)
class StationCuts:
    """Cuts of all stations; what both ways return differs by rounding only.

    Attributes
    ----------
    tables : SectionTables
        The sections.
    """

    tables: SectionTables

    def batches(self, lines: SectionLines) -> Iterator[tuple[Ints, SectionFunctions | None]]:
        """Part the rows: those that share a direction whose functions pay with them, the others with None.

        Directions are the same where they agree to 1e-14, which is about as far as rounding leaves them known. What a
        batch does depends on its lines alone, so that the same request always has the same digits. The functions of a
        direction cost about as much as clipping 16 rows and 20,000 points, as measured; upright ones are kept, so half
        as many rows pay for them.
        """
        points, step = len(self.tables.points_m), max(1, _STATIONS // len(self.tables.x_m))
        rest = np.arange(len(lines.offsets_m))
        least = _LEAST_ROWS + _LEAST_POINTS / points
        if len(rest) >= least / 2:
            angle = np.arctan2(*lines.normals.T)
            order = np.argsort(angle, kind="stable")
            first = np.flatnonzero(np.diff(angle[order], prepend=-np.inf) > _SAME_RAD)
            clipped = np.ones(len(rest), dtype=bool)
            counts = np.diff(first, append=len(order))
            for i in np.flatnonzero(counts >= least / 2):
                rows = order[first[i] : first[i] + counts[i]]
                functions = self._functions(angle[rows[[0, -1]]], lines.normals[rows[0]], many=counts[i] >= least)
                if functions is not None:
                    clipped[rows] = False
                    rows = np.sort(rows)
                    for start in range(0, len(rows), step):
                        yield rows[start : start + step], functions
            rest = rest[clipped]
        for start in range(0, len(rest), step):
            yield rest[start : start + step], None

    def cut(self, lines: SectionLines, functions: SectionFunctions | None) -> PolygonCut:
        """Cut every station by each line, from the functions along the lines' direction where they are given."""
        tables = self.tables
        if functions is not None:
            return functions.cut(lines.heights(tables.x_m))
        parts = []
        rows = max(1, _POINTS // len(tables.points_m))
        for start in range(0, len(lines.offsets_m), rows):
            checkpoint()
            some = lines.take(slice(start, start + rows))
            parts.append(
                cut_polygons(
                    level_m=some.levels(tables.points_m, tables.point_x_m),
                    along_m=some.alongs(tables.points_m),
                    skin_m=tables.skin_m,
                    layout=tables.layout,
                )
            )
        return parts[0] if len(parts) == 1 else PolygonCut(*(np.concatenate(each) for each in zip(*parts, strict=True)))

    @cached_property
    def _upright(self) -> SectionFunctions | None:
        return self._along(np.array([0.0, 1.0]))

    def _functions(self, angles: Floats, normal: Floats, *, many: bool) -> SectionFunctions | None:
        """Return the functions of a direction where the lines pay for them."""
        if np.abs(angles).max() <= _SAME_RAD:
            return self._upright
        return self._along(normal) if many and angles[1] - angles[0] <= _SAME_RAD else None

    def _along(self, normal: Floats) -> SectionFunctions | None:
        tables = self.tables
        lines = SectionLines(normal[None], np.zeros(1), np.zeros(1))
        return SectionFunctions.of(
            level_m=lines.levels(tables.points_m, 0.0)[0],
            along_m=lines.alongs(tables.points_m)[0],
            skin_m=tables.skin_m,
            layout=tables.layout,
        )
