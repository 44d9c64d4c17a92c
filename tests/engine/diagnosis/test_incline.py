"""Diagnosis of simulated inclines; the tables of docs/methods/diagnosis.md come from tests/performance/diagnosis.py."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as settings_of
from hypothesis import strategies as st

from engine.diagnosis.causes import CAUSES, TRACES
from engine.diagnosis.incline import CANNOT_SHOW, diagnose, stays
from engine.diagnosis.survey_causes import SURVEY_CAUSES, SURVEY_TRACES
from engine.errors import InputError, LimitError
from engine.incline.instruments import Pendulum
from engine.incline.moments import Move, Weight, plateaus
from fixtures.simulator import Noise, faults, simulate
from tests.engine.diagnosis import simulated
from tests.engine.diagnosis.simulated import KINDS, Made, make, settings

MOMENT = np.array([0.0, 20, 41, 21, 0, -19, -40, -21, 0])
SIGMA = 1e-4


def table(*, p: int = 3, seed: int = 1) -> np.ndarray:
    """A straight line of 0.001 per t m, read by p instruments to 1e-4."""
    rng = np.random.default_rng(seed)
    return 0.001 * MOMENT + SIGMA * rng.standard_normal((p, len(MOMENT)))


def named(tangents: np.ndarray, **more: object) -> tuple[str, ...]:
    found = diagnose(
        moment_tm=MOMENT,
        tangents=list(tangents),
        reading_standard_uncertainty_ratio=np.full(len(tangents), SIGMA),
        **more,  # type: ignore[arg-type]
    )
    return tuple(one.trace for one in found)


@pytest.mark.parametrize("name", [name for name in KINDS if "natural" not in name])
def test_a_fault_of_eight_standard_deviations_is_named(name: str) -> None:
    """At least seven of eight; in the long run 90 % and more, see docs/methods/diagnosis.md."""
    kind = KINDS[name]
    found = [make([kind], size=8, seed=1_000_000 + k).diagnose() for k in range(8)]
    assert sum(bool(one) and one[0].trace == kind.trace for one in found) >= 7


@pytest.mark.parametrize("name", [name for name, kind in KINDS.items() if kind.natural])
def test_faults_of_natural_size_are_named(name: str) -> None:
    kind = KINDS[name]
    for k in range(5):
        found = make([kind], size=None, seed=2_000_000 + k).diagnose()
        assert found[0].trace == kind.trace
        assert kind.cause is None or found[0].cause == kind.cause


def test_sound_tests_are_rarely_blamed() -> None:
    """Nominal 3 %: 120 tests give 3.6 on average, more than 9 in 0.3 % of such sets (binomial)."""
    alarms = sum(bool(make([], size=None, seed=3_000_000 + k).diagnose()) for k in range(120))
    assert alarms <= 9


def test_a_false_alarm_rate_of_zero_point_three_of_ten_thousand_blames_fewer() -> None:
    made = [make([KINDS["gust"]], size=5, seed=k) for k in range(30)]
    usual = sum(bool(one.diagnose()) for one in made)
    strict = sum(bool(one.diagnose(false_alarm_probability=3e-5)) for one in made)
    assert strict < usual


def test_no_reading_is_dropped_and_both_answers_are_given() -> None:
    """A gust of 3e-3 on the last outward reading: GM without it is the true one, 1/(0.001 × 1000) = 1 m."""
    tangents = table()
    tangents[:, 2] += 3e-3
    found = diagnose(
        moment_tm=MOMENT,
        tangents=list(tangents),
        reading_standard_uncertainty_ratio=np.full(3, SIGMA),
        displacement_t=1000.0,
    )
    assert found[0].trace == "one-move"
    assert found[0].readings == (2,)
    assert found[0].largest_shift_ratio == pytest.approx(3e-3, abs=3 * SIGMA)
    assert found[0].gm_without_m == pytest.approx(1.0, abs=5e-3)  # u(b)/b about 1e-4/(sqrt(27) × 0.026)
    assert found[0].gm_with_m is not None
    assert abs(found[0].gm_with_m - 1.0) > 0.01


def test_gm_with_the_cause_is_that_of_the_regression() -> None:
    from engine.incline.regression import regress

    tangents = table()
    tangents[1, 6] += 5e-3
    fit = regress(moment_tm=MOMENT, tangents=list(tangents), displacement_t=900.0)
    for regression in (None, fit):
        found = diagnose(
            moment_tm=MOMENT,
            tangents=list(tangents),
            reading_standard_uncertainty_ratio=np.full(3, SIGMA),
            displacement_t=900.0,
            regression=regression,
        )
        assert found[0].gm_with_m == fit.gm_fluid_m
        assert found[0].slope_with_per_tm == fit.slope_per_tm


def test_one_instrument_cannot_tell_its_own_error_from_a_gust() -> None:
    tangents = table(p=1)
    tangents[0, 3] += 4e-3
    found = diagnose(moment_tm=MOMENT, tangents=list(tangents), reading_standard_uncertainty_ratio=np.array([SIGMA]))
    assert found[0].trace == "one-move"
    assert {"gust", "reading-misread", "digit-slipped"} <= set(found[0].members)


def test_fewer_than_four_readings_name_nothing() -> None:
    tangents = table()
    tangents[:, 1] += 1.0
    tangents[:, 3:] = np.nan
    assert named(tangents) == ()


def test_missed_readings_and_a_test_still_running() -> None:
    tangents = table()
    tangents[0, 3] = tangents[2, 5] = np.nan
    tangents[:, 7:] = np.nan
    assert named(tangents) == ()
    tangents[1] *= -1.0
    assert named(tangents)[0] == "instrument-reversed"


def test_a_reversed_instrument_and_a_gust_are_both_found() -> None:
    tangents = table()
    tangents[:, 5] += 3e-3
    tangents[2] *= -1.0
    assert set(named(tangents)) == {"instrument-reversed", "one-move"}


def test_one_of_two_instruments_reversed_leaves_no_slope_and_is_still_found() -> None:
    """The two slopes cancel, so no GM can be given with it; without it GM is 1/(0.001 × 1000) m."""
    tangents = table(p=2)
    tangents[1] *= -1.0
    found = diagnose(
        moment_tm=MOMENT,
        tangents=list(tangents),
        reading_standard_uncertainty_ratio=np.full(2, SIGMA),
        displacement_t=1000.0,
        weights={"A": Weight(1.0, np.zeros(3))},
    )
    assert found[0].trace == "instrument-reversed"
    assert found[0].gm_without_m is not None
    assert abs(found[0].gm_without_m) == pytest.approx(1.0, abs=0.01)


@settings_of(derandomize=True, deadline=None, max_examples=150)
@given(st.integers(0, 2**32 - 1))
def test_any_log_is_answered(seed: int) -> None:
    """Random moves, missed readings, reversed, rounded and constant tangents: findings or none, never a failure."""
    rng = np.random.default_rng(seed)
    p, n = int(rng.integers(0, 5)), int(rng.integers(1, 13))
    weights = {name: Weight(float(rng.uniform(1, 5)), np.array([0.0, rng.choice([-4.0, 4, 0]), 1])) for name in "ABC"}
    moves = [Move(str(rng.choice(list("ABC"))), to_y_m=float(rng.choice([-4.0, 4, 0, 3.3]))) for _ in range(n - 1)]
    moment = plateaus(weights=weights, moves=moves).moment_tm
    tangents = 0.001 * moment * rng.choice([-1, 0, 1, 1, 1], (p, 1)) + SIGMA * rng.standard_normal((p, n))
    if rng.random() < 0.3:
        tangents = np.round(tangents, 3)
    tangents[rng.random((p, n)) < rng.choice([0, 0.1, 0.5, 0.9])] = np.nan
    found = diagnose(
        moment_tm=moment,
        tangents=list(tangents),
        reading_standard_uncertainty_ratio=np.full(p, SIGMA),
        weights=weights,
        moves=moves,
        displacement_t=900.0,
        stiffening_m=float(rng.choice([0.0, 5.0])),
    )
    for one in found:
        assert one.members
        assert one.cause in CAUSES
        assert one.cause in one.members
        assert one.readings == tuple(sorted(set(one.readings)))
        assert np.isfinite([one.largest_shift_ratio, one.shift_over_reading_ratio]).all()


def test_length_in_feet_is_told_by_its_ratio() -> None:
    """True over logged 0.3048: a length of ten feet logged as ten metres reads tangents of 0.3048 of the true ones."""
    tangents = table()
    tangents[0] *= 0.3048
    found = diagnose(moment_tm=MOMENT, tangents=list(tangents), reading_standard_uncertainty_ratio=np.full(3, SIGMA))
    assert found[0].length_ratio == 0.3048
    assert "feet taken for metres" in found[0].evidence


def test_a_wrong_length_is_measured() -> None:
    tangents = table()
    tangents[0] *= 1.04
    found = diagnose(moment_tm=MOMENT, tangents=list(tangents), reading_standard_uncertainty_ratio=np.full(3, SIGMA))
    assert found[0].trace == "instrument-length"
    assert found[0].length_ratio == pytest.approx(1.04, abs=4 * SIGMA / 0.04)


def test_without_the_hull_a_bend_is_no_fault_by_itself() -> None:
    tangents = table() - 2e-3 * (MOMENT / 41) ** 3
    found = diagnose(moment_tm=MOMENT, tangents=list(tangents), reading_standard_uncertainty_ratio=np.full(3, SIGMA))
    assert found[0].cause == "knuckle-or-flare"
    assert not found[0].is_fault
    # Δ(GM t + k t³/2) = m with GM 1 m, Δ 1000 t, k 60 m: bends by as much, and is explained once k is given
    wall = np.array([np.roots([30.0, 0, 1.0, -m / 1000.0]) for m in MOMENT])
    exact = np.array([row[np.abs(row.imag) < 1e-12].real[0] for row in wall])
    read = exact + table() - 0.001 * MOMENT
    assert named(read) == ("curvature",)
    assert named(read, stiffening_m=60.0, displacement_t=1000.0) == ()


def test_with_the_hull_given_a_knuckle_is_explained() -> None:
    knuckle = next(one for one in settings() if one.trial.vessel.name == "Invented Knuckle")
    record = simulate(knuckle.trial, noise=Noise(reading_m=0.0005, reading_deg=0.005), seed=5, solved=knuckle.solved)
    made = Made(knuckle, record, 1.0)
    assert made.diagnose() == ()
    bent = made.diagnose(geometry=False)
    assert "knuckle-or-flare" in bent[0].members


def test_sizes_come_in_the_terms_of_the_cause() -> None:
    """The demo's weight B, logged 4 % too heavy, and a digit slipped by 10 mm."""
    demo = settings()[-1]
    quiet = Noise(reading_m=0.0002, reading_deg=0.002)
    record = simulate(demo.trial, noise=quiet, seed=3, solved=demo.solved, faults=[faults.wrong_mass("B", 1.04)])
    found = Made(demo, record, 0.4).diagnose()
    assert found[0].weights == ("B",)
    true = next(weight.mass_t for weight in demo.trial.weights if weight.id == "B")
    assert found[0].mass_t == pytest.approx(-0.04 * true, abs=0.01 * true)
    record = simulate(
        demo.trial, noise=quiet, seed=3, solved=demo.solved, faults=[faults.digit_slip("forward", 5, 0.01)]
    )
    found = Made(demo, record, 0.4).diagnose()
    assert found[0].cause == "digit-slipped"
    assert found[0].instruments == ("forward",)
    sign = 1.0 if demo.trial.instruments[0].positive == "starboard" else -1.0  # type: ignore[union-attr]
    assert found[0].reading_m == pytest.approx(sign * 0.01, abs=1e-3)


def test_a_wrong_place_is_measured_true_less_logged() -> None:
    """Move 0 is logged 0.15 m too far to port: the true place lies 0.15 m less to port."""
    demo = settings()[-1]
    quiet = Noise(reading_m=0.0002, reading_deg=0.002)
    record = simulate(demo.trial, noise=quiet, seed=8, solved=demo.solved, faults=[faults.wrong_arm(0, 0.15)])
    found = Made(demo, record, 0.4).diagnose()
    assert (found[0].cause, found[0].moves) == ("weight-arm", (0,))
    assert found[0].arm_m == pytest.approx(-0.15, abs=0.05)


def test_wind_after_the_zero_is_no_fault() -> None:
    tangents = table()
    tangents[:, 1:] += 1e-3
    found = diagnose(moment_tm=MOMENT, tangents=list(tangents), reading_standard_uncertainty_ratio=np.full(3, SIGMA))
    assert (found[0].cause, found[0].is_fault, found[0].readings) == ("wind-after-zero", False, (0,))
    assert found[0].moment_tm == pytest.approx(1.0, abs=0.3)  # 1e-3 over 1e-3 a t m


def test_a_move_to_the_wrong_side_names_the_move() -> None:
    demo = settings()[-1]
    record = simulate(
        demo.trial, noise=Noise(reading_m=0.0005), seed=3, solved=demo.solved, faults=[faults.wrong_side(4)]
    )
    found = Made(demo, record, 1.0).diagnose()
    assert found[0].cause == "move-wrong-side"
    assert found[0].moves == (4,)
    assert f"fit a place {demo.trial.moves[4].to_y_m:.6g} m to port, not" in found[0].evidence


def test_alternatives_are_less_likely() -> None:
    found = make([KINDS["drift"]], size=8, seed=4).diagnose()
    assert found[0].alternatives
    assert all(0 <= one.likelihood_ratio <= 1 and one.trace != found[0].trace for one in found[0].alternatives)


def test_a_regular_slack_tank_is_said_not_to_show() -> None:
    """Its free surface scales the slope of a straight line: no diagnosis, and the text that says so."""
    assert named(table() * 1.2) == ()
    assert any("slack tank" in said for said in CANNOT_SHOW)


def test_stays_follow_the_log() -> None:
    weights = {"A": Weight(2.0, np.array([0.0, 3.0, 1.0])), "B": Weight(1.0, np.array([0.0, -3.0, 1.0]))}
    moves = [Move("A", -3.0), Move("B", 2.0), Move("A", 3.0)]
    found = stays(weights=weights, moves=moves, readings=4)
    assert [(one.weight, one.first, one.stop, one.from_y_m, one.to_y_m) for one in found] == [
        ("A", 1, 3, 3.0, -3.0),
        ("B", 2, 4, -3.0, 2.0),
        ("A", 3, 4, -3.0, 3.0),
    ]


def test_a_large_table_is_searched_too_and_a_huge_one_refused() -> None:
    """Forty instruments, forty readings: a misread one among 1600 entries; 2050 are over the limit."""
    moment = np.tile(MOMENT[:8], 5)
    rng = np.random.default_rng(5)
    tangents = 0.001 * moment + SIGMA * rng.standard_normal((40, 40))
    tangents[17, 23] += 15 * SIGMA
    given = {"moment_tm": moment, "reading_standard_uncertainty_ratio": np.full(40, SIGMA)}
    found = diagnose(tangents=list(tangents), **given)
    assert [(one.trace, one.instruments, one.readings) for one in found] == [("one-reading", ("17",), (23,))]
    with pytest.raises(LimitError) as caught:
        diagnose(
            moment_tm=np.zeros(50),
            tangents=list(np.zeros((41, 50))),
            reading_standard_uncertainty_ratio=np.full(41, SIGMA),
        )
    assert caught.value.code == "work-over-limit"


def test_refuses_what_does_not_fit() -> None:
    with pytest.raises(InputError) as caught:
        diagnose(moment_tm=MOMENT[:-1], tangents=list(table()), reading_standard_uncertainty_ratio=np.full(3, SIGMA))
    assert caught.value.code == "wrong-shape"
    with pytest.raises(InputError) as caught:
        diagnose(moment_tm=MOMENT, tangents=list(table()), reading_standard_uncertainty_ratio=np.zeros(3))
    assert caught.value.code == "out-of-range"


def test_the_documented_list_is_complete() -> None:
    page = (Path(__file__).parents[3] / "docs" / "methods" / "diagnosis.md").read_text(encoding="utf-8")
    for code in (*CAUSES, *TRACES, *SURVEY_CAUSES, *SURVEY_TRACES):
        assert f"`{code}`" in page, code
    for traces, causes in ((TRACES, CAUSES), (SURVEY_TRACES, SURVEY_CAUSES)):
        assert {member for trace in traces.values() for member in trace.members} <= set(causes)
    told = [one for trace in TRACES.values() for one in (trace, *trace.of.values())]
    beside = {"knuckle-or-flare", "shift-or-place"}  # said only where the test at hand gives reason to
    assert set(CAUSES) == {member for trace in told for member in trace.members} | beside


def test_simulated_size_is_what_it_says() -> None:
    """A wrong length of size 4: the largest change of that instrument's tangents over its standard deviation."""
    made = make([KINDS["length wrong"]], size=4, seed=12)
    plain = make([], size=None, seed=12)
    assert made.setting is plain.setting
    _, _, now = simulated.engine_of(made.record)
    changed = [one for one in now if isinstance(one, Pendulum) and one.length_m != made.setting.scale[0]]
    if changed:
        tangents = made.setting.tangents - made.setting.tangents[0]
        shift = np.abs(tangents).max() * abs(made.setting.scale[0] / changed[0].length_m - 1)
    else:
        tube = now[1]
        tangents = made.setting.tangents - made.setting.tangents[0]
        shift = np.abs(tangents).max() * abs(made.setting.scale[1] / float(tube.base_m or math.nan) - 1)
    unrest = shift / 4
    assert made.setting.sigma.min() <= unrest <= 1.5 * made.setting.sigma.max()
    assert np.isfinite(
        plateaus(weights=simulated.engine_of(made.record)[0], moves=simulated.engine_of(made.record)[1]).moment_tm
    ).all()
