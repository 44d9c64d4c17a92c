r"""Cross curves: the lever of buoyancy about the keel, over displacements and heels. Layer: engine.flotation.

KN = −v·B, with v the horizontal to port across the ship: the arm of buoyancy about the keel's middle line (y = 0,
z = 0), so GZ = KN − KG sin φ + TCG cos φ, and KN has the sign of GZ. With trim free she trims at every heel about a
centre of gravity at the LCG given, on the middle line, at an assumed height: the height enters KN through the trim
alone, hardly at all.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.checks import Floats, finite, positive, within
from engine.errors import InputError, NotDeterminedError
from engine.flotation.held_heel import Trim, held_heel
from engine.flotation.hydrostatics import waterplane_axes
from engine.geometry.cut import Cuts, Solid
from engine.geometry.plane import Planes


@dataclass(frozen=True, eq=False)
class CrossCurves:
    """m displacements × h heels, heel fastest; NaN where ``codes`` says why there is no position.

    Attributes
    ----------
    displacement_t, lcg_m : (m·h,) float64
        What she weighs, and where. [t, m]
    heel_deg : (m·h,) float64
        Starboard down +. [deg]
    kn_m : (m·h,) float64
        Lever of buoyancy about the keel, + to right a ship heeled to starboard. [m]
    planes : Planes
        Water planes.
    cuts : Cuts
        The hull below them.
    codes : tuple of m·h str
        "" where there is a position.
    """

    displacement_t: Floats
    lcg_m: Floats
    heel_deg: Floats
    kn_m: Floats
    planes: Planes
    cuts: Cuts
    codes: tuple[str, ...]


def cross_curves(
    *,
    solid: Solid,
    density_t_per_m3: float,
    displacement_t: ArrayLike,
    heel_deg: ArrayLike,
    trim: Trim = "free",
    slope_ratio: float = 0.0,
    lcg_m: ArrayLike | None = None,
    assumed_vcg_m: float = 0.0,
) -> CrossCurves:
    """Return KN.

    Parameters
    ----------
    solid : Solid
        The hull.
    density_t_per_m3 : float
        Water density. [t/m³]
    displacement_t : (m,)
        [t]
    heel_deg : (h,)
        Within ±180. [deg]
    trim : {"free", "fixed"}
        Whether she trims as she heels.
    slope_ratio : float
        n_x of the plane upright: held with trim fixed; with trim free it gives the LCG where none is stated.
    lcg_m : scalar or (m,), optional
        Centre of gravity lengthwise, of each displacement; for trim free. [m]
    assumed_vcg_m : float
        Height of the centre of gravity, for the trim alone. [m]

    Raises
    ------
    InputError
        "too-few-points", "not-positive", "out-of-range", "not-finite".
    NotDeterminedError
        "sinks"; a code of ``equilibrium`` where no entry has a position.
    """
    density = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m3")
    mass = np.atleast_1d(finite(displacement_t, field="displacement_t")).ravel()
    heel = np.atleast_1d(within(heel_deg, low=-180.0, high=180.0, field="heel_deg", unit="deg")).ravel()
    slope = float(within(slope_ratio, low=-0.9, high=0.9, field="slope_ratio"))
    height = float(finite(assumed_vcg_m, field="assumed_vcg_m"))
    for name, values in (("displacement_t", mass), ("heel_deg", heel)):
        if not len(values):
            raise InputError("a value is needed", code="too-few-points", field=name, value=0.0, limit=1.0)
    _refuse_masses(mass, density * solid.volume_m3)
    if lcg_m is None:
        along = _balanced_lcg(solid, density, mass, slope, height)
    else:
        along = np.broadcast_to(finite(lcg_m, field="lcg_m"), mass.shape)
    rows = np.repeat(np.arange(len(mass)), len(heel))
    heels = np.tile(heel, len(mass))
    centres = np.column_stack([along, np.zeros(len(mass)), np.full(len(mass), height)])
    held = held_heel(
        solid=solid,
        density_t_per_m3=density,
        mass_t=mass[rows],
        centre_m=centres[rows],
        liquids=(),
        heel_deg=heels,
        slope_ratio=np.full(len(rows), slope),
        trim=trim,
    )
    across = waterplane_axes(held.planes)[1]
    return CrossCurves(
        displacement_t=mass[rows],
        lcg_m=along[rows],
        heel_deg=heels,
        kn_m=-np.einsum("kn,kn->k", across, held.cuts.centroid_m),
        planes=held.planes,
        cuts=held.cuts,
        codes=held.codes,
    )


def displacements_at(
    *, solid: Solid, density_t_per_m3: float, draft_m: ArrayLike, trim_m: float, length_bp_m: float
) -> Floats:
    """Return (m,) displacements at upright drafts and one trim.

    Raises
    ------
    InputError
        As ``Planes.from_waterplanes``; "waterplane-below-hull".
    """
    planes = Planes.from_waterplanes(draft_m=draft_m, trim_m=trim_m, length_bp_m=length_bp_m)
    volume = solid.cut(planes).volume_m3
    for row in np.flatnonzero(volume <= 0)[:1]:
        raise InputError("nothing of the hull is immersed", code="waterplane-below-hull", field=f"draft_m/{row}")
    return density_t_per_m3 * volume


def _refuse_masses(mass: Floats, buoyancy: float) -> None:
    for row in np.flatnonzero(mass <= 0)[:1]:
        raise InputError(
            f"must be above 0 t, is {mass[row]:.6g}",
            code="not-positive",
            field=f"displacement_t/{row}",
            value=float(mass[row]),
            limit=0.0,
        )
    for row in np.flatnonzero(mass >= buoyancy)[:1]:
        raise NotDeterminedError(
            f"she sinks: {mass[row]:.6g} t, the whole hull displaces {buoyancy:.6g} t",
            code="sinks",
            field=f"displacement_t/{row}",
            value=float(mass[row]),
            limit=buoyancy,
        )


def _balanced_lcg(solid: Solid, density: float, mass: Floats, slope: float, height: float) -> Floats:
    """Return the LCG that balances each displacement upright at n_x: B and G plumb over each other."""
    held = held_heel(
        solid=solid,
        density_t_per_m3=density,
        mass_t=mass,
        centre_m=np.zeros((len(mass), 3)),
        liquids=(),
        heel_deg=np.zeros(len(mass)),
        slope_ratio=np.full(len(mass), slope),
        trim="fixed",
    )
    buoyancy = held.cuts.centroid_m
    normals = held.planes.normals
    along: Floats = buoyancy[:, 0] + (height - buoyancy[:, 2]) * normals[:, 0] / normals[:, 2]
    return along
