"""Ruled bodies between two stations, many at once: closed forms, and the same alone as in company."""

import numpy as np
import pytest

from engine.geometry.contour import Contour
from engine.geometry.ruled import Integrals, Ruled, RuledStack, SectionLines


def box(x_m, breadth=(4.0, 4.0), low=(0.0, 0.0), high=3.0):
    """A body of two rectangles standing on ``low``, aft and forward."""
    ends = [
        Contour.from_points(np.array([[b / 2, z], [b / 2, high], [-b / 2, high], [-b / 2, z]], float))
        for b, z in zip(breadth, low, strict=True)
    ]
    link = Ruled.between((ends[0],), (ends[1],), x_m=np.array(x_m, float))
    assert link is not None
    return link


def integrals(stack, lines, body, most=99):
    body = np.array(body)
    sums, extent = stack.integrals(lines, body=body, most_breaks=np.full(len(body), most))
    return Integrals(*sums), extent


def test_a_wedge_of_water_in_a_box():
    # Closed form: water from x = 2 to 8 under a plane that falls by 1 in 2, deepest 3 at x = 2: half of 6 x 3 x 4, its
    # centre a third along; the line is 4 wide, ∫x dx = (8² - 2²)/2, bottom and two sides in the skin, no end faces.
    stack = RuledStack.of([box([0, 1]), box([2, 10])])
    lines = SectionLines(np.array([[0.0, 1.0]]), np.array([0.5]), np.array([4.0]))
    found, extent = integrals(stack, lines, [1])
    assert found.volume[0] == pytest.approx(36, rel=1e-14)
    assert found.volume_x[0] == pytest.approx(36 * 4, rel=1e-14)
    assert found.line[0] == pytest.approx(4 * 6, rel=1e-14)
    assert found.line_x[0] == pytest.approx(4 * 30, rel=1e-14)
    assert found.line_ll[0] == pytest.approx(6 * 4**3 / 12, rel=1e-14)
    assert found.skin[0] == pytest.approx(4 * 6 + 2 * 9, rel=1e-14)
    assert extent[0].tolist() == [[8, -2, 0], [8, 2, 0]]  # rulings meet the water at the keel's end alone


def test_bodies_in_company_answer_as_they_do_alone():
    # Bodies that part into one, three and more intervals, dry and wholly immersed ones, in an order that is not theirs.
    rng = np.random.default_rng(4)
    bodies = [box([x, x + 2], breadth=rng.uniform(1, 5, 2), low=rng.uniform(-1, 2, 2)) for x in range(7)]
    stack = RuledStack.of(bodies)
    body = rng.permutation(np.repeat(np.arange(7), 30))
    turn = rng.uniform(-3, 3, len(body))
    lines = SectionLines(
        np.column_stack([np.sin(turn), np.cos(turn)]), rng.normal(size=len(body)), rng.normal(size=len(body)) * 3
    )
    together, extents = stack.integrals(lines, body=body, most_breaks=np.full(len(body), 3))
    for k, number in enumerate(body):
        alone, extent = RuledStack.of([bodies[number]]).integrals(
            lines.take(slice(k, k + 1)), body=np.zeros(1, dtype=int), most_breaks=np.array([3])
        )
        np.testing.assert_allclose(together[:, k], alone[:, 0], rtol=1e-12, atol=1e-11)
        np.testing.assert_allclose(extents[k], extent[0], rtol=1e-12)
