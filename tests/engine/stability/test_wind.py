"""Wind profiles by draft; the formulae themselves are in tests/published."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.stability.heel_curve import HeelCurve
from engine.stability.wind import WindProfile, weather_balance, weather_gm_m


def test_a_profile_is_straight_between_drafts_and_is_not_carried_beyond():
    profile = WindProfile.from_columns(draft_m=[3.0, 5.0], area_m2=[400.0, 300.0], centroid_z_m=[7.0, 8.0])
    assert profile.at(3.5) == pytest.approx((375.0, 7.25))
    assert profile.at(2.9) is None
    assert profile.at(5.1) is None


def test_one_row_holds_at_every_draft():
    profile = WindProfile.from_columns(draft_m=3.0, area_m2=400.0, centroid_z_m=7.0)
    assert profile.at(9.0) == (400.0, 7.0)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"draft_m": [5.0, 3.0]}, "not-increasing"),
        ({"area_m2": [400.0]}, "wrong-shape"),
        ({"area_m2": [400.0, 0.0]}, "not-positive"),
        ({"centroid_z_m": [np.nan, 1.0]}, "not-finite"),
    ],
)
def test_refused_profiles(change, code):
    facts = {"draft_m": [3.0, 5.0], "area_m2": [400.0, 300.0], "centroid_z_m": [7.0, 8.0], **change}
    with pytest.raises(InputError) as caught:
        WindProfile.from_columns(**facts)
    assert caught.value.code == code


def test_a_curve_too_short_for_the_areas_gives_none():
    heel = np.radians(np.arange(-40.0, 41.0))
    curve = HeelCurve(heel, np.sin(heel), np.cos(heel))
    assert weather_balance(curve, steady_lever_m=0.1, roll_deg=20.0, flooding_deg=np.inf) is None
    assert weather_balance(curve, steady_lever_m=0.1, roll_deg=20.0, flooding_deg=35.0) is not None
    assert weather_balance(curve, steady_lever_m=0.1, roll_deg=60.0, flooding_deg=35.0) is None


def test_no_freeboard_no_weather_gm():
    with pytest.raises(InputError) as caught:
        weather_gm_m(
            waters="exposed", form="si", length_bp_m=60, area_m2=300, lever_m=6, displacement_t=1500, heel_deg=0.0
        )
    assert caught.value.code == "not-positive"
