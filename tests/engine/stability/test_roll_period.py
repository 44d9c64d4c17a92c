"""The rolling test's refusals; its numbers are in tests/published."""

import pytest

from engine.errors import InputError, NotDeterminedError
from engine.stability.roll_period import gm_by_roll_period_m


def test_a_ship_longer_than_70_m_has_no_rolling_test():
    assert gm_by_roll_period_m(length_m=70.0, breadth_m=10.0, period_s=8.0, state="empty") == pytest.approx(1.21)
    with pytest.raises(NotDeterminedError) as caught:
        gm_by_roll_period_m(length_m=70.1, breadth_m=10.0, period_s=8.0, state="empty")
    assert (caught.value.code, caught.value.limit) == ("roll-test-too-long", 70.0)


def test_no_period():
    with pytest.raises(InputError) as caught:
        gm_by_roll_period_m(length_m=40.0, breadth_m=10.0, period_s=0.0, state="empty")
    assert (caught.value.code, caught.value.field) == ("not-positive", "period_s")
