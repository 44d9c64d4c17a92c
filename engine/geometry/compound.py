"""Solids made of solids: signed sums, and a thickness of shell. Layer: engine.geometry."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from engine.checks import Floats, finite
from engine.errors import InputError
from engine.geometry.cut import Cuts, Solid
from engine.geometry.level import filling_range
from engine.geometry.plane import Planes


@dataclass(frozen=True, eq=False)
class Compound:
    """A signed sum of solids: +1 what is added (a hull, an appendage), −1 what is removed (a tunnel).

    What is removed must lie within what is added, and what is added must not overlap; neither is checked
    here, the latter by ``self_intersection.noted_of``. A part removed takes its own skin from the wetted area:
    where it opens through the skin, correct the wetted area by a mesh of the whole.

    Attributes
    ----------
    parts : tuple of Solid
        The solids.
    signs : tuple of int
        +1 or −1 for each.
    """

    parts: tuple[Solid, ...]
    signs: tuple[int, ...]

    @classmethod
    def of(cls, parts: Sequence[Solid], *, signs: Sequence[int] | None = None) -> Self:
        """Build from solids and their signs, all +1 where not given.

        Raises
        ------
        InputError
            "empty-compound", "wrong-shape", "bad-sign".
        """
        chosen = tuple(signs) if signs is not None else (1,) * len(parts)
        if not parts:
            raise InputError("a compound needs a part", code="empty-compound", field="parts", value=0.0, limit=1.0)
        if len(chosen) != len(parts):
            raise InputError("must have a sign for each part", code="wrong-shape", field="signs")
        for row, sign in enumerate(chosen):
            if sign not in (1, -1):
                raise InputError("must be 1 or -1", code="bad-sign", field=f"signs/{row}", value=float(sign))
        return cls(parts=tuple(parts), signs=chosen)

    @property
    def volume_m3(self) -> float:
        """Whole volume; NaN where the skin of a part is open. [m³]"""
        return float(sum(sign * part.volume_m3 for part, sign in zip(self.parts, self.signs, strict=True)))

    @property
    def _added(self) -> list[Solid]:
        return [part for part, sign in zip(self.parts, self.signs, strict=True) if sign > 0] or list(self.parts)

    @property
    def bounds_m(self) -> Floats:
        """(2, 3) least and greatest coordinates of the parts added. [m]"""
        bounds = np.stack([part.bounds_m for part in self._added])
        return np.stack([bounds[:, 0].min(axis=0), bounds[:, 1].max(axis=0)])

    def filling_range_m(self, normals: Floats) -> tuple[Floats, Floats]:
        """Return for each normal the offset of the lowest point and of the highest, or of the lowest opening."""
        ranges = [filling_range(part, normals) for part in self._added]
        high = np.maximum.reduce([r[1] for r in ranges])
        for part in self.parts:
            if not np.isfinite(part.volume_m3):
                high = np.minimum(high, filling_range(part, normals)[1])
        return np.minimum.reduce([r[0] for r in ranges]), high

    def cut(self, planes: Planes) -> Cuts:
        """Return what lies below each plane."""
        cuts = [part.cut(planes) for part in self.parts]
        pairs = list(zip(self.signs, cuts, strict=True))
        volume, centroid = _summed([(s * c.volume_m3, c.centroid_m) for s, c in pairs])
        plan, centre = _summed([(s * c.waterplane_area_m2, c.waterplane_centroid_m) for s, c in pairs])
        wetted, skin = _summed([(s * c.wetted_area_m2, c.wetted_centroid_m) for s, c in pairs])
        tensor = np.zeros((len(planes), 3, 3))
        for sign, cut in pairs:
            arm = np.nan_to_num(cut.waterplane_centroid_m - centre)
            shift = cut.waterplane_area_m2[:, None, None] * arm[:, :, None] * arm[:, None, :]
            tensor += sign * (cut.waterplane_tensor_m4 + shift)
        low = np.fmin.reduce([c.waterplane_extent_m[:, 0] for s, c in pairs if s > 0])
        high = np.fmax.reduce([c.waterplane_extent_m[:, 1] for s, c in pairs if s > 0])
        return Cuts(
            planes=planes,
            volume_m3=volume,
            centroid_m=centroid,
            waterplane_area_m2=plan,
            waterplane_centroid_m=centre,
            waterplane_tensor_m4=tensor,
            waterplane_extent_m=np.stack([low, high], axis=1),
            wetted_area_m2=wetted,
            wetted_centroid_m=skin,
        )

    def section_area_m2(self, planes: Planes, *, x_m: float) -> Floats:
        """(k,) immersed area of the transverse section at x. [m²]"""
        areas = [s * part.section_area_m2(planes, x_m=x_m) for s, part in zip(self.signs, self.parts, strict=True)]
        return np.asarray(np.sum(areas, axis=0), dtype=np.float64)

    def section_extent_m(self, *, x_m: float) -> Floats:
        """(2, 2) least and greatest y and z of the whole transverse section of the parts added. [m]"""
        extents = np.stack([part.section_extent_m(x_m=x_m) for part in self._added])
        return np.stack([np.fmin.reduce(extents[:, 0]), np.fmax.reduce(extents[:, 1])])

    def bent(self, *, sag_m: float, length_bp_m: float) -> Self:
        """Return the body sagged by ``sag_m`` at midlength: z − sag (1 − (2x/L − 1)²); hog is negative."""
        parts = tuple(part.bent(sag_m=sag_m, length_bp_m=length_bp_m) for part in self.parts)
        return type(self)(parts=parts, signs=self.signs)


@dataclass(frozen=True, eq=False)
class Shelled:
    """A moulded body with a shell outside it, to the first order of the thickness t.

    Displacement grows by t × wetted area, its moment by t × wetted first moment. The waterplane, its moments
    and the transverse sections stay moulded, and the wetted area is that of the moulded skin.

    Attributes
    ----------
    solid : Solid
        The moulded body.
    thickness_m : float
        Mean thickness of the shell, 0 or more. [m]
    """

    solid: Solid
    thickness_m: float

    def __post_init__(self) -> None:
        if float(finite(self.thickness_m, field="thickness_m")) < 0:
            raise InputError(
                f"must not be below 0 m, is {self.thickness_m:.6g}",
                code="negative-thickness",
                field="thickness_m",
                value=self.thickness_m,
                limit=0.0,
            )

    @property
    def volume_m3(self) -> float:
        """Whole volume with the shell; NaN where the skin is open above. [m³]"""
        low, high = self.solid.bounds_m
        above = Planes.from_normals(normals=[[0.0, 0.0, 1.0]], offsets_m=[high[2] + float((high - low).max())])
        moulded = self.solid.volume_m3
        if not np.isfinite(moulded):
            return moulded
        return moulded + self.thickness_m * float(self.solid.cut(above).wetted_area_m2[0])

    @property
    def bounds_m(self) -> Floats:
        """(2, 3) least and greatest coordinates of the moulded body. [m]"""
        return self.solid.bounds_m

    def filling_range_m(self, normals: Floats) -> tuple[Floats, Floats]:
        """Return those of the moulded body."""
        return filling_range(self.solid, normals)

    def cut(self, planes: Planes) -> Cuts:
        """Return what lies below each plane, shell included in volume and centroid."""
        cuts = self.solid.cut(planes)
        volume, centroid = _summed(
            [(cuts.volume_m3, cuts.centroid_m), (self.thickness_m * cuts.wetted_area_m2, cuts.wetted_centroid_m)]
        )
        return replace(cuts, volume_m3=volume, centroid_m=centroid)

    def section_area_m2(self, planes: Planes, *, x_m: float) -> Floats:
        """(k,) immersed moulded area of the transverse section at x. [m²]"""
        return self.solid.section_area_m2(planes, x_m=x_m)

    def section_extent_m(self, *, x_m: float) -> Floats:
        """(2, 2) least and greatest y and z of the whole moulded section at x; NaN outside the body. [m]"""
        return self.solid.section_extent_m(x_m=x_m)

    def bent(self, *, sag_m: float, length_bp_m: float) -> Self:
        """Return the body sagged by ``sag_m`` at midlength, with the same shell."""
        return type(self)(self.solid.bent(sag_m=sag_m, length_bp_m=length_bp_m), self.thickness_m)


def _summed(terms: Sequence[tuple[Floats, Floats]]) -> tuple[Floats, Floats]:
    """Return the sum of (k,) amounts and their common (k, 3) centroid, NaN where the sum is 0."""
    amount = np.sum([a for a, _ in terms], axis=0)
    moment = np.sum([np.where(a[:, None] != 0, a[:, None] * c, 0.0) for a, c in terms], axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        return amount, np.where(amount[:, None] != 0, moment / amount[:, None], np.nan)
