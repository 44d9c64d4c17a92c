"""A liquid of fixed volume that runs to its level in a tank. Layer: engine.liquids."""

from dataclasses import dataclass

from engine.checks import Floats
from engine.liquids.tank import Lying, Tank, liquid_in


@dataclass(frozen=True, eq=False)
class Liquid:
    """What a tank holds: ``volume_m3`` of net volume [m³] of ``density_t_per_m3`` [t/m³]."""

    tank: Tank
    volume_m3: float
    density_t_per_m3: float

    @property
    def mass_t(self) -> float:
        """[t]."""
        return self.volume_m3 * self.density_t_per_m3

    def at(self, normals: Floats, *, start_m: Floats | None = None) -> Lying:
        """Return how it lies under each of (k, 3) unit normals; ``start_m``: see ``liquid_in``."""
        return liquid_in(self.tank, volume_m3=self.volume_m3, normals=normals, start_m=start_m)
