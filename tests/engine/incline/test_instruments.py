"""Each instrument against the heel its readings were made from."""

import numpy as np
import pytest

from engine.incline.instruments import Inclinometer, Pendulum, UTube

HEEL = np.array([0.3, 2.0, -1.5, 0.3])
TAN = np.tan(np.radians(HEEL))


@pytest.mark.parametrize(("positive", "sign"), [("starboard", 1), ("port", -1)])
def test_pendulum_differences_count_wherever_the_batten_starts(positive, sign):
    readings = 0.412 + sign * 3.2 * TAN
    tangents = Pendulum("P", 3.2, positive, readings).tangents(heel_at_zero_deg=0.3)
    assert tangents == pytest.approx(TAN, abs=1e-15)


def test_u_tube_starboard_leg_rises_to_starboard():
    port, starboard = 1.0 - 4.0 * TAN, 1.1 + 4.0 * TAN
    tangents = UTube("U", 8.0, port, starboard).tangents(heel_at_zero_deg=0.3)
    assert tangents == pytest.approx(TAN, abs=1e-15)


@pytest.mark.parametrize(("positive", "sign"), [("starboard", 1), ("port", -1)])
def test_inclinometer_angle_before_the_tangent(positive, sign):
    tangents = Inclinometer("I", positive, 0.07 + sign * HEEL).tangents(heel_at_zero_deg=0.3)
    assert tangents == pytest.approx(TAN, abs=1e-15)
