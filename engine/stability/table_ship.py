"""A ship known by her tables alone, and all that is aboard; her arms by cross curves. Layer: engine.stability.

Upright, draft, trim and GM are those of the hydrostatic tables, the arms those of ``table_arms``. Where she floats
along the curve is not known, nor what goes under. Liquids do not run: their free surfaces are a correction.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats
from engine.errors import EngineError
from engine.findings import Finding
from engine.flotation.arm_curve import Side
from engine.flotation.cross_curve_table import CrossCurveTable
from engine.flotation.table_position import table_at_trim, table_upright
from engine.flotation.tables import LARGEST_HEEL_DEG, HydrostaticTables
from engine.stability.heel_curve import HeelCurve
from engine.stability.rest import Rest
from engine.stability.table_arms import curves_off_trim, slope_off_gm, table_arms

TOP_BY_DRAFT_RATIO = 2.0
"""The hull's top is taken so many times as high as the tables' deepest draft, where a limit of VCG is sought."""

_UP = np.array([0.0, 0.0, 1.0])
_SAME_SIDE_RAD = 1e-9


@dataclass(frozen=True, eq=False)
class TablesOfShip:
    """Approved tables that stand for a hull: hydrostatics, and KN where there are cross curves."""

    hydrostatics: HydrostaticTables
    cross_curves: CrossCurveTable | None = None


@dataclass(frozen=True, eq=False)
class TableShip:
    """A ship known by tables and all that is aboard.

    Attributes
    ----------
    tables : TablesOfShip
        In place of the hull.
    density_t_per_m3, mass_t : float
        Water; everything aboard, liquids included. [t/m³], [t]
    centre_m : (3,) float64
        Its centre, liquids where they lie upright. [m]
    free_surface_tm : float
        Correction: G is taken higher by this over the displacement. [t·m]
    rise_direction : (3,) float64
        Where the centre goes for each metre its height is raised: (0, 0, 1) at constant LCG.
    """

    tables: TablesOfShip
    density_t_per_m3: float
    mass_t: float
    centre_m: Floats
    free_surface_tm: float = 0.0
    rise_direction: Floats = field(default_factory=_UP.copy)

    @property
    def displacement_t(self) -> float:
        """All aboard. [t]"""
        return self.mass_t

    @property
    def heights_m(self) -> tuple[float, float]:
        """Bottom and top between which a limit of VCG is sought. [m]"""
        return 0.0, TOP_BY_DRAFT_RATIO * max(float(one.draft_m[-1]) for one in self.tables.hydrostatics.tables)

    def raised(self, rise_m: float) -> "TableShip":
        """Return the ship with the centre of gravity higher by ``rise_m``."""
        return replace(self, centre_m=self.centre_m + rise_m * self.rise_direction)

    def loaded(self, *, mass_t: float, moment_tm: ArrayLike) -> "TableShip":
        """Return the ship with mass and first moment added. [t, t·m]"""
        mass = self.mass_t + mass_t
        return replace(self, mass_t=mass, centre_m=(self.mass_t * self.centre_m + np.asarray(moment_tm)) / mass)

    def arms(self) -> "ArmsByTables":
        """Return her stability by the tables.

        Raises
        ------
        NotDeterminedError
            As ``table_upright``: ``beyond-tables`` of the hydrostatic rows. That of the cross curves leaves out the
            curve alone.
        """
        tables, density = self.tables.hydrostatics, self.density_t_per_m3
        afloat = table_upright(tables=tables, density_t_per_m3=density, mass_t=self.mass_t, centre_m=self.centre_m)
        rise = self.free_surface_tm / self.mass_t
        heel, arm, slope, mirrored, lacking = np.zeros(0), np.zeros(0), np.zeros(0), False, None
        if self.tables.cross_curves is None:
            lacking = Finding("cross-curves-missing", "the tables have no cross curves: there are no righting arms")
        else:
            try:
                made = table_arms(
                    table=self.tables.cross_curves,
                    displacement_t=self.mass_t,
                    density_t_per_m3=density,
                    vcg_m=float(self.centre_m[2]) + rise,
                    tcg_m=float(self.centre_m[1]),
                )
            except EngineError as error:
                lacking = Finding(error.code, f"there are no righting arms: {error.message}")
            else:
                heel, arm, slope = _as_far_as_both(made.curve)
                mirrored = made.mirrored
        return ArmsByTables(
            ship=self,
            heel_rad=heel,
            arm_m=arm,
            slope_m_per_rad=slope,
            draft_m=afloat.draft_m,
            trim_m=afloat.trim_m + 0.0,
            gm_fluid_m=afloat.point.km_transverse_m - float(self.centre_m[2]) - rise,
            mirrored=mirrored,
            lacking=lacking,
        )


def table_ship(
    tables: TablesOfShip,
    density_t_per_m3: float,
    free_surface_tm: float,
    mass_t: float,
    trim_m: float | None,
    lcg_m: float | None,
) -> TableShip:
    """Return a ship upright at a trim or with an LCG, her centre somewhere above half the tables' deepest draft.

    Raises
    ------
    NotDeterminedError
        ``beyond-tables``.
    """
    rows, up = tables.hydrostatics, _UP
    centre = np.array([0.0 if lcg_m is None else lcg_m, 0.0, 0.6 * max(float(one.draft_m[-1]) for one in rows.tables)])
    if trim_m is not None:
        at = table_at_trim(tables=rows, density_t_per_m3=density_t_per_m3, mass_t=mass_t, trim_m=trim_m).point
        up = np.array([trim_m / rows.length_bp_m, 0.0, 1.0])
        centre = np.array([at.lcb_m, 0.0, at.vcb_m]) + (centre[2] - at.vcb_m) * up
    return TableShip(tables, density_t_per_m3, mass_t, centre, free_surface_tm, up)


@dataclass(frozen=True, eq=False)
class ArmsByTables:
    """What tables say of a ship's stability, as ``Arms`` says it of a hull's.

    Attributes
    ----------
    ship : TableShip
        Whose.
    heel_rad, arm_m, slope_m_per_rad : (k,) float64
        From port to starboard as far as both sides reach; k = 0 where there is no curve. [rad, m, m/rad]
    draft_m, trim_m : float
        Upright. [m]
    gm_fluid_m : float
        Upright, free surfaces corrected for. [m]
    mirrored : bool
        Whether the cross curves were of one side alone.
    lacking : Finding or None
        Why there is no curve.
    """

    ship: TableShip
    heel_rad: Floats
    arm_m: Floats
    slope_m_per_rad: Floats
    draft_m: float
    trim_m: float
    gm_fluid_m: float
    mirrored: bool
    lacking: Finding | None
    length_waterline_m: float = 0.0
    """Not in tables; so the breadth."""
    breadth_waterline_m: float = 0.0

    @property
    def displacement_t(self) -> float:
        """All aboard. [t]"""
        return self.ship.mass_t

    @property
    def density_t_per_m3(self) -> float:
        """Of the water. [t/m³]"""
        return self.ship.density_t_per_m3

    @property
    def length_bp_m(self) -> float:
        """Of the tables. [m]"""
        return self.ship.tables.hydrostatics.length_bp_m

    @property
    def centre_m(self) -> Floats:
        """(3,) of everything aboard. [m]"""
        return self.ship.centre_m

    @property
    def vcg_m(self) -> float:
        """Height of the centre of gravity, solid. [m]"""
        return float(self.ship.centre_m[2])

    @property
    def free_surface_tm(self) -> float:
        """The correction in use. [t·m]"""
        return self.ship.free_surface_tm

    @property
    def heel_deg(self) -> Floats:
        """(k,) heels of the curve. [deg]"""
        return np.degrees(self.heel_rad)

    @property
    def reach_deg(self) -> float:
        """Greatest heel of the curve; 0 where there is none. [deg]"""
        return float(np.degrees(self.heel_rad[-1])) if len(self.heel_rad) else 0.0

    def raised(self, rise_m: float) -> "ArmsByTables":
        """Return the arms with the centre of gravity higher, draft, trim and KM as they are."""
        return replace(
            self,
            ship=self.ship.raised(rise_m),
            arm_m=self.arm_m - rise_m * np.sin(self.heel_rad),
            slope_m_per_rad=self.slope_m_per_rad - rise_m * np.cos(self.heel_rad),
            gm_fluid_m=self.gm_fluid_m - rise_m,
        )

    def loaded(self, *, mass_t: float = 0.0, moment_tm: ArrayLike) -> "ArmsByTables":
        """Return the arms with mass and first moment added, read from the tables anew. [t, t·m]"""
        return self.ship.loaded(mass_t=mass_t, moment_tm=moment_tm).arms()

    def curve(self, side: Side) -> HeelCurve:
        """Return the arms seen from a side: heel and arm are + towards it. There must be a curve."""
        if side == "starboard":
            return HeelCurve(self.heel_rad, self.arm_m, self.slope_m_per_rad)
        return HeelCurve(-self.heel_rad[::-1], -self.arm_m[::-1], self.slope_m_per_rad[::-1])

    def rest(self) -> Rest:
        """Return where she lies.

        Up to 3° heel is that of the tables, tan φ = −y_G/GM; beyond, that at which the cross curves' arm vanishes and
        rises, draft and trim then unknown.
        """
        fluid, across = self.gm_fluid_m, float(self.centre_m[1])
        solid = fluid + self.free_surface_tm / self.displacement_t
        if fluid > 0:
            heel = float(np.degrees(np.arctan(-across / fluid))) + 0.0
            if abs(heel) <= LARGEST_HEEL_DEG:
                return Rest(heel, self.draft_m, self.trim_m, solid, fluid)
        return Rest(self._list_deg(), None, None, solid, fluid)

    def _list_deg(self) -> float | None:
        if not len(self.heel_rad):
            return None
        side: Side = "port" if self.curve("starboard").at(0.0) > 0 else "starboard"
        curve = self.curve(side)
        found = curve.first_rise(0.0, _SAME_SIDE_RAD, curve.last_rad)
        if found is None:
            return None
        return float(np.degrees(found)) * (1.0 if side == "starboard" else -1.0)

    def findings(self) -> tuple[Finding, ...]:
        """Return what a reader of these arms must know."""
        tables = self.ship.tables.hydrostatics
        told = [*tables.off_trim(self.trim_m)]
        if self.lacking is not None:
            return (*told, self.lacking)
        told += curves_off_trim(self.trim_m)
        words = "where she floats along the curve, and what goes under, is not known: tables hold no geometry"
        told.append(Finding("tables-no-geometry", words))
        if self.mirrored:
            words = "the cross curves are of one side: the other is taken to be alike"
            told.append(Finding("cross-curves-mirrored", words))
        upright = int(np.argmin(np.abs(self.heel_rad)))
        return (*told, *slope_off_gm(float(self.slope_m_per_rad[upright]), self.gm_fluid_m))


def _as_far_as_both(curve: HeelCurve) -> tuple[Floats, Floats, Floats]:
    """Return heels, arms and slopes to the same heel on both sides."""
    reach = min(-curve.first_rad, curve.last_rad) * (1 + 1e-12)
    kept = np.abs(curve.heel_rad) <= reach
    return curve.heel_rad[kept], curve.value[kept], curve.slope_per_rad[kept]
