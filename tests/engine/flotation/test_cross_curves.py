"""Cross curves against closed forms and against the righting arms themselves."""

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.flotation.cross_curves import cross_curves, displacements_at
from engine.flotation.righting_arms import righting_arms
from engine.geometry import Planes, SurfaceSolid, solid_from_arrays
from fixtures.simulator.hulls import WorkboatForm, mesh_of
from tests.engine.flotation.arm_hulls import Ellipsoid, barge
from tests.engine.geometry import meshes

SEA = 1.025
BODY = mesh_of(WorkboatForm(), counts=(8, 2, 8, 8))
BOAT = SurfaceSolid.from_arrays(vertices_m=BODY.vertices_m, faces=BODY.faces)


def test_wall_sided_levers():
    # KN = (KM + BM tan² φ/2) sin φ: KB = T/2, BM = B²/12T; heel fastest
    drafts, heels = np.array([3.0, 3.5, 4.0]), np.array([-20.0, 0.0, 10.0, 25.0])
    found = cross_curves(solid=barge(), density_t_per_m3=SEA, displacement_t=SEA * 720 * drafts, heel_deg=heels)
    turn = np.radians(heels)
    bm = 144 / (12 * drafts[:, None])
    expected = (drafts[:, None] / 2 + bm + bm * np.tan(turn) ** 2 / 2) * np.sin(turn)
    np.testing.assert_allclose(found.kn_m, expected.ravel(), atol=1e-11)
    np.testing.assert_array_equal(found.heel_deg, np.tile(heels, 3))
    np.testing.assert_allclose(found.displacement_t, np.repeat(SEA * 720 * drafts, 4))
    np.testing.assert_allclose(found.lcg_m, 30.0, atol=1e-12)


def test_ellipsoid_of_three_axes():
    # KN is GZ with the centre of gravity at the keel: the closed form with KG = 0
    body = Ellipsoid(30.0, 7.0, 4.0)
    solid = body.solid()
    heel = body.exact_heel_deg(np.arange(0, 37))
    found = cross_curves(
        solid=solid,
        density_t_per_m3=1.0,
        displacement_t=np.array([0.3, 0.6]) * solid.volume_m3,
        heel_deg=heel,
        assumed_vcg_m=4.0,
    )
    levers, depths = found.kn_m.reshape(2, -1), found.cuts.centroid_m[:, 2].reshape(2, -1)
    for lever, depth in zip(levers, depths, strict=True):
        np.testing.assert_allclose(lever, body.arm_m(heel_deg=heel, kb_m=depth[0], kg_m=0.0), atol=3e-11)


def test_gz_is_kn_less_kg_sin_phi_in_free_trim():
    heel, kg = np.array([-70.0, -30.0, 0.0, 15.0, 45.0, 100.0]), 4.2
    found = cross_curves(
        solid=BOAT, density_t_per_m3=SEA, displacement_t=[1200.0], heel_deg=heel, lcg_m=26.5, assumed_vcg_m=kg
    )
    arms = righting_arms(solid=BOAT, density_t_per_m3=SEA, mass_t=1200.0, centre_m=[26.5, 0, kg], heel_deg=heel)
    np.testing.assert_allclose(found.kn_m - kg * np.sin(np.radians(heel)), arms.gz_m, atol=1e-10)
    # the assumed height acts through the trim alone: of little effect
    low = cross_curves(solid=BOAT, density_t_per_m3=SEA, displacement_t=[1200.0], heel_deg=heel, lcg_m=26.5)
    assert 1e-6 < np.abs(low.kn_m - found.kn_m).max() < 0.02


def test_without_an_lcg_she_is_balanced_at_the_trim_given():
    at = Planes.from_waterplanes(draft_m=0.0, trim_m=0.8, length_bp_m=50.0).normals[0, 0]
    found = cross_curves(
        solid=BOAT,
        density_t_per_m3=SEA,
        displacement_t=[1000.0, 1300.0],
        heel_deg=[0.0, 40.0],
        slope_ratio=at,
        assumed_vcg_m=4.0,
    )
    np.testing.assert_allclose(found.planes.normals[[0, 2], 0], at, atol=1e-11)
    assert abs(found.planes.normals[1, 0] - at) > 1e-4
    fixed = cross_curves(
        solid=BOAT,
        density_t_per_m3=SEA,
        displacement_t=[1000.0, 1300.0],
        heel_deg=[0.0, 40.0],
        slope_ratio=at,
        trim="fixed",
    )
    np.testing.assert_allclose(fixed.planes.normals[:, 0], at, atol=1e-15)
    held = righting_arms(
        solid=BOAT,
        density_t_per_m3=SEA,
        mass_t=1300.0,
        centre_m=[25.0, 0.0, 0.0],
        heel_deg=[40.0],
        trim="fixed",
        start=Planes.from_waterplanes(draft_m=0.0, trim_m=0.8, length_bp_m=50.0),
    )
    assert fixed.kn_m[3] == pytest.approx(held.gz_m[0], abs=1e-12)


def test_displacements_at_drafts():
    found = displacements_at(solid=barge(), density_t_per_m3=SEA, draft_m=[3.0, 4.0], trim_m=0.6, length_bp_m=60.0)
    np.testing.assert_allclose(found, SEA * 720 * np.array([3.0, 4.0]), rtol=1e-13)
    with pytest.raises(InputError) as refused:
        displacements_at(solid=barge(), density_t_per_m3=SEA, draft_m=[3.0, -4.0], trim_m=0.0, length_bp_m=60.0)
    assert refused.value.field == "draft_m/1"


def test_rows_without_a_position_say_why():
    vertices, faces = meshes.box()
    top = (vertices[faces][:, :, 2] == 8.0).all(axis=1)
    open_box = solid_from_arrays(vertices_m=vertices, faces=faces[~top]).solid
    found = cross_curves(solid=open_box, density_t_per_m3=SEA, displacement_t=[2000.0, 4000.0], heel_deg=[0, 30, 70])
    assert [bool(code) for code in found.codes] == [False, False, True, False, True, True]
    np.testing.assert_array_equal(np.isnan(found.kn_m), [bool(code) for code in found.codes])


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        ({"displacement_t": [2000.0, 6000.0]}, "sinks", "displacement_t/1"),
        ({"displacement_t": [-1.0]}, "not-positive", "displacement_t/0"),
        ({"displacement_t": []}, "too-few-points", "displacement_t"),
        ({"heel_deg": []}, "too-few-points", "heel_deg"),
        ({"heel_deg": [200.0]}, "out-of-range", "heel_deg"),
        ({"slope_ratio": 1.0}, "out-of-range", "slope_ratio"),
        ({"assumed_vcg_m": np.inf}, "not-finite", "assumed_vcg_m"),
    ],
)
def test_refusals(change, code, field):
    with pytest.raises((InputError, NotDeterminedError)) as refused:
        cross_curves(
            **{"solid": barge(), "density_t_per_m3": SEA, "displacement_t": [2000.0], "heel_deg": [10.0], **change}
        )
    assert (refused.value.code, refused.value.field) == (code, field)
