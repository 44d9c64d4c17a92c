"""Tanks known by a sounding table; expected numbers are those of the wall-sided box the table was written from."""

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.geometry.shapes import Box
from engine.liquids.sounding_table import SoundingTable
from engine.liquids.tank import Tank, liquid_in, sounding_at_volume, volume_at_sounding, volume_at_ullage
from tests.engine.liquids.tanks import normal

SOUNDINGS = np.array([0.0, 0.3, 0.5, 0.9])
MOMENT = 7 * 5**3 / 12
COLUMNS = {
    "sounding_m": SOUNDINGS,
    "volume_m3": 35 * SOUNDINGS,
    "x_m": np.full(4, 3.5),
    "y_m": np.zeros(4),
    "z_m": 0.6 + SOUNDINGS / 2,
    "free_surface_moment_m4": np.full(4, MOMENT),
}
TANK = Tank.of_table(SoundingTable.from_columns(**COLUMNS))
BOX = Tank.of_solid(Box(0.0, 7.0, -2.5, 2.5, 0.6, 1.5).solid())


def test_a_straight_table_is_read_straight_both_ways():
    volumes = volume_at_sounding(TANK, sounding_m=[0.0, 0.2, 0.44, 0.9], normals=[0, 0, 1])
    np.testing.assert_allclose(volumes, [0, 7, 15.4, 31.5], rtol=1e-14, atol=1e-15)
    np.testing.assert_allclose(sounding_at_volume(TANK, volume_m3=volumes, normals=[0, 0, 1]), [0, 0.2, 0.44, 0.9])
    assert volume_at_ullage(TANK, ullage_m=0.7, normals=[0, 0, 1])[0] == pytest.approx(7.0, rel=1e-14)
    assert TANK.capacity_m3 == 31.5


def test_a_curved_table_rises_between_its_rows_and_is_read_back():
    sounding = np.linspace(0, 2, 9)
    table = SoundingTable.from_columns(
        **{k: np.resize(v, 9) for k, v in COLUMNS.items() if k not in ("sounding_m", "volume_m3")},
        sounding_m=sounding,
        volume_m3=1 + sounding**2,
    )
    fine = np.linspace(0, 2, 401)
    volumes = table.volume_at(fine)
    assert (np.diff(volumes) > 0).all()
    np.testing.assert_allclose(table.volume_at(sounding), 1 + sounding**2, rtol=1e-15)
    np.testing.assert_allclose(volumes, 1 + fine**2, rtol=0, atol=0.01)  # a cubic with slopes of its own
    np.testing.assert_allclose(table.sounding_at(volumes), fine, rtol=0, atol=1e-12)
    with pytest.raises(InputError) as caught:
        table.sounding_at(np.array([0.0, 0.5]))
    assert (caught.value.code, caught.value.value, caught.value.limit) == ("volume-below-table", 0.5, 1.0)


def test_it_runs_as_a_wall_sided_tank_and_says_so():
    normals = np.array([normal(h) for h in (0, 4, -7)])
    by_table, by_shape = (liquid_in(t, volume_m3=15.0, normals=normals) for t in (TANK, BOX))
    np.testing.assert_allclose(by_table.centroid_m, by_shape.centroid_m, rtol=0, atol=1e-12)
    np.testing.assert_allclose(by_table.surface_area_m2, by_shape.surface_area_m2, rtol=1e-12)
    athwart = by_shape.surface_tensor_m4[:, 1:, 1:]
    np.testing.assert_allclose(by_table.surface_tensor_m4[:, 1:, 1:], athwart, rtol=0, atol=1e-10)
    assert not by_table.surface_tensor_m4[:, 0].any()  # lengthwise it does not run
    assert np.isnan(by_table.offsets_m).all()
    assert [finding.code for finding in TANK.findings] == ["tank-as-table"]
    assert BOX.findings == ()


def test_empty_and_full_have_no_surface():
    for volume in (0.0, 31.5):
        lying = liquid_in(TANK, volume_m3=volume, normals=normal(85))
        assert not lying.surface_tensor_m4.any()
        np.testing.assert_allclose(lying.centroid_m[0], [3.5, 0, 1.05])


def test_it_is_not_run_beyond_eighty_degrees():
    assert np.isfinite(liquid_in(TANK, volume_m3=9.0, normals=normal(79.9)).centroid_m).all()
    with pytest.raises(NotDeterminedError) as caught:
        liquid_in(TANK, volume_m3=9.0, normals=normal(80.1))
    assert (caught.value.code, caught.value.limit) == ("table-beyond-heel", 80.0)


@pytest.mark.parametrize(
    ("changed", "code", "field"),
    [
        ({"sounding_m": [0, 0.3, 0.3, 0.9]}, "not-increasing", "sounding_m/2"),
        ({"volume_m3": [0, 9, 8, 10]}, "not-increasing", "volume_m3/2"),
        ({"volume_m3": [-1, 9, 18, 30]}, "out-of-range", "volume_m3"),
        ({"sounding_m": [-0.1, 0.3, 0.5, 0.9]}, "out-of-range", "sounding_m"),
        ({"free_surface_moment_m4": [1, 1, -1, 1]}, "out-of-range", "free_surface_moment_m4"),
        ({"x_m": [1, 2, 3]}, "columns-differ", "x_m"),
        ({"y_m": [[1, 2, 3, 4]]}, "wrong-shape", "y_m"),
        ({"z_m": [0, 1, np.nan, 1]}, "not-finite", "z_m"),
        ({name: [1.0] for name in COLUMNS}, "too-few-rows", "sounding_m"),
    ],
)
def test_a_table_that_cannot_be_one_is_refused(changed, code, field):
    with pytest.raises(InputError) as caught:
        SoundingTable.from_columns(**{**COLUMNS, **changed})
    assert (caught.value.code, caught.value.field) == (code, field)


@pytest.mark.parametrize("sounding", [-0.01, 0.91])
def test_a_sounding_the_table_does_not_reach_is_refused(sounding):
    with pytest.raises(InputError) as caught:
        volume_at_sounding(TANK, sounding_m=sounding, normals=[0, 0, 1])
    assert (caught.value.code, caught.value.field) == ("out-of-range", "sounding_m")


def test_beyond_the_last_row_is_beyond_capacity():
    with pytest.raises(InputError) as caught:
        liquid_in(TANK, volume_m3=32.0, normals=[0, 0, 1])
    assert (caught.value.code, caught.value.limit) == ("volume-beyond-capacity", 31.5)
