"""Who brings what: common practice of the trade, no source."""

from typing import Any

import pytest

from engine.errors import InputError
from engine.planning.who_brings import Need, NeedChange, Planned, who_brings

PLAN = Planned(pendulums=2, u_tubes=1, weights=4, tank_liquids=2, ship_crane=True, tug=True)


def by_id(planned: Planned = PLAN, **more: Any) -> dict[str, Need]:
    return {need.id: need for need in who_brings(planned, **more)}


def test_parties_are_those_of_the_trade() -> None:
    """Instruments: coordinator; fenders, lines, tug and crew: owner; the rest is agreed case by case."""
    needs = by_id()
    assert {needs[one].party for one in ("pendulums", "u-tubes", "hydrometer-water", "thermometer")} == {"coordinator"}
    assert {needs[one].party for one in ("fenders", "mooring-lines", "tug")} == {"owner"}
    people = ("master", "chief-engineer", "line-handlers", "crane-operator", "deck-crew")
    assert {needs[one].party for one in people} == {"owner"}
    assert {needs[one].party for one in ("weights", "boat", "pumps", "weight-handlers")} == {"to_be_agreed"}
    assert needs["representative"].party == "authority"


def test_numbers_come_from_the_plan() -> None:
    needs = by_id()
    assert needs["pendulums"].need_count == 2
    assert needs["readers"].need_count == 3  # one at each instrument
    assert needs["hydrometers-liquids"].need_count == 2
    assert "inclinometers" not in needs
    assert "weight-handling" not in needs


def test_the_crew_of_the_crane_only_where_it_is_used() -> None:
    ashore = by_id(Planned(weights=4, shore_crane=True))
    assert not {"crane-operator", "deck-crew", "ship-crane", "tug"} & ashore.keys()
    assert ashore["weight-handling"].party == "to_be_agreed"


def test_parties_can_be_changed() -> None:
    extra = Need("lamp", "equipment", "Lamp", 1, "yard", "advised", "none", "the request", "our choice")
    needs = by_id(
        changes=[NeedChange("weights", party="yard", need_count=5), NeedChange("lamp", confirmed=True)], extra=[extra]
    )
    assert (needs["weights"].party, needs["weights"].need_count, needs["weights"].party_set) == ("yard", 5, True)
    assert needs["lamp"].confirmed
    assert needs["lamp"].party_set
    assert not needs["fenders"].party_set
    assert needs["weights"].confirmed is None


def test_refusals() -> None:
    same = Need("boat", "equipment", "Boat", 1, "yard", "advised", "none", "the request", "our choice")
    for more, code, field in (
        ({"changes": [NeedChange("inclinometers")]}, "unknown-need", "who_brings_changes/0/need"),
        ({"extra": [same]}, "duplicate-id", "extra_needs/0/id"),
    ):
        with pytest.raises(InputError) as refused:
            by_id(**more)
        assert (refused.value.code, refused.value.field) == (code, field)
    with pytest.raises(InputError) as refused:
        Planned(weights=-1)
    assert (refused.value.code, refused.value.field) == ("out-of-range", "weights")
