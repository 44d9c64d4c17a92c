"""Many bracketed roots at once."""

import numpy as np
import pytest

from engine.errors import NotDeterminedError
from engine.flotation.bracketed import bracketed_roots


def solve(functions, low, high, **more):
    ends = [[f(x) for f, x in zip(functions, xs, strict=True)] for xs in (low, high)]
    return bracketed_roots(
        lambda rows, x: np.array([functions[row](one) for row, one in zip(rows, x, strict=True)]),
        low=np.array(low),
        high=np.array(high),
        at_low=np.array(ends[0]),
        at_high=np.array(ends[1]),
        tolerance=1e-13,
        **more,
    )


def test_smooth_kinked_steep_and_jumping_functions():
    functions = [
        lambda x: x**3 - 2,
        lambda x: np.cos(x) - x,
        lambda x: 10 * (x - 0.3) if x < 0.3 else 0.01 * (x - 0.3),
        lambda x: np.expm1(30 * (x - 0.7)),
        lambda x: -1.0 if x < 0.123 else 2.0,
        lambda x: x - 0.25,
    ]
    roots = solve(functions, [1.0, 0.0, 0.0, 0.0, 0.0, 0.0], [2.0, 1.0, 1.0, 1.0, 1.0, 1.0])
    # 2^(1/3); the fixed point of the cosine (Dottie's number); the others as written
    np.testing.assert_allclose(roots, [2 ** (1 / 3), 0.7390851332151607, 0.3, 0.7, 0.123, 0.25], atol=1e-12)


def test_a_root_at_an_end_and_none_at_all():
    assert solve([lambda x: x], [0.0], [1.0])[0] == pytest.approx(0.0, abs=1e-13)
    assert solve([lambda x: x - 1], [0.0], [1.0])[0] == pytest.approx(1.0, abs=1e-13)
    assert solve([], [], []).shape == (0,)


def test_a_value_that_does_not_exist_inside():
    roots = solve([lambda x: x - 0.5 if x in (0.0, 1.0) else np.nan, lambda x: x - 0.2], [0.0, 0.0], [1.0, 1.0])
    assert np.isnan(roots[0])
    assert roots[1] == pytest.approx(0.2, abs=1e-13)


def test_what_never_closes_is_an_error():
    with pytest.raises(NotDeterminedError) as error:
        bracketed_roots(
            lambda rows, x: np.where(x < 1 / 3, -1.0, 1.0),
            low=np.array([0.0]),
            high=np.array([1e300]),
            at_low=np.array([-1.0]),
            at_high=np.array([1.0]),
            tolerance=1e-300,
        )
    assert error.value.code == "root-not-converged"
