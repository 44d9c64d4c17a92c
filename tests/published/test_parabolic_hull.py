"""The parabolic hull y = ±(B/2)(1 - (2x/L)²)(1 - (z/T)²) from 21 x 21 points, z down from the water line.

Closed forms of the smooth hull: V = 4LBT/9, KB = 5T/8, A = 2LB/3, It = 4LB³/105, Il = BL³/30. Straight lines
between n + 1 equal waterlines take T/(6n²) LB·(2/3) from its volume: the trapezoidal rule on 1 - (z/T)². The wetted
area 1487.906310496 m² is a numerical integral of the smooth skin.
"""

import numpy as np
import pytest

from engine.geometry import OffsetStation, Planes, solid_from_offsets

LENGTH, BREADTH, DRAFT, WETTED_M2 = 100.0, 10.0, 6.25, 1487.906310496
VOLUME = 4 * LENGTH * BREADTH * DRAFT / 9
TRANSVERSE, LONGITUDINAL = 4 * LENGTH * BREADTH**3 / 105, BREADTH * LENGTH**3 / 30


def stations():
    depth = np.linspace(1.0, 0.0, 21)
    height = np.linspace(0.0, DRAFT, 21)
    for x in np.linspace(-LENGTH / 2, LENGTH / 2, 21):
        breadth = BREADTH / 2 * (1 - (2 * x / LENGTH) ** 2) * (1 - depth**2)
        yield OffsetStation(x_m=x, points_m=np.column_stack([breadth, height]))


@pytest.fixture(scope="module", params=["straight", "curve"])
def lines(request):
    return request.param


@pytest.fixture(scope="module")
def result(lines):
    return solid_from_offsets(list(stations()), between_points=lines)


@pytest.fixture(scope="module")
def cuts(result):
    return result.solid.cut(Planes.from_waterplanes(draft_m=[DRAFT, 4.0], length_bp_m=LENGTH))


def test_fair_points_raise_no_findings(result):
    assert result.findings == ()


def test_straight_lines_are_the_chord_polygon(lines, cuts):
    if lines == "curve":
        tolerance, ratio, kb = 1e-5, 1.0, 5 * DRAFT / 8
    else:
        # n = 20 chords: ∫(1 - ζ²) loses 1/(6n²) of T; the moment ∫ζ(1 - ζ²) dζ = 1/4 below the water line becomes
        # the sum over chords Σ h[ζ₀g₀ + ζ₁g₁ + (ζ₀g₁ + ζ₁g₀)/2]/3.
        zeta = np.linspace(0, 1, 21)
        g = 1 - zeta**2
        a, b, ga, gb = zeta[:-1], zeta[1:], g[:-1], g[1:]
        area = 2 / 3 - 1 / (6 * 400)
        moment = np.sum((a * ga + b * gb + 0.5 * (a * gb + b * ga)) / 3) / 20
        tolerance, ratio, kb = 1e-12, 1.5 * area, DRAFT * (1 - moment / area)
        assert ratio == pytest.approx(1 - 6.25e-4, abs=1e-15)
    assert cuts.volume_m3[0] == pytest.approx(VOLUME * ratio, rel=tolerance)
    assert cuts.centroid_m[0, 2] == pytest.approx(kb, rel=tolerance)
    assert abs(cuts.centroid_m[0, :2]).max() < 1e-11


def test_waterplane(cuts):
    assert cuts.waterplane_area_m2[0] == pytest.approx(2 * LENGTH * BREADTH / 3, rel=1e-12)
    assert cuts.waterplane_tensor_m4[0, 1, 1] == pytest.approx(TRANSVERSE, rel=2e-4)
    assert cuts.waterplane_tensor_m4[0, 0, 0] == pytest.approx(LONGITUDINAL, rel=2e-4)
    assert cuts.waterplane_extent_m[0].ravel() == pytest.approx([-50, -5, 6.25, 50, 5, 6.25])


def test_lower_draft(lines, cuts):
    # Closed forms at s = d/T = 0.64: V = (2/3)LBT(s² - s³/3), It = (4/105)LB³f³ with f = 2s - s².
    s = 4.0 / DRAFT
    tolerance = 1e-5 if lines == "curve" else 2e-3
    assert cuts.volume_m3[1] == pytest.approx(2 / 3 * LENGTH * BREADTH * DRAFT * (s**2 - s**3 / 3), rel=tolerance)
    # Simpson along x on y³, of sixth degree: -5.7e-5; the straight lines of the section lose 1.4e-3 more.
    inertia = TRANSVERSE * (2 * s - s * s) ** 3
    assert cuts.waterplane_tensor_m4[1, 1, 1] == pytest.approx(inertia, rel=2e-4 if lines == "curve" else 2e-3)


def test_wetted_area(lines, cuts):
    assert cuts.wetted_area_m2[0] == pytest.approx(WETTED_M2, rel=1e-5 if lines == "curve" else 1e-4)
