"""What a diagnosis calls a fault, which unit it names, and the words of its instruments."""

import numpy as np
import pytest

from engine.diagnosis.causes import TRACES, trace_of
from engine.diagnosis.incline import diagnose
from engine.diagnosis.patterns import NAMED_RATIOS
from engine.diagnosis.result import Diagnosis
from engine.incline.instruments import Inclinometer, Instrument, Pendulum, UTube
from fixtures.simulator import Noise, simulate
from tests.engine.diagnosis.simulated import Made, settings

MOMENT = np.array([0.0, 20, 41, 21, 0, -19, -40, -21, 0])
SIGMA = 1e-4
QUIET = Noise(reading_m=0.0005, reading_deg=0.005)


def table(*, p: int = 3, seed: int = 1) -> np.ndarray:
    """A straight line of 0.001 per t m, read by p instruments to 1e-4."""
    return 0.001 * MOMENT + SIGMA * np.random.default_rng(seed).standard_normal((p, len(MOMENT)))


def found_in(tangents: np.ndarray, *, moment: np.ndarray = MOMENT, **more: object) -> tuple[Diagnosis, ...]:
    return diagnose(
        moment_tm=moment,
        tangents=list(tangents),
        reading_standard_uncertainty_ratio=np.full(len(tangents), SIGMA),
        displacement_t=1000.0,
        **more,  # type: ignore[arg-type]
    )


def of(kind: str) -> list[Instrument]:
    """Three instruments, the second of this kind; only names and lengths count here."""
    read = np.full(len(MOMENT), np.nan)
    middle = {
        "pendulum": Pendulum("middle", 4.0, "starboard", read),
        "u_tube": UTube("middle", 8.0, read, read),
        "inclinometer": Inclinometer("middle", "starboard", read),
    }[kind]
    return [Pendulum("fore", 4.0, "starboard", read), middle, Pendulum("aft", 4.0, "starboard", read)]


def test_a_first_place_on_the_wrong_side_names_the_weight_and_the_place() -> None:
    """Every weight of every test ship in turn: 2 m y to the wrong side from its first move on, closed form."""
    right = total = 0
    for k, setting in enumerate(settings()):
        for number, weight in enumerate(setting.trial.weights):
            record = simulate(setting.trial, noise=QUIET, seed=100 * k + number, solved=setting.solved)
            record["weights"][number]["y_m"] = -weight.y_m
            found = Made(setting, record, 1.0).diagnose()
            total += 1
            if found[0].cause == "first-place-wrong-side" and found[0].weights == (weight.id,):
                right += 1
                assert found[0].is_fault
                assert found[0].moment_tm == pytest.approx(2 * weight.mass_t * weight.y_m)  # true less logged
                assert found[0].arm_m == pytest.approx(2 * weight.y_m)
                assert f"not {abs(weight.y_m):.6g} m" in found[0].evidence
                assert {"wind-after-zero", "lasting-shift"} & set(found[0].members)
    assert (right, total) == (total, total)


def test_a_shift_after_the_zero_is_a_fault_where_gm_moves_by_more_than_the_scatter() -> None:
    """By 20 t m of 41: the eight readings after the zero are all shifted, and their mean moment is not zero."""
    shifted = np.where(np.arange(9) > 0, MOMENT + 20.0, MOMENT)
    found = found_in(table(), moment=shifted)
    assert (found[0].trace, found[0].is_fault) == ("after-zero", True)
    assert found[0].gm_with_m is not None
    assert found[0].gm_without_m == pytest.approx(1.0, abs=0.01)  # 1/(0.001 × 1000) m
    assert abs(found[0].gm_with_m - 1.0) > 0.03
    assert "GM moves" in found[0].evidence
    assert "No repeat needed" not in found[0].action


def test_a_shift_after_the_zero_that_leaves_gm_is_none() -> None:
    """A millirad: of readings balanced about the zero GM moves by the shift times the mean moment, 0.2 t m of 41."""
    tangents = table()
    tangents[:, 1:] += 1e-3
    found = found_in(tangents)
    assert (found[0].trace, found[0].is_fault) == ("after-zero", False)
    assert "slope intact" in found[0].evidence
    assert found[0].gm_with_m == pytest.approx(found[0].gm_without_m, abs=0.01)


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (1000.0, "readings in millimetres taken for metres"),
        (100.0, "readings in centimetres taken for metres"),
        (0.001, "length in millimetres taken for metres"),
        (0.01, "length in centimetres taken for metres"),
        (12.0, "feet taken for inches"),
        (10.0, "decimal point"),
        (0.3048, "feet taken for metres"),
    ],
)
def test_a_unit_slip_is_named_by_its_own_factor(factor: float, words: str) -> None:
    tangents = table()
    tangents[0] *= factor
    found = found_in(tangents)
    assert [one.trace for one in found] == ["instrument-length"]
    assert found[0].length_ratio == factor
    assert f"{words}; fits" in found[0].evidence


@pytest.mark.parametrize("factor", [37.0, 5.0, 300.0, 1 / 37, 0.005])
def test_a_factor_of_no_unit_is_told_by_itself(factor: float) -> None:
    """No ratio of the list is within 5 % of these; the factor is that of the slopes, read to 1e-4 of 0.04."""
    assert min(abs(factor / ratio - 1) for ratio in NAMED_RATIOS.values()) > 0.05
    tangents = table()
    tangents[0] *= factor
    found = found_in(tangents)
    assert [one.trace for one in found] == ["instrument-length"]
    assert found[0].length_ratio == pytest.approx(factor, rel=0.02, abs=0.002)
    assert "taken for" not in found[0].evidence
    assert "others' slope; the shift" in found[0].evidence


def test_a_unit_slip_and_a_reversed_instrument_are_both_named() -> None:
    tangents = table()
    tangents[0] *= 1000.0
    tangents[2] *= -1.0
    found = found_in(tangents)
    assert {one.trace for one in found} == {"instrument-length", "instrument-reversed"}
    length = next(one for one in found if one.trace == "instrument-length")
    assert length.length_ratio == pytest.approx(1000.0, rel=0.02)
    assert "1000: readings in millimetres taken for metres" in length.evidence


@pytest.mark.parametrize(
    ("kind", "cause"), [("pendulum", "bob-aground"), ("u_tube", "tube-held-up"), ("inclinometer", "end-of-range")]
)
def test_an_instrument_that_flattens_is_told_in_its_own_words(kind: str, cause: str) -> None:
    tangents = table()
    tangents[1, 2] -= 2e-3
    tangents[1, 6] += 2e-3
    found = found_in(tangents, instruments=of(kind))
    assert (found[0].trace, found[0].cause, found[0].members) == ("bob-aground", cause, (cause,))
    assert found[0].instruments == ("middle",)
    assert ("bob" in found[0].action + found[0].separate) == (kind == "pendulum")


@pytest.mark.parametrize("kind", ["u_tube", "inclinometer"])
def test_one_reading_of_another_instrument_blames_no_bob(kind: str) -> None:
    tangents = table()
    tangents[1, 3] += 3e-3
    found = found_in(tangents, instruments=of(kind))
    assert found[0].trace == "one-reading"
    assert "bob-aground" not in found[0].members
    assert "bob" not in found[0].action + found[0].separate
    # alone it cannot be told from a gust: the same words
    alone = found_in(tangents[1:2], instruments=of(kind)[1:2])
    assert alone[0].trace == "one-move"
    assert "reading-misread" in alone[0].members
    assert "bob-aground" not in alone[0].members


@pytest.mark.parametrize("kind", ["UTube", "Inclinometer"])
def test_words_of_a_kind_name_no_pendulum(kind: str) -> None:
    assert {one for trace in TRACES.values() for one in trace.of} == {"UTube", "Inclinometer"}
    for name in ("one-reading", "bob-aground", "instrument-length", "quantised"):
        told = trace_of(name, kind)
        assert not any(word in told.action + told.separate for word in ("bob", "pivot", "batten", "pendulum")), name


def test_what_is_named_passes_its_own_limit() -> None:
    """Four hundred tests with a disturbance about as large as the limits: an alarm names nothing below its own."""
    named = 0
    for seed in range(400):
        rng = np.random.default_rng(seed)
        tangents = table(seed=seed)
        tangents[rng.integers(3), rng.integers(9)] += 4 * SIGMA * rng.choice([-1, 1])
        tangents[rng.integers(3)] *= 1 + 0.005 * rng.standard_normal()
        for one in found_in(tangents):
            named += 1
            assert one.gain is not None
            assert one.limit is not None
            assert one.gain > one.limit
    assert named > 50


def test_a_reading_is_told_to_the_millimetre_and_to_its_side() -> None:
    """0.1 m of a pendulum of 4 m to port: a tangent of −0.025."""
    tangents = table()
    tangents[1, 3] -= 0.1 / 4.0
    found = found_in(tangents, instruments=of("pendulum"))
    assert "it stands 0.100 m too far to port" in found[0].evidence
    assert found[0].reading_m == pytest.approx(-0.1, abs=1e-3)
    assert f"fits {found[0].gain:.3g} better than no fault" in found[0].evidence
    assert f"up to {found[0].limit:.3g} would be chance" in found[0].evidence
