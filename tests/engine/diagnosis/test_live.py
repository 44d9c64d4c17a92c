"""Guidance while the test runs."""

import numpy as np
import pytest

from engine.diagnosis.incline import diagnose
from engine.diagnosis.live import Guidance, guidance
from engine.errors import InputError
from engine.incline.instruments import Inclinometer, Instrument, Pendulum, heel_tangents
from engine.incline.regression import regress
from engine.uncertainty.repeated import slope_scatter

MOMENT = np.array([0.0, 20, 41, 21, 0, -19, -40, -21, 0])
SIGMA = 1e-4


def readings(taken: int, *, seed: int = 1, p: int = 3) -> np.ndarray:
    rng = np.random.default_rng(seed)
    tangents = 0.002 + 0.001 * MOMENT + SIGMA * rng.standard_normal((p, 9))
    tangents[:, taken:] = np.nan
    return tangents


def said(taken: int, **more: object) -> Guidance:
    return guidance(moment_tm=MOMENT, tangents=list(readings(taken)), displacement_t=1000.0, **more)  # type: ignore[arg-type]


def test_zero_readings_are_an_answer() -> None:
    for tangents in ([], list(readings(0))):
        found = guidance(moment_tm=MOMENT, tangents=tangents, displacement_t=1000.0)
        assert (found.readings_count, found.stop, found.gm_fluid_m, found.expected) == (0, "go_on", None, ())
        assert any("nothing yet" in one for one in found.cannot_say)


def test_one_reading_says_that_gm_cannot_be_known() -> None:
    found = said(1)
    assert found.gm_fluid_m is None
    assert any(one.startswith("GM:") for one in found.cannot_say)
    # with GM expected 1 m ± 0.1 m: the next tangent 20/1000/1 above the reading, interval from that and the readings
    found = said(
        1,
        expected_gm_m=1.0,
        expected_gm_standard_uncertainty_m=0.1,
        reading_standard_uncertainty_ratio=np.full(3, SIGMA),
    )
    assert found.basis == "expected_gm"
    start = readings(1)[:, 0]
    for one in found.expected:
        assert one.tangent_ratio == pytest.approx(start[one.instrument] + 0.02)
        half = 1.959964 * np.sqrt(2 * 1.09 * SIGMA**2 + (0.02 * 0.1) ** 2)  # normal quantile; 1 + 0.3² of usual unrest
        assert one.high_ratio - one.tangent_ratio == pytest.approx(half, rel=1e-6)


def test_two_readings_give_gm_without_an_uncertainty_of_their_own() -> None:
    found = said(2)
    assert found.gm_fluid_m == pytest.approx(1.0, abs=0.02)
    assert found.gm_standard_uncertainty_m is None
    assert any("uncertainty of GM" in one for one in found.cannot_say)
    stated = said(2, reading_standard_uncertainty_ratio=np.full(3, SIGMA))
    assert stated.basis == "stated"
    assert stated.gm_standard_uncertainty_m is not None


def test_uncertainty_is_that_of_the_scatter() -> None:
    """The same as engine.uncertainty.repeated gives for a full table."""
    found = said(7)
    table = readings(7)[:, :7]
    fit = regress(moment_tm=MOMENT[:7], tangents=list(table), displacement_t=1000.0)
    scatter = slope_scatter(residual_ratio=fit.residual_ratio, moment_tm=MOMENT[:7])
    assert found.slope_standard_uncertainty_per_tm == pytest.approx(scatter.slope_standard_uncertainty_per_tm, rel=1e-9)
    assert found.gm_fluid_m == pytest.approx(fit.gm_fluid_m, rel=1e-12)


def test_one_instrument_gives_the_textbook_prediction_interval() -> None:
    """Half width t s √(1 + 1/n + (M − M̄)²/Sxx) of simple regression, by scipy's own fit."""
    from scipy import stats

    table = readings(6, p=1)
    found = guidance(moment_tm=MOMENT, tangents=list(table), displacement_t=1000.0)
    m, y = MOMENT[:6], table[0, :6]
    line = stats.linregress(m, y)
    s = np.sqrt(np.sum((y - line.intercept - line.slope * m) ** 2) / 4)
    spread = s * np.sqrt(1 + 1 / 6 + (-40 - m.mean()) ** 2 / np.sum((m - m.mean()) ** 2))
    (one,) = found.expected
    assert found.next_moment_tm == -40.0
    assert one.tangent_ratio == pytest.approx(line.intercept + line.slope * -40, rel=1e-9)
    assert one.high_ratio - one.low_ratio == pytest.approx(2 * stats.t.ppf(0.975, 4) * spread, rel=1e-9)


def test_prediction_interval_covers_the_next_reading() -> None:
    """1500 intervals of 95 %: 93 to 97; the long run is in docs/methods/live-guidance.md."""
    inside = 0
    for k in range(500):
        rng = np.random.default_rng(40_000 + k)
        full = 0.001 * MOMENT + SIGMA * (rng.standard_normal((3, 9)) + 0.7 * rng.standard_normal(9))
        partial = np.where(np.arange(9) < 6, full, np.nan)
        found = guidance(moment_tm=MOMENT, tangents=list(partial), displacement_t=1000.0)
        inside += sum(one.low_ratio <= full[one.instrument, 6] <= one.high_ratio for one in found.expected)
    assert 0.93 <= inside / 1500 <= 0.97


def test_expected_readings_are_as_the_instrument_shows_them() -> None:
    """Pendulum to port: the reading falls when she heels to starboard; 3 m × change of tangent. Inclinometer in deg."""
    heel = np.degrees(np.arctan(0.001 * MOMENT))
    instruments: list[Instrument] = [
        Pendulum("p", 3.0, "port", 0.4 - 3.0 * 0.001 * MOMENT[:4]),
        Inclinometer("i", "starboard", 0.2 + heel[:4]),
    ]
    table = heel_tangents(instruments, heel_at_zero_deg=0.0, reading_count=9)
    found = guidance(
        moment_tm=MOMENT, tangents=list(table), displacement_t=1000.0, instruments=instruments, next_moment_tm=-19.0
    )
    assert found.expected[0].reading == pytest.approx(0.4 + 3.0 * 0.019, abs=1e-9)
    assert found.expected[1].reading == pytest.approx(0.2 - np.degrees(np.arctan(0.019)), abs=1e-9)
    assert all(one.reading_low <= one.reading <= one.reading_high for one in found.expected)  # type: ignore[operator]


def test_wall_sided_term_enters_the_prediction() -> None:
    """Tangents exact for Δ(GM t + k t³/2) = m with GM 1 m, k 6 m, Δ 1000 t: the next one is met."""
    tangent = np.array([np.roots([3.0, 0, 1.0, -m / 1000.0]) for m in MOMENT])
    exact = np.array([row[np.abs(row.imag) < 1e-12].real[0] for row in tangent])
    partial = np.where(np.arange(9) < 6, exact, np.nan)
    found = guidance(moment_tm=MOMENT, tangents=[partial], displacement_t=1000.0, stiffening_m=6.0)
    assert found.gm_fluid_m == pytest.approx(1.0, rel=1e-6)
    assert found.expected[0].tangent_ratio == pytest.approx(exact[6], abs=2e-7)


def test_another_pair() -> None:
    """Closed form: √(Sxx/Sxx'), pair at ± the largest moment; the expanded one by Student's factors too."""
    from scipy import stats

    found = said(5)
    m = MOMENT[:5]
    more = np.concatenate([m, [41.0, -41.0]])
    ratio = np.sqrt(np.var(m) * 5 / (np.var(more) * 7))
    assert found.pair_uncertainty_ratio == pytest.approx(ratio)
    assert found.pair_expanded_ratio == pytest.approx(ratio * stats.t.ppf(0.975, 5) / stats.t.ppf(0.975, 3))


@pytest.mark.parametrize(
    ("taken", "stop"), [(1, "go_on"), (4, "go_on"), (6, "go_on"), (7, "may_stop"), (8, "may_stop"), (9, "complete")]
)
def test_stop_rule_on_a_straight_line(taken: int, stop: str) -> None:
    """2008 IS Code, B/8.4.1.2: zero and six on a straight line; the eighth may be omitted after seven."""
    found = said(taken)
    assert found.stop == stop
    assert found.straight is (None if taken < 4 else True)


@pytest.mark.parametrize(("taken", "stop"), [(7, "go_on"), (8, "go_on"), (9, "explain")])
def test_stop_rule_off_the_line(taken: int, stop: str) -> None:
    table = readings(taken)
    table[:, 3] += 4e-3
    faults = diagnose(moment_tm=MOMENT, tangents=list(table), reading_standard_uncertainty_ratio=np.full(3, SIGMA))
    assert faults
    found = guidance(moment_tm=MOMENT, tangents=list(table), displacement_t=1000.0, diagnoses=faults)
    assert (found.stop, found.straight) == (stop, False)


def test_six_moves_to_one_side_are_not_enough() -> None:
    moment = np.abs(MOMENT)
    found = guidance(moment_tm=moment, tangents=[0.001 * moment], displacement_t=1000.0)
    assert found.stop == "go_on"
    assert "one side" in found.reason


def test_heeling_against_the_moments_is_said() -> None:
    found = guidance(moment_tm=MOMENT, tangents=list(-readings(5)), displacement_t=1000.0)
    assert found.gm_fluid_m is None
    assert "against the moments" in found.cannot_say[0]


def test_refuses_what_does_not_fit() -> None:
    with pytest.raises(InputError) as caught:
        guidance(moment_tm=MOMENT[:-1], tangents=list(readings(5)), displacement_t=1000.0)
    assert caught.value.code == "wrong-shape"
    with pytest.raises(InputError) as caught:
        guidance(moment_tm=MOMENT, tangents=list(readings(5)), displacement_t=0.0)
    assert caught.value.code == "not-positive"


def test_readings_repeated_at_one_moment_are_no_moves() -> None:
    """Each read twice: by hand, the means of the plateaus are the readings of a table of as many moments."""
    moment = MOMENT[:7]
    tangents = readings(7)[:, :7]
    again = np.repeat(moment, 2)
    twice = np.empty((len(tangents), 14))
    off = 0.3 * SIGMA * np.random.default_rng(2).standard_normal((len(tangents), 7))
    twice[:, ::2], twice[:, 1::2] = tangents + off, tangents - off
    once = guidance(moment_tm=moment, tangents=list(tangents), displacement_t=1000.0, next_moment_tm=5.0)
    found = guidance(moment_tm=again, tangents=list(twice), displacement_t=1000.0, next_moment_tm=5.0)
    assert (found.readings_count, found.moves_count, found.stop) == (14, once.moves_count, once.stop)
    assert found.gm_fluid_m == pytest.approx(once.gm_fluid_m, rel=1e-12)
    assert found.gm_standard_uncertainty_m == pytest.approx(once.gm_standard_uncertainty_m, rel=1e-9)
    assert found.pair_uncertainty_ratio == pytest.approx(once.pair_uncertainty_ratio, rel=1e-12)
    few = guidance(moment_tm=again[:4], tangents=list(twice[:, :4]), displacement_t=1000.0)
    assert (few.moves_count, few.gm_standard_uncertainty_m) == (1, None)
    assert any("any two readings lie on a line" in one for one in few.cannot_say)
    still = guidance(moment_tm=np.zeros(2), tangents=list(tangents[:, :1].repeat(2, axis=1)), displacement_t=1000.0)
    assert still.cannot_say[0] == "GM: the moment has not changed between the readings"
