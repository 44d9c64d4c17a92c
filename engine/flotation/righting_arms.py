r"""Righting arms over heel, trim free or fixed, liquids running or corrected for. Layer: engine.flotation.

An arm is that of the couple of weight and buoyancy at a held heel, GZ = v·(G − B) with v the horizontal to port
across the ship. It is positive where the couple turns her to port: a ship heeled to starboard (heel > 0) is righted
by a positive arm, one heeled to port (heel < 0) by a negative one, and GZ(−φ) = −GZ(φ) for a symmetric ship.

Work. With trim free or fixed, the potential of ``equilibrium`` has, along the curve, the derivative

.. math:: \frac{d}{d\varphi}\,n\cdot(G-B) = \sqrt{1-n_x^2}\;GZ

so the area under the curve follows from its two ends, n_x being small or constant; see ``arm_area``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, points, positive, within
from engine.errors import InputError
from engine.flotation.held_heel import HeldHeel, Trim, held_heel
from engine.geometry.cut import Cuts, Solid
from engine.geometry.plane import Planes
from engine.liquids.running import Liquid

HEEL_LIMIT_DEG = 180.0


@dataclass(frozen=True, eq=False)
class Afloat:
    """A ship and what is aboard.

    Attributes
    ----------
    solid : Solid
        The hull.
    density_t_per_m3 : float
        Of the water. [t/m³]
    mass_t, centre_m : float and (3,) float64
        Everything but ``liquids``. [t, m]
    liquids : tuple of Liquid
        Liquids that really run.
    free_surface_tm : float
        Moment of surfaces that are corrected for instead: GZ is lessened by this / Δ · sin φ. [t·m]
    trim : {"free", "fixed"}
        Whether she trims as she heels.
    slope_ratio : float
        n_x at which trim is held, or near which it is first looked for.
    """

    solid: Solid
    density_t_per_m3: float
    mass_t: float
    centre_m: Floats
    liquids: tuple[Liquid, ...]
    free_surface_tm: float
    trim: Trim
    slope_ratio: float

    @property
    def displacement_t(self) -> float:
        """Everything aboard. [t]"""
        return self.mass_t + sum(liquid.mass_t for liquid in self.liquids)

    @property
    def correction_m(self) -> float:
        """The free-surface correction, ``free_surface_tm`` over the displacement. [m]"""
        return self.free_surface_tm / self.displacement_t


@dataclass(frozen=True, eq=False)
class RightingArms:
    """The curve at k heels, in the order asked for; NaN where ``codes`` says why there is no position.

    Attributes
    ----------
    heel_deg : (k,) float64
        Starboard down +. [deg]
    gz_m : (k,) float64
        Righting arm, + turns her back to port: see the module. [m]
    slope_m_per_rad : (k,) float64
        dGZ/dφ, trim following where it is free. [m/rad]
    work_m : (k,) float64
        n·(G − B) plus the correction's part: its rise is the work of heeling her over the displacement. [m]
    trimming_per_rad : (k,) float64
        dn_x/dφ. [1/rad]
    planes : Planes
        Water planes.
    cuts : Cuts
        The hull below them.
    centre_m : (k, 3) float64
        Centre of gravity, running liquids where they lie. [m]
    gm_fluid_m : (k,) float64
        Metacentric height at the position, less correction · cos φ. [m]
    free_surface_tm : (k,) float64
        Σ ρ i of running liquids, and the moment corrected for. [t·m]
    codes : tuple of k str
        "" where there is a position.
    afloat : Afloat
        What was asked, with which ``at`` asks again.
    """

    heel_deg: Floats
    gz_m: Floats
    slope_m_per_rad: Floats
    work_m: Floats
    trimming_per_rad: Floats
    planes: Planes
    cuts: Cuts
    centre_m: Floats
    gm_fluid_m: Floats
    free_surface_tm: Floats
    codes: tuple[str, ...]
    afloat: Afloat = field(repr=False)

    @property
    def mass_t(self) -> float:
        """Everything aboard. [t]"""
        return self.afloat.displacement_t

    def at(self, heel_deg: ArrayLike) -> "RightingArms":
        """Return the true curve at other heels, solved anew, each started from the trim of the nearest heel here."""
        heel = _heels(heel_deg)
        known = np.flatnonzero(np.isfinite(self.gz_m))
        if len(known) == 0:
            return _arms(self.afloat, heel, np.full(len(heel), self.afloat.slope_ratio))
        nearest = known[np.abs(heel[:, None] - self.heel_deg[known]).argmin(axis=1)]
        if self.afloat.trim == "fixed":
            return _arms(self.afloat, heel, np.full(len(heel), self.afloat.slope_ratio))
        step = np.radians(heel - self.heel_deg[nearest])
        guess = self.planes.normals[nearest, 0] + np.clip(step * self.trimming_per_rad[nearest], -0.05, 0.05)
        return _arms(self.afloat, heel, np.clip(guess, -0.9, 0.9))


def righting_arms(
    *,
    solid: Solid,
    density_t_per_m3: float,
    mass_t: float,
    centre_m: ArrayLike,
    heel_deg: ArrayLike,
    liquids: Sequence[Liquid] = (),
    free_surface_tm: float = 0.0,
    trim: Trim = "free",
    start: Planes | None = None,
) -> RightingArms:
    """Return righting arms at given heels.

    Parameters
    ----------
    solid : Solid
        The hull.
    density_t_per_m3 : float
        Water density. [t/m³]
    mass_t : float
        Mass of everything but ``liquids``. [t]
    centre_m : (3,)
        Its centre. [m]
    heel_deg : (k,) array_like
        Within ±180, in any order, starboard down +. [deg]
    liquids : sequence of Liquid
        Liquids that run to their level at every heel.
    free_surface_tm : float
        Moment of free surfaces taken as a correction: GZ − moment / Δ · sin φ. [t·m]
    trim : {"free", "fixed"}
        Free: she trims until the moments balance lengthwise. Fixed: n_x is held.
    start : Planes of one plane, optional
        Gives the n_x that is held, or first tried. By default that of the free-trim position at no heel.

    Returns
    -------
    RightingArms
        One entry a heel. GZ is positive where it turns her to port: see the module.

    Raises
    ------
    InputError
        "not-positive", "out-of-range", "not-finite", "wrong-shape", "too-few-points" (no heel).
    NotDeterminedError
        "sinks"; another code of ``equilibrium`` where no heel at all has a position.

    Notes
    -----
    A heel past which the hull has no position, because water would stand above an opening of its skin, is no error:
    its entries are NaN and its code says why.
    """
    heel = _heels(heel_deg)
    centre = points(np.atleast_2d(finite(centre_m, field="centre_m")), columns=3, field="centre_m")[0]
    afloat = Afloat(
        solid=solid,
        density_t_per_m3=positive(density_t_per_m3, field="density_t_per_m3", unit="t/m3"),
        mass_t=float(finite(mass_t, field="mass_t")),
        centre_m=centre,
        liquids=tuple(liquids),
        free_surface_tm=float(within(free_surface_tm, low=0.0, high=np.inf, field="free_surface_tm", unit="t·m")),
        trim=trim,
        slope_ratio=0.0,
    )
    if start is None:
        upright = _held(replace(afloat, trim="free"), np.zeros(1), np.zeros(1))
        slope = float(upright.planes.normals[0, 0])
    else:
        slope = float(start.normals[0, 0])
    afloat = replace(afloat, slope_ratio=slope)
    return _arms(afloat, heel, np.full(len(heel), slope))


def solid_weight(
    *, displacement_t: float, centre_m: ArrayLike, liquids: Sequence[Liquid], normal: ArrayLike = (0.0, 0.0, 1.0)
) -> tuple[float, Floats]:
    """Return mass and centre of everything but the liquids, the whole being known with liquids lying level upright.

    Parameters
    ----------
    displacement_t, centre_m : float and (3,)
        Everything aboard, its solid centre. [t, m]
    liquids : sequence of Liquid
        What is taken out.
    normal : (3,)
        How the ship lay when the solid centre was reckoned; upright.

    Raises
    ------
    InputError
        "liquids-over-displacement": the liquids weigh more than the whole.
    """
    whole = positive(displacement_t, field="displacement_t", unit="t")
    rest = whole
    moment = whole * points(np.atleast_2d(finite(centre_m, field="centre_m")), columns=3, field="centre_m")[0]
    for liquid in liquids:
        rest -= liquid.mass_t
        moment = moment - liquid.mass_t * liquid.at(np.atleast_2d(np.asarray(normal, dtype=np.float64))).centroid_m[0]
    if rest <= 0:
        raise InputError(
            f"the liquids weigh {whole - rest:.6g} t, everything aboard {whole:.6g} t",
            code="liquids-over-displacement",
            field="displacement_t",
            value=whole,
            limit=whole - rest,
        )
    return rest, moment / rest


def _heels(heel_deg: ArrayLike) -> Floats:
    heel = np.atleast_1d(
        within(heel_deg, low=-HEEL_LIMIT_DEG, high=HEEL_LIMIT_DEG, field="heel_deg", unit="deg")
    ).ravel()
    if len(heel) == 0:
        raise InputError("a heel is needed", code="too-few-points", field="heel_deg", value=0.0, limit=1.0)
    return heel


def _held(afloat: Afloat, heel_deg: Floats, slope_ratio: Floats) -> HeldHeel:
    return held_heel(
        solid=afloat.solid,
        density_t_per_m3=afloat.density_t_per_m3,
        mass_t=afloat.mass_t,
        centre_m=afloat.centre_m,
        liquids=afloat.liquids,
        heel_deg=heel_deg,
        slope_ratio=slope_ratio,
        trim=afloat.trim,
    )


def _arms(afloat: Afloat, heel_deg: Floats, slope_ratio: Floats) -> RightingArms:
    held = _held(afloat, heel_deg, slope_ratio)
    angle, correction = np.radians(heel_deg), afloat.correction_m
    height = np.einsum("kn,kn->k", held.planes.normals, held.centre_m - held.cuts.centroid_m)
    return RightingArms(
        heel_deg=heel_deg,
        gz_m=held.arm_m - correction * np.sin(angle),
        slope_m_per_rad=held.slope_m_per_rad - correction * np.cos(angle),
        work_m=height + correction * np.cos(angle),
        trimming_per_rad=held.trimming_per_rad,
        planes=held.planes,
        cuts=held.cuts,
        centre_m=held.centre_m,
        gm_fluid_m=held.gm_fluid_m - correction * np.cos(angle),
        free_surface_tm=held.free_surface_tm + afloat.free_surface_tm,
        codes=held.codes,
        afloat=afloat,
    )
