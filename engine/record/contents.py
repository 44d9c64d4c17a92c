"""What a survey says is in a tank. Layer: engine.record."""

from dataclasses import dataclass
from typing import Literal

from engine.errors import InputError
from engine.liquids.tank import Tank


@dataclass(frozen=True)
class Contents:
    """How much is in a tank; ``volume_m3`` counts where kind is "volume". [m³]"""

    kind: Literal["empty", "full", "volume"]
    volume_m3: float = 0.0

    def net_volume_m3(self, tank: Tank) -> float:
        """Return the net volume of liquid; refuse more than the tank holds. [m³]"""
        if self.kind == "empty":
            return 0.0
        if self.kind == "full":
            return tank.capacity_m3
        if self.volume_m3 > tank.capacity_m3 * (1 + 1e-12):
            raise InputError(
                f"the tank holds {tank.capacity_m3:.6g} m3, {self.volume_m3:.6g} are stated",
                code="volume-beyond-capacity",
                field="contents/volume_m3",
                value=self.volume_m3,
                limit=tank.capacity_m3,
            )
        return self.volume_m3
