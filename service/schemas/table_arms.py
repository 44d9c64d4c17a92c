"""Righting arms of a hull known by its cross curves alone. Layer: service.schemas."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engine.errors import EngineError, InputError, NotDeterminedError
from engine.findings import Finding
from engine.flotation.arm_curve import Side
from engine.flotation.table_position import TablePosition, table_position
from engine.stability.table_arms import TableArms, TableSide, curves_off_trim, slope_off_gm, table_arms
from service.schemas.common import column
from service.schemas.righting_arms import AreaOf, ArmColumns, ArmsLoading, InterceptOf, RestSlope, SideArms
from service.schemas.table_hull import TablesHull

SIDES: tuple[Side, ...] = ("starboard", "port")
LOST_CODE = "tables-no-geometry"


@dataclass(frozen=True)
class ByTables:
    """What cross curves and tables say of a ship in one loading; what they cannot say is left out."""

    columns: ArmColumns
    sides: dict[Side, SideArms]
    gm_solid_m: float | None
    gm_fluid_m: float | None
    findings: tuple[Finding, ...]


def arms_by_tables(
    hull: TablesHull,
    *,
    loading: ArmsLoading,
    density_t_per_m3: float,
    heel_deg: Sequence[float],
    free_surface_tm: float,
    places_given: bool,
    liquids_given: bool,
) -> ByTables:
    """Return the arms at heels and the particulars of each side asked about, all in the ship's frame.

    Parameters
    ----------
    hull : TablesHull
        With cross curves.
    loading, density_t_per_m3, heel_deg
        As asked.
    free_surface_tm : float
        Moment corrected for. [t·m]
    places_given, liquids_given : bool
        Whether openings or a deck edge, and liquids to be moved, were given: neither can be, and that is told.

    Raises
    ------
    InputError
        ``cross-curves-missing``; as the tables.
    NotDeterminedError
        ``beyond-tables``: the displacement.
    """
    try:
        levers = hull.righting_levers()
        if levers is None:
            raise InputError(
                "righting arms need the cross curves beside the tables",
                code="cross-curves-missing",
                field="cross_curves",
            )
        made = hull.hydrostatics()
    except EngineError as error:
        raise error.at("hull") from error
    mass, centre = loading.displacement_t.value, [loading.lcg_m.value, loading.tcg_m.value, loading.vcg_m.value]
    correction = free_surface_tm / mass if mass > 0 else 0.0
    try:
        arms = table_arms(
            table=levers,
            displacement_t=mass,
            density_t_per_m3=density_t_per_m3,
            vcg_m=centre[2] + correction,
            tcg_m=centre[1],
        )
    except EngineError as error:
        error.field = "loading/displacement_t" if error.field == "displacement_t" else "hull/cross_curves/heel_deg"
        raise
    told, floats = list(_told(arms, places_given=places_given, liquids_given=liquids_given)), None
    try:
        floats = table_position(
            tables=made,
            density_t_per_m3=density_t_per_m3,
            mass_t=mass,
            centre_m=centre,
            free_surface_moment_tm=free_surface_tm,
        )
    except NotDeterminedError as error:
        told.append(Finding(error.code, f"GM upright is left out: {error}"))
    if floats is not None:
        told += slope_off_gm(arms.slope_upright_m_per_rad(), floats.gm_fluid_m)
        told += [*made.off_trim(floats.trim_m), *curves_off_trim(floats.trim_m)]
    sides: dict[Side, SideArms] = {}
    for side in SIDES:
        reach = max((1.0 if side == "starboard" else -1.0) * heel for heel in heel_deg)
        if reach > 0:
            found = arms.side(side, range_deg=reach)
            sides[side] = _side(found, arms, floats)
            told += found.findings
    arm, turn = arms.at(heel_deg), np.radians(np.asarray(heel_deg))
    return ByTables(
        columns=ArmColumns(
            heel_deg=tuple(heel_deg),
            righting_arm_m=column(arm),
            righting_arm_correction_m=column(arm),
            righting_arm_solid_m=column(arm + correction * np.sin(turn)),
            area_from_upright_m_rad=column(arms.area_from_upright_m_rad(heel_deg)),
        ),
        sides=sides,
        gm_solid_m=None if floats is None else floats.gm_solid_m,
        gm_fluid_m=None if floats is None else floats.gm_fluid_m,
        findings=tuple(told),
    )


def _told(arms: TableArms, *, places_given: bool, liquids_given: bool) -> list[Finding]:
    words = "where she floats along the curve is left out: tables hold no geometry"
    if places_given:
        words = "angles of flooding and of the deck edge are left out, and where she floats: tables hold no geometry"
    told = [Finding(LOST_CODE, words)]
    if liquids_given:
        told.append(Finding(LOST_CODE, "liquids are not made to move: their free surfaces are corrected for"))
    if arms.mirrored:
        told.append(
            Finding("cross-curves-mirrored", "the cross curves are of one side: the other is taken to be alike")
        )
    return told


def _side(found: TableSide, arms: TableArms, floats: TablePosition | None) -> SideArms:
    most, slope = found.maximum, None
    if found.start_deg == 0.0 and floats is not None and floats.heel_deg == 0.0:
        slope = RestSlope(at_deg=0.0, slope_m_per_rad=arms.slope_upright_m_per_rad(), gm_fluid_m=floats.gm_fluid_m)
    return SideArms(
        range_deg=found.end_deg,
        start_deg=found.start_deg,
        maximum_deg=most.heel_deg if most else None,
        maximum_arm_m=most.arm_m if most else None,
        vanishing_deg=found.vanishing_deg,
        slope_at_rest=slope,
        intercepts=tuple(
            InterceptOf(at_deg=one.heel_deg, kind="stable" if one.stable else "unstable") for one in found.intercepts
        ),
        areas=tuple(AreaOf.of(area, "angle") for area in found.areas),
    )
