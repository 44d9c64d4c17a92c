"""The smallest set that reaches the heel; what comes nearest where none does."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.planning.deck import LEAST_ARM_M, Deck, Stock
from engine.planning.weights import HeelRange, candidates, choose_weights
from tests.engine.planning.ships import BLOCKS, TWO_LANES, box_ship, lane

HEEL = HeelRange(wanted_deg=2.0)


def choose(*stock, deck=TWO_LANES, heel=HEEL, ship=None):
    return choose_weights(ship or box_ship(), stock=stock, deck=deck, heel=heel)


def test_the_set_just_reaches_the_heel_aimed_at_on_both_sides():
    found = choose(BLOCKS).found
    assert min(found.expected.sides_deg) == pytest.approx(2.0, rel=3e-3)
    assert min(found.expected.sides_deg) >= 2.0
    assert max(found.expected.sides_deg) < 2.02
    assert len(found.groups) == 4
    assert len({round(group.moment_tm, 9) for group in found.groups if group.arm_m > 0}) == 1


def test_no_lighter_set_reaches_it():
    found = choose(BLOCKS).found
    lighter = [c for c in candidates([BLOCKS], TWO_LANES, groups=4) if c.mass_t < found.mass_t - 1e-9]
    needed = found.condition.moment_tm(np.tan(np.radians(2.0)))
    assert lighter
    assert all(c.moment_tm < needed for c in lighter)


def test_too_few_for_four_groups_go_in_two_or_one():
    small = HeelRange(0.02, 4.0, 0.05)
    two = choose(Stock(2.5, 3, 1.2, 1.0, 0.8), heel=small).found
    one = choose(Stock(2.5, 1, 1.2, 1.0, 0.8), heel=small).found
    assert (len(two.groups), len(one.groups)) == (2, 1)
    assert len(two.moves) == len(one.moves) == 8


def test_unequal_pieces_are_dealt_out_and_the_rest_is_made_good_by_the_arm():
    stock = [Stock(mass, 1, 1.2, 1.0, 0.8) for mass in (5.2, 5.04, 5.12, 5.26, 4.9, 5.4, 5.0, 5.1)]
    found = choose(*stock).found
    moments = [abs(group.moment_tm) for group in found.groups]
    assert np.ptp(moments) <= 1e-3 * max(group.mass_t for group in found.groups) * 1.01  # arms end on a millimetre
    assert np.ptp([group.mass_t for group in found.groups]) > 0


def test_what_is_short_comes_as_near_as_it_can():
    search = choose(Stock(0.5, 4, 0.6, 0.6, 0.5))
    assert (search.reaches, search.within) == (False, False)
    assert 0 < max(search.found.expected.sides_deg) < 1.0


def test_enough_for_the_least_but_not_for_the_heel_wanted():
    search = choose(Stock(2.5, 12, 1.2, 1.0, 0.8), heel=HeelRange(wanted_deg=3.5))
    assert (search.reaches, search.within) == (False, True)
    assert min(search.found.expected.sides_deg) > 1.1


def test_what_is_too_heavy_is_told_at_its_shortest():
    deck, heel = Deck((lane(limit=1e3, half=5.9),)), HeelRange(0.1, 0.2, 0.15, 0.0)
    heavy = choose(Stock(150.0, 1, 1.2, 1.0, 0.8), deck=deck, heel=heel)
    assert not heavy.within
    assert heavy.found.groups[0].arm_m == pytest.approx(LEAST_ARM_M)
    assert max(heavy.found.expected.sides_deg) > 0.2
    lighter = choose(Stock(20.0, 1, 1.2, 1.0, 0.8), deck=deck, heel=heel)
    assert lighter.within
    assert max(lighter.found.expected.sides_deg) <= 0.2


def test_nothing_on_hand_or_no_place_finds_nothing():
    assert choose().found is None
    assert choose(BLOCKS, deck=Deck(())).found is None
    assert choose(BLOCKS, deck=Deck((lane(limit=1.0),))).found is None


@given(
    mass=st.floats(0.3, 6.0),
    count=st.integers(1, 24),
    height=st.floats(3.5, 5.5),
    off=st.floats(-0.05, 0.05),
    wanted=st.floats(1.3, 3.4),
    limit=st.floats(2.0, 8.0),
)
@settings(max_examples=25)
def test_moves_are_symmetric_and_the_heel_is_within_its_limits(mass, count, height, off, wanted, limit):
    heel = HeelRange(wanted_deg=wanted)
    deck = Deck((lane(20.0, limit=limit), lane(40.0, limit=limit)))
    search = choose(Stock(mass, count, 1.2, 1.0, 0.8), deck=deck, heel=heel, ship=box_ship(centre=(30.0, off, height)))
    if search.found is None:
        assert mass / 1.2 > limit
        return
    moment = search.found.expected.plateaus.moment_tm
    assert len(moment) == 9
    assert moment[[0, -1]] == pytest.approx([0, 0], abs=1e-9)
    assert moment.max() == pytest.approx(-moment.min(), rel=1e-3)
    sides = np.tan(np.radians(search.found.expected.sides_deg))
    if search.within:
        # the limits hold even with GM 10 % off; the tangents are the changes of the heel's own, hence the slack
        assert sides.min() / 1.1 >= np.tan(np.radians(1.0)) * (1 - 5e-3)
        assert sides.max() / 0.9 <= np.tan(np.radians(4.0)) * (1 + 5e-3)
    if search.reaches and search.within:
        assert sides.min() >= np.tan(np.radians(wanted)) * (1 - 5e-3)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"least_deg": 3.9}, "no-heel-left"),
        ({"most_deg": 0.5}, "no-heel-left"),
        ({"gm_margin_percent": -1.0}, "out-of-range"),
        ({"gm_margin_percent": 60.0}, "out-of-range"),
        ({"least_deg": 0.0}, "out-of-range"),
    ],
)
def test_limits_that_leave_nothing_are_refused(change, code):
    with pytest.raises(InputError) as refused:
        HeelRange(**change)
    assert refused.value.code == code
