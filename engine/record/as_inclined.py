r"""The ship at reading 0: where she floats, what she weighs, where her centre is. Layer: engine.record.

The centre of everything aboard lies on the vertical through the centre of buoyancy,
:math:`G = B + (BM - GM)\,n`, with GM of the solid ship; that one line gives LCG, TCG and VCG together.
Masses that came aboard after the heights were read move her from the surveyed plane to that of reading 0,
and how far depends on VCG: survey and incline are solved together.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from engine.checks import Floats
from engine.deadline import checkpoint
from engine.errors import NotDeterminedError
from engine.flotation.equilibrium import equilibrium
from engine.flotation.hydrostatics import Hydrostatics, hydrostatics, waterplane_axes
from engine.flotation.table_columns import hydrostatics_by_tables
from engine.flotation.tables import HydrostaticTables
from engine.geometry.cut import Cuts, Solid
from engine.geometry.plane import Planes
from engine.lightship.derivation import Mass
from engine.liquids.running import Liquid, keep_together


@dataclass(frozen=True, eq=False)
class Afloat:
    """The hull at one plane, with the liquids aboard.

    Attributes
    ----------
    plane : Planes
        One plane.
    hydrostatics : Hydrostatics
        One row.
    free_surface_tm : float
        Σ ρ i of the real surfaces, transverse. [t·m]
    cuts : Cuts or None
        The hull below the plane; None where tables stand for it.
    """

    plane: Planes
    hydrostatics: Hydrostatics
    free_surface_tm: float
    cuts: Cuts | None = None

    @property
    def displacement_t(self) -> float:
        """Mass floating. [t]"""
        return float(self.hydrostatics.displacement_t[0])

    @property
    def free_surface_correction_m(self) -> float:
        """Σ ρ i / Δ. [m]"""
        return self.free_surface_tm / self.displacement_t

    @property
    def bm_transverse_m(self) -> float:
        """[m]."""
        return float(self.hydrostatics.bm_transverse_m[0])

    @property
    def heel_deg(self) -> float:
        """To starboard +. [deg]"""
        return float(self.plane.heel_deg[0])

    @property
    def buoyancy_m(self) -> Floats:
        """(3,) centre of buoyancy. [m]"""
        h = self.hydrostatics
        return np.array([h.lcb_m[0], h.tcb_m[0], h.vcb_m[0]])

    def centre_m(self, *, gm_solid_m: float) -> Floats:
        """(3,) centre of everything aboard, given GM without free surfaces. [m]"""
        centre: Floats = self.buoyancy_m + (self.bm_transverse_m - gm_solid_m) * self.plane.normals[0]
        return centre


def afloat(
    *,
    hull: Solid | HydrostaticTables,
    plane: Planes,
    density_t_per_m3: float,
    length_bp_m: float,
    liquids: Sequence[Liquid],
) -> Afloat:
    """Take the hydrostatics and free surfaces at a plane.

    Tables give what they hold; the rest of the row is NaN.
    """
    surface = free_surface_tm(liquids, plane)
    if isinstance(hull, HydrostaticTables):
        return Afloat(plane, _by_tables(hull, plane, density_t_per_m3), surface)
    cuts = hull.cut(plane)
    at = hydrostatics(solid=hull, planes=plane, density_t_per_m3=density_t_per_m3, length_bp_m=length_bp_m, cuts=cuts)
    return Afloat(plane, at, surface, cuts)


def _by_tables(tables: HydrostaticTables, plane: Planes, density_t_per_m3: float) -> Hydrostatics:
    at, (missed,) = hydrostatics_by_tables(tables=tables, planes=plane, density_t_per_m3=density_t_per_m3)
    if missed is not None:
        raise missed
    return at


def free_surface_tm(liquids: Sequence[Liquid], plane: Planes) -> float:
    """Return Σ ρ i of liquids' real surfaces at one plane, transverse. [t·m]"""
    keep_together(liquids, plane.normals)
    across = waterplane_axes(plane)[1][0]
    return sum(
        one.density_t_per_m3 * float(across @ one.at(plane.normals).surface_tensor_m4[0] @ across) for one in liquids
    )


def at_reading_zero(
    *,
    hull: Solid | HydrostaticTables,
    surveyed: Afloat,
    density_t_per_m3: float,
    length_bp_m: float,
    liquids: Sequence[Liquid],
    differences: Sequence[Mass],
    gm_fluid_m: Callable[[Afloat], float],
) -> tuple[Afloat, float]:
    """Return the ship at reading 0 and her GM fluid.

    Parameters
    ----------
    surveyed : Afloat
        The ship as her heights were read.
    differences : sequence of Mass
        Aboard at reading 0 but not then.
    gm_fluid_m : callable
        GM by the incline for a given state at reading 0. [m]
    """
    if not differences:
        return surveyed, gm_fluid_m(surveyed)
    if isinstance(hull, HydrostaticTables):
        raise NotDeterminedError(
            "tables do not float her anew for the survey differences: read the heights as she lay at reading 0",
            code="tables-survey-differences",
            field="survey_differences",
        )
    added_mass = sum(mass.mass_t for mass in differences)
    added_moment = sum((mass.moment_tm for mass in differences), start=np.zeros(3))
    normal = surveyed.plane.normals
    lying = sum((liquid.mass_t * liquid.at(normal).centroid_m[0] for liquid in liquids), start=np.zeros(3))
    liquid_mass = sum(liquid.mass_t for liquid in liquids)
    rigid_mass = surveyed.displacement_t + added_mass - liquid_mass

    now, gm = surveyed, gm_fluid_m(surveyed)
    height = now.centre_m(gm_solid_m=gm + now.free_surface_correction_m)[2]
    for _ in range(50):  # the plane moves with VCG by (added moment / Δ) × tan heel: a strong contraction
        checkpoint()
        along = height * (surveyed.displacement_t + added_mass) - added_moment[2]
        lever = (along / surveyed.displacement_t - surveyed.buoyancy_m[2]) / normal[0, 2]
        total_then = surveyed.displacement_t * (surveyed.buoyancy_m + lever * normal[0])
        position = equilibrium(
            solid=hull,
            density_t_per_m3=density_t_per_m3,
            mass_t=rigid_mass,
            centre_m=(total_then + added_moment - lying) / rigid_mass,
            liquids=liquids,
            start=now.plane,
        )
        now = afloat(
            hull=hull,
            plane=position.planes,
            density_t_per_m3=density_t_per_m3,
            length_bp_m=length_bp_m,
            liquids=liquids,
        )
        gm = gm_fluid_m(now)
        previous, height = height, now.centre_m(gm_solid_m=gm + now.free_surface_correction_m)[2]
        if abs(height - previous) <= 1e-11 * max(1.0, abs(height)):
            return now, gm
    raise NotDeterminedError(
        "the floating position at reading 0 does not settle with the survey differences",
        code="reading-zero-not-determined",
        field="survey_differences",
    )
