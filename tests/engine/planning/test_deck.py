"""Blocks in lanes: load, length, reach, lift, and no two on one place at any reading."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.incline.moments import plateaus
from engine.planning.deck import GAP_M, Crane, Deck, Lane, Stock, block_of, placed
from engine.planning.moves import moves_of, weights_of
from engine.planning.weights import candidates
from tests.engine.planning.ships import lane

PIECE = Stock(2.0, 40, 1.2, 1.0, 0.8)


def first(count, pieces, deck, stock=PIECE):
    ways = list(placed(tuple(block_of([stock] * pieces) for _ in range(count)), deck))
    return ways[0][0] if ways else None


def test_four_lanes_give_each_group_the_whole_way():
    deck = Deck(tuple(lane(x) for x in (10.0, 20.0, 30.0, 40.0)))
    spots = first(4, 1, deck)
    assert [spot.arm_m for spot in spots] == [pytest.approx(11.0 - 1.0)] * 4
    assert [np.sign(spot.home_m[1]) for spot in spots] == [1, 1, -1, -1]
    assert len({spot.lane for spot in spots}) == 4


def test_two_in_a_lane_leave_each_other_their_place():
    spots = first(4, 1, Deck((lane(20.0), lane(40.0))))
    assert spots[0].arm_m == pytest.approx(11.0 - 1.0 - (1.0 + GAP_M))
    assert [spot.lane for spot in spots] == [0, 1, 0, 1]


def test_load_sets_the_tiers_and_so_breadth_and_height():
    # 2 t on 1.2 m² is 1.67 t/m²; 5 t/m² bears 3 tiers, 2 t/m² one
    (high,) = {spot.home_m[2] for spot in first(1, 3, Deck((lane(limit=5.01),)))}
    (flat,) = {spot.home_m[2] for spot in first(1, 3, Deck((lane(limit=2.0),)))}
    assert high == pytest.approx(8.0 + 1.5 * 0.8)
    assert flat == pytest.approx(8.0 + 0.5 * 0.8)
    assert first(1, 1, Deck((lane(limit=1.6),))) is None


def test_stacked_pieces_have_the_centre_of_their_layers():
    # two beside each other and one on top: (0.4 + 0.4 + 1.2)/3
    (spot,) = first(1, 3, Deck((lane(limit=3.4),)))
    assert spot.home_m[2] == pytest.approx(8.0 + 2.0 / 3)


def test_rows_follow_the_length_of_the_lane():
    (wide,) = first(1, 4, Deck((lane(length=1.2, limit=2.0),)))
    (long,) = first(1, 4, Deck((lane(length=5.0, limit=2.0),)))
    assert (wide.arm_m, long.arm_m) == (pytest.approx(11.0 - 4.0), pytest.approx(11.0 - 1.0))
    assert first(1, 1, Deck((lane(length=1.1),))) is None


def test_the_crane_bounds_the_way():
    # lane 4 m from the pedestal, reach 5 m: 3 m to each side of it
    (spot,) = first(1, 1, Deck((lane(20.0),), Crane(16.0, 1.0, 5.0)))
    assert (spot.home_m[1], spot.arm_m) == (pytest.approx(1.0), pytest.approx(6.0))
    assert first(1, 1, Deck((lane(20.0),), Crane(26.0, 0.0, 5.0))) is None
    assert first(1, 1, Deck((lane(20.0),), Crane(16.0, 0.0, 5.0, lift_t=1.9))) is None


def test_one_lane_takes_all_four():
    spots = first(4, 1, Deck((lane(20.0),)))
    assert sorted(round(spot.home_m[1], 3) for spot in spots) == [-5.0, -3.95, 3.95, 5.0]
    assert {round(spot.arm_m, 6) for spot in spots} == {round(10.0 - 3 * (1 + GAP_M), 6)}


@given(
    masses=st.lists(st.tuples(st.floats(0.5, 4.0), st.integers(1, 6)), min_size=1, max_size=3),
    lanes=st.lists(st.tuples(st.floats(5, 55), st.floats(2.5, 6.0), st.floats(1.3, 6.0)), min_size=1, max_size=5),
    groups=st.sampled_from([4, 2, 1]),
    ratio=st.floats(0.3, 1.0),
)
@settings(max_examples=60)
def test_no_two_groups_ever_stand_on_one_place(masses, lanes, groups, ratio):
    stock = [Stock(mass, count, 1.2, 1.0, 0.8) for mass, count in masses]
    deck = Deck(tuple(Lane(x, 8.0, -half, half, length, 4.0) for x, half, length in lanes))
    for candidate in list(candidates(stock, deck, groups=groups))[:3]:
        if ratio < candidate.least_scale_ratio:
            continue
        made = candidate.scaled(ratio)
        weights, moves = weights_of(made), moves_of(made)
        moments = plateaus(weights=weights, moves=moves).moment_tm
        assert moments[-1] == pytest.approx(0, abs=1e-9)
        assert moments.max() == pytest.approx(-moments.min(), rel=1e-9)
        now = {group.id: (group.lane, float(group.home_m[1])) for group in made}
        for move in (None, *moves):
            if move is not None:
                now[move.weight] = (now[move.weight][0], move.to_y_m)
            for number, limits in enumerate(deck.lanes):
                inside = sorted(y for at, y in now.values() if at == number)
                assert all(b - a >= 1.0 - 1e-9 for a, b in pairwise(inside))
                assert all(limits.y_min_m + 0.5 - 1e-9 <= y <= limits.y_max_m - 0.5 + 1e-9 for y in inside)


@pytest.mark.parametrize(
    ("make", "code", "field"),
    [
        (lambda: Stock(0.0, 1, 1.0, 1.0, 1.0), "not-positive", "mass_t"),
        (lambda: Stock(1.0, 0, 1.0, 1.0, 1.0), "not-positive", "count"),
        (lambda: Lane(1.0, 8.0, 2.0, -2.0, 1.0), "box-ends", "y_min_m"),
        (lambda: Lane(1.0, 8.0, -2.0, 2.0, 1.0, float("nan")), "not-positive", "load_limit_t_per_m2"),
        (lambda: Crane(0.0, 0.0, 0.0), "not-positive", "reach_m"),
        (lambda: Crane(0.0, 0.0, 5.0, -1.0), "not-positive", "lift_t"),
    ],
)
def test_refusals(make, code, field):
    with pytest.raises(InputError) as refused:
        make()
    assert (refused.value.code, refused.value.field) == (code, field)
