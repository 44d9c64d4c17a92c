"""The budget: closed forms, groups, what would halve an uncertainty."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.uncertainty import Input, Output, coverage_factor, propagate


def source(name, u, *, group=None, freedom=math.inf, category="c"):
    return Input(
        name=name,
        value=1.0,
        standard_uncertainty=u,
        unit="m",
        category=category,
        group=group,
        degrees_of_freedom=freedom,
    )


def one(row, inputs, **options):
    (result,) = propagate(jacobian=[row], inputs=inputs, outputs=[Output("y", "t")], **options).outputs
    return result


def test_lone_inputs_add_in_squares_and_a_group_adds_with_signs():
    # closed form: |3| and |4| give 5; fully correlated 3 + 4 = 7 and 3 − 4 = −1
    pair = [source("a", 3.0), source("b", 4.0)]
    assert one([1, 1], pair).standard_uncertainty == pytest.approx(5.0, rel=1e-15)
    grouped = [source("a", 3.0, group="g"), source("b", 4.0, group="g")]
    assert one([1, 1], grouped).standard_uncertainty == pytest.approx(7.0, rel=1e-15)
    difference = one([1, -1], grouped)
    assert difference.standard_uncertainty == pytest.approx(1.0, rel=1e-15)
    assert [(r.name, r.value, r.input_count) for r in difference.rows] == [("g", pytest.approx(-1.0), 2)]


def test_rows_hold_signed_contributions_shares_and_the_results_unit():
    result = one([-2, 1], [source("a", 2.0, category="weights"), source("b", 3.0, category="arms")])
    assert [(r.name, r.category, r.value, r.unit) for r in result.rows] == [
        ("a", "weights", -4.0, "t"),
        ("b", "arms", 3.0, "t"),
    ]
    assert [r.share_percent for r in result.rows] == pytest.approx([64, 36], rel=1e-14)  # 16/25, 9/25
    assert result.dominating is result.rows[0]


def test_a_lone_input_named_like_a_group_stays_apart():
    result = one([1, 1], [source("g", 3.0), source("a", 4.0, group="g")])
    assert result.standard_uncertainty == pytest.approx(5.0, rel=1e-15)
    assert len(result.rows) == 2


@given(data=st.data())
@settings(derandomize=True, deadline=None, max_examples=40)
def test_covariance_is_that_of_the_full_matrix(data):
    n, m = data.draw(st.integers(1, 12)), data.draw(st.integers(1, 4))
    rng = np.random.default_rng(data.draw(st.integers(0, 10**6)))
    groups = data.draw(st.lists(st.sampled_from([None, "g", "h"]), min_size=n, max_size=n))
    u, jacobian = rng.uniform(0, 2, n), rng.normal(size=(m, n))
    budget = propagate(
        jacobian=jacobian,
        inputs=[source(str(i), u[i], group=groups[i]) for i in range(n)],
        outputs=[Output(str(i), "m") for i in range(m)],
    )
    same = np.array(
        [[i == j or (a is not None and a == b) for j, b in enumerate(groups)] for i, a in enumerate(groups)]
    )
    full = jacobian @ (np.outer(u, u) * same) @ jacobian.T
    assert np.allclose(budget.covariance, full, rtol=1e-12, atol=1e-13)
    for i, output in enumerate(budget.outputs):
        assert output.standard_uncertainty == pytest.approx(math.sqrt(max(full[i, i], 0.0)), rel=1e-11, abs=1e-12)
        assert sum(r.share_percent for r in output.rows) == pytest.approx(100, rel=1e-12)


@given(u=st.lists(st.floats(0.01, 10), min_size=1, max_size=8))
@settings(derandomize=True, deadline=None, max_examples=60)
def test_dividing_the_named_rows_halves_the_uncertainty_and_fewer_cannot(u):
    inputs = [source(str(i), v) for i, v in enumerate(u)]
    result = one([1] * len(u), inputs)
    halving = result.what_would_halve_it
    factor = dict.fromkeys(halving.names, halving.factor_ratio)
    after = one([1] * len(u), [source(i.name, i.standard_uncertainty / factor.get(i.name, 1.0)) for i in inputs])
    assert after.standard_uncertainty == pytest.approx(result.standard_uncertainty / 2, rel=1e-6)
    assert halving.factor_ratio > 1
    assert halving.alone == (len(halving.names) == 1)
    without = halving.names[:-1]  # even with one row fewer gone altogether
    rest = one([1] * len(u), [source(i.name, 0.0 if i.name in without else i.standard_uncertainty) for i in inputs])
    assert rest.standard_uncertainty >= result.standard_uncertainty / 2 * (1 - 1e-9)


def test_halving_closed_forms():
    # 9 + 1: variance 10 → 2.5, 9/f² = 1.5, f = √6 alone; 4 equal: rest 3/4, 2/4, then 1/4 exactly: all four by 2
    alone = one([1, 1], [source("a", 3.0), source("b", 1.0)]).what_would_halve_it
    assert alone == (("a",), pytest.approx(math.sqrt(6), rel=1e-14), True)
    four = one([1] * 4, [source(n, 1.0) for n in "abcd"]).what_would_halve_it
    assert four == (("a", "b", "c", "d"), pytest.approx(2.0, rel=1e-14), False)


def test_expanded_uncertainty_uses_students_factor_and_a_group_keeps_the_smallest_freedom():
    result = one([1], [source("a", 2.0, freedom=7)])
    assert result.degrees_of_freedom == pytest.approx(7, rel=1e-14)
    assert result.coverage_factor == coverage_factor(7)
    assert result.expanded_uncertainty == pytest.approx(2 * 2.3646, abs=1e-4)  # Student table, 7, 95 %
    grouped = [source("a", 1.0, group="g", freedom=20), source("b", 1.0, group="g", freedom=5), source("c", 0.0)]
    assert one([1, 1, 1], grouped, coverage_percent=99).degrees_of_freedom == pytest.approx(5, rel=1e-14)
    assert math.isinf(one([1], [source("a", 2.0)]).degrees_of_freedom)


@pytest.mark.parametrize("scale", [1e-200, 1e-90, 1e90])
def test_degrees_of_freedom_do_not_depend_on_the_unit(scale):
    result = one([scale] * 2, [source("a", 4.0, freedom=7), source("b", 3.0, freedom=4)])
    assert result.degrees_of_freedom == pytest.approx(25**2 / (16**2 / 7 + 9**2 / 4), rel=1e-12)  # closed form


def test_nothing_uncertain():
    result = one([1, 5], [source("a", 0.0), source("b", 0.0, freedom=3)])
    assert (result.standard_uncertainty, result.expanded_uncertainty) == (0.0, 0.0)
    assert math.isinf(result.degrees_of_freedom)
    assert result.dominating is None
    assert result.what_would_halve_it is None
    assert [r.share_percent for r in result.rows] == [0.0, 0.0]


def test_no_input_at_all():
    (result,) = propagate(jacobian=np.zeros((1, 0)), inputs=[], outputs=[Output("y", "m")]).outputs
    assert result.standard_uncertainty == 0
    assert result.rows == ()


def test_many_inputs_without_the_full_matrix():
    # 100,000 inputs: C would hold 10¹⁰ numbers. Closed form: √n for lone ones, n for one group
    n = 100_000
    lone = one(np.ones(n), [source("a", 1.0)] * n)
    assert lone.standard_uncertainty == pytest.approx(math.sqrt(n), rel=1e-12)
    assert one(np.ones(n), [source("a", 1.0, group="g")] * n).standard_uncertainty == pytest.approx(n, rel=1e-12)


@pytest.mark.parametrize(
    ("jacobian", "code"), [([[1, 2]], "wrong-shape"), ([[1], [1]], "wrong-shape"), ([[math.nan]], "not-finite")]
)
def test_jacobians_that_do_not_fit(jacobian, code):
    with pytest.raises(InputError) as caught:
        propagate(jacobian=jacobian, inputs=[source("a", 1.0)], outputs=[Output("y", "m")])
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"u": -1.0}, "negative-uncertainty"),
        ({"u": math.inf}, "not-finite"),
        ({"u": 1.0, "freedom": 0.0}, "not-positive"),
        ({"u": 1.0, "freedom": math.nan}, "not-positive"),
    ],
)
def test_bad_inputs(change, code):
    with pytest.raises(InputError) as caught:
        source("a", **change)
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("freedom", "percent", "code"), [(0.0, 95, "not-positive"), (5.0, 100, "out-of-range"), (5.0, 0, "out-of-range")]
)
def test_bad_coverage(freedom, percent, code):
    with pytest.raises(InputError) as caught:
        coverage_factor(freedom, coverage_percent=percent)
    assert caught.value.code == code


def test_round_off_does_not_choose_between_two_alike():
    alike = [
        Input(name=name, value=1.0, standard_uncertainty=size, unit="m", category=name)
        for name, size in (("port", 0.01), ("starboard", 0.01 * (1 + 4e-16)))
    ]
    budget = propagate(jacobian=[[1.0, 1.0]], inputs=alike, outputs=[Output("sum", "m")]).outputs[0]
    assert [row.name for row in budget.rows] == ["port", "starboard"]
    assert [row.name for row in budget.by_category.rows] == ["port", "starboard"]
