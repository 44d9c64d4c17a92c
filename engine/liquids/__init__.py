"""Water, tank liquids and their free surfaces."""

from engine.liquids.capacity import TankState, capacity_table, tank_state
from engine.liquids.density import density_at, fresh_water_density, salinity_from_density, sea_water_density
from engine.liquids.hydrometer import Hydrometer, sample_density
from engine.liquids.running import Liquid
from engine.liquids.running_shift import RunningShift, running_shift
from engine.liquids.sounding import SoundingPipe
from engine.liquids.sounding_table import SoundingTable
from engine.liquids.tabular_moment import is_small_tank, tabular_coefficient, tabular_moment_tm
from engine.liquids.tank import (
    Lying,
    Tank,
    liquid_in,
    sounding_at_volume,
    volume_at_sounding,
    volume_at_ullage,
)

__all__ = [
    "Hydrometer",
    "Liquid",
    "Lying",
    "RunningShift",
    "SoundingPipe",
    "SoundingTable",
    "Tank",
    "TankState",
    "capacity_table",
    "density_at",
    "fresh_water_density",
    "is_small_tank",
    "liquid_in",
    "running_shift",
    "salinity_from_density",
    "sample_density",
    "sea_water_density",
    "sounding_at_volume",
    "tabular_coefficient",
    "tabular_moment_tm",
    "tank_state",
    "volume_at_sounding",
    "volume_at_ullage",
]
