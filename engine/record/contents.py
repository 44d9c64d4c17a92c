"""What a survey says is in a tank. Layer: engine.record."""

from dataclasses import dataclass
from typing import Literal

from engine.checks import Floats
from engine.liquids.tank import Tank, checked_volume, volume_at_sounding, volume_at_ullage


@dataclass(frozen=True)
class Contents:
    """How much is in a tank: ``amount`` is a net volume [m³], or a sounding or ullage along the pipe [m]."""

    kind: Literal["empty", "full", "volume", "sounding", "ullage"]
    amount: float = 0.0

    def net_volume_m3(self, tank: Tank, *, normals: Floats) -> float:
        """Return the net volume of liquid in a ship floating at the (1, 3) normal of the survey. [m³]"""
        if self.kind == "empty":
            return 0.0
        if self.kind == "full":
            return tank.capacity_m3
        if self.kind == "sounding":
            return float(volume_at_sounding(tank, sounding_m=self.amount, normals=normals)[0])
        if self.kind == "ullage":
            return float(volume_at_ullage(tank, ullage_m=self.amount, normals=normals)[0])
        return float(checked_volume(tank, self.amount))
