"""Common and device parts: closed forms."""

import numpy as np
import pytest

from engine.diagnosis.compare import INDEPENDENT, SHARES, WITH_FIRST_PLACE, Space, compare
from engine.diagnosis.modes import _of_any_table, modes
from engine.diagnosis.patterns import Block

SIGMA = np.array([1e-4, 2e-4, 1.5e-4])
MOMENT = np.array([0.0, 1, 2, 1, 0, -1, -2, -1, 0])


def test_parts_have_the_right_dimensions() -> None:
    """Of p n readings less p zeros: n − 1 common, (p − 1)(n − 1) device."""
    at = modes(known=np.ones((3, 9), dtype=bool), standard_uncertainty_ratio=SIGMA)
    assert (at.common_freedom, at.device_freedom) == (8, 16)
    known = np.ones((3, 9), dtype=bool)
    known[0, 2] = known[1, 5] = False
    at = modes(known=known, standard_uncertainty_ratio=SIGMA)
    assert (at.common_freedom, at.device_freedom) == (8, 14)


def test_the_closed_form_spans_what_the_decomposition_finds() -> None:
    """The full table's cosines and the general way project the same readings alike."""
    full = np.ones((3, 9), dtype=bool)
    at = modes(known=full, standard_uncertainty_ratio=SIGMA)
    general = _of_any_table(at.weight, at.outer_basis[:, :3])
    assert at.common_basis.T @ at.common_basis == pytest.approx(np.eye(8), abs=1e-12)
    assert at.common_basis @ at.common_basis.T == pytest.approx(general @ general.T, abs=1e-12)


def test_a_gust_is_common_and_a_length_is_device_beside_the_slope() -> None:
    at = modes(known=np.ones((3, 9), dtype=bool), standard_uncertainty_ratio=SIGMA)
    gust = np.zeros((3, 9, 1))
    gust[:, 4] = 1e-3
    device, common = at.split(gust)
    assert np.abs(device).max() < 1e-9
    # closed form: Σ_i σ_i⁻² (1 − 1/n) times the shift squared
    assert common.T @ common == pytest.approx(1e-6 * np.sum(SIGMA**-2) * (1 - 1 / 9), rel=1e-12)
    length = np.zeros((3, 9, 1))
    length[0, :, 0] = 1e-3 * MOMENT
    device, common = at.split(length)
    slope = at.split(np.broadcast_to(MOMENT[:, None], (3, 9, 1)))[1]
    along = slope * (slope.T @ common / (slope.T @ slope))
    assert np.abs(common - along).max() < 1e-9
    # closed form: in the device part the share 1 − σ_0⁻²/Σσ⁻² of it is left
    share = 1 - SIGMA[0] ** -2 / np.sum(SIGMA**-2.0)
    assert device.T @ device == pytest.approx(1e-6 * np.sum(MOMENT**2) * SIGMA[0] ** -2 * share, rel=1e-12)


def test_instruments_zeros_do_not_matter() -> None:
    at = modes(known=np.ones((3, 9), dtype=bool), standard_uncertainty_ratio=SIGMA)
    device, common = at.split(np.array([0.3, -0.2, 0.1])[:, None, None] * np.ones((3, 9, 1)))
    assert np.abs(device).max() < 1e-8
    assert np.abs(common).max() < 1e-8


def test_shares_add_up_to_one() -> None:
    assert sum(SHARES.values()) == pytest.approx(1.0, abs=1e-12)
    assert set(SHARES) == set(INDEPENDENT)
    assert set(WITH_FIRST_PLACE) - set(SHARES) == {"first-place"}


def test_gain_and_limit_of_one_candidate_are_a_t_test() -> None:
    """One free candidate: gain (ν₀+ν) ln((ν₀s²+Q₀)/(ν₀s²+Q₁)), limit by Student's t with its whole rate, two-sided."""
    from scipy.stats import t as student

    rng = np.random.default_rng(2)
    known = np.ones((1, 9), dtype=bool)
    at = modes(known=known, standard_uncertainty_ratio=np.array([1e-4]))
    drift = np.arange(9.0)[None, :, None] / 8
    read = 1e-3 * MOMENT[None] + 1e-4 * rng.standard_normal((1, 9)) + 3e-4 * drift[:, :, 0]
    block = Block("drift", "free", False, 0, 1, None, None, None, 1)
    space = Space(at=at, table=read, x=MOMENT, columns=drift, blocks=[block])
    found = compare(space, common_variance=0.0, false_alarm_probability=0.03)
    design = np.stack([np.ones(9), MOMENT], axis=1)
    y = read[0] / 1e-4
    q0 = np.linalg.lstsq(design, y, rcond=None)[1][0]
    q1 = np.linalg.lstsq(np.column_stack([design, drift[0, :, 0]]), y, rcond=None)[1][0]
    total = 24 + 7
    assert found.gain[0] == pytest.approx(total * np.log((24 + q0) / (24 + q1)), rel=1e-9)
    quantile = student.isf(0.03 / 2 / max(INDEPENDENT["drift"], 1.0), total - 1)
    assert found.limit[0] == pytest.approx(total * np.log1p(quantile**2 / (total - 1)), rel=1e-9)


def test_an_allowed_candidate_gains_no_more() -> None:
    rng = np.random.default_rng(3)
    at = modes(known=np.ones((2, 9), dtype=bool), standard_uncertainty_ratio=SIGMA[:2])
    columns = np.stack([np.eye(9)[4], np.arange(9.0) / 8], axis=1)[None].repeat(2, axis=0)
    read = 1e-3 * MOMENT + 1e-4 * rng.standard_normal((2, 9))
    read[:, 4] += 5e-3
    blocks = [
        Block("one-move", "free", False, 0, 1, None, None, None, 1),
        Block("drift", "free", False, 1, 2, None, None, None, 1),
    ]
    space = Space(at=at, table=read, x=MOMENT, columns=columns, blocks=blocks)
    before = compare(space, common_variance=1e-9, false_alarm_probability=0.03)
    assert int(np.argmax(before.rank)) == 0
    space.allow(0)
    after = compare(space, common_variance=1e-9, false_alarm_probability=0.03)
    assert after.gain[0] == -np.inf
    assert not after.alarm
