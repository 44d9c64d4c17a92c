"""Worked numbers of stability criteria, each with its source and how well that is known.

"read": the formula was read in a copy of the text. "from memory": the number or table was not. The figures themselves
were computed from those formulae in high precision, apart from this code.
"""

import numpy as np
import pytest

from engine.rules import built_in_sets
from engine.stability.heel_curve import HeelCurve
from engine.stability.roll_period import gm_by_roll_period_m
from engine.stability.wind import roll_to_windward, steady_wind_lever_m, weather_balance, weather_gm_m

RULES = {(s.name, r.id): r for s in built_in_sets("stability") for r in s.rules}


@pytest.mark.parametrize(
    ("waters", "form", "gm_m"),
    [  # 46 CFR 170.170(a), both forms read: L = 60 m, A = 300 m², H = 6 m, W = 1500 t, T = 14°
        ("exposed", "si", 0.2748234563),
        ("partially_protected", "si", 0.1833776510),
        ("protected", "si", 0.1448741540),
        ("exposed", "us", 0.2733023),
        ("partially_protected", "us", 0.1838188),
        ("protected", "us", 0.1417089),
    ],
)
def test_weather_gm_in_both_forms(waters, form, gm_m):
    found = weather_gm_m(
        waters=waters, form=form, length_bp_m=60, area_m2=300, lever_m=6, displacement_t=1500, heel_deg=14
    )
    assert found == pytest.approx(gm_m, abs=5e-11 if form == "si" else 5e-8)  # to the last digit printed


@pytest.mark.parametrize(("waters", "percent"), [("exposed", 0.5), ("partially_protected", 0.2), ("protected", 2.2)])
def test_the_two_published_forms_differ(waters, percent):
    si, us = (
        weather_gm_m(waters=waters, form=form, length_bp_m=60, area_m2=300, lever_m=6, displacement_t=1500, heel_deg=14)
        for form in ("si", "us")
    )
    assert abs(us / si - 1) * 100 == pytest.approx(percent, abs=0.1)


def test_severe_wind_and_rolling_of_the_code():
    # 2008 IS Code A/2.3: formulae read in 46 CFR 28.575 and a copy of A.749(18); tables of X1, X2, k, s from memory
    roll = roll_to_windward(
        breadth_m=20,
        draft_m=6,
        length_waterline_m=120,
        block_coefficient=0.65,
        vcg_m=7.2,
        gm_m=1.1,
        bilge_keel_area_m2=0.02 * 120 * 20,
    )
    assert (roll.k_ratio, roll.x2_ratio, roll.r_ratio) == pytest.approx((0.88, 0.97, 0.85), abs=1e-12)
    assert roll.x1_ratio == pytest.approx(0.8333333333, abs=1e-10)
    assert roll.period_s == pytest.approx(15.18166699, abs=1e-8)  # C = 0.3980666667
    assert roll.s_ratio == pytest.approx(0.04768249856, abs=1e-11)
    assert roll.angle_deg == pytest.approx(15.60948675, abs=1e-8)
    assert roll.findings == ()
    lever = steady_wind_lever_m(area_m2=1200, lever_m=9, displacement_t=9500)  # P = 504 Pa read; g = 9.81 m/s²
    assert lever == pytest.approx(0.05840656688, abs=1e-11)
    assert 1.5 * lever == pytest.approx(0.08760985031, abs=1e-11)


@pytest.mark.parametrize(
    ("change", "words"),
    [  # bounds of A/2.3.5 from memory
        ({"draft_m": 5.7}, "B/d"),
        ({"vcg_m": 9.01}, "KG/d"),
        ({"vcg_m": 4.19}, "KG/d"),
        ({"gm_m": 0.63}, "T ="),
        ({"gm_m": -0.1}, "T ="),
    ],
)
def test_outside_its_range_the_roll_formula_says_so(change, words):
    facts = {
        "breadth_m": 20.0,
        "draft_m": 6.0,
        "length_waterline_m": 120.0,
        "block_coefficient": 0.65,
        "vcg_m": 7.2,
        "gm_m": 1.1,
    }
    (finding,) = [f for f in roll_to_windward(**{**facts, **change}).findings if words in f.message]
    assert finding.code == "weather-criterion-range"
    assert roll_to_windward(**facts).findings == ()


def test_a_sharp_bilge_has_k_of_07_and_a_round_one_without_keels_1():
    facts = {"breadth_m": 20, "draft_m": 6, "length_waterline_m": 120, "block_coefficient": 0.65}
    facts |= {"vcg_m": 7.2, "gm_m": 1.1}
    assert roll_to_windward(**facts, bilge="sharp").k_ratio == 0.7  # from memory
    assert roll_to_windward(**facts).k_ratio == 1.0


def test_areas_of_severe_wind_and_rolling_by_closed_form():
    # GZ = 0.8 sin 2φ exactly (closed form): levers cut it at ½ asin(l/0.8) and 90° less that; areas are integrals of it
    degrees = np.arange(-60.0, 90.1, 0.5)
    angle = np.radians(degrees)
    curve = HeelCurve(angle, 0.8 * np.sin(2 * angle), 1.6 * np.cos(2 * angle))
    found = weather_balance(curve, steady_lever_m=0.2, roll_deg=20.0, flooding_deg=np.inf)
    steady, gust = 0.5 * np.arcsin(0.25), 0.5 * np.arcsin(0.375)
    assert found.steady_heel_deg == pytest.approx(np.degrees(steady), abs=1e-7)  # interpolated

    def area(low, high):  # ∫ (0.8 sin 2φ − 0.3) dφ
        return 0.4 * (np.cos(2 * low) - np.cos(2 * high)) - 0.3 * (high - low)

    assert found.area_a_m_rad == pytest.approx(-area(steady - np.radians(20), gust), abs=1e-9)
    assert found.area_b_m_rad == pytest.approx(area(gust, np.radians(50)), abs=1e-9)
    early = weather_balance(curve, steady_lever_m=0.2, roll_deg=20.0, flooding_deg=30.0)
    assert early.area_b_m_rad == pytest.approx(area(gust, np.radians(30)), abs=1e-9)
    drowned = weather_balance(curve, steady_lever_m=0.2, roll_deg=20.0, flooding_deg=8.0)
    assert drowned.area_b_m_rad == pytest.approx(area(np.radians(8), gust), abs=1e-9)
    assert drowned.area_b_m_rad < 0
    second = weather_balance(curve, steady_lever_m=0.52, roll_deg=20.0, flooding_deg=np.inf)  # cuts again at 51.4°
    assert second.area_b_m_rad > 0
    blown_over = weather_balance(curve, steady_lever_m=0.6, roll_deg=20.0, flooding_deg=np.inf)  # gust 0.9 > 0.8
    assert blown_over.area_b_m_rad == 0
    assert blown_over.area_a_m_rad > 0
    assert weather_balance(curve, steady_lever_m=0.81, roll_deg=20.0, flooding_deg=np.inf).steady_heel_deg == np.inf


def test_units_of_the_code_and_of_the_federal_rules():
    # m·rad in m·deg and ft·deg (closed form): the federal numbers are these rounded, and are kept apart
    for m_rad, m_deg, ft_deg, published in (
        (0.055, 3.1513, 10.339, 3.15),
        (0.090, 5.1566, 16.918, 5.15),
        (0.030, 1.7189, 5.639, 1.72),
    ):
        assert np.degrees(m_rad) == pytest.approx(m_deg, abs=5e-5)
        assert np.degrees(m_rad) / 0.3048 == pytest.approx(ft_deg, abs=5e-4)
        assert abs(np.degrees(m_rad) - published) < 0.01
    assert 0.08 * np.degrees(1) / 0.3048 == pytest.approx(15, abs=0.05)  # 46 CFR 174.185: 0.08 m·rad, 15 ft·deg, read


def test_area_to_the_largest_arm():
    # 46 CFR 170.173(c), A = 3.15 + 0.057 (30 − Y) m·deg = 10.3 + 0.187 (30 − Y) ft·deg, from memory; Y = 20°
    rule = RULES["us-46-cfr-170-173-c", "area-to-maximum"].requirement
    required = rule.limit_at({"gz_maximum_angle_deg": 20.0})
    assert required == pytest.approx(3.72, abs=1e-12)
    assert required / 0.3048 == pytest.approx(12.17, abs=0.05)  # the US form, rounded apart
    assert rule.limit_at({"gz_maximum_angle_deg": 30.0}) == pytest.approx(3.15, abs=1e-12)


def test_rolling_test():
    # GM = (f B/T)², f = 0.88 empty, 0.73 with 5 % liquids; read in a national copy. B = 8 m, T = 6 s (closed form)
    assert gm_by_roll_period_m(length_m=40, breadth_m=8, period_s=6, state="empty") == pytest.approx(
        1.37671111, abs=1e-8
    )
    less = gm_by_roll_period_m(length_m=40, breadth_m=8, period_s=6, state="liquids_5_percent")
    assert less == pytest.approx((0.73 * 8 / 6) ** 2, rel=1e-15)


WORKED = {
    "breadth_m": 20.0,
    "draft_m": 6.0,
    "length_waterline_m": 120.0,
    "block_coefficient": 0.65,
    "vcg_m": 7.2,
    "gm_m": 1.1,
}
"""The ship of the worked numbers of A/2.3 above."""


def test_coefficient_of_the_roll_period():
    # C = 0.373 + 0.023 B/d − 0.043 Lwl/100 (read) is 0.3980666667 for that ship; T = 2 C B/√GM
    found = roll_to_windward(**WORKED)
    assert found.period_s * np.sqrt(1.1) / 40 == pytest.approx(0.3980666667, abs=1e-10)


# the four tables of A/2.3.4, from memory
X1 = dict(
    zip(
        (2.4, 2.5, 2.6, 2.7, 2.8, 2.9, 3.0, 3.1, 3.2, 3.3, 3.4, 3.5),
        (1.0, 0.98, 0.96, 0.95, 0.93, 0.91, 0.90, 0.88, 0.86, 0.84, 0.82, 0.80),
        strict=True,
    )
)
X2 = {0.45: 0.75, 0.5: 0.82, 0.55: 0.89, 0.6: 0.95, 0.65: 0.97, 0.7: 1.0}
K = {0.0: 1.0, 1.0: 0.98, 1.5: 0.95, 2.0: 0.88, 2.5: 0.79, 3.0: 0.74, 3.5: 0.72, 4.0: 0.70}
S = {6: 0.1, 7: 0.098, 8: 0.093, 12: 0.065, 14: 0.053, 16: 0.044, 18: 0.038, 20: 0.035}


def x1(breadth_over_draft):
    return roll_to_windward(**{**WORKED, "breadth_m": 6.0 * breadth_over_draft}).x1_ratio


def x2(block):
    return roll_to_windward(**{**WORKED, "block_coefficient": block}).x2_ratio


def k(percent):
    return roll_to_windward(**WORKED, bilge_keel_area_m2=percent / 100 * 120 * 20).k_ratio


def s(period):
    return roll_to_windward(**{**WORKED, "gm_m": (2 * (0.373 + 0.023 * 20 / 6 - 0.0516) * 20 / period) ** 2}).s_ratio


@pytest.mark.parametrize(("read", "table"), [(x1, X1), (x2, X2), (k, K), (s, S)], ids=["X1", "X2", "k", "s"])
def test_tables_of_the_roll_angle(read, table):
    places, values = np.array(list(table)), np.array(list(table.values()))
    np.testing.assert_allclose([read(place) for place in places], values, atol=1e-9)
    between = (places[:-1] + places[1:]) / 2  # linear between entries
    np.testing.assert_allclose([read(place) for place in between], (values[:-1] + values[1:]) / 2, atol=1e-9)
    ends = [places[-1] * 1.1] + ([places[0] * 0.9] if places[0] else [])  # the last entry holds beyond it
    assert [read(place) for place in ends] == pytest.approx([values[-1], values[0]][: len(ends)], abs=1e-9)


@pytest.mark.parametrize(
    ("waters", "si", "us"),
    [  # 46 CFR 170.170(a), read: P = a + (L/1309)² t/m², P = a + (L/14200)² long ton/ft²
        ("exposed", 0.055, 0.005),
        ("partially_protected", 0.036, 0.0033),
        ("protected", 0.028, 0.0025),
    ],
)
def test_wind_pressures_of_170_170(waters, si, us):
    # with A H = W tan T the formula gives P itself, in the units of its form
    def pressure(form, length, area_unit, weight_unit):
        facts = {"area_m2": 100 * area_unit**2, "lever_m": area_unit, "displacement_t": 100 * weight_unit}
        return weather_gm_m(waters=waters, form=form, length_bp_m=length, heel_deg=45.0, **facts) / area_unit

    assert pressure("si", 130.9, 1.0, 1.0) == pytest.approx(si + 0.01, rel=1e-9)
    foot, long_ton = 0.3048, 1.0160469088
    assert pressure("us", 1420 * foot, foot, long_ton) == pytest.approx(us + 0.01, rel=1e-9)


def test_area_to_the_largest_arm_is_that_of_the_code_for_special_hulls():
    # IMO's equivalent, 0.055 + 0.001 (30 − Y) m·rad (from memory), is the same requirement within its rounding
    rule = RULES["us-46-cfr-170-173-c", "area-to-maximum"].requirement
    for angle in (15.0, 20.0, 25.0, 30.0):
        code = np.degrees(0.055 + 0.001 * (30 - angle))
        assert rule.limit_at({"gz_maximum_angle_deg": angle}) == pytest.approx(code, abs=0.01)
        # and the US form of the same clause, 10.3 + 0.187 (30 − Y) ft·deg
        us = 10.3 + 0.187 * (30 - angle)
        assert rule.limit_at({"gz_maximum_angle_deg": angle}) == pytest.approx(us * 0.3048, abs=0.02)


def test_rolling_test_with_ten_and_twenty_percent_of_liquids():
    # f = 0.78 and 0.75, read in a national copy of the rolling test
    for state, factor in (("liquids_20_percent", 0.78), ("liquids_10_percent", 0.75)):
        found = gm_by_roll_period_m(length_m=40, breadth_m=8, period_s=6, state=state)
        assert found == pytest.approx((factor * 8 / 6) ** 2, rel=1e-15)
