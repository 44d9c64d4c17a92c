"""A test record as the engine sees it: metres, tonnes, ship's frame. Layer: engine.record."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from engine.checks import Floats
from engine.errors import EngineError, InputError
from engine.flotation.tables import HydrostaticTables
from engine.geometry.cut import Solid
from engine.incline.instruments import Instrument
from engine.incline.moments import Move, Plateaus, Weight, plateaus
from engine.lightship.derivation import Mass
from engine.liquids.running import Liquid
from engine.liquids.tank import Tank
from engine.record.assumed import Assumed, Stated
from engine.record.contents import Contents
from engine.survey.ledger import Item
from engine.survey.water_samples import WaterSample
from engine.survey.waterline import Deflection, Heights


@dataclass(frozen=True, eq=False)
class TankAboard:
    """A tank with what is in it at the survey, and how much of that belongs to the lightship. [t/m³, m³]"""

    tank: Tank
    density_t_per_m3: float
    contents: Contents
    lightship_volume_m3: float = 0.0

    def liquid(self, *, normals: Floats) -> Liquid:
        """Return what it holds in a ship floating at the (1, 3) normal.

        Raises
        ------
        EngineError
            Below ``contents``, or ``volume-beyond-capacity`` at ``lightship_volume_m3``.
        """
        try:
            volume = self.contents.net_volume_m3(self.tank, normals=normals)
        except EngineError as error:
            raise error.at("contents") from error
        if self.lightship_volume_m3 > self.tank.capacity_m3:
            raise InputError(
                f"the tank holds {self.tank.capacity_m3:.6g} m3, {self.lightship_volume_m3:.6g} are stated",
                code="volume-beyond-capacity",
                field="lightship_volume_m3",
                value=self.lightship_volume_m3,
                limit=self.tank.capacity_m3,
            )
        return Liquid(tank=self.tank, volume_m3=volume, density_t_per_m3=self.density_t_per_m3)


@dataclass(frozen=True, eq=False, kw_only=True)
class Parts:
    """What a record says beside the hull and the heights of the water.

    Attributes
    ----------
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
    assumed : Assumed
        Standard uncertainties where none is stated.
    stated : mapping of str to Stated
        What the record itself says of a value, by its place: "freeboards/3/freeboard_m".
    """

    weights: Mapping[str, Weight] = field(default_factory=dict)
    moves: tuple[Move, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    survey_differences: tuple[Mass, ...] = ()
    tanks: tuple[TankAboard, ...] = ()
    items: tuple[Item, ...] = ()
    assumed: Assumed = field(default_factory=Assumed)
    stated: Mapping[str, Stated] = field(default_factory=dict)

    @property
    def reading_count(self) -> int:
        """Readings if none is missed: one more than the moves."""
        return len(self.moves) + 1

    def liquids(self, *, normals: Floats) -> tuple[Liquid, ...]:
        """Return what every tank holds in a ship floating at the (1, 3) normal; a fault is placed in the record."""
        found = []
        for i, aboard in enumerate(self.tanks):
            try:
                found.append(aboard.liquid(normals=normals))
            except EngineError as error:
                raise error.at(f"tanks/{i}") from error
        return tuple(found)

    def moved(self) -> Plateaus:
        """Follow the weights through the moves.

        Raises
        ------
        InputError
            ``unknown-weight``; ``too-many-readings``: an instrument has more readings than the moves allow.
        """
        found = plateaus(weights=self.weights, moves=self.moves)
        for i, instrument in enumerate(self.instruments):
            count = len(instrument.readings)
            if count > self.reading_count:
                raise InputError(
                    f"{count} readings, but {len(self.moves)} moves give at most {self.reading_count}",
                    code="too-many-readings",
                    field=f"instruments/{i}",
                    value=count,
                    limit=self.reading_count,
                )
        return found


@dataclass(frozen=True, eq=False, kw_only=True)
class Record(Parts):
    """What the main job needs of a test.

    Attributes
    ----------
    hull : Solid or HydrostaticTables
        Undeformed hull, or its approved tables where no geometry exists.
    length_bp_m : float
        [m]
    samples : tuple of WaterSample
        Of the water she floats in; the mean of their densities is used.
    heights : Heights
        Freeboards, then draft marks.
    freeboard_count : int
        How many of them are freeboards.
    deflection : {"auto", "apply", "ignore"}
        How the hull's bend is taken.
    """

    hull: Solid | HydrostaticTables
    length_bp_m: float
    samples: tuple[WaterSample, ...]
    heights: Heights
    freeboard_count: int
    deflection: Deflection = "auto"

    @property
    def sample_density_t_per_m3(self) -> Floats:
        """(s,) densities by each sample. [t/m³]"""
        return np.array([one.density_t_per_m3 for one in self.samples])

    @property
    def density_t_per_m3(self) -> float:
        """Mean of the samples. [t/m³]"""
        return float(np.mean(self.sample_density_t_per_m3))
