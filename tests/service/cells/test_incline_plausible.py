"""Cells refuse what a record's incline withholds, and answer where a record only notes."""

import math
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.service.cells.conftest import Ask

MOMENTS = (0.0, 20.0, 40.0, 0.0, -20.0, -40.0)
LENGTH_M = 2.5
GM_M, DISPLACEMENT_T = 1.25, 2000.0


def exact(displacement_t: float = DISPLACEMENT_T, gm_m: float = GM_M) -> list[float]:
    """Return tan φ = m/(Δ GM)."""
    return [moment / (displacement_t * gm_m) for moment in MOMENTS]


def posted(http: TestClient, tangents: list[float], *, displacement_t: float, mass_scale: float = 1.0) -> Any:
    """The same readings as a record: one weight of 5 t moved athwart, one pendulum of 2.5 m."""
    body = {
        "displacement_t": displacement_t,
        "weights": [{"id": "w", "mass_t": 5 * mass_scale, "x_m": 30, "y_m": 0, "z_m": 6}],
        "moves": [{"weight": "w", "to_y_m": -moment / 5} for moment in MOMENTS[1:]],
        "instruments": [
            {
                "kind": "pendulum",
                "id": "p",
                "length_m": LENGTH_M,
                "positive": "starboard",
                "deflections_m": [one * LENGTH_M for one in tangents],
            }
        ],
    }
    answer = http.post("/v1/stability-tests/incline", json=body)
    assert answer.status_code == 200, answer.text
    return answer.json()


def in_cells(moments: tuple[float, ...], tangents: list[float]) -> dict[str, str]:
    return {"moments": ";".join(map(repr, moments)), "tangents": ";".join(map(repr, tangents))}


@pytest.mark.parametrize(
    ("tangents", "slip", "displacement_t", "code"),
    [
        pytest.param(exact(), 1000.0, DISPLACEMENT_T, "gm-implausible", id="kg·m for t·m"),
        pytest.param(exact(), 1.0, DISPLACEMENT_T / 1000, "gm-implausible", id="kilotonnes for tonnes"),
        pytest.param([-one for one in exact()], 1.0, DISPLACEMENT_T, "gm-not-positive", id="wrong sign"),
        pytest.param([100 * one for one in exact()], 1.0, DISPLACEMENT_T, "heel-implausible", id="cm for m"),
    ],
)
def test_refused_as_a_record_is(
    ask: Ask, http: TestClient, tangents: list[float], slip: float, displacement_t: float, code: str
) -> None:
    """A slip of mass and moment, of displacement, of sign, of the readings."""
    moments = tuple(slip * one for one in MOMENTS)
    incline = posted(http, tangents, displacement_t=displacement_t, mass_scale=slip)["incline"]
    assert incline["outcome"] == "not_determined"
    assert incline["findings"][0]["code"] == code
    query = {**in_cells(moments, tangents), "displacement_t": repr(displacement_t)}
    assert ask("gm", **query).startswith(f"#ERR {code}: ")
    problem = http.get("/v1/cells/gm", params={**query, "errors": "status"})
    assert problem.status_code == 422
    assert problem.json()["type"] == f"/problems/{code}"
    assert problem.json()["detail"] == incline["findings"][0]["message"]
    if code != "gm-implausible":  # the line alone tells nothing of GM
        for path in ("slope", "residual-table"):
            assert ask(path, **in_cells(moments, tangents)).startswith(f"#ERR {code}: ")


@pytest.mark.parametrize(
    ("displacement_t", "noted"),
    [
        pytest.param(600000.0, ["displacement-out-of-scale"], id="weights under 0.01 % of the displacement"),
        pytest.param(20.0, ["mass-out-of-scale"], id="a weight over 20 % of the displacement"),
        pytest.param(DISPLACEMENT_T, [], id="sound"),
    ],
)
def test_answered_where_a_record_is_noted(ask: Ask, http: TestClient, displacement_t: float, noted: list[str]) -> None:
    """GM from its definition, 1.25 m; the same number as the record's."""
    gm_m = GM_M * 4 if displacement_t == 20.0 else GM_M  # 40 t·m must stay within the largest heel
    tangents = exact(displacement_t, gm_m)
    answer = posted(http, tangents, displacement_t=displacement_t)
    scales = [one["code"] for one in answer["findings"] if one["code"].endswith("-out-of-scale")]
    assert scales == noted
    told = float(ask("gm", **in_cells(MOMENTS, tangents), displacement_t=displacement_t))
    assert told == pytest.approx(gm_m, rel=1e-12)
    assert told == pytest.approx(answer["incline"]["gm_fluid_m"], rel=1e-12)


def test_a_list_before_the_test_is_no_reading(ask: Ask) -> None:
    """Reading 0 at a list of 28°: tangents from it are small, as in a record; the line is the same."""
    listed = [one + math.tan(math.radians(28)) for one in exact()]
    told = float(ask("gm", **in_cells(MOMENTS, listed), displacement_t=DISPLACEMENT_T))
    assert told == pytest.approx(GM_M, rel=1e-12)


@pytest.mark.parametrize(
    ("path", "given"),
    [
        pytest.param("pendulum-tangent", {"deflection_m": 125, "length_m": 2.5}, id="deflection in mm"),
        pytest.param("pendulum-tangent", {"deflection_m": 2.6, "length_m": 2.5}, id="longer than the pendulum"),
        pytest.param("pendulum-tangent", {"deflection_m": 0.125, "length_m": 0.0025}, id="length in km"),
        pytest.param("u-tube-tangent", {"starboard_level_m": 660, "port_level_m": 340, "spread_m": 8}, id="levels"),
        pytest.param("angle-tangent", {"angle_deg": 30}, id="angle"),
    ],
)
def test_reading_beyond_belief(ask: Ask, path: str, given: dict[str, float]) -> None:
    """The limit is the record's: a tangent of 0.5 from reading 0, and it is told."""
    words = ask(path, **given)
    assert words.startswith("#ERR heel-implausible: ")
    assert "more than 0.5" in words


def test_reading_just_within(ask: Ask) -> None:
    """(d − d₀)/length = 0.4996 from a reading 0 that lies far off on the batten; tan 26.5° = 0.49858."""
    text = ask("pendulum-tangent", deflection_m=2.249, initial_deflection_m=1, length_m=2.5)
    assert float(text) == pytest.approx(0.4996, rel=1e-12)
    assert float(ask("angle-tangent", angle_deg=26.5)) == pytest.approx(math.tan(math.radians(26.5)), rel=1e-14)


def test_list_beyond_belief(ask: Ask) -> None:
    """40 t·m as 40000 kg·m: 40000/(2000 × 1.25) = 16. 30 × 2000^(1/3) = 377.976 m is the most GM believed."""
    words = ask("list", heeling_moment_tm=40000, displacement_t=2000, gm_m=1.25)
    assert words.startswith("#ERR heel-implausible: ")
    assert "16" in words
    assert "up to 0.5" in words
    words = ask("list", heeling_moment_tm=40, displacement_t=2000, gm_m=1250)
    assert words.startswith("#ERR gm-implausible: ")
    assert "377.976 m" in words
