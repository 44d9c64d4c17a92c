"""Deviations and their uncertainties by hand."""

import math

import numpy as np
import pytest

from engine.errors import InputError
from engine.lightship.deviation import Lengths, deviation, deviation_uncertainty
from engine.lightship.particulars import Lightship, Spread

LENGTHS = Lengths(length_bp_m=60.0, load_line_length_m=58.0)


def test_deviations_are_derived_less_reference():
    off = deviation(
        derived=Lightship(1030.0, 29.4, 0.05, 5.1), reference=Lightship(1000.0, 30.0, 0.02, 5.0), lengths=LENGTHS
    )
    assert off.mass_t == 30.0
    assert off.mass_percent == pytest.approx(3.0)  # of 1000 t
    assert off.x_m == pytest.approx(-0.6)
    assert off.x_over_length_bp_percent == pytest.approx(-1.0)  # of 60 m
    assert off.x_over_load_line_length_percent == pytest.approx(-60 / 58)
    assert off.y_m == pytest.approx(0.03)
    assert off.z_m == pytest.approx(0.1)
    assert off.z_percent == pytest.approx(2.0)  # of 5 m


def test_what_is_not_stated_is_absent():
    off = deviation(derived=Lightship(1030.0, 29.4), reference=Lightship(1000.0, 30.0, 0.0, 5.0), lengths=Lengths(60.0))
    assert (off.y_m, off.z_m, off.z_percent, off.x_over_load_line_length_percent) == (None, None, None, None)


def test_a_vcg_on_the_base_line_has_no_percentage():
    off = deviation(derived=Lightship(1.0, 0.0, 0.0, 0.1), reference=Lightship(1.0, 0.0, 0.0, 0.0), lengths=LENGTHS)
    assert off.z_m == pytest.approx(0.1)
    assert off.z_percent is None


def test_uncertainty_of_one_side_alone_scales_to_percent():
    u = deviation_uncertainty(
        derived=Lightship(1030.0, 29.4, 0.0, 5.1, Spread(4.0, 0.03, 0.01, 0.02)),
        reference=Lightship(1000.0, 30.0, 0.0, 5.0),
        lengths=LENGTHS,
    )
    assert u is not None
    assert u.mass_percent == pytest.approx(0.4)
    assert u.x_over_length_bp_percent == pytest.approx(0.05)
    assert u.z_percent == pytest.approx(0.4)
    assert u.y_m == 0.01


def test_no_stated_uncertainty_gives_none():
    assert deviation_uncertainty(derived=Lightship(1.0, 0.0), reference=Lightship(1.0, 0.0), lengths=LENGTHS) is None


def test_uncertainty_of_both_against_drawn_values():
    """Standard deviation of 200,000 drawn pairs; its own error is 1/√(2n) = 0.16 %, the bound 1 %."""
    derived = Lightship(1100.0, 29.0, 0.0, 5.5, Spread(8.0, 0.05, 0.01, 0.03))
    reference = Lightship(1000.0, 30.0, 0.0, 5.0, Spread(6.0, 0.04, 0.02, 0.04))
    u = deviation_uncertainty(derived=derived, reference=reference, lengths=LENGTHS)
    assert u is not None
    draw = np.random.default_rng(7).standard_normal((8, 200_000))
    mass = 100 * ((1100 + 8 * draw[0]) / (1000 + 6 * draw[1]) - 1)
    height = 100 * ((5.5 + 0.03 * draw[2]) / (5 + 0.04 * draw[3]) - 1)
    x = (29 + 0.05 * draw[4] - 30 - 0.04 * draw[5]) / 0.58
    assert u.mass_percent == pytest.approx(float(mass.std()), rel=0.01)
    assert u.z_percent == pytest.approx(float(height.std()), rel=0.01)
    assert u.x_over_load_line_length_percent == pytest.approx(float(x.std()), rel=0.01)


@pytest.mark.parametrize(
    ("derived", "lengths", "field"),
    [
        (Lightship(0.0, 0.0), LENGTHS, "mass_t"),
        (Lightship(1.0, math.nan), LENGTHS, "x_m"),
        (Lightship(1.0, 0.0, spread=Spread(mass_t=-1.0)), LENGTHS, "standard_uncertainty/mass_t"),
        (Lightship(1.0, 0.0), Lengths(0.0), "length_bp_m"),
        (Lightship(1.0, 0.0), Lengths(60.0, -1.0), "load_line_length_m"),
    ],
)
def test_refusals(derived, lengths, field):
    with pytest.raises(InputError) as refused:
        deviation(derived=derived, reference=Lightship(1.0, 0.0), lengths=lengths)
    assert refused.value.field == field
