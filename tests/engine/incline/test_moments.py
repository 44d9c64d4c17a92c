"""Moments of moved weights, by hand arithmetic."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.incline.moments import Move, Weight, plateaus

WEIGHTS = {"A": Weight(5.0, np.array([20.0, 4.0, 6.0])), "B": Weight(4.0, np.array([30.0, -4.0, 6.0]))}


def test_to_starboard_is_positive_and_positions_are_logged_not_increments():
    moves = (Move("A", to_y_m=-4.0), Move("A", to_y_m=0.0), Move("B", to_y_m=4.0), Move("A", to_y_m=4.0))
    # 5 t from +4 to −4 adds +40; back to 0 leaves +20; 4 t from −4 to +4 takes 32; A home leaves −32
    assert plateaus(weights=WEIGHTS, moves=moves).moment_tm == pytest.approx([0, 40, 20, -12, -32], abs=1e-12)


def test_shifts_along_and_up_are_followed_too():
    after = plateaus(weights=WEIGHTS, moves=(Move("A", to_y_m=4.0, to_x_m=22.0, to_z_m=5.0),))
    assert after.shift_tm[1] == pytest.approx([10.0, 0.0, -5.0], abs=1e-12)
    assert after.arms_m[0] == pytest.approx([2.0, 0.0, -1.0], abs=1e-12)


def test_unknown_weight_is_named_by_its_place():
    with pytest.raises(InputError) as caught:
        plateaus(weights=WEIGHTS, moves=(Move("A", to_y_m=0.0), Move("C", to_y_m=0.0)))
    assert (caught.value.code, caught.value.field) == ("unknown-weight", "moves/1/weight")
