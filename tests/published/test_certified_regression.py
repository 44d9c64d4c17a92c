"""Regression and uncertainty against certified and published figures; sources stand in fixtures/published."""

import json
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from engine.incline.regression import regress
from engine.uncertainty import (
    Input,
    Output,
    coverage_factor,
    effective_degrees_of_freedom,
    propagate,
    slope_scatter,
    studentised,
)

PUBLISHED = Path(__file__).parents[2] / "fixtures" / "published"


def read_json(name):
    return json.loads((PUBLISHED / name).read_text(encoding="utf-8"))


def digits(printed):
    """Half a unit of the last printed digit."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def norris():
    lines = (PUBLISHED / "nist_norris.dat").read_text(encoding="ascii").splitlines()
    certified = {}
    for line in lines[30:46]:
        words = line.split()
        if words[:1] in (["B0"], ["B1"]):
            certified[words[0]] = (float(words[1]), float(words[2]))
        elif words[:2] == ["Standard", "Deviation"] and len(words) == 3:
            certified["s"] = float(words[2])
        elif words[:1] == ["R-Squared"]:
            certified["r2"] = float(words[1])
        elif words[:1] == ["Residual"] and len(words) == 4:
            certified["ss"] = float(words[2])
    y, x = np.array([line.split() for line in lines[60:96]], dtype=np.float64).T
    return x, y, certified


def fit(x, y):
    """Regress y on x as if tangents on moments."""
    return regress(moment_tm=np.asarray(x, float), tangents=[np.asarray(y, float)], displacement_t=1.0)


def test_norris_to_the_certified_digits():
    # NIST StRD Norris certifies 15 digits; 36 points of up to 1e3 in double precision hold 12 or 13 of them
    x, y, certified = norris()
    assert len(x) == 36
    result = fit(x, y)
    assert result.slope_per_tm == pytest.approx(certified["B1"][0], rel=1e-13)
    assert result.intercept_ratio == pytest.approx(certified["B0"][0], rel=1e-11)
    assert result.r_squared_ratio == pytest.approx(certified["r2"], rel=1e-13)
    assert result.lines[0].slope_per_tm == pytest.approx(certified["B1"][0], rel=1e-13)
    assert result.lines[0].intercept_ratio == pytest.approx(certified["B0"][0], rel=1e-11)
    assert result.lines[0].residual_standard_deviation_ratio == pytest.approx(certified["s"], rel=1e-12)
    assert np.sum(result.residual_ratio**2) == pytest.approx(certified["ss"], rel=1e-12)


def test_norris_standard_deviation_of_the_slope():
    x, y, certified = norris()
    scatter = slope_scatter(residual_ratio=fit(x, y).residual_ratio, moment_tm=x)
    assert scatter.slope_standard_uncertainty_per_tm == pytest.approx(certified["B1"][1], rel=1e-12)
    assert scatter.degrees_of_freedom == pytest.approx(34, rel=1e-12)
    assert scatter.common_standard_deviation_ratio is None


@pytest.mark.parametrize("name", ["NoInt1", "NoInt2"])
def test_no_intercept_sets_as_mirrored_data(name):
    # The engine always fits intercepts. A set and its mirror image (-x, -y) together have intercept 0 and twice
    # the sums of the no-intercept fit, so slope and residual sum still meet the certified ones.
    data = read_json("nist_noint.json")[name]
    x, y = np.array(data["x"], float), np.array(data["y"], float)
    sxx = sum(Fraction(v) ** 2 for v in data["x"])
    sxy = sum(Fraction(a) * b for a, b in zip(data["x"], data["y"], strict=True))
    exact = sum((Fraction(b) - sxy / sxx * a) ** 2 for a, b in zip(data["x"], data["y"], strict=True))
    assert float(exact) == pytest.approx(
        float(data["residual_sum_of_squares"]), rel=2e-14
    )  # the data are those certified

    result = fit(np.concatenate([x, -x]), np.concatenate([y, -y]))
    freedom = data["residual_degrees_of_freedom"]
    assert result.slope_per_tm == pytest.approx(float(data["slope"]), rel=1e-14)
    assert result.intercept_ratio == pytest.approx(0.0, abs=1e-13)
    half = 0.5 * float(np.sum(result.residual_ratio**2))
    assert half == pytest.approx(float(data["residual_sum_of_squares"]), rel=1e-12)
    assert math.sqrt(half / freedom) == pytest.approx(float(data["residual_standard_deviation"]), rel=1e-12)
    # twice the sum of squares on twice Sxx, (2n − 2) = twice the degrees of freedom: u(b) smaller by √2
    scatter = slope_scatter(residual_ratio=result.residual_ratio, moment_tm=np.concatenate([x, -x]))
    assert scatter.degrees_of_freedom == pytest.approx(2 * freedom, rel=1e-12)
    assert scatter.slope_standard_uncertainty_per_tm * math.sqrt(2) == pytest.approx(
        float(data["slope_standard_deviation"]), rel=1e-12
    )


def test_gum_h3_thermometer_to_the_printed_digits():
    data = read_json("gum_h3.json")
    printed = data["printed"]
    x = np.array(data["reading_c"]) - data["reference_temperature_c"]
    result = fit(x, data["correction_c"])
    scatter = slope_scatter(residual_ratio=result.residual_ratio, moment_tm=x)
    u_slope = scatter.slope_standard_uncertainty_per_tm
    # the line by its value at the mean, which is independent of the slope: intercept and value at 30 °C follow
    # from one Jacobian, so their uncertainties and covariance test the propagation too
    s = result.lines[0].residual_standard_deviation_ratio
    inputs = [
        Input(name=name, value=value, standard_uncertainty=u, unit="°C", category="scatter", degrees_of_freedom=9)
        for name, value, u in (("mean", np.mean(data["correction_c"]), s / math.sqrt(11)), ("slope", 0.0, u_slope))
    ]
    jacobian = np.array([[1.0, -x.mean()], [0.0, 1.0], [1.0, 10 - x.mean()]])
    outputs = [Output("intercept", "°C"), Output("slope", "1"), Output("at 30", "°C")]
    budget = propagate(jacobian=jacobian, inputs=inputs, outputs=outputs)
    u = [output.standard_uncertainty for output in budget.outputs]
    found = {
        "intercept_c": result.intercept_ratio,
        "intercept_standard_uncertainty_c": u[0],
        "slope": result.slope_per_tm,
        "slope_standard_uncertainty": u[1],
        "correlation": budget.covariance[0, 1] / (u[0] * u[1]),
        "residual_standard_deviation_c": s,
        "correction_at_30_c": result.intercept_ratio + 10 * result.slope_per_tm,
        "correction_at_30_standard_uncertainty_c": u[2],
        "degrees_of_freedom": scatter.degrees_of_freedom,
    }
    assert found.keys() == printed.keys()
    for name, value in found.items():
        assert value == pytest.approx(float(printed[name]), abs=digits(printed[name])), name


def test_gum_h1_end_gauge():
    data = read_json("gum_h1.json")
    printed = data["printed"]
    inputs, row = [], []
    for item in data["inputs"]:
        u = item.get("standard_uncertainty", item.get("half_width_of_uniform", 0.0) / math.sqrt(3))
        inputs.append(
            Input(
                name=item["name"],
                value=0.0,
                standard_uncertainty=u,
                unit=item["unit"],
                category="end gauge",
                degrees_of_freedom=item["degrees_of_freedom"],
            )
        )
        row.append(item["sensitivity"])
    difference = [0, 1, 1, 1, 0, 0]
    outputs = [Output("length", "nm"), Output("difference", "nm")]
    length, d = propagate(jacobian=[row, difference], inputs=inputs, outputs=outputs, coverage_percent=99).outputs
    part = {r.name: abs(r.value) for r in length.rows}
    for value, name in (
        (length.standard_uncertainty, "combined_standard_uncertainty_nm"),
        (d.standard_uncertainty, "difference_standard_uncertainty_nm"),
        # the Guide puts its rounded 9.7 nm into the numerator of Welch–Satterthwaite, to the fourth power
        (d.degrees_of_freedom * (9.7 / d.standard_uncertainty) ** 4, "difference_degrees_of_freedom"),
        (part["difference in expansion"], "expansion_contribution_nm"),
        (part["difference in temperature"], "temperature_contribution_nm"),
    ):
        assert value == pytest.approx(float(printed[name]), abs=digits(printed[name])), name
    # the Guide works from contributions rounded to 0.1 nm: one unit of its last digit
    assert length.degrees_of_freedom == pytest.approx(float(printed["degrees_of_freedom"]), abs=0.1)
    # it rounds them down to 16 for k (G.4.1, note) and multiplies by 32 nm; the engine rounds neither
    k = coverage_factor(math.floor(length.degrees_of_freedom), coverage_percent=99)
    assert k == pytest.approx(float(printed["coverage_factor_99"]), abs=0.005)
    assert k * round(length.standard_uncertainty) == pytest.approx(
        float(printed["expanded_uncertainty_99_nm"]), abs=0.5
    )
    assert length.dominating is not None
    assert length.dominating.name == "standard"


def test_welch_satterthwaite():
    # closed form: u_c² = 29e-6, ν = 29²/(16²/7 + 9²/4) with u² in units of 1e-6
    inputs = [
        Input(name=str(u), value=0, standard_uncertainty=u, unit="m", category="c", degrees_of_freedom=nu)
        for u, nu in ((0.004, 7), (0.003, 4), (0.002, math.inf))
    ]
    (result,) = propagate(jacobian=[[1, 1, 1]], inputs=inputs, outputs=[Output("y", "m")]).outputs
    assert result.standard_uncertainty == pytest.approx(0.005385164807, rel=1e-10)
    assert result.degrees_of_freedom == pytest.approx(29**2 / (16**2 / 7 + 9**2 / 4), rel=1e-14)
    assert result.degrees_of_freedom == pytest.approx(14.80075424, rel=1e-9)
    assert effective_degrees_of_freedom([0.004, 0.003], [7, 4]) < 11


@pytest.mark.parametrize(
    ("freedom", "t95", "t99"),
    [  # Student's t, two-sided: the standard table (JCGM 100:2008, table G.2, holds the same to two decimals)
        (2, 4.3027, 9.9248),
        (3, 3.1824, 5.8409),
        (4, 2.7764, 4.6041),
        (5, 2.5706, 4.0321),
        (6, 2.4469, 3.7074),
        (7, 2.3646, 3.4995),
        (8, 2.3060, 3.3554),
        (10, 2.2281, 3.1693),
        (12, 2.1788, 3.0545),
        (20, 2.0860, 2.8453),
        (30, 2.0423, 2.7500),
        (60, 2.0003, 2.6603),
        (math.inf, 1.9600, 2.5758),
    ],
)
def test_student_table(freedom, t95, t99):
    assert coverage_factor(freedom) == pytest.approx(t95, abs=0.5e-4)
    assert coverage_factor(freedom, coverage_percent=99) == pytest.approx(t99, abs=0.5e-4)


def test_norris_deleted_residuals_equal_refits_without_the_point():
    x, y, _ = norris()
    full = fit(x, y)
    leverage = 1 / 36 + (x - x.mean()) ** 2 / np.sum((x - x.mean()) ** 2)
    found = studentised(residual=full.residual_ratio[0], leverage=leverage, parameter_count=2)
    for i in range(36):
        keep = np.arange(36) != i
        rest = fit(x[keep], y[keep]).lines[0]
        off = y[i] - rest.intercept_ratio - rest.slope_per_tm * x[i]
        spread = np.sum((x[keep] - x[keep].mean()) ** 2)
        u = rest.residual_standard_deviation_ratio * math.sqrt(1 + 1 / 35 + (x[i] - x[keep].mean()) ** 2 / spread)
        assert found[i] == pytest.approx(off / u, rel=1e-8)
