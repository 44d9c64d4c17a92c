"""The condition the ship is expected to be tested in. Layer: engine.planning.

Aboard are the lightship as estimated, less what is still to be added, with what is to be removed or relocated where it
now lies, the liquids running in their tanks, and the inclining weights in their places.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from engine.errors import NotDeterminedError
from engine.flotation.equilibrium import Equilibrium, equilibrium
from engine.flotation.hydrostatics import Hydrostatics, hydrostatics
from engine.geometry.cut import Solid
from engine.geometry.plane import Planes
from engine.incline.moments import Weight
from engine.lightship.derivation import UPRIGHT, Mass
from engine.liquids.running import Liquid
from engine.planning import wall_sided
from engine.survey.ledger import Change, Item, change_by, total

TankPosition = Literal["deep", "double_bottom"]

LIST_LIMIT_DEG = 30.0
"""No test is planned for a ship that lies beyond this, heeled or trimmed: our choice."""


@dataclass(frozen=True, eq=False)
class PlannedTank:
    """A tank as it shall be on the day.

    Attributes
    ----------
    liquid : Liquid
        What it holds.
    lightship_volume_m3 : float
        How much of that belongs to the lightship. [m³]
    position : {"deep", "double_bottom"}
        Sets the fills at which it may be slack.
    use : str
        Tanks of one use are counted together; "" where it is not stated.
    """

    liquid: Liquid
    lightship_volume_m3: float = 0.0
    position: TankPosition = "deep"
    use: str = ""


@dataclass(frozen=True, eq=False)
class PlannedShip:
    """The ship before the weights come aboard.

    Attributes
    ----------
    hull : Solid
        Undeformed hull.
    length_bp_m, density_t_per_m3 : float
        Length between perpendiculars; water. [m, t/m³]
    lightship : Mass
        Estimate.
    items : tuple of Item
        The ledger expected on the day, actions as in a record.
    tanks : tuple of PlannedTank
        As planned.
    """

    hull: Solid
    length_bp_m: float
    density_t_per_m3: float
    lightship: Mass
    items: tuple[Item, ...] = ()
    tanks: tuple[PlannedTank, ...] = ()

    @property
    def liquids(self) -> tuple[Liquid, ...]:
        """What runs in the tanks."""
        return tuple(tank.liquid for tank in self.tanks)

    def rigid(self, weights: Iterable[Weight] = ()) -> Mass:
        """Return everything aboard but the liquids.

        Raises
        ------
        NotDeterminedError
            ``lightship-not-positive``: the ledger leaves nothing aboard.
        """
        change = total(change_by(item) for item in self.items)
        mass = self.lightship.mass_t - change.mass_t
        moment = self.lightship.moment_tm - change.moment_tm
        for tank in self.tanks:
            own = lightship_part(tank)
            mass, moment = mass - own.mass_t, moment - own.moment_tm
        for weight in weights:
            mass, moment = mass + weight.mass_t, moment + weight.mass_t * weight.centre_m
        if not mass > 0:
            raise NotDeterminedError(
                f"the estimate and the ledger leave {mass:.6g} t aboard",
                code="lightship-not-positive",
                field="items",
                value=mass,
                limit=0.0,
            )
        return Mass(mass, moment / mass)


def lightship_part(tank: PlannedTank) -> Change:
    """Return mass and first moment of the liquid that is lightship, at rest in the upright tank."""
    if tank.lightship_volume_m3 == 0:
        return Change(0.0, np.zeros(3))
    part = Liquid(tank.liquid.tank, tank.lightship_volume_m3, tank.liquid.density_t_per_m3)
    return Change(part.mass_t, part.mass_t * part.at(UPRIGHT).centroid_m[0])


@dataclass(frozen=True, eq=False)
class Condition:
    """Where she floats.

    Attributes
    ----------
    position : Equilibrium
        One position.
    hydrostatics : Hydrostatics
        One row.
    length_bp_m : float
        [m]
    """

    position: Equilibrium
    hydrostatics: Hydrostatics
    length_bp_m: float

    @property
    def displacement_t(self) -> float:
        """Everything aboard. [t]"""
        return float(self.position.mass_t[0])

    @property
    def draft_m(self) -> float:
        """At midlength on the centreline. [m]"""
        return float(self.position.planes.draft_m(length_bp_m=self.length_bp_m)[0])

    @property
    def trim_m(self) -> float:
        """By the stern +. [m]"""
        return float(self.position.planes.trim_m(length_bp_m=self.length_bp_m)[0])

    @property
    def heel_deg(self) -> float:
        """To starboard +. [deg]"""
        return float(self.position.planes.heel_deg[0])

    @property
    def gm_fluid_m(self) -> float:
        """Free surfaces included. [m]"""
        return float(self.position.gm_fluid_m[0])

    @property
    def free_surface_tm(self) -> float:
        """Σ ρ i. [t·m]"""
        return float(self.position.free_surface_tm[0])

    @property
    def gm_solid_m(self) -> float:
        """Without free surfaces. [m]"""
        return self.gm_fluid_m + self.free_surface_tm / self.displacement_t

    @property
    def bm_transverse_m(self) -> float:
        """[m]."""
        return float(self.hydrostatics.bm_transverse_m[0])

    @property
    def stiffening_m(self) -> float:
        """BM − FSC of the wall-sided term. [m]"""
        return self.bm_transverse_m - self.free_surface_tm / self.displacement_t

    def moment_tm(self, tangent: float) -> float:
        """Return the moment that heels her from upright to a tangent, by the wall-sided formula. [t·m]"""
        return wall_sided.moment_tm(
            displacement_t=self.displacement_t,
            gm_m=self.gm_fluid_m,
            tangent_ratio=tangent,
            stiffening_m=self.stiffening_m,
        )

    def heel_deg_by(self, moment_tm: float) -> float:
        """Return the heel from upright by a moment, by the wall-sided formula. [deg]"""
        tangent = wall_sided.tangent_ratio(
            displacement_t=self.displacement_t,
            gm_m=self.gm_fluid_m,
            moment_tm=moment_tm,
            stiffening_m=self.stiffening_m,
        )
        return float(np.degrees(np.arctan(tangent)))


def predict(ship: PlannedShip, *, weights: Iterable[Weight] = (), start: Planes | None = None) -> Condition:
    """Return where she is expected to float, free to sink, heel and trim, with weights in their places.

    Raises
    ------
    NotDeterminedError
        ``lightship-not-positive``; ``predicted-not-upright``: a list or trim with which no test is planned; or as
        ``equilibrium``.
    """
    rigid = ship.rigid(weights)
    position = equilibrium(
        solid=ship.hull,
        density_t_per_m3=ship.density_t_per_m3,
        mass_t=rigid.mass_t,
        centre_m=rigid.centre_m,
        liquids=ship.liquids,
        start=start,
    )
    heel, slope = float(position.planes.heel_deg[0]), float(abs(position.planes.normals[0, 0]))
    if abs(heel) > LIST_LIMIT_DEG or slope > np.sin(np.radians(LIST_LIMIT_DEG)):
        raise NotDeterminedError(
            f"she is expected to lie at {heel:.3g} degrees of heel and {np.degrees(np.arcsin(slope)):.3g} of trim: "
            f"beyond {LIST_LIMIT_DEG:.6g} no test is planned",
            code="predicted-not-upright",
            field="lightship",
            value=heel,
            limit=LIST_LIMIT_DEG,
        )
    at = hydrostatics(
        solid=ship.hull,
        planes=position.planes,
        density_t_per_m3=ship.density_t_per_m3,
        length_bp_m=ship.length_bp_m,
    )
    return Condition(position, at, ship.length_bp_m)


def upright_moment_tm(ship: PlannedShip, *, weights: Iterable[Weight] = ()) -> float:
    """Return the heeling moment that would bring her upright, to starboard +. [t·m]

    Heel is held at 0 while she sinks and trims freely on the real hull with running liquids.
    """
    rigid = ship.rigid(weights)
    upright = Planes.from_waterplanes(draft_m=0.0, length_bp_m=ship.length_bp_m)
    held = equilibrium(
        solid=ship.hull,
        density_t_per_m3=ship.density_t_per_m3,
        mass_t=rigid.mass_t,
        centre_m=rigid.centre_m,
        liquids=ship.liquids,
        start=upright,
        hold="heel",
    )
    return float(held.righting_arm_m[0] * held.mass_t[0])
