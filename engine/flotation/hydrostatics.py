"""Hydrostatics of a solid at given water planes. Layer: engine.flotation.

Centres are in the ship's frame. Second moments are taken in the inclined plane itself, about axes
through the centre of flotation: the longitudinal axis u is the ship's x projected on the plane, the
transverse axis v = n × u.
"""

from dataclasses import dataclass

import numpy as np

from engine.checks import Floats, positive
from engine.geometry.cut import Cuts, Solid
from engine.geometry.plane import Planes


@dataclass(frozen=True, eq=False)
class Hydrostatics:
    """One row a plane; every array is (k,) float64, NaN where the quantity does not exist.

    The names, units and signs are those of ``engine.quantities``.
    """

    draft_m: Floats
    trim_m: Floats
    heel_deg: Floats
    volume_m3: Floats
    displacement_t: Floats
    lcb_m: Floats
    tcb_m: Floats
    vcb_m: Floats
    waterplane_area_m2: Floats
    lcf_m: Floats
    tcf_m: Floats
    bm_transverse_m: Floats
    bm_longitudinal_m: Floats
    km_transverse_m: Floats
    km_longitudinal_m: Floats
    wetted_area_m2: Floats
    immersion_t_per_cm: Floats
    moment_to_trim_tm_per_cm: Floats
    block_coefficient: Floats
    prismatic_coefficient: Floats
    midship_coefficient: Floats
    waterplane_coefficient: Floats


def hydrostatics(
    *, solid: Solid, planes: Planes, density_t_per_m3: float, length_bp_m: float, cuts: Cuts | None = None
) -> Hydrostatics:
    r"""Compute the hydrostatic particulars at each plane.

    Parameters
    ----------
    solid : Solid
        The hull.
    planes : Planes
        k water planes.
    density_t_per_m3 : float
        Water density, > 0. [t/m³]
    length_bp_m : float
        Length between perpendiculars, for trim, moment to trim and coefficients. [m]
    cuts : Cuts, optional
        What the planes cut, where that is known.

    Returns
    -------
    Hydrostatics
        Columns of length k.

    Notes
    -----
    :math:`BM = I/V`, :math:`KM = VCB + BM\,n_z`, TPC :math:`= \rho A/100`, MTC :math:`= \Delta\,BM_L/(100 L)`.
    Coefficients use the length between perpendiculars, the breadth of the waterplane in its own plane,
    ``draft_m`` and the section at midlength.
    """
    density = positive(density_t_per_m3, field="density_t_per_m3", unit="t/m3")
    length = positive(length_bp_m, field="length_bp_m", unit="m")
    cuts = solid.cut(planes) if cuts is None else cuts
    area = np.where(cuts.waterplane_area_m2 > 0, cuts.waterplane_area_m2, np.nan)
    volume = np.where(cuts.volume_m3 > 0, cuts.volume_m3, np.nan)
    inertia_transverse, inertia_longitudinal = waterplane_inertias(cuts)
    upward = planes.normals[:, 2]
    draft = planes.draft_m(length_bp_m=length)
    breadth = _breadth(cuts)
    midship = solid.section_area_m2(planes, x_m=length / 2)
    midship = np.where(midship > 0, midship, np.nan)
    submerged = np.where(draft > 0, draft, np.nan)
    floating = np.where(np.isnan(area), np.nan, volume)
    bm_transverse, bm_longitudinal = inertia_transverse / floating, inertia_longitudinal / floating
    displacement = density * cuts.volume_m3
    return Hydrostatics(
        draft_m=draft,
        trim_m=planes.trim_m(length_bp_m=length),
        heel_deg=planes.heel_deg,
        volume_m3=cuts.volume_m3,
        displacement_t=displacement,
        lcb_m=cuts.centroid_m[:, 0],
        tcb_m=cuts.centroid_m[:, 1],
        vcb_m=cuts.centroid_m[:, 2],
        waterplane_area_m2=cuts.waterplane_area_m2,
        lcf_m=cuts.waterplane_centroid_m[:, 0],
        tcf_m=cuts.waterplane_centroid_m[:, 1],
        bm_transverse_m=bm_transverse,
        bm_longitudinal_m=bm_longitudinal,
        km_transverse_m=cuts.centroid_m[:, 2] + bm_transverse * upward,
        km_longitudinal_m=cuts.centroid_m[:, 2] + bm_longitudinal * upward,
        wetted_area_m2=cuts.wetted_area_m2,
        immersion_t_per_cm=density * cuts.waterplane_area_m2 / 100,
        moment_to_trim_tm_per_cm=displacement * bm_longitudinal / (100 * length),
        block_coefficient=volume / (length * breadth * submerged),
        prismatic_coefficient=volume / (length * midship),
        midship_coefficient=midship / (breadth * submerged),
        waterplane_coefficient=area / (length * breadth),
    )


def waterplane_axes(planes: Planes) -> tuple[Floats, Floats]:
    """Return (k, 3) unit vectors in each plane: u along the projected ship x, v = n × u to port."""
    normals = planes.normals
    transverse = np.stack([np.zeros(len(planes)), normals[:, 2], -normals[:, 1]], axis=-1)
    transverse /= np.linalg.norm(transverse, axis=1, keepdims=True)
    return np.cross(transverse, normals), transverse


def waterplane_inertias(cuts: Cuts) -> tuple[Floats, Floats]:
    """Return (k,) transverse and longitudinal second moments about axes through the centre of flotation. [m⁴]"""
    along, across = waterplane_axes(cuts.planes)
    tensor = cuts.waterplane_tensor_m4
    return (
        np.einsum("ki,kij,kj->k", across, tensor, across),
        np.einsum("ki,kij,kj->k", along, tensor, along),
    )


def _breadth(cuts: Cuts) -> Floats:
    """Breadth of the waterplane measured in its own plane (exact without trim). [m]"""
    normals = cuts.planes.normals
    extent = cuts.waterplane_extent_m
    breadth = (extent[:, 1, 1] - extent[:, 0, 1]) * np.hypot(normals[:, 1], normals[:, 2]) / np.abs(normals[:, 2])
    return np.where(breadth > 0, breadth, np.nan)
