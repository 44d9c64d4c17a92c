"""Water samples over HTTP: the same ship by hydrometer as by density, what the temperature does, what is refused."""

import copy

import pytest

from engine.liquids.density import fresh_water_density
from service.demo import demo_record
from service.resources import survey_only
from service.resources.waterline import example

GLASS = 25e-6  # cubical expansion of the glass, docs/methods/liquids.md
IN_AIR = {"kind": "density", "reference_temperature_c": 15, "apparent_in_air": True}
IN_VACUO = {"kind": "density", "reference_temperature_c": 20, "apparent_in_air": False}
RELATIVE = {"kind": "relative_density", "reference_temperature_c": 15, "water_temperature_c": 4}


def by_hydrometer(sample, marking, **stated):
    """The sample as that hydrometer would have shown it: the closed forms of docs/methods/liquids.md turned round."""
    shown = sample["density_t_per_m3"] - (0.0011 if marking.get("apparent_in_air") else 0.0)
    shown *= 1 + GLASS * (sample["temperature_c"] - marking["reference_temperature_c"])
    name = "reading_t_per_m3"
    if marking["kind"] == "relative_density":
        shown /= float(fresh_water_density(temperature_c=marking["water_temperature_c"]))
        name = "reading_ratio"
    read = {"value": shown, **stated} if stated else shown
    return {"hydrometer": {**marking, name: read}, "temperature_c": sample["temperature_c"]}


def answered(client, path, body):
    answer = client.post(path, json=body)
    assert answer.status_code == 200, answer.text
    return answer.json()


@pytest.fixture
def record():
    whole = demo_record()
    del whole["loading_conditions"], whole["stability"]
    return whole


def test_samples_by_hydrometer_give_the_lightship_of_the_same_densities(plain_http, record):
    """The demo's three samples read by three hydrometers; position, uncertainty and budget come out the same."""
    wanted = answered(plain_http, "/v1/stability-tests", record)
    densities = [one["density_t_per_m3"] for one in record["water"]["samples"]]
    assert wanted["waterline"]["sample_density_t_per_m3"] == densities
    read = copy.deepcopy(record)
    read["water"]["samples"] = [
        by_hydrometer(one, marking)
        for one, marking in zip(record["water"]["samples"], (IN_AIR, IN_VACUO, RELATIVE), strict=True)
    ]
    found = answered(plain_http, "/v1/stability-tests", read)
    assert found["waterline"]["sample_density_t_per_m3"] == pytest.approx(densities, rel=1e-14)
    for name in ("mass_t", "x_m", "y_m", "z_m"):
        assert found["lightship"][name] == pytest.approx(wanted["lightship"][name], rel=1e-10, abs=1e-10)
        spread = found["lightship"]["standard_uncertainty"][name]
        assert spread == pytest.approx(wanted["lightship"]["standard_uncertainty"][name], rel=1e-6)
    rows = [
        {(one["result"], one["name"]): one["value"] for one in answer["lightship"]["budget"]}
        for answer in (found, wanted)
    ]
    assert rows[0] == pytest.approx(rows[1], rel=1e-5, abs=1e-9)
    assert [one["code"] for one in found["findings"]] == [one["code"] for one in wanted["findings"]]


@pytest.mark.parametrize(
    ("marking", "per_reading"),
    [(IN_VACUO, 1 / (1 + GLASS * (11.8 - 20))), (RELATIVE, 0.999975 / (1 + GLASS * (11.8 - 15)))],
    ids=["density", "relative"],
)
def test_the_reading_s_uncertainty_goes_into_the_displacement(plain_http, record, marking, per_reading):
    """One sample: u(Δ) = Δ u(R) (dρ/dR) / ρ. Water of 4 °C has 0.999975 t/m³ (from memory)."""
    (sample, *_) = record["water"]["samples"]
    assert sample["temperature_c"] == 11.8
    record["water"]["samples"] = [by_hydrometer(sample, marking, standard_uncertainty=0.002)]
    found = answered(plain_http, "/v1/stability-tests", record)
    (row,) = (
        one
        for one in found["lightship"]["budget"]
        if (one["result"], one["name"]) == ("displacement_t", "water density")
    )
    name = next(key for key in record["water"]["samples"][0]["hydrometer"] if key.startswith("reading"))
    assert row["largest"] == f"water/samples/0/hydrometer/{name}"
    displacement, density = found["as_inclined"]["displacement_t"], sample["density_t_per_m3"]
    assert row["value"] == pytest.approx(displacement * 0.002 * per_reading / density, rel=1e-5)


SEA = {5: 1.027675, 25: 1.023343}
"""Density of sea water of salinity 35 at 5 and 25 °C on IPTS-68: Unesco 44's check values (from memory), t/m³.

25 °C there is 24.994 °C on ITS-90, so the last digit can differ by two.
"""


@pytest.mark.parametrize(("measured", "site"), [(25, 5), (5, 25)])
def test_a_sample_is_brought_to_the_temperature_of_the_water(plain_http, measured, site):
    body = example()
    body["water"] = {"temperature_c": site, "samples": [{"density_t_per_m3": SEA[measured], "temperature_c": measured}]}
    for sample in (body["water"]["samples"][0], by_hydrometer(body["water"]["samples"][0], IN_AIR)):
        body["water"]["samples"] = [sample, {"density_t_per_m3": SEA[site], "temperature_c": site}]
        found = answered(plain_http, "/v1/stability-tests/waterline", body)
        assert found["waterline"]["sample_density_t_per_m3"] == pytest.approx([SEA[site]] * 2, abs=3e-6)
        assert found["waterline"]["density_t_per_m3"] == pytest.approx(SEA[site], abs=3e-6)
        (said,) = (one for one in found["findings"] if one["code"].startswith("sample"))
        assert (said["code"], said["finding_count"]) == ("samples-brought-to-temperature", 1)
        assert "0.0043" in said["message"]  # 1.027675 − 1.023343 = 0.004332


def test_without_the_temperature_of_the_water_densities_stay_as_measured(plain_http):
    body = example()
    body["water"] = {"samples": [{"density_t_per_m3": 1.0231, "temperature_c": 25}, {"density_t_per_m3": 1.0232}]}
    found = answered(plain_http, "/v1/stability-tests/waterline", body)
    assert found["waterline"]["sample_density_t_per_m3"] == [1.0231, 1.0232]
    assert not [one for one in found["findings"] if one["code"].startswith("sample")]
    body["water"]["temperature_c"] = 25
    found = answered(plain_http, "/v1/stability-tests/waterline", body)
    assert found["waterline"]["sample_density_t_per_m3"] == [1.0231, 1.0232]
    (said,) = (one for one in found["findings"] if one["code"].startswith("sample"))
    assert (said["code"], said["finding_count"]) == ("sample-temperature-assumed", 1)


def test_a_lightweight_survey_reads_hydrometers_too(plain_http):
    """The example's 1.025 as shown at 15 °C by a hydrometer in air: 1.0239."""
    wanted = answered(plain_http, "/v1/stability-tests/survey", survey_only.EXAMPLE)
    sample = {"hydrometer": {**IN_AIR, "reading_t_per_m3": "1023.9 kg/m3"}, "temperature_c": 15}
    body = {**survey_only.EXAMPLE, "water": {"samples": [sample]}}
    found = answered(plain_http, "/v1/stability-tests/survey", body)
    assert found["waterline"]["sample_density_t_per_m3"] == pytest.approx([1.025], rel=1e-15)
    assert found["lightship"]["mass_t"] == pytest.approx(wanted["lightship"]["mass_t"], rel=1e-12)


READ = {"hydrometer": {**IN_AIR, "reading_t_per_m3": 1.0239}, "temperature_c": 15}
RATIO = {"hydrometer": {**RELATIVE, "reading_ratio": 1.02}, "temperature_c": 15}


def changed(sample, **changes):
    return {**sample, "hydrometer": {**sample["hydrometer"], **changes}}


def without(sample, name):
    return {**sample, "hydrometer": {key: value for key, value in sample["hydrometer"].items() if key != name}}


@pytest.mark.parametrize(
    ("sample", "code", "pointer"),
    [
        ({}, "density-or-hydrometer", ""),
        ({"temperature_c": 12}, "density-or-hydrometer", ""),
        ({**READ, "density_t_per_m3": 1.025}, "density-or-hydrometer", ""),
        ({"hydrometer": READ["hydrometer"]}, "sample-temperature-missing", "/hydrometer"),
        (without(READ, "apparent_in_air"), "missing-field", "/hydrometer/apparent_in_air"),
        (without(READ, "reference_temperature_c"), "missing-field", "/hydrometer/reference_temperature_c"),
        (without(READ, "reading_t_per_m3"), "missing-field", "/hydrometer/reading_t_per_m3"),
        (without(READ, "kind"), "missing-field", "/hydrometer"),
        (without(RATIO, "water_temperature_c"), "missing-field", "/hydrometer/water_temperature_c"),
        (changed(READ, kind="degrees"), "unknown-kind", "/hydrometer"),
        (changed(READ, water_temperature_c=4), "unknown-field", "/hydrometer"),
        (changed(RATIO, apparent_in_air=True), "unknown-field", "/hydrometer"),
        (changed(READ, reading_t_per_m3=1023.9), "out-of-bounds", "/hydrometer/reading_t_per_m3"),
        (changed(READ, reading_t_per_m3="1.0239"), "quantity-no-unit", "/hydrometer/reading_t_per_m3"),
        (changed(RATIO, reading_ratio="1.02 t/m3"), "wrong-type", "/hydrometer/reading_ratio"),
        (changed(RATIO, reading_ratio=1.2), "out-of-bounds", "/hydrometer/reading_ratio"),
        (
            changed(RATIO, reading_ratio={"value": 1.02, "standard_uncertainty": -1}),
            "out-of-bounds",
            "/hydrometer/reading_ratio/standard_uncertainty",
        ),
        (changed(READ, reference_temperature_c=60), "out-of-bounds", "/hydrometer/reference_temperature_c"),
        (changed(RATIO, reading_ratio=0.951, water_temperature_c=40), "out-of-range", "/hydrometer/reading_ratio"),
        ({**READ, "temperature_c": -2.5}, "out-of-range", "/temperature_c"),
    ],
)
def test_a_sample_that_says_nothing_is_refused_wherever_samples_are(plain_http, sample, code, pointer):
    """0.951 times the density of pure water of 40 °C, 0.992, is below 0.95 t/m³."""
    bodies = {
        "waterline": example(),
        "survey": copy.deepcopy(survey_only.EXAMPLE),
        "": demo_record(),
    }
    for path, body in bodies.items():
        body["water"] = {"samples": [{"density_t_per_m3": 1.025}, sample]}
        refused = plain_http.post(f"/v1/stability-tests/{path}".rstrip("/"), json=body)
        assert refused.status_code == 422
        faults = [(one["code"], one["pointer"]) for one in refused.json()["errors"]]
        assert (code, f"#/water/samples/1{pointer}") in faults, faults


@pytest.mark.parametrize(
    ("sample", "code", "pointer"),
    [
        ({"density_t_per_m3": 0.99, "temperature_c": 10}, "density-not-of-water", "/density_t_per_m3"),
        ({"density_t_per_m3": 1.0, "temperature_c": 45}, "out-of-range", "/temperature_c"),
        (
            {"hydrometer": {**IN_VACUO, "reading_t_per_m3": 0.99}, "temperature_c": 10},
            "density-not-of-water",
            "/hydrometer/reading_t_per_m3",
        ),
    ],
)
def test_what_cannot_be_brought_to_the_water_s_temperature_is_refused(plain_http, sample, code, pointer):
    """Pure water of 10 °C has 0.9997 t/m³; the equation of state ends at 40 °C."""
    body = {**example(), "water": {"temperature_c": 12, "samples": [sample]}}
    refused = plain_http.post("/v1/stability-tests/waterline", json=body)
    assert refused.status_code == 422
    (fault,) = refused.json()["errors"]
    assert (fault["code"], fault["pointer"]) == (code, f"#/water/samples/0{pointer}")
