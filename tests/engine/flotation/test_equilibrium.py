"""Where bodies float, against closed forms and moment balance."""

import importlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError, NotDeterminedError
from engine.flotation.equilibrium import equilibrium
from engine.geometry import OffsetStation, Planes, solid_from_offsets
from engine.geometry.shapes import Box
from engine.liquids.running import Liquid
from engine.liquids.tank import Tank
from fixtures.simulator.vessels import trials

BARGE = Box(x_min_m=0, x_max_m=60, y_min_m=-6, y_max_m=6, z_min_m=0, z_max_m=8).solid()
MASS = 1.025 * 60 * 12 * 3.5


def test_a_box_with_its_weight_in_the_middle_floats_upright():
    found = equilibrium(solid=BARGE, density_t_per_m3=1.025, mass_t=MASS, centre_m=[30.0, 0.0, 4.5])
    assert found.planes.draft_m(length_bp_m=60)[0] == pytest.approx(3.5, abs=1e-12)
    assert found.planes.heel_deg[0] == pytest.approx(0.0, abs=1e-10)
    assert found.gm_fluid_m[0] == pytest.approx(1.75 + 144 / 42 - 4.5, rel=1e-12)
    assert found.gm_longitudinal_m[0] == pytest.approx(1.75 + 3600 / 42 - 4.5, rel=1e-12)


def test_wall_sided_list_and_trim():
    # wall-sided: GM tan φ + BM tan³ φ/2 = y_G shift, solved here by its cubic; box sides not immersed
    bm, gm, off = 144 / 42, 1.75 + 144 / 42 - 4.5, 0.15
    roots = np.roots([bm / 2, 0.0, gm, -off])
    tan = float(roots[np.abs(roots.imag) < 1e-9].real[0])
    found = equilibrium(solid=BARGE, density_t_per_m3=1.025, mass_t=MASS, centre_m=[30.0, -off, 4.5])
    assert np.tan(np.radians(found.planes.heel_deg[0])) == pytest.approx(tan, abs=1e-12)


def test_negative_gm_ends_at_the_angle_of_loll_not_upright():
    # loll: tan² φ = −2 GM/BM (wall-sided, closed form)
    kg = 1.75 + 144 / 42 + 0.1
    found = equilibrium(solid=BARGE, density_t_per_m3=1.025, mass_t=MASS, centre_m=[30.0, 0.0, kg])
    assert abs(np.tan(np.radians(found.planes.heel_deg[0]))) == pytest.approx(np.sqrt(0.2 / (144 / 42)), rel=1e-9)
    assert found.gm_fluid_m[0] > 0


@settings(max_examples=25)
@given(st.floats(25, 35), st.floats(-1, 1), st.floats(2.0, 4.8), st.floats(0.2, 0.7))
def test_weight_and_moments_balance_with_running_liquid(x, y, z, fill):
    tank = Tank.of_solid(Box(x_min_m=10, x_max_m=20, y_min_m=-3, y_max_m=1, z_min_m=1, z_max_m=3).solid())
    liquid = Liquid(tank=tank, volume_m3=fill * 80, density_t_per_m3=0.9)
    found = equilibrium(
        solid=BARGE, density_t_per_m3=1.025, mass_t=MASS - liquid.mass_t, centre_m=[x, y, z], liquids=[liquid]
    )
    assert 1.025 * found.cuts.volume_m3[0] == pytest.approx(MASS, rel=1e-11)
    lever = np.cross(found.centre_m[0] - found.cuts.centroid_m[0], found.planes.normals[0])
    assert np.linalg.norm(lever) < 1e-9


def test_response_predicts_the_next_position():
    at = {"solid": BARGE, "density_t_per_m3": 1.025, "mass_t": MASS}
    centre, shift = np.array([30.0, -0.05, 4.0]), np.array([1.0, -2.0, 0.5])
    base = equilibrium(**at, centre_m=centre)
    moved = equilibrium(**at, centre_m=centre + 1e-4 * shift / MASS)
    predicted = base.response(mass_t=np.zeros(1), moment_tm=shift)[0] * 1e-4
    turned = np.radians(moved.planes.heel_deg[0] - base.planes.heel_deg[0])
    assert turned == pytest.approx(predicted[1], rel=1e-5)
    assert moved.planes.normals[0, 0] - base.planes.normals[0, 0] == pytest.approx(predicted[2], rel=1e-4)


def test_held_heel_gives_the_wall_sided_righting_arm():
    from engine.geometry import Planes

    start = Planes.from_waterplanes(draft_m=3.5, heel_deg=10.0, length_bp_m=60)
    found = equilibrium(
        solid=BARGE, density_t_per_m3=1.025, mass_t=MASS, centre_m=[30.0, 0.0, 4.5], start=start, hold="heel"
    )
    # GZ = (GM + BM tan²/2) sin φ: 0.1270880021675 m at 10° for this barge (closed form)
    assert found.righting_arm_m[0] == pytest.approx(0.1270880021675, abs=1e-11)


def test_too_heavy_and_nothing_aboard():
    with pytest.raises(NotDeterminedError) as sunk:
        equilibrium(solid=BARGE, density_t_per_m3=1.025, mass_t=6000.0, centre_m=[30.0, 0.0, 4.0])
    assert sunk.value.code == "sinks"
    with pytest.raises(InputError) as nothing:
        equilibrium(solid=BARGE, density_t_per_m3=1.025, mass_t=0.0, centre_m=[30.0, 0.0, 4.0])
    assert nothing.value.code == "not-positive"


def cutter():
    """Stations of an invented cutter; their volume is not to the last digits the integral of their waterplane area."""
    record = trials()["Invented Cutter"].vessel.hull_record
    stations = [OffsetStation(x_m=one["x_m"], points_m=one["points_m"]) for one in record["stations"]]
    return solid_from_offsets(stations).solid


def test_a_position_does_not_depend_on_where_the_search_began():
    """To round-off: what fits a model to readings sees the last digits of the tangent."""
    hull = cutter()
    at = {"solid": hull, "density_t_per_m3": 1.025, "mass_t": np.full(5, 160.0)}
    centre = np.column_stack([np.full(5, 9.9), np.linspace(-0.09, 0.09, 5), np.full(5, 2.25)])
    first = equilibrium(**at, centre_m=centre)
    normals = first.planes.normals + np.array([0.002, 0.03, 0.0])
    start = Planes.from_normals(
        normals=normals / np.linalg.norm(normals, axis=1)[:, None], offsets_m=first.planes.offsets_m
    )
    again = equilibrium(**at, centre_m=centre, start=start)
    tangents = [one.planes.normals[:, 1] / one.planes.normals[:, 2] for one in (first, again)]
    assert np.abs(tangents[0]).max() > 0.05
    assert tangents[1] == pytest.approx(tangents[0], abs=1e-14)


def test_sections_settle_though_their_energy_is_rough(monkeypatch):
    """With the energy alone as judge of a step the cutter heeled 4 degrees needed more than 80 steps."""
    module = importlib.import_module("engine.flotation.equilibrium")
    monkeypatch.setattr(module, "ITERATION_LIMIT", 12)
    centre = np.column_stack([np.full(9, 9.914), np.linspace(-0.1, 0.1, 9), np.full(9, 2.262)])
    found = equilibrium(solid=cutter(), density_t_per_m3=1.025, mass_t=np.full(9, 160.0), centre_m=centre)
    assert 1.025 * found.cuts.volume_m3 == pytest.approx(np.full(9, 160.0), rel=1e-13)


def test_a_start_that_is_near_gives_the_same_and_one_that_is_not_does_too():
    at = {"solid": BARGE, "density_t_per_m3": 1.025, "mass_t": MASS, "centre_m": np.array([[31.0, 0.1, 4.5]] * 3)}
    found = equilibrium(**at)
    for offset in (found.planes.offsets_m + 0.1, np.array([3.6, -50.0, 4.0])):  # the second: one plane under the hull
        start = Planes(normals=found.planes.normals, offsets_m=offset)
        again = equilibrium(**at, start=start, near=True)
        assert again.planes.offsets_m == pytest.approx(found.planes.offsets_m, abs=1e-11)
        assert again.planes.heel_deg == pytest.approx(found.planes.heel_deg, abs=1e-9)


def test_each_row_of_a_batch_is_what_it_is_alone():
    # rows come to rest after different numbers of steps: upright at once, a list and a loll later
    centres = np.array([[30.0, 0.0, 4.5], [30.0, 0.4, 4.5], [28.0, 0.0, 5.3], [32.0, -0.2, 3.0]])
    at = {"solid": BARGE, "density_t_per_m3": 1.025, "mass_t": MASS}
    tank = Tank.of_solid(Box(x_min_m=10, x_max_m=20, y_min_m=-3, y_max_m=1, z_min_m=1, z_max_m=3).solid())
    liquids = [Liquid(tank=tank, volume_m3=30.0, density_t_per_m3=0.9)]
    whole = equilibrium(**at, centre_m=centres, liquids=liquids)
    for row, centre in enumerate(centres):
        alone = equilibrium(**at, centre_m=centre, liquids=liquids)
        assert whole.planes.normals[row] == pytest.approx(alone.planes.normals[0], abs=1e-11)
        assert whole.planes.offsets_m[row] == pytest.approx(alone.planes.offsets_m[0], abs=1e-11)
        assert whole.cuts.centroid_m[row] == pytest.approx(alone.cuts.centroid_m[0], abs=1e-10)
        assert whole.surfaces_m[row] == pytest.approx(alone.surfaces_m[0], abs=1e-10)
    assert whole.planes.normals[:, None] @ whole.surfaces_m[:, 0, :, None] == pytest.approx(
        np.array([tank_level(tank, normal) for normal in whole.planes.normals])[:, None, None], abs=1e-10
    )


def tank_level(tank, normal):
    """Offset of the surface of 30 m³, found without a guess."""
    return float(Liquid(tank=tank, volume_m3=30.0, density_t_per_m3=0.9).at(normal[None, :]).offsets_m[0])


def test_a_held_plane_is_kept_and_says_what_is_not_balanced_there():
    tank = Tank.of_solid(Box(x_min_m=10, x_max_m=20, y_min_m=-3, y_max_m=1, z_min_m=1, z_max_m=3).solid())
    ship = {
        "solid": BARGE,
        "density_t_per_m3": 1.025,
        "mass_t": MASS,
        "centre_m": [29.0, 0.2, 4.0],
        "liquids": [Liquid(tank=tank, volume_m3=40.0, density_t_per_m3=0.9)],
    }
    rest = equilibrium(**ship)
    assert np.abs(rest.imbalance).max() < 1e-8  # of 2600 t and 78000 t·m
    off = Planes.from_angles(
        heel_deg=rest.planes.heel_deg + 0.01,
        slope_ratio=rest.planes.normals[:, 0] - 1e-4,
        offsets_m=rest.planes.offsets_m + 1e-3,
    )
    held = equilibrium(**ship, start=off, hold="everything")
    np.testing.assert_allclose(held.planes.normals, off.normals, rtol=0, atol=1e-15)
    np.testing.assert_array_equal(held.planes.offsets_m, off.offsets_m)
    assert held.imbalance[0, 0] == pytest.approx(1.025 * held.cuts.volume_m3[0] - held.mass_t[0], abs=1e-9)
    # to first order it tells the way back: what is left is of the square of 1e-3 m, 2e-4 rad and 1e-4
    away = np.array([1e-3, np.radians(0.01), -1e-4])
    assert (np.abs(held.to_rest()[0] + away) <= 0.01 * np.abs(away)).all()
