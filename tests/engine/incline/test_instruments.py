"""Each instrument against the heel its readings were made from."""

import numpy as np
import pytest

from engine.errors import NotDeterminedError
from engine.incline.instruments import Inclinometer, Pendulum, UTube, heel_tangents, refuse_implausible

HEEL = np.array([0.3, 2.0, -1.5, 0.3])
TAN = np.tan(np.radians(HEEL))


@pytest.mark.parametrize(("positive", "sign"), [("starboard", 1), ("port", -1)])
def test_pendulum_differences_count_wherever_the_batten_starts(positive, sign):
    readings = 0.412 + sign * 3.2 * TAN
    tangents = Pendulum("P", 3.2, positive, readings).tangents(heel_at_first_deg=0.3)
    assert tangents == pytest.approx(TAN, abs=1e-15)


def test_u_tube_starboard_leg_rises_to_starboard():
    port, starboard = 1.0 - 4.0 * TAN, 1.1 + 4.0 * TAN
    tangents = UTube("U", 8.0, port, starboard).tangents(heel_at_first_deg=0.3)
    assert tangents == pytest.approx(TAN, abs=1e-15)


@pytest.mark.parametrize(("positive", "sign"), [("starboard", 1), ("port", -1)])
def test_inclinometer_angle_before_the_tangent(positive, sign):
    tangents = Inclinometer("I", positive, 0.07 + sign * HEEL).tangents(heel_at_first_deg=0.3)
    assert tangents == pytest.approx(TAN, abs=1e-15)


def test_an_instrument_that_missed_reading_zero_starts_with_the_others():
    late = 3.0 * TAN
    late[0] = np.nan
    table = heel_tangents(
        [Pendulum("A", 4.0, "starboard", 4.0 * TAN), Pendulum("B", 3.0, "starboard", late)],
        heel_at_zero_deg=0.3,
        reading_count=5,
    )
    assert table[0, :4] == pytest.approx(TAN, abs=1e-15)
    assert table[1, 1:4] == pytest.approx(TAN[1:], abs=1e-15)
    assert np.isnan(table[1, 0])
    assert np.isnan(table[:, 4]).all()


def test_an_instrument_without_readings_is_a_row_of_nothing():
    table = heel_tangents([Pendulum("A", 4.0, "starboard", np.array([np.nan]))], heel_at_zero_deg=0.3, reading_count=2)
    assert np.isnan(table).all()


def test_uncertainty_of_a_tangent():
    # closed form: u/length; two independent levels over the spread; an angle in radians
    given = {"reading_m": 0.0005, "reading_deg": 0.01}
    assert Pendulum("P", 4.0, "port", HEEL).tangent_uncertainty_ratio(**given) == pytest.approx(0.000125)
    assert UTube("U", 8.0, HEEL, HEEL).tangent_uncertainty_ratio(**given) == pytest.approx(2**0.5 * 0.0005 / 8)
    assert Inclinometer("I", "port", HEEL).tangent_uncertainty_ratio(**given) == pytest.approx(np.radians(0.01))


@pytest.mark.parametrize("angle_deg", [60.0, 90.0, 100.0, 160.0, -179.0])
def test_no_angle_passes_for_a_small_heel_by_the_tangent_coming_round(angle_deg):
    level = Inclinometer("I", "starboard", np.array([0.0, angle_deg]))
    with pytest.raises(NotDeterminedError) as caught:
        refuse_implausible(heel_tangents([level], heel_at_zero_deg=0.3, reading_count=2), heel_at_zero_deg=0.3)
    assert (caught.value.code, caught.value.field) == ("heel-implausible", "instruments/0")
