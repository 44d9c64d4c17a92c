"""Moves held against what the instruments show: a reading repeated is no fault, a move that shows otherwise is."""

import numpy as np
import pytest

from engine.incline.effects import moves_without_effect
from engine.incline.moments import Move, Weight, plateaus

WEIGHTS = {"A": Weight(5.0, np.array([20.0, 4.0, 6.0])), "B": Weight(4.0, np.array([30.0, -4.0, 6.0]))}
OUT, HOME = Move("A", to_y_m=-4.0), Move("A", to_y_m=4.0)
OVER, BACK = Move("B", to_y_m=4.0), Move("B", to_y_m=-4.0)
READING = 1e-4
"""Standard uncertainty of a tangent; a move of 40 t m shows 0.02."""


def told(*moves, truly=None, read=None, shown=None, instruments=3):
    """Codes and places told of a log, where what is read follows the moves made ``truly``, or is ``shown``."""
    moved = plateaus(weights=WEIGHTS, moves=moves)
    moment = plateaus(weights=WEIGHTS, moves=truly or moves).moment_tm
    table = 5e-4 * moment + READING * np.random.default_rng(1).standard_normal((instruments, len(moment)))
    table[:, len(moment) if read is None else read :] = np.nan
    for place, value in (shown or {}).items():
        table[place] = value
    found = moves_without_effect(
        weights=WEIGHTS,
        moves=moves,
        moved=moved,
        tangents=table,
        reading_standard_uncertainty_ratio=np.where(np.isfinite(table), READING, np.nan),
    )
    return [(one.code, one.message) for one in found]


def test_a_log_whose_readings_follow_tells_nothing():
    assert told(OUT, OVER, HOME, BACK) == []


def test_a_weight_logged_twice_in_place_of_another_is_in_question():
    found, back = told(OUT, OUT, HOME, BACK, truly=(OUT, OVER, HOME, BACK))  # B's way back is none as logged
    assert found[0] == back[0] == "move-without-effect"
    assert back[1].startswith("moves/3 makes no heeling moment: weights/1 already lies there")
    assert found[1].startswith("moves/1 makes no heeling moment: weights/0 already lies there; the instruments show ")


def test_a_place_in_the_wrong_column_is_in_question():
    found, _ = told(OUT, Move("B", to_y_m=-4.0, to_x_m=4.0), HOME, BACK, truly=(OUT, OVER, HOME, BACK))
    assert found[0] == "move-without-effect"
    assert "weights/1 goes lengthwise or up and down alone, not across" in found[1]


@pytest.mark.parametrize("instruments", [1, 2, 3])
def test_readings_repeated_by_moves_to_where_the_weight_stands_are_said_once(instruments):
    (found,) = told(OUT, OUT, OVER, HOME, HOME, BACK, instruments=instruments)
    assert found == (
        "moment-repeated",
        "moves/1, moves/4: the heeling moment stays as it was; the readings there repeat those before and count as of "
        "one move",
    )


def test_a_shift_lengthwise_that_shows_nothing_is_no_fault():
    assert [code for code, _ in told(OUT, Move("A", to_y_m=-4.0, to_x_m=22.0), OVER)] == ["moment-repeated"]


@pytest.mark.parametrize(("share", "code"), [(0.3, "moment-repeated"), (0.7, "move-without-effect")])
def test_half_of_a_usual_move_is_the_limit(share, code):
    """The median move is of 40 t m and shows 0.02: A's; B's 32 t m show 0.016."""
    instruments = np.arange(3)
    before = 0.02 + 0.016
    shown = {(i, 3): before + share * 0.016 for i in instruments} | {(i, 2): before for i in instruments}
    assert [one for one, _ in told(OUT, OVER, OVER, BACK, truly=None, shown=shown)][:1] == [code]


def test_a_move_that_no_instrument_shows_is_in_question():
    (found,) = told(OUT, OVER, HOME, BACK, truly=(OUT, Move("B", to_y_m=-4.0), HOME, BACK), shown=None)[:1]
    assert found[0] == "move-without-effect"
    assert found[1].startswith("moves/1 moves weights/1 by 32 t m, and no instrument shows more than ")


def test_one_instrument_that_shows_it_is_a_matter_of_the_others():
    shown = {(0, 2): 0.02, (1, 2): 0.02, (0, 1): 0.02, (1, 1): 0.02}  # two of three hang at reading 2
    assert told(OUT, OVER, HOME, BACK, shown=shown) == []


def test_a_move_too_small_to_show_is_not_looked_for():
    """5 t by 0.02 m: 5e-5, half an uncertainty of a reading."""
    assert told(OUT, Move("A", to_y_m=-3.98), OVER, HOME, BACK) == []


def test_what_is_not_read_yet_is_not_judged():
    assert told(OUT, OVER, HOME, BACK, read=2) == []
    assert told(OUT, OVER, HOME, BACK, read=0) == []
    assert [code for code, _ in told(OUT, OUT, OVER, read=2)] == ["moment-repeated"]
    assert told(OUT, OVER, instruments=0) == []
