"""Ships of the stability tests: a box barge by closed form, an invented ship-shaped hull."""

import numpy as np

from engine.flotation.immersion import Opening
from engine.geometry import OffsetStation, solid_from_arrays, solid_from_offsets
from engine.stability import Ship, StabilityData, WindProfile
from fixtures.simulator.hulls import WorkboatForm, mesh_of

LENGTH_M, BREADTH_M, DEPTH_M, DRAFT_M, DENSITY = 60.0, 12.0, 8.0, 3.5, 1.025
DISPLACEMENT_T = DENSITY * LENGTH_M * BREADTH_M * DRAFT_M
KB_M, BM_M = DRAFT_M / 2, BREADTH_M**2 / (12 * DRAFT_M)
KM_M = KB_M + BM_M


def box():
    """Return a box of 60 × 12 × 8 m."""
    points = [(0.0, 0.0), (6.0, 0.0), (6.0, 8.0)]
    return solid_from_offsets(
        [OffsetStation(x_m=x, points_m=points) for x in (0.0, LENGTH_M)], between_points="straight"
    ).solid


def workboat_hull():
    """Return the simulator's invented workboat as a coarse mesh: raked, flared, no fore-and-aft symmetry."""
    body = mesh_of(WorkboatForm(), counts=(6, 2, 5, 6))
    return solid_from_arrays(vertices_m=body.vertices_m, faces=body.faces, symmetry="full").solid


def workboat(**change):
    """Return the workboat at 1200 t."""
    facts = {
        "solid": workboat_hull(),
        "density_t_per_m3": DENSITY,
        "length_bp_m": 56.0,
        "mass_t": 1200.0,
        "centre_m": np.array([25.5, 0.0, 4.6]),
    }
    return Ship(**{**facts, **change})


def both_sides(*points):
    """Return points and their mirror images."""
    return np.array([(x, side * y, z) for x, y, z in points for side in (1.0, -1.0)])


DECK_EDGE = both_sides((0.0, 6.0, 8.0), (60.0, 6.0, 8.0))
WHOLE = StabilityData(
    openings=(Opening(30.0, 0.0, 9.0),),
    deck_edge_m=DECK_EDGE,
    wind=WindProfile.from_columns(draft_m=DRAFT_M, area_m2=300.0, centroid_z_m=7.0),
)


def barge(vcg_m=4.5, **change):
    """Return the box barge at 3.5 m draft, even keel."""
    facts = {
        "solid": box(),
        "density_t_per_m3": DENSITY,
        "length_bp_m": LENGTH_M,
        "mass_t": DISPLACEMENT_T,
        "centre_m": np.array([30.0, 0.0, vcg_m]),
    }
    return Ship(**{**facts, **change})


def wall_sided_arm(heel_rad, gm_m):
    """GZ = (GM + BM tan²φ/2) sin φ, until a corner is immersed or emerges (closed form)."""
    return (gm_m + BM_M * np.tan(heel_rad) ** 2 / 2) * np.sin(heel_rad)


def wall_sided_area(heel_rad, gm_m):
    """Area to φ: GM (1 − cos φ) + (BM/2)(sec φ + cos φ − 2) (its integral)."""
    return gm_m * (1 - np.cos(heel_rad)) + BM_M / 2 * (1 / np.cos(heel_rad) + np.cos(heel_rad) - 2)
