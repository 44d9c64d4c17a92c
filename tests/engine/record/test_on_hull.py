"""Places of the heights against a box barge of 60 × 12 × 8 m, and its two hulls apart. The limits are our choice."""

import json

import pytest

from engine.record.on_hull import of_heights
from service.schemas.hull import BOX_BARGE
from service.schemas.record import SurveyedShip

STATIONS = [(6.0, 6.0), (6.0, -6.0), (30.0, 6.0), (30.0, -6.0), (54.0, 6.0), (54.0, -6.0)]
TWIN_HULLS = {
    "kind": "offsets",
    "length_bp_m": 60.0,
    "stations": [
        {"x_m": x, "loops_m": [[[y, 0], [y + 3, 0], [y + 3, 8], [y, 8]] for y in (-6.0, 3.0)]} for x in (0.0, 60.0)
    ],
}


def freeboard(x, y, z=8.0):
    return {"x_m": x, "y_m": y, "reference_z_m": z, "freeboard_m": z - 4.0}


def found(freeboards=(), marks=(), hull=BOX_BARGE, **also):
    water = {"samples": [{"density_t_per_m3": 1.025}]}
    ship = {"hull": hull, "water": water, "freeboards": list(freeboards), "draft_marks": list(marks)}
    record, _ = SurveyedShip.model_validate_json(json.dumps(ship)).record()
    return list(of_heights(record, **also))


def codes(*args, **also):
    return [one.code for one in found(*args, **also)]


@pytest.mark.parametrize("hull", [BOX_BARGE, TWIN_HULLS])
@pytest.mark.parametrize("z", [7.5, 8.0, 8.2])  # the edge of a cambered deck, of a flat one, a coaming
def test_heights_read_at_the_side_are_as_they_should_be(hull, z):
    assert codes([freeboard(x, y, z) for x, y in STATIONS], hull=hull) == []
    assert codes(marks=[{"x_m": x, "y_m": 0.0, "draft_m": 4.0} for x in (0.0, 30.0, 60.0)], hull=hull) == []


@pytest.mark.parametrize(
    ("x", "y", "z", "code"),
    [
        (61.7, 6.0, 8.0, None),  # 3 % of 60 m beyond the end
        (61.9, 6.0, 8.0, "outside-ship"),
        (-1.9, -6.0, 8.0, "outside-ship"),
        (33.0, 6.45, 8.0, None),  # half a metre outboard
        (33.0, -6.55, 8.0, "outside-ship"),
        (33.0, 7.4, 9.0, "reference-above-hull"),  # a bulwark that flares by 45° at most
        (33.0, 7.6, 9.0, "outside-ship"),
        (33.0, 6.0, 11.9, "reference-above-hull"),  # 4 m
        (33.0, 6.0, 12.1, "outside-ship"),
        (33.0, 6.0, 7.4, None),  # 0.25 m and 3 % of 12 m
        (33.0, 6.0, 7.3, "reference-below-top"),
        (33.0, 6.0, -0.4, "reference-below-top"),
        (33.0, 6.0, -0.6, "outside-ship"),
        (33.0, 4.6, 8.0, None),  # an eighth of 12 m in from the side
        (33.0, 4.4, 8.0, "reference-in-from-side"),
        (33.0, 3.1, 7.45, "reference-in-from-side"),
        (33.0, 2.9, 7.4, "height-inside-hull"),  # a quarter in, over half a metre below the deck
        (33.0, 2.9, 7.6, "reference-in-from-side"),
        (59.0, 0.0, 7.5, None),  # at the transom
    ],
)
def test_each_limit_on_either_side(x, y, z, code):
    told = found([*(freeboard(*place) for place in STATIONS), freeboard(x, y, z)])
    assert [one.code for one in told] == ([] if code is None else [code])
    if code is not None:
        assert told[0].count == 1
        assert "freeboards/6" in told[0].message


def test_a_mark_is_held_where_its_water_stands():
    mark = {"x_m": 30.0, "y_m": 6.0, "draft_m": 4.0}
    (told,) = found(marks=[mark, {**mark, "y_m": 6000.0}, {**mark, "draft_m": 8.6}])
    assert (told.code, told.count) == ("outside-ship", 2)
    assert "draft_marks/1: y = 6000 m, the hull at x = 30 m reaches from -6 to 6 m" in told.message


def test_what_another_deck_would_change_is_told():
    """A box of 60 × 12 m takes 60 × 12 × 1.025 / 100 = 7.38 t/cm: 1.1 m of half the heights is 406 t, of all 812 t."""
    told = found([freeboard(x, y, 9.1 if y > 0 else 8.0) for x, y in STATIONS], immersion_t_per_cm=7.38)
    above = next(one for one in told if one.code == "reference-above-hull")
    assert above.count == 3
    assert above.message.endswith("she would displace about 410 t less")
    (below,) = found([freeboard(x, y, 6.9) for x, y in STATIONS], immersion_t_per_cm=7.38)
    assert (below.code, below.count) == ("reference-below-top", 6)
    assert below.message.endswith("she would displace about 810 t more")


@pytest.mark.parametrize(("step", "told"), [(0.05, []), (0.15, ["reference-sides-differ"])])
def test_references_opposite_one_another(step, told):
    assert codes([freeboard(x, y, 8.0 + step * (y > 0)) for x, y in STATIONS]) == told
