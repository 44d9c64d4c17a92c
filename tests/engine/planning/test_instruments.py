"""Lengths for a deflection, places, and what is refused."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.planning.instruments import Needs, Place, choose_instruments, least_length_m, least_tangent_ratio

TWO_DEGREES = float(np.tan(np.radians(2.0)))


def choose(*places, sides=(TWO_DEGREES, TWO_DEGREES), **needs):
    return choose_instruments(places, sides_ratio=sides, needs=Needs(**needs))


def test_a_pendulum_where_the_head_room_gives_the_deflection():
    # 0.15 m / tan 2° = 4.2954 m
    (one,) = choose(Place(head_room_m=4.5, spread_m=9.0))
    assert (one.kind, one.length_m) == ("pendulum", 4.5)
    assert one.least_length_m == pytest.approx(0.15 / TWO_DEGREES, rel=1e-12)
    assert one.starboard_deflection_m == pytest.approx(4.5 * TWO_DEGREES, rel=1e-12)
    assert one.scale_length_m == pytest.approx(2 * 4.5 * TWO_DEGREES + 0.2, rel=1e-12)
    assert one.enough


def test_a_u_tube_where_the_head_room_is_short():
    (one,) = choose(Place(head_room_m=3.0, spread_m=9.0))
    assert (one.kind, one.length_m, one.enough) == ("u_tube", 9.0, True)
    assert one.port_deflection_m == pytest.approx(9.0 * TWO_DEGREES, rel=1e-12)


def test_what_comes_nearest_where_neither_does():
    pendulum, tube = choose(Place(head_room_m=3.0, spread_m=2.0), Place(head_room_m=1.0, spread_m=3.5))
    assert (pendulum.kind, pendulum.enough, tube.kind, tube.enough) == ("pendulum", False, "u_tube", False)


def test_pendulums_of_one_head_room_get_different_lengths():
    found = choose(*[Place(head_room_m=5.0)] * 3)
    lengths = [one.length_m for one in found]
    assert lengths == [5.0, 4.9, 4.8]
    assert all(one.enough for one in found)


def test_they_stay_equal_where_a_shorter_one_would_not_do():
    found = choose(*[Place(head_room_m=4.32)] * 2)
    assert [one.length_m for one in found] == [4.3, 4.3]
    assert all(one.enough for one in found)


def test_the_weaker_side_counts():
    (one,) = choose(Place(head_room_m=4.5), sides=(2 * TWO_DEGREES, 0.9 * TWO_DEGREES))
    assert not one.enough
    assert one.least_length_m == pytest.approx(0.15 / (0.9 * TWO_DEGREES), rel=1e-12)


def test_the_longest_allowed_is_kept_and_empty_places_are_left_out():
    (one,) = choose(Place(), Place(head_room_m=12.0))
    assert (one.place, one.length_m) == (1, 6.0)


def test_least_tangent_takes_the_third_best_place_and_a_pendulum():
    places = [Place(head_room_m=4.0), Place(head_room_m=5.0), Place(spread_m=9.0)]
    assert least_tangent_ratio(places, Needs(count=3)) == pytest.approx(0.15 / 4.0, rel=1e-12)
    assert least_tangent_ratio(places, Needs(count=2)) == pytest.approx(0.15 / 5.0, rel=1e-12)
    with_margin = least_tangent_ratio(places, Needs(count=2, gm_margin_percent=10.0))
    assert with_margin == pytest.approx(0.165 / 5.0, rel=1e-12)


def test_too_few_places_or_no_pendulum_is_never_reached():
    assert least_tangent_ratio([Place(head_room_m=4.0)], Needs(count=2)) == np.inf
    assert least_tangent_ratio([Place(spread_m=9.0)] * 3, Needs(count=3)) == np.inf


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: Place(head_room_m=-1.0), "out-of-range"),
        (lambda: Place(spread_m=float("nan")), "out-of-range"),
        (lambda: Needs(deflection_m=0.0), "not-positive"),
        (lambda: Needs(gm_margin_percent=80.0), "out-of-range"),
        (lambda: least_length_m(deflection_m=0.15, tangent_ratio=0.0), "not-positive"),
    ],
)
def test_refusals(call, code):
    with pytest.raises(InputError) as refused:
        call()
    assert refused.value.code == code
