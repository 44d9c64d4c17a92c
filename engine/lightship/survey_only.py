r"""The lightship from a lightweight survey, without an incline. Layer: engine.lightship.

A survey gives mass, and the vertical on which the centre of everything aboard lies: that through the centre of
buoyancy B, along the upward normal n of the water. It does not give VCG. With a VCG z of the lightship taken from a
rule, and the ledger's change (w, m) from the ship as surveyed to the lightship,

.. math:: W = W_0 + w, \qquad W\,g = W_0\,(B + s\,n) + m, \qquad g_z = z
          \;\Rightarrow\; s = \frac{W z - m_z - W_0 B_z}{W_0\,n_z}

which gives LCG and TCG. Both depend on z by the ship's inclination alone: dx/dz = n_x/n_z = trim/L, dy/dz = n_y/n_z =
tan(heel).
"""

from collections.abc import Sequence
from dataclasses import dataclass

from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive
from engine.errors import InputError
from engine.lightship.derivation import Entry, Lying, Mass, derive_lightship, entries_of
from engine.lightship.triggers import VcgRule, vcg_rule
from engine.survey.ledger import Item


@dataclass(frozen=True)
class VcgBasis:
    """The VCG a rule gives, the clause it stands on, and what it was chosen from.

    Attributes
    ----------
    z_m : float
        [m]
    rule : VcgRule
        With clause, source and how well that is known.
    lead_z_m, calculated_z_m : float or None
        What the sister rule chose from. [m]
    """

    z_m: float
    rule: VcgRule
    lead_z_m: float | None = None
    calculated_z_m: float | None = None


@dataclass(frozen=True, eq=False)
class LightshipBySurvey:
    """Mass and centre of the lightship, its VCG by rule.

    Attributes
    ----------
    mass_t : float
        [t]
    centre_m : (3,) float64
        [m]
    as_surveyed_centre_m : (3,) float64
        Of everything aboard, liquids where they lie. [m]
    entries : tuple of Entry
        Every line between the two.
    vcg : VcgBasis
        Where z comes from.
    x_per_vcg_ratio, y_per_vcg_ratio : float
        By how much LCG and TCG change with VCG: trim over length, tangent of heel.
    """

    mass_t: float
    centre_m: Floats
    as_surveyed_centre_m: Floats
    entries: tuple[Entry, ...]
    vcg: VcgBasis
    x_per_vcg_ratio: float
    y_per_vcg_ratio: float


def approved_vcg(*, approved_z_m: float) -> VcgBasis:
    """Return the ship's own approved VCG, which stands while a periodic survey is within limits (SOLAS II-1/5.5)."""
    return VcgBasis(float(finite(approved_z_m, field="approved_z_m")), vcg_rule("approved"))


def calculated_vcg(*, calculated_z_m: float) -> VcgBasis:
    """Return the VCG of the weight history, accepted where the survey agrees with it (46 CFR 144.315, table)."""
    return VcgBasis(float(finite(calculated_z_m, field="calculated_z_m")), vcg_rule("calculated"))


def sister_vcg(*, lead_z_m: float, calculated_z_m: float) -> VcgBasis:
    """Return the higher of the lead ship's VCG and the calculated one (MSC/Circ.1158).

    Examples
    --------
    >>> sister_vcg(lead_z_m=4.30, calculated_z_m=4.26).z_m
    4.3
    """
    lead = float(finite(lead_z_m, field="lead_z_m"))
    calculated = float(finite(calculated_z_m, field="calculated_z_m"))
    return VcgBasis(max(lead, calculated), vcg_rule("sister"), lead, calculated)


def tank_vessel_vcg(*, assumed_z_m: float) -> VcgBasis:
    """Return the VCG of ``assumed_vcg`` (46 CFR 170.200)."""
    return VcgBasis(float(finite(assumed_z_m, field="assumed_z_m")), vcg_rule("tank_vessel"))


def lightship_by_survey(
    *,
    displacement_t: float,
    buoyancy_m: ArrayLike,
    normal: ArrayLike,
    items: Sequence[Item],
    liquids: Sequence[Lying],
    vcg: VcgBasis,
) -> LightshipBySurvey:
    """Derive the lightship of a ship surveyed and not inclined.

    Parameters
    ----------
    displacement_t : float
        What floats, > 0. [t]
    buoyancy_m : (3,) array_like
        Centre of buoyancy at the plane of the survey. [m]
    normal : (3,) array_like
        Upward normal of that plane, of any length, n_z > 0.
    items : sequence of Item
        The ledger.
    liquids : sequence of Lying
        As they lie at that plane.
    vcg : VcgBasis
        VCG of the lightship and its clause.

    Raises
    ------
    InputError
        ``not-positive``, ``not-finite``, ``wrong-shape``; ``plane-not-upright``: n_z is not above 0.
    NotDeterminedError
        ``lightship-not-positive``: the ledger takes off more than floats.
    """
    floating = positive(displacement_t, field="displacement_t", unit="t")
    buoyancy, upward = _vector(buoyancy_m, "buoyancy_m"), _vector(normal, "normal")
    if upward[2] <= 0:
        raise InputError("the plane's normal must point up", code="plane-not-upright", field="normal", limit=0.0)
    entries = entries_of(items=items, weights=(), liquids=liquids)
    mass = floating + sum(one.mass_t for one in entries)
    height = buoyancy[2] * floating + sum(one.mass_t * float(one.centre_m[2]) for one in entries)
    lever = (mass * vcg.z_m - height) / (floating * upward[2])
    derived = derive_lightship(as_inclined=Mass(floating, buoyancy + lever * upward), entries=entries)
    return LightshipBySurvey(
        mass_t=derived.lightship.mass_t,
        centre_m=derived.lightship.centre_m,
        as_surveyed_centre_m=derived.as_inclined.centre_m,
        entries=entries,
        vcg=vcg,
        x_per_vcg_ratio=float(upward[0] / upward[2]),
        y_per_vcg_ratio=float(upward[1] / upward[2]),
    )


def _vector(values: ArrayLike, field: str) -> Floats:
    vector = finite(values, field=field)
    if vector.shape != (3,):
        raise InputError("must be three numbers", code="wrong-shape", field=field)
    return vector
