"""Water planes. Layer: engine.geometry.

A plane is n·x = d with n a unit vector pointing up out of the water; below is n·x <= d. In the ship's
frame (x forward from the aft perpendicular, y to port, z up from the moulded base line)

    n = (trim_m / L, tan heel, 1) normalised,    z = draft_m + trim_m (1/2 - x/L) - y tan heel

so heel > 0 puts the starboard side down and trim > 0 the stern.
"""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.checks import Floats, finite, points, positive, within
from engine.errors import InputError

HEEL_LIMIT_DEG = 80.0


@dataclass(frozen=True, eq=False)
class Planes:
    """A batch of k planes.

    Attributes
    ----------
    normals : (k, 3) float64
        Unit normals, out of the water.
    offsets_m : (k,) float64
        Distance of each plane from the origin along its normal. [m]
    """

    normals: Floats
    offsets_m: Floats

    def __len__(self) -> int:
        return len(self.offsets_m)

    @classmethod
    def from_normals(cls, *, normals: ArrayLike, offsets_m: ArrayLike) -> Self:
        """Build from normals of any length and offsets; ``n·x <= d`` holds for the vectors as given."""
        vectors = points(np.atleast_2d(np.asarray(normals, dtype=np.float64)), columns=3, field="normals")
        distances = np.atleast_1d(finite(offsets_m, field="offsets_m"))
        lengths = np.linalg.norm(vectors, axis=1)
        if (lengths == 0).any():
            raise InputError("a normal must not be zero", code="zero-normal", field="normals")
        vectors, distances, lengths = (
            np.broadcast_to(vectors, (max(len(vectors), len(distances)), 3)),
            np.broadcast_to(distances, (max(len(vectors), len(distances)),)),
            np.broadcast_to(lengths, (max(len(vectors), len(distances)),)),
        )
        return cls(normals=vectors / lengths[:, None], offsets_m=distances / lengths)

    @classmethod
    def from_waterplanes(
        cls, *, draft_m: ArrayLike, heel_deg: ArrayLike = 0.0, trim_m: ArrayLike = 0.0, length_bp_m: float
    ) -> Self:
        """Build from drafts at midlength on the centreline, heels (within ±80°) and trims, broadcast."""
        length = positive(length_bp_m, field="length_bp_m", unit="m")
        draft, heel, trim = np.broadcast_arrays(
            np.atleast_1d(finite(draft_m, field="draft_m")),
            within(heel_deg, low=-HEEL_LIMIT_DEG, high=HEEL_LIMIT_DEG, field="heel_deg", unit="deg"),
            finite(trim_m, field="trim_m"),
        )
        vectors = np.stack([trim / length, np.tan(np.radians(heel)), np.ones(draft.shape)], axis=-1).reshape(-1, 3)
        return cls.from_normals(normals=vectors, offsets_m=(draft + 0.5 * trim).ravel())

    @classmethod
    def from_angles(cls, *, heel_deg: ArrayLike, slope_ratio: ArrayLike = 0.0, offsets_m: ArrayLike) -> Self:
        """Build from heels of any size and ``slope_ratio`` = n_x, the sine of the trim angle, by the stern +."""
        heel, slope, offsets = np.broadcast_arrays(
            np.atleast_1d(np.radians(finite(heel_deg, field="heel_deg"))), slope_ratio, offsets_m
        )
        return cls(normals=normals_at(heel_rad=heel, slope_ratio=slope), offsets_m=np.array(offsets, dtype=np.float64))

    def take(self, rows: NDArray[np.intp]) -> Self:
        """Return the planes of the given rows."""
        return type(self)(normals=self.normals[rows], offsets_m=self.offsets_m[rows])

    @property
    def heel_deg(self) -> Floats:
        """Heel, starboard down +, as a transverse pendulum shows it. [deg]"""
        return np.degrees(np.arctan2(self.normals[:, 1], self.normals[:, 2]))

    def trim_m(self, *, length_bp_m: float) -> Floats:
        """Trim on the centreline, by the stern +. [m]"""
        with np.errstate(divide="ignore", invalid="ignore"):
            return self.normals[:, 0] / self.normals[:, 2] * length_bp_m

    def draft_m(self, *, length_bp_m: float) -> Floats:
        """Draft at midlength on the centreline, along the ship's z. [m]"""
        with np.errstate(divide="ignore", invalid="ignore"):
            return (self.offsets_m - self.normals[:, 0] * length_bp_m / 2) / self.normals[:, 2]


def normals_at(*, heel_rad: Floats, slope_ratio: Floats) -> Floats:
    """Return the (k, 3) unit normals at given heels and n_x."""
    cosine = np.sqrt(1.0 - np.square(slope_ratio))
    return np.stack([slope_ratio, cosine * np.sin(heel_rad), cosine * np.cos(heel_rad)], axis=-1)
