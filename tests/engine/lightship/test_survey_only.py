"""A lightship recovered from the floating position by plain sums, and the VCG rules."""

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.lightship.derivation import Lying
from engine.lightship.survey_only import (
    approved_vcg,
    calculated_vcg,
    lightship_by_survey,
    sister_vcg,
    tank_vessel_vcg,
)
from engine.survey.ledger import Item

ITEMS = (
    Item("remove", 7.0, np.array([12.0, 1.5, 9.0])),
    Item("add", 3.0, np.array([55.0, -0.5, 6.0])),
    Item("relocate", 2.0, np.array([40.0, 2.0, 3.0]), np.array([20.0, -2.0, 8.0])),
)
LIQUIDS = (
    Lying(30.0, np.array([25.0, 2.2, 1.1])),
    Lying(9.0, np.array([8.0, -1.0, 2.0]), 4.0, np.array([8.1, -1.1, 1.5])),
)
LIGHT_T, LIGHT = 1200.0, np.array([27.3, 0.04, 4.6])
NORMAL = np.array([0.6 / 60.0, np.tan(np.radians(1.2)), 1.0])


def afloat():
    """Return displacement and a buoyancy on the vertical through the centre of all that is aboard, summed by hand."""
    mass = LIGHT_T + 7.0 - 3.0 + 30.0 + 9.0 - 4.0
    moment = (
        LIGHT_T * LIGHT
        + 7.0 * np.array([12.0, 1.5, 9.0])
        - 3.0 * np.array([55.0, -0.5, 6.0])
        + 2.0 * (np.array([40.0, 2.0, 3.0]) - np.array([20.0, -2.0, 8.0]))
        + 30.0 * np.array([25.0, 2.2, 1.1])
        + 9.0 * np.array([8.0, -1.0, 2.0])
        - 4.0 * np.array([8.1, -1.1, 1.5])
    )
    return mass, moment / mass, moment / mass - 2.9 * NORMAL


def surveyed(z_m, normal=NORMAL, **change):
    mass, _, buoyancy = afloat()
    given = {"displacement_t": mass, "buoyancy_m": buoyancy, "normal": normal, "items": ITEMS, "liquids": LIQUIDS}
    return lightship_by_survey(**{**given, **change}, vcg=approved_vcg(approved_z_m=z_m))


@pytest.mark.parametrize("size", [1.0, 0.2])
def test_with_the_true_vcg_the_whole_lightship_is_recovered(size):
    found = surveyed(LIGHT[2], normal=size * NORMAL)
    assert found.mass_t == pytest.approx(LIGHT_T, rel=1e-13)
    assert found.centre_m == pytest.approx(LIGHT, rel=1e-12)
    assert found.as_surveyed_centre_m == pytest.approx(afloat()[1], rel=1e-12)


def test_lcg_and_tcg_follow_the_assumed_vcg_by_trim_and_heel():
    """By the closed form dx/dz = trim/L = 0.01 and dy/dz = tan 1.2°; + trim by the stern moves LCG forward."""
    low, high = surveyed(4.1), surveyed(5.1)
    assert high.centre_m[0] - low.centre_m[0] == pytest.approx(0.01, rel=1e-9)
    assert high.centre_m[1] - low.centre_m[1] == pytest.approx(np.tan(np.radians(1.2)), rel=1e-9)
    assert low.x_per_vcg_ratio == pytest.approx(0.01, rel=1e-12)
    assert low.y_per_vcg_ratio == pytest.approx(np.tan(np.radians(1.2)), rel=1e-12)
    assert high.mass_t == low.mass_t


def test_every_line_is_there_once():
    kinds = [one.kind for one in surveyed(4.6).entries]
    assert kinds == ["remove", "add", "relocate_from", "relocate_to", "liquid", "liquid", "lightship_liquid"]


@pytest.mark.parametrize(("lead", "calculated", "taken"), [(4.3, 4.2, 4.3), (4.3, 4.4, 4.4), (4.3, 4.3, 4.3)])
def test_sister_takes_the_higher(lead, calculated, taken):
    """MSC/Circ.1158: "the higher of either the lead ship's vertical centre of gravity" or the calculated one."""
    found = sister_vcg(lead_z_m=lead, calculated_z_m=calculated)
    assert found.z_m == taken
    assert found.rule.source == "MSC/Circ.1158"


def test_every_rule_names_its_clause():
    assert calculated_vcg(calculated_z_m=4.0).rule.clause.startswith("46 CFR 144.315")
    assert approved_vcg(approved_z_m=4.0).rule.clause == "SOLAS II-1/5.5"
    assert tank_vessel_vcg(assumed_z_m=4.0).rule.clause == "46 CFR 170.200"


@pytest.mark.parametrize(
    ("change", "kind", "code", "field"),
    [
        ({"displacement_t": 0.0}, InputError, "not-positive", "displacement_t"),
        ({"normal": [0.0, 0.0, -1.0]}, InputError, "plane-not-upright", "normal"),
        ({"buoyancy_m": [1.0, 2.0]}, InputError, "wrong-shape", "buoyancy_m"),
        (
            {"items": (Item("remove", 9999.0, np.zeros(3)),)},
            NotDeterminedError,
            "lightship-not-positive",
            "items",
        ),
    ],
)
def test_refusals(change, kind, code, field):
    with pytest.raises(kind) as refused:
        surveyed(4.6, **change)
    assert (refused.value.code, refused.value.field) == (code, field)
