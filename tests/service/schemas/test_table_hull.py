"""Tables as a hull of a request: the box barge by closed forms, and where a fault is placed."""

import json

import pytest

from engine.errors import InputError
from engine.flotation.tables import HydrostaticTables
from service.edge.axes import Axes, to_ship_frame
from service.schemas.hull import BOX_BARGE, OffsetsHull
from service.schemas.table_hull import TablesHull, solid_or_tables

DRAFTS = (2.0, 3.0, 4.0)
ROWS = {
    "draft_m": DRAFTS,
    "volume_m3": [720.0 * t for t in DRAFTS],
    "lcb_m": [30.0, 30.0, 30.0],
    "vcb_m": [t / 2 for t in DRAFTS],
    "lcf_m": [30.0, 30.0, 30.0],
    "km_transverse_m": [t / 2 + 12 / t for t in DRAFTS],  # B²/12T, B = 12 m
    "moment_to_trim_tm_per_cm": [36.9, 36.9, 36.9],  # Δ BM_L/(100 L) of the box 60 × 12 m in 1.025 t/m³
}


def hull(more=None, **change):
    rows = {name: value for name, value in {**ROWS, **change}.items() if value is not None}
    body = {"kind": "tables", "length_bp_m": 60.0, "tables": [rows], **(more or {})}
    return TablesHull.model_validate_json(json.dumps(body))


def test_volume_and_moment_to_trim_give_the_box():
    found = hull().hydrostatics().at(draft_m=3.0, trim_m=0.6, density_t_per_m3=1.0)
    assert found.displacement_t == pytest.approx(2160.0)
    assert found.lcb_m == pytest.approx(30 - 60 * 0.6 / 36)  # L t/(12 T)


def test_displacement_is_volume_times_the_tables_density():
    by_mass = hull(volume_m3=None, displacement_t=[1.025 * 720 * t for t in DRAFTS]).hydrostatics()
    for name in ("displacement_t", "km_longitudinal_m"):
        one, other = (
            getattr(of.at(draft_m=2.7, density_t_per_m3=1.025), name) for of in (by_mass, hull().hydrostatics())
        )
        assert one == pytest.approx(other, rel=1e-13)


def test_axes_turn_the_centres():
    given = hull(lcb_m=[29.0, 29.0, 29.0], lcf_m=[28.0, 28.0, 28.0])
    turned = to_ship_frame(given, Axes(x="aft_from_fp"), length_bp_m=60.0)
    assert turned.tables[0].lcb_m == (31.0, 31.0, 31.0)
    assert turned.tables[0].lcf_m == (32.0, 32.0, 32.0)


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        ({"displacement_t": [1.0, 2.0, 3.0]}, "tables-displacement", "tables/0/displacement_t"),
        ({"moment_to_trim_tm_per_cm": None}, "tables-longitudinal", "tables/0/lcf_m"),
        ({"draft_m": [2.0, 4.0, 3.0]}, "tables-not-monotone", "tables/0/draft_m/2"),
        ({"vcb_m": [1.0, 1.5]}, "columns-differ", "tables/0/vcb_m"),
    ],
)
def test_refusals(change, code, field):
    with pytest.raises(InputError) as refused:
        hull(**change).hydrostatics()
    assert (refused.value.code, refused.value.field) == (code, field)


def test_cross_curves_come_along():
    curves = {"displacement_t": [1000.0, 2000.0], "heel_deg": [0.0, 30.0], "kn_m": [[0.0, 3.0], [0.0, 2.5]]}
    assert hull().righting_levers() is None
    made = hull(more={"cross_curves": curves}).righting_levers()
    assert made is not None
    assert made.kn(displacement_t=2000.0, density_t_per_m3=1.025)[1] == 2.5
    with pytest.raises(InputError) as refused:
        hull(more={"cross_curves": {**curves, "kn_m": [[0.0, 3.0], [0.0]]}}).righting_levers()
    assert (refused.value.code, refused.value.field) == ("columns-differ", "cross_curves/kn_m/1")


KN = {"displacement_t": [1500.0, 2000.0], "heel_deg": [0, 20, 40], "kn_m": [[0.0, 2.0, 4.0], [0.0, 1.9, 3.9]]}


def test_hydrostatics_and_cross_curves_together():
    whole = hull({"cross_curves": KN}).whole()
    assert whole.cross_curves.kn(displacement_t=1500.0, density_t_per_m3=1.025).tolist() == [0.0, 2.0, 4.0]
    assert hull().whole().cross_curves is None


@pytest.mark.parametrize(
    ("more", "change", "field"),
    [
        ({"cross_curves": {**KN, "kn_m": [[0.0, 2.0], [0.0, 1.9]]}}, {}, "hull/cross_curves/kn_m/0"),
        ({}, {"draft_m": [2.0, 4.0, 3.0]}, "hull/tables/0/draft_m/2"),
    ],
)
def test_a_fault_of_either_is_placed_below_the_hull(more, change, field):
    with pytest.raises(InputError) as refused:
        hull(more, **change).whole()
    assert refused.value.field == field


def test_a_hull_or_the_tables_that_stand_for_it():
    found, told = solid_or_tables(hull())
    assert (isinstance(found, HydrostaticTables), told) == (True, ())
    solid, _ = solid_or_tables(OffsetsHull.model_validate_json(json.dumps(BOX_BARGE)))
    assert solid.volume_m3 == pytest.approx(60 * 12 * 8)
    with pytest.raises(InputError) as refused:
        solid_or_tables(hull(draft_m=[2.0, 4.0, 3.0]))
    assert refused.value.field == "hull/tables/0/draft_m/2"
