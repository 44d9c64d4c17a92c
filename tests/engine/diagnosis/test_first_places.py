"""A first place entered off by a length: named where its trace is its own, told beside the others where it is not."""

import numpy as np
import pytest

from engine.diagnosis.incline import diagnose, stays
from engine.diagnosis.result import Diagnosis
from engine.diagnosis.weight_patterns import (
    by_weight,
    first_place_twins,
    first_places,
    mirrored_first_places,
    returned_first_places,
)
from engine.incline.moments import Move, Weight
from fixtures.simulator import Noise, simulate
from tests.engine.diagnosis.first_places import Case, make, stepped
from tests.engine.diagnosis.simulated import Made, settings

COUNT = 40


def first(case: Case) -> Diagnosis:
    return case.made.diagnose(readings=case.readings)[0]


def test_where_the_moves_are_right_the_first_place_is_named_with_its_size() -> None:
    """Half a metre or a metre: its return is logged where it lay. 99 % in the long run (docs/methods/diagnosis.md)."""
    named = 0
    for k in range(COUNT):
        case = make("moves right", size=None, seed=4_000_000 + k)
        found = first(case)
        if found.trace == "first-place":
            named += 1
            assert (found.cause, found.weights, found.is_fault) == ("first-place-off", (case.weight,), True)
            assert found.arm_m == pytest.approx(-case.by_m, abs=1e-9)  # the two entries of the record differ by it
            assert {"wind-after-zero", "lasting-shift"} & set(found.members)
    assert named >= COUNT - 3


def test_gm_with_the_first_place_allowed_for_is_that_of_the_right_record() -> None:
    demo = settings()[-1]
    record = simulate(demo.trial, noise=Noise(reading_m=0.0002), seed=5, solved=demo.solved)
    sound = Made(demo, record, 0.5)
    assert sound.diagnose(displacement_t=1000.0) == ()
    record["weights"][1]["y_m"] += 0.5
    (found,) = sound.diagnose(displacement_t=1000.0)
    assert (found.cause, found.weights, found.arm_m) == ("first-place-off", ("B",), pytest.approx(-0.5, abs=1e-9))
    true = demo.trial.weights[1]
    assert found.moment_tm == pytest.approx(-0.5 * true.mass_t, rel=1e-9)
    assert "not 5.1 m to port" in found.evidence
    logged = demo.moment_tm + 0.5 * true.mass_t * (np.arange(9) >= 2)  # by hand: B is moved for reading 2
    with_it, without = (1 / np.polyfit(m, demo.tangents, 1)[0] / 1000.0 for m in (logged, demo.moment_tm))
    assert found.gm_with_m == pytest.approx(with_it, rel=1e-3)
    assert found.gm_without_m == pytest.approx(without, rel=1e-3)
    assert abs(with_it / without - 1) > 3e-3


def test_where_its_return_is_logged_at_that_place_a_shift_and_the_place_are_both_said() -> None:
    """It lay elsewhere than planned and was put back as planned: the trace of anything that shifts for good."""
    for k in range(COUNT):
        case = make("back elsewhere", size=8, seed=4_100_000 + k)
        found = first(case)
        assert (found.cause, found.weights) == ("shift-or-place", (case.weight,))
        assert found.trace in ("lasting-shift", "after-zero")
        assert "first-place-off" in found.members
        assert {"lasting-shift", "wind-after-zero"} & set(found.members)
        assert f"weight {case.weight} having lain" in found.evidence
        assert "unless it was truly set down on that spot again" in found.evidence
        assert "on the very spot where it lay at reading 0" in found.separate
        assert found.arm_m is not None
        assert found.arm_m == pytest.approx(-case.by_m, rel=0.7)  # eight standard deviations of a reading


def test_before_its_return_the_place_is_said_beside_what_else_it_may_be() -> None:
    for k in range(COUNT):
        case = make("not back", size=8, seed=4_200_000 + k)
        found = first(case)
        assert "first-place-off" in found.members
        assert "weight-arm" in found.members
        assert f"weight {case.weight} having lain" in found.evidence
        assert "on the very spot where it lay at reading 0" in found.separate
        assert found.cause == "shift-or-place" or found.trace not in ("lasting-shift", "after-zero")


def test_a_spot_taped_wrong_twice_is_told_with_the_place_it_went_to() -> None:
    """Away at one place and back on its spot: the trace of that one place, or of its mass, and a third place tells."""
    for k in range(COUNT):
        case = make("back alike", size=8, seed=4_300_000 + k)
        found = first(case)
        assert (found.trace, found.weights) == ("weight-moment", (case.weight,))
        assert {"first-place-off", "weight-arm", "weight-mass"} <= set(found.members)
        assert f"weight {case.weight} having lain" in found.evidence
        assert "move it to a third place" in found.separate


def test_a_spot_taped_wrong_is_named_where_the_weight_goes_to_two_places() -> None:
    named = other = 0
    for k in range(COUNT):
        case = make("back alike", size=8, seed=4_400_000 + k, ships=stepped())
        found = first(case)
        if case.weight == "A":  # half way, all the way, back
            named += 1
            assert (found.cause, found.weights) == ("first-place-off", ("A",))
            assert found.arm_m == pytest.approx(-case.by_m, rel=0.7)
            assert "correct that entry" in found.action
            assert "Each return" in found.action
        else:  # B goes to one place; C alone is to port, as if held back on that side
            other += 1
            assert "first-place-off" in found.members
    assert min(named, other) >= 5


def test_without_a_weight_moved_just_then_a_shift_is_a_shift() -> None:
    """Weights unknown, or A moved at readings 1, 3 and 5 and the shift at reading 4: nothing else leaves that."""
    moment = np.array([0.0, 20, 40, 30, 10, -20, -40, 0])
    weights = {"A": Weight(5.0, np.array([0.0, 4.0, 1.0]))}
    tangents = 1e-3 * moment + 1e-4 * np.random.default_rng(3).standard_normal((3, 8))
    tangents[:, 4:] += 2e-3
    given = {"moment_tm": moment, "tangents": list(tangents), "reading_standard_uncertainty_ratio": np.full(3, 1e-4)}
    moves = [Move("A", y) for y in (0.0, -4.0, -2.0, 2.0, 8.0, 12.0, 4.0)]
    for more in ({}, {"weights": weights, "moves": moves}):
        found = diagnose(**given, **more)
        assert (found[0].cause, found[0].readings, found[0].weights) == ("lasting-shift", (4, 5, 6, 7), ())


def test_a_move_to_where_it_stands_makes_a_stay_last() -> None:
    """Readings repeated at one moment belong to one stay, and a weight that has not left is not moved."""
    weights = {"A": Weight(2.0, np.array([0.0, 3.0, 1.0])), "B": Weight(1.0, np.array([0.0, -3.0, 1.0]))}
    moves = [Move("B", -3.0), Move("A", -3.0), Move("A", -3.0), Move("A", 3.0), Move("B", 2.0)]
    logged = stays(weights=weights, moves=moves, readings=6)
    assert len(logged) == 5
    found = {one[0][1].weight: [(k, stay.first, stay.stop) for k, stay in one] for one in by_weight(logged)}
    assert found == {"A": [(1, 2, 4), (3, 4, 6)], "B": [(4, 5, 6)]}
    assert first_places(6, by_weight(logged)).columns.shape == (6, 0)
    twins = first_place_twins(6, by_weight(logged))
    assert sorted(twins.columns.T.tolist()) == [[0, 0, 0, 0, 0, 1], [0, 0, 1, 1, 0, 0], [0, 0, 1, 1, 1, 1]]


def test_the_record_suggests_the_mirror_and_the_place_of_a_return() -> None:
    weights = {"A": Weight(2.0, np.array([0.0, 3.0, 1.0])), "B": Weight(1.0, np.array([0.0, 0.0, 1.0]))}
    moves = [Move("A", -3.5), Move("B", 2.0), Move("A", 2.5), Move("B", 0.0)]
    logged = by_weight(stays(weights=weights, moves=moves, readings=5))
    # B lay on the centreline and was put back there
    for found, place in ((mirrored_first_places(5, logged), -3.0), (returned_first_places(5, logged), 2.5)):
        assert found.places_m.tolist() == [place]
        assert found.columns.T.tolist() == [[0, 1, 1, 1, 1]]
