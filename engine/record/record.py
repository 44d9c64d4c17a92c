"""A test record as the engine sees it: metres, tonnes, ship's frame. Layer: engine.record."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from engine.checks import Floats
from engine.errors import EngineError
from engine.geometry.cut import Solid
from engine.incline.instruments import Instrument
from engine.incline.moments import Move, Weight
from engine.lightship.derivation import Mass
from engine.liquids.running import Liquid
from engine.liquids.tank import Tank
from engine.record.contents import Contents
from engine.survey.ledger import Item
from engine.survey.waterline import Deflection, Heights


@dataclass(frozen=True, eq=False)
class TankAboard:
    """A tank with what is in it at the survey, and how much of that belongs to the lightship. [t/m³, m³]"""

    tank: Tank
    density_t_per_m3: float
    contents: Contents
    lightship_volume_m3: float = 0.0

    def liquid(self, *, normals: Floats) -> Liquid:
        """Return what it holds in a ship floating at the (1, 3) normal; a fault is placed below ``contents``."""
        try:
            volume = self.contents.net_volume_m3(self.tank, normals=normals)
        except EngineError as error:
            raise error.at("contents") from error
        return Liquid(tank=self.tank, volume_m3=volume, density_t_per_m3=self.density_t_per_m3)


@dataclass(frozen=True, eq=False)
class Record:
    """What the main job needs of a test.

    Attributes
    ----------
    hull : Solid
        Undeformed hull.
    length_bp_m : float
        [m]
    density_t_per_m3 : float
        Water the ship floats in. [t/m³]
    heights : Heights
        Freeboards and draft marks.
    weights : mapping of id to Weight
        Inclining weights as placed at reading 0.
    moves : tuple of Move
        Move k is the k-th.
    instruments : tuple of Instrument
        One value a reading.
    survey_differences : tuple of Mass
        Aboard at reading 0 but not when the heights were read; negative mass the reverse.
    tanks, items
        Liquids aboard; the ledger.
    deflection : {"auto", "apply", "ignore"}
        How the hull's bend is taken.
    """

    hull: Solid
    length_bp_m: float
    density_t_per_m3: float
    heights: Heights
    weights: Mapping[str, Weight]
    moves: tuple[Move, ...]
    instruments: tuple[Instrument, ...]
    survey_differences: tuple[Mass, ...] = ()
    tanks: tuple[TankAboard, ...] = ()
    items: tuple[Item, ...] = ()
    deflection: Deflection = field(default="auto")
