"""46 CFR 170.200: "For a tank ship-70%", "For a tank barge-60%", and its conditions."""

from dataclasses import replace

import pytest

from engine.errors import InputError
from engine.lightship.assumed_vcg import TankVessel, assumed_vcg

BARGE = TankVessel(
    kind="tank_barge",
    depth_m=4.2,
    gross_tonnage=150.0,
    ordinary_form=True,
    flush_deck=True,
    longitudinal_bulkhead=True,
    independent_tanks=False,
    cargo_above_freeboard_deck=False,
    special_cargo=False,
)
CONDITIONS = {
    "gross_tonnage": 149.0,
    "ordinary_form": False,
    "flush_deck": False,
    "longitudinal_bulkhead": False,
    "independent_tanks": True,
    "cargo_above_freeboard_deck": True,
    "special_cargo": True,
}


@pytest.mark.parametrize(("kind", "share"), [("tank_ship", 0.7), ("tank_barge", 0.6)])
def test_share_of_depth(kind, share):
    found = assumed_vcg(replace(BARGE, kind=kind))
    assert found.outcome == "applies"
    assert found.z_m == pytest.approx(share * 4.2)


@pytest.mark.parametrize(("name", "value"), CONDITIONS.items())
def test_every_condition_counts(name, value):
    broken = assumed_vcg(replace(BARGE, **{name: value}))
    assert (broken.outcome, broken.failed, broken.z_m) == ("does_not_apply", (name,), None)
    silent = assumed_vcg(replace(BARGE, **{name: None}))
    assert (silent.outcome, silent.not_stated, silent.z_m) == ("not_assessed", (name,), None)


def test_a_depth_of_nothing_is_refused():
    with pytest.raises(InputError):
        assumed_vcg(replace(BARGE, depth_m=0.0))
