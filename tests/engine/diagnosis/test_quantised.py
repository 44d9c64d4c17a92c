"""Coarse readings."""

import numpy as np
import pytest

from engine.diagnosis.incline import diagnose
from engine.diagnosis.quantised import step_of
from engine.incline.instruments import Pendulum, heel_tangents

MOMENT = np.array([0.0, 20, 41, 21, 0, -19, -40, -21, 0])


def test_the_coarsest_step_is_found() -> None:
    values = np.array([0.5, 0.535, 0.57, 0.540, 0.5, 0.465, np.nan])
    assert step_of(values, unit="m") == pytest.approx(0.005)  # differences and values: multiples of 5 mm, not of 10
    assert step_of(values + 0.0001, unit="m") == 0.0
    assert step_of(np.array([0.3175, 0.3302, 0.3429, 0.3175, 0.30480]), unit="m") == pytest.approx(0.0254 / 2)
    assert step_of(np.array([1.0, 1.0, 1.0, 1.0]), unit="m") == 0.0
    # read to 1 mm, every change 86 mm or twice that: 2 mm fits by chance, one change says nothing of a step
    assert step_of(np.array([0.4, 0.314, 0.228, 0.314, 0.4, 0.486, 0.572, 0.486, 0.4]), unit="m") == 0.0


def test_coarse_readings_are_named_and_finer_ones_are_not() -> None:
    """Rounding to q is uncertain by q/√12 (GUM F.2.2.1): 5 mm is 1.44 mm against 0.5 mm stated, 1 mm is 0.29 mm."""
    rng = np.random.default_rng(4)
    fine = [3.0 * 0.001 * MOMENT + 0.0005 * rng.standard_normal(9) for _ in range(3)]
    for step, expected in ((0.005, ("quantised",)), (0.001, ())):
        pendulums = [Pendulum(str(i), 3.0, "starboard", step * np.rint(values / step)) for i, values in enumerate(fine)]
        found = diagnose(
            moment_tm=MOMENT,
            tangents=list(heel_tangents(pendulums, heel_at_zero_deg=0.0, reading_count=9)),
            reading_standard_uncertainty_ratio=np.full(3, 0.0005 / 3),
            instruments=pendulums,
        )
        assert tuple({one.trace for one in found}) == expected
        assert all(f"{step:.6g} m" in one.evidence for one in found)
