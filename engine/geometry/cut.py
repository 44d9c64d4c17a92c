"""What a solid answers when planes cut it. Layer: engine.geometry."""

from dataclasses import dataclass, fields
from typing import Protocol, Self

import numpy as np
from numpy.typing import NDArray

from engine.checks import Floats
from engine.geometry.plane import Planes

Rows = slice | NDArray[np.intp] | NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Cuts:
    """The part of a solid below each of k planes, in the ship's frame.

    Where nothing is immersed, volumes and areas are 0 and centroids NaN. Where no waterplane exists
    (nothing immersed, or all of it), its area is 0 and its centroid and extent NaN.

    Attributes
    ----------
    planes : Planes
        The k planes.
    volume_m3 : (k,) float64
        Immersed volume. [m³]
    centroid_m : (k, 3) float64
        Centroid of the immersed volume. [m]
    waterplane_area_m2 : (k,) float64
        Area of the section by the plane itself, in the plane. [m²]
    waterplane_centroid_m : (k, 3) float64
        Its centroid, the centre of flotation. [m]
    waterplane_tensor_m4 : (k, 3, 3) float64
        Central second moments ∫(x-c)(x-c)ᵀ dA of that section; ``tensor @ n`` is zero. [m⁴]
    waterplane_extent_m : (k, 2, 3) float64
        Least and greatest ship coordinates of the waterline. [m]
    wetted_area_m2 : (k,) float64
        Area of the immersed skin, the waterplane left out. [m²]
    wetted_centroid_m : (k, 3) float64
        Centroid of the immersed skin. [m]
    """

    planes: Planes
    volume_m3: Floats
    centroid_m: Floats
    waterplane_area_m2: Floats
    waterplane_centroid_m: Floats
    waterplane_tensor_m4: Floats
    waterplane_extent_m: Floats
    wetted_area_m2: Floats
    wetted_centroid_m: Floats

    def take(self, rows: Rows) -> "Cuts":
        """Return the given rows."""
        columns = {name: getattr(self, name)[rows] for name in CUT_COLUMNS}
        return Cuts(Planes(self.planes.normals[rows], self.planes.offsets_m[rows]), **columns)


CUT_COLUMNS = tuple(one.name for one in fields(Cuts) if one.name != "planes")
"""All that is known of each plane's cut."""


class Solid(Protocol):
    """A body that floats or is filled. Hulls and tanks are the same thing."""

    @property
    def volume_m3(self) -> float:
        """Whole volume; NaN where the skin is open above. [m³]"""
        ...

    @property
    def bounds_m(self) -> Floats:
        """(2, 3) least and greatest coordinates. [m]"""
        ...

    def cut(self, planes: Planes) -> Cuts:
        """Return what lies below each plane."""
        ...

    def section_area_m2(self, planes: Planes, *, x_m: float) -> Floats:
        """(k,) immersed area of the transverse section at x. [m²]"""
        ...

    def section_extent_m(self, *, x_m: float) -> Floats:
        """(2, 2) least and greatest y and z of the whole transverse section at x; NaN outside the body. [m]"""
        ...

    def bent(self, *, sag_m: float, length_bp_m: float) -> Self:
        """Return the body sagged by ``sag_m`` at midlength: z − sag (1 − (2x/L − 1)²); hog is negative."""
        ...
