"""The geometric fit against the centre the independent simulator floated.

The simulator floats a fine mesh, the fit the table of offsets: their LCB differ by 0.5 mm and their volumes by
3.3e-6, which bounds what can come back.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from engine.errors import NotDeterminedError
from engine.incline.geometric_fit import fit_geometry, less_zero
from engine.record.solve import solve
from fixtures.demo import demo_record
from service.schemas.record import StabilityTest

TRUTH = json.loads((Path(__file__).parents[3] / "fixtures/demo/truth.json").read_text())["as_inclined"]


@pytest.fixture(scope="module")
def inputs():
    record, _ = StabilityTest.model_validate_json(json.dumps(demo_record(hull="offsets"))).record()
    solved = solve(record)
    surveyed, inclined = solved.surveyed, solved.inclined
    at, normal = surveyed.afloat, surveyed.afloat.plane.normals
    lying = sum(one.mass_t * one.at(normal).centroid_m[0] for one in surveyed.liquids)
    return {
        "hull": surveyed.hull,
        "plane": at.plane,
        "density_t_per_m3": record.density_t_per_m3,
        "liquids": surveyed.liquids,
        "rigid_mass_t": at.displacement_t - sum(one.mass_t for one in surveyed.liquids),
        "moment_tm": at.displacement_t * at.buoyancy_m - lying,
        "moment_by_lever_t": at.displacement_t * normal[0],
        "shift_tm": solved.plateaus.shift_tm,
        "tangents": inclined.tangents,
        "lever_m": at.bm_transverse_m - inclined.regression.gm_fluid_m - at.free_surface_correction_m,
    }


def test_the_known_centre_comes_back_within_a_millimetre(inputs):
    fit = fit_geometry(**inputs)
    known = [TRUTH["lcg_m"], TRUTH["tcg_m"], TRUTH["vcg_m"]]
    assert fit.centre_m == pytest.approx(known, abs=1e-3)
    assert np.abs(fit.residual_ratio).max() < 2e-6  # noiseless readings, of the two geometries


def test_an_instruments_zero_comes_back(inputs):
    plain = fit_geometry(**inputs)
    off = inputs["tangents"] + np.array([[0.004], [0.0], [-0.002]])
    fit = fit_geometry(**{**inputs, "tangents": off})
    assert fit.zero_ratio - plain.zero_ratio == pytest.approx([0.004, 0.0, -0.002], abs=1e-12)
    assert fit.lever_m == pytest.approx(plain.lever_m, abs=1e-9)


def test_the_derivatives_by_the_tangents_are_those_of_two_fits(inputs):
    fit = fit_geometry(**inputs)
    step = np.zeros_like(inputs["tangents"])
    step[1, 3] = 1e-6
    moved = fit_geometry(**{**inputs, "tangents": inputs["tangents"] + step}).lever_m - fit.lever_m
    assert moved == pytest.approx(1e-6 * fit.lever_by_tangents()[1, 3], rel=1e-3)


def test_the_derivative_with_the_lever_is_that_of_two_fits(inputs):
    fit = fit_geometry(**inputs)
    nudged = {**inputs, "tangents": inputs["tangents"] + 1e-5 * fit.tangent_by_lever_per_m}
    assert fit_geometry(**nudged).lever_m - fit.lever_m == pytest.approx(1e-5, rel=1e-3)


def test_equal_readings_fix_nothing(inputs):
    still = {**inputs, "shift_tm": np.zeros_like(inputs["shift_tm"])}
    with pytest.raises(NotDeterminedError) as caught:
        fit_geometry(**still)
    assert caught.value.code == "geometric-fit-not-determined"


@pytest.mark.parametrize("wrong", [0.3, -20.0])
def test_a_reading_far_off_begins_the_fit_elsewhere_and_changes_only_what_it_weighs(inputs, wrong):
    # a reading of one instrument enters as any other: the fit of it equals the fit begun from the others' lever
    off = inputs["tangents"].copy()
    off[0, 4] += wrong
    fit = fit_geometry(**{**inputs, "tangents": off, "lever_m": inputs["lever_m"] + 0.02})
    again = fit_geometry(**{**inputs, "tangents": off, "lever_m": fit.lever_m})
    assert fit.lever_m == pytest.approx(again.lever_m, abs=1e-9)
    known = less_zero(np.broadcast_to(fit.tangent_by_lever_per_m, off.shape), np.isfinite(off))
    assert np.sum(known * fit.residual_ratio) == pytest.approx(0.0, abs=1e-9)  # the normal equation of least squares
