"""The budget expected: single rows against closed forms, and against the scatter of simulated readings."""

import dataclasses

import numpy as np
import pytest

from engine.errors import InputError
from engine.incline.regression import regress
from engine.planning.expected import expected_budget
from engine.planning.expected_rows import Spread
from engine.planning.plan import plan_test
from engine.planning.rehearsal import Noise, rehearse
from engine.survey.ledger import Item
from tests.engine.planning.ships import BREADTH_M, DENSITY, LENGTH_M, SPREAD, box_ship, box_tank, outline

NOTHING = Spread(**dict.fromkeys(vars(SPREAD), 0.0))
PLAN = plan_test(outline())
FOUND = PLAN.search.found
AT = FOUND.condition


def budget(plan=PLAN, **spread):
    return expected_budget(
        plan.ship,
        plan.search.found,
        instruments=plan.instruments,
        stations=plan.stations,
        spread=dataclasses.replace(NOTHING, **spread),
    )


def deviations(**spread):
    return [one.standard_uncertainty for one in budget(**spread).outputs]


def test_a_common_factor_on_the_weights():
    # GM by the factor itself; the weights leave the lightship from their height
    gm, vcg, mass, lightship = deviations(weight_percent=0.25)
    height = FOUND.groups[0].home_m[2]
    assert gm == pytest.approx(0.0025 * AT.gm_fluid_m, rel=1e-9)
    assert vcg == pytest.approx(gm, rel=1e-9)
    assert mass == pytest.approx(0.0025 * FOUND.mass_t, rel=1e-9)
    wanted = (-AT.displacement_t * gm + 0.0025 * FOUND.mass_t * (4.6 - height)) / 1500
    assert lightship == pytest.approx(abs(wanted), rel=1e-9)


def test_a_common_freeboard_error_moves_mass_km_and_gm_together():
    # box: dΔ = ρ L B dT; dKM/dT = 1/2 − B²/(12 T²); GM = 1/(bΔ)
    gm, vcg, mass, _ = deviations(freeboard_common_m=0.002)
    sink = DENSITY * LENGTH_M * BREADTH_M * 0.002
    by_gm = AT.gm_fluid_m * sink / AT.displacement_t
    by_km = 0.002 * (0.5 - BREADTH_M**2 / (12 * AT.draft_m**2))
    assert mass == pytest.approx(sink, rel=1e-6)
    assert gm == pytest.approx(by_gm, rel=1e-6)
    assert vcg == pytest.approx(abs(by_km + by_gm), rel=1e-5)


def test_independent_freeboards_average_down():
    # the level ship's draft is their mean: u/√10, whatever the trim does to the box
    _, _, mass, _ = deviations(freeboard_m=0.005)
    assert mass == pytest.approx(DENSITY * LENGTH_M * BREADTH_M * 0.005 / np.sqrt(10), rel=1e-4)


def test_density_and_hull_volume():
    gm, vcg, mass, _ = deviations(density_t_per_m3=0.0003)
    assert mass == pytest.approx(AT.displacement_t * 0.0003 / DENSITY, rel=1e-9)
    assert gm == pytest.approx(AT.gm_fluid_m * 0.0003 / DENSITY, rel=1e-9)
    assert vcg == pytest.approx(gm, rel=1e-9)
    assert deviations(hull_volume_percent=0.2)[0] == pytest.approx(0.002 * AT.gm_fluid_m, rel=1e-9)


def test_lengths_of_three_instruments():
    gm, *_ = deviations(length_m=0.003)
    lengths = np.array([one.length_m for one in PLAN.instruments])
    assert gm == pytest.approx(AT.gm_fluid_m * np.linalg.norm(0.003 / lengths) / 3, rel=1e-9)


def test_arms_of_four_weights_by_their_places():
    # each of four weights of one moment m lies at its far place twice; x there is +m, +2m (or −m, −2m), and Σx² = 12 m²
    gm, *_ = deviations(arm_m=0.005)
    group = FOUND.groups[0]
    assert gm == pytest.approx(AT.gm_fluid_m * np.sqrt(8 * (3 / 12) ** 2) * 0.005 / abs(group.arm_m), rel=2e-3)


def test_readings_against_the_scatter_of_simulated_ones():
    # 400 rehearsals, regressed: their standard deviation is known within 1/√800 = 3.5 %; 20 % is the tolerance aimed at
    found = []
    for seed in range(400):
        made = rehearse(
            expected=FOUND.expected,
            stations=PLAN.stations,
            instruments=PLAN.instruments,
            noise=Noise(reading_m=0.001, seed=seed),
        )
        tangents = [
            (s.readings_m if s.kind == "pendulum" else s.readings_m - s.port_levels_m) / s.length_m for s in made.sheets
        ]
        fit = regress(moment_tm=FOUND.expected.plateaus.moment_tm, tangents=tangents, displacement_t=AT.displacement_t)
        found.append(fit.gm_fluid_m)
    assert deviations(reading_m=0.001)[0] == pytest.approx(np.std(found), rel=0.2)


def test_items_and_tanks_leave_the_lightship():
    item = Item("remove", 10.0, np.array([30.0, 0.0, 9.0]))
    tank = box_tank((25, 35), (-1, 1), (0, 2), fill=0.5, density=0.9)
    plan = plan_test(outline(box_ship(items=[item], tanks=[tank])))
    lightship = {one.name: one for one in budget(plan, ledger_mass_percent=5.0, tank_volume_percent=2.0).outputs}
    rows = {row.name: row.value for row in lightship["lightship_vcg_m"].rows}
    assert rows["items/0/mass"] == pytest.approx(0.5 * (4.6 - 9.0) / 1500, rel=1e-9)
    # more liquid lies at the surface, 1 m up; a box's second moment does not change with its level
    assert rows["tanks/0/volume"] == pytest.approx(0.02 * 18 * (4.6 - 1.0) / 1500, rel=1e-3)
    high = budget(plan, ledger_centre_m=0.1).outputs[3]
    assert high.standard_uncertainty == pytest.approx(10 * 0.1 / 1500, rel=1e-9)


def test_relocated_and_added_items():
    items = [
        Item("add", 4.0, np.array([30.0, 0.0, 7.0])),
        Item("relocate", 2.0, np.array([30.0, 0.0, 9.0]), np.array([30.0, 0.0, 3.0])),
    ]
    plan = plan_test(outline(box_ship(items=items)))
    rows = {row.name: row.value for row in budget(plan, ledger_mass_percent=5.0).outputs[3].rows}
    assert rows["items/0/mass"] == pytest.approx(0.2 * (7.0 - 4.6) / 1500, rel=1e-9)
    assert rows["items/1/mass"] == pytest.approx(0.1 * (3.0 - 9.0) / 1500, rel=1e-9)


def test_it_names_the_dominating_row_and_what_would_halve_it():
    whole = expected_budget(PLAN.ship, FOUND, instruments=PLAN.instruments, stations=PLAN.stations, spread=SPREAD)
    vcg = whole.outputs[3]
    assert vcg.dominating.name == "weights/masses"
    names, factor, _ = vcg.what_would_halve_it
    better = {row.name: row.value / (factor if row.name in names else 1) for row in vcg.rows}
    assert np.linalg.norm(list(better.values())) == pytest.approx(0.5 * vcg.standard_uncertainty, rel=1e-9)


def test_refusals():
    with pytest.raises(InputError) as refused:
        expected_budget(PLAN.ship, FOUND, instruments=(), stations=PLAN.stations, spread=SPREAD)
    assert (refused.value.code, refused.value.field) == ("too-few-readings", "instruments")
    with pytest.raises(InputError) as refused:
        dataclasses.replace(SPREAD, arm_m=-0.001)
    assert (refused.value.code, refused.value.field) == ("negative-uncertainty", "arm_m")
