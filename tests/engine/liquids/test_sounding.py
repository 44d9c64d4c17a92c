"""Points along a sounding pipe: lengths of a 3-4-5 triangle and a plumb part."""

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.liquids.sounding import SoundingPipe
from tests.engine.liquids.tanks import normal

PIPE = SoundingPipe.through([[1.0, 0.0, 0.5], [1.0, 3.0, 4.5], [1.0, 3.0, 6.5]])  # 5 m inclined, 2 m plumb


def test_lengths_and_points_run_along_the_pipe():
    assert PIPE.length_m == 7.0
    np.testing.assert_allclose(PIPE.point_m([0, 2.5, 5, 6]), [[1, 0, 0.5], [1, 1.5, 2.5], [1, 3, 4.5], [1, 3, 5.5]])
    np.testing.assert_allclose(PIPE.sounding_from_ullage_m([7.0, 1.0, 0.0]), [0, 6, 7])


def test_a_plane_is_read_where_it_crosses():
    upright = np.array([[0.0, 0.0, 1.0]] * 4)
    found = PIPE.sounding_m(normals=upright, offsets_m=np.array([0.4, 2.5, 5.5, 6.6]))
    np.testing.assert_allclose(found, [np.nan, 2.5, 6.0, np.nan])
    n = normal(20, 0.02)
    at = PIPE.point_m([3.7])[0]
    assert PIPE.sounding_m(normals=n[None], offsets_m=np.array([at @ n]))[0] == pytest.approx(3.7, rel=1e-14)


def test_a_pipe_heeled_until_it_falls_gives_no_reading():
    # its inclined part rises 4 for 3 to port: it lies level where tan(heel) = −4/3
    level = -np.degrees(np.arctan(4 / 3))
    assert np.isfinite(PIPE.sounding_m(normals=normal(level + 0.1)[None], offsets_m=np.array([0.5]))).all()
    with pytest.raises(NotDeterminedError) as caught:
        PIPE.sounding_m(normals=normal(level - 0.1)[None], offsets_m=np.array([0.5]))
    assert caught.value.code == "pipe-not-rising"


def test_how_far_a_pipe_lies_outside_a_box():
    """By hand: PIPE reaches z = 4.5 at y = 3 and z = 2.5 at y = 1.5; above the box it is free."""
    low, high = [0.0, -1.0, 0.0], [2.0, 1.0, 2.5]
    assert PIPE.outside(np.array([low, high])) == (pytest.approx(0.5), pytest.approx([1.0, 1.5, 2.5]))
    assert PIPE.outside(np.array([low, [2.0, 1.5, 2.5]]))[0] == pytest.approx(0.0, abs=1e-15)
    assert PIPE.outside(np.array([[0.0, -1.0, 0.75], [2.0, 9.0, 9.0]])) == (0.25, pytest.approx([1.0, 0.0, 0.5]))
    assert PIPE.outside(np.array([low, [2.0, 1.0, 0.25]])) == (0.25, pytest.approx([1.0, 0.0, 0.5]))  # wholly above


@pytest.mark.parametrize(
    ("call", "code", "field"),
    [
        (lambda: SoundingPipe.through([[0, 0, 0]]), "too-few-points", "points_m"),
        (lambda: SoundingPipe.through([[0, 0, 0], [0, 0, 1], [0, 1, 1]]), "pipe-not-rising", "points_m/2"),
        (lambda: SoundingPipe.through([[0, 0], [0, 1]]), "wrong-shape", "points_m"),
        (lambda: SoundingPipe.through([[0, 0, 0], [0, 0, np.nan]]), "not-finite", "points_m"),
        (lambda: PIPE.point_m(7.1), "out-of-range", "sounding_m"),
        (lambda: PIPE.point_m(-0.1), "out-of-range", "sounding_m"),
        (lambda: PIPE.sounding_from_ullage_m(7.1), "out-of-range", "ullage_m"),
    ],
)
def test_what_is_no_pipe_or_beyond_it_is_refused(call, code, field):
    with pytest.raises(InputError) as caught:
        call()
    assert (caught.value.code, caught.value.field) == (code, field)
