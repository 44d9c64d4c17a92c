"""A tank, and how a given volume of liquid lies in it at any heel and trim. Layer: engine.liquids."""

from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.errors import InputError
from engine.geometry.cut import Solid
from engine.geometry.level import level
from engine.geometry.plane import Planes


@dataclass(frozen=True, eq=False)
class Tank:
    """A space for liquid: its moulded body, and the share of it that liquid can fill, in (0, 1]."""

    solid: Solid
    permeability_ratio: float = 1.0

    def __post_init__(self) -> None:
        if not 0 < self.permeability_ratio <= 1:
            raise InputError(
                f"must lie above 0 and up to 1, is {self.permeability_ratio:.6g}",
                code="out-of-range",
                field="permeability_ratio",
                value=self.permeability_ratio,
                limit=1.0,
            )

    @property
    def capacity_m3(self) -> float:
        """Net volume when full. [m³]"""
        return self.solid.volume_m3 * self.permeability_ratio


@dataclass(frozen=True, eq=False)
class Lying:
    """A liquid at its level under each of k normals.

    Attributes
    ----------
    centroid_m : (k, 3) float64
        Centre of the liquid; zero where there is none. [m]
    surface_tensor_m4 : (k, 3, 3) float64
        Central second moments of its free surface, net of permeability; zero where empty or full. [m⁴]
    """

    centroid_m: Floats
    surface_tensor_m4: Floats


def liquid_in(tank: Tank, *, volume_m3: float, normals: Floats) -> Lying:
    """Return how ``volume_m3`` of net volume lies under each of (k, 3) unit normals.

    Raises
    ------
    InputError
        ``volume-beyond-capacity`` with the capacity; ``negative-volume``.
    """
    if volume_m3 < 0:
        raise InputError(
            f"must be at least 0 m3, is {volume_m3:.6g}", code="negative-volume", field="volume_m3", value=volume_m3
        )
    if volume_m3 == 0:
        return Lying(np.zeros((len(normals), 3)), np.zeros((len(normals), 3, 3)))
    offsets = level(tank.solid, normals=normals, volumes_m3=volume_m3 / tank.permeability_ratio)
    full = volume_m3 >= tank.capacity_m3 * (1 - 1e-12)
    cuts = tank.solid.cut(Planes(normals=normals, offsets_m=offsets + (1.0 if full else 0.0)))
    tensor = np.where(cuts.waterplane_area_m2[:, None, None] > 0, cuts.waterplane_tensor_m4, 0.0)
    return Lying(cuts.centroid_m, tensor * tank.permeability_ratio * (0.0 if full else 1.0))
