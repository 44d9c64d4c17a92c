"""A constant patched in the engine of this process: only the cases that use it turn red, at the values it makes.

The vessel is the box barge, 60 × 12 × 8 m, at 3.5 m in water of 1.025 t/m³; every expected number is a closed form, so
it is known by how much each value has to be out.
"""

import json
import math
from pathlib import Path
from typing import Any

import pytest

import engine.lightship.assumed_vcg as assumed_vcg
import engine.stability.wind as wind
from service.cases.verification import Result, load, verify
from service.commands.here import answered_here
from service.resources.vcg_limits import EXAMPLE
from tests.service.cases.cases import small_case, write

ROOT = Path(__file__).parents[3]
ASK = answered_here()
L, B, D, T = 60.0, 12.0, 8.0, 3.5
MASS_T = L * B * T * 1.025
BM, KM = B**2 / (12 * T), T / 2 + B**2 / (12 * T)
AREA_M2, CENTROID_M = 300.0, 7.0
MOMENT_M3 = AREA_M2 * (CENTROID_M - T / 2)
LIMIT = "/columns/vcg_limit_m/0"
CLOSE_M = 5e-6
"""Levers are read between the angles a curve is computed at; 1.2e-6 m was seen, and the least change here is 4e-5 m."""
KINDS = ("steady wind", "tank", "tank barge", "weather")


def required_gm_m(base: float) -> float:
    """Return P A H / (W tan 14°) of 46 CFR 170.170; half the freeboard is deeper than 14°."""
    return (base + (L / 1309.0) ** 2) * MOMENT_M3 / (MASS_T * math.tan(math.radians(14.0)))


def limit_by_steady_heel_m(gravity: float) -> float:
    """Return the VCG at which she heels 16° by A/2.3's steady wind of 504 Pa: sin φ (GM + BM/2 tan² φ) = lever."""
    heel = math.radians(16.0)
    lever = 504.0 * MOMENT_M3 / (1000.0 * gravity * MASS_T)
    return KM + BM / 2 * math.tan(heel) ** 2 - lever / math.sin(heel)


def limit_case(name: str, rules: str, value: float) -> dict[str, Any]:
    edge = [[x, y, D] for x in (0.0, L) for y in (-B / 2, B / 2)]
    sail = {"draft_m": [T], "area_m2": [AREA_M2], "centroid_z_m": [CENTROID_M]}
    stability = {**EXAMPLE["stability"], "wind": sail, "deck_edge_m": edge}  # type: ignore[dict-item]
    body = {**EXAMPLE, "displacement_t": [MASS_T], "trim_m": [0.0], "rules": [rules], "stability": stability}
    expected = {
        "/columns/displacement_t/0": MASS_T,
        "/columns/draft_m/0": T,
        LIMIT: value,
        "/columns/gm_fluid_m/0": KM - value,
    }
    rows = [{"pointer": at, "value": one, "tolerance": {"absolute": CLOSE_M}} for at, one in expected.items()]
    rows += [{"pointer": "/columns/governing_rule_set/0", "value": rules}]
    request = {"path": "/v1/vcg-limits", "body": body}
    return small_case(name, request=request, expected=[{**one, "origin": "closed form: box barge"} for one in rows])


def barge_case(name: str) -> dict[str, Any]:
    """Return an archived survey whose VCG is now the share of the depth that 46 CFR 170.200 assumes."""
    archived = json.loads((ROOT / "fixtures/cases/survey-only.json").read_text(encoding="utf-8"))
    body = archived["request"]["body"]
    form = {"ordinary_form": True, "flush_deck": True, "longitudinal_bulkhead": True, "independent_tanks": False}
    cargo = {"cargo_above_freeboard_deck": False, "special_cargo": False}
    vessel = {"kind": "tank_barge", "depth_m": D, "gross_tonnage_count": 900, **form, **cargo}
    body["vcg"] = {"kind": "tank_vessel", "tank_vessel": vessel}
    kept = [row for row in archived["expected"] if row["pointer"] in ("/lightship/mass_t", "/waterline/draft_m")]
    origin = "closed form: 60 % of the depth, 46 CFR 170.200"
    made = [
        {"pointer": pointer, "value": 0.60 * D, "tolerance": {"relative": 1e-12}, "origin": origin}
        for pointer in ("/lightship/z_m", "/vcg/z_m")
    ]
    return small_case(name, request={"path": archived["request"]["path"], "body": body}, expected=[*kept, *made])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("cases")
    write(made, "1", limit_case("weather", "us-46-cfr-170-170-exposed-si", KM - required_gm_m(0.055)))
    write(made, "2", limit_case("steady wind", "imo-2008-is-code-a-2-3", limit_by_steady_heel_m(9.81)))
    write(made, "3", barge_case("tank barge"))
    write(made, "4", small_case("tank"))
    return made


def replayed(folder: Path) -> dict[str, Result]:
    return {one.loaded.name: one for one in verify(load([folder]), ASK)}


def differences(result: Result) -> dict[str, float | None]:
    assert result.replayed
    return {one.pointer: one.difference for one in result.replayed.deviations if not one.within}


def test_nothing_patched_nothing_red(folder: Path) -> None:
    assert {name: one.verdict for name, one in replayed(folder).items()} == dict.fromkeys(KINDS, "same")


@pytest.mark.parametrize(
    ("table", "key", "value", "red", "expected"),
    [
        pytest.param(
            wind._PRESSURE,
            ("exposed", "si"),
            (0.066, 1309.0),
            "weather",
            {
                LIMIT: required_gm_m(0.055) - required_gm_m(0.066),
                "/columns/gm_fluid_m/0": required_gm_m(0.066) - required_gm_m(0.055),
            },
            id="wind pressure of 46 CFR 170.170",
        ),
        pytest.param(
            vars(wind),
            "GRAVITY_M_PER_S2",
            9.80665,
            "steady wind",
            {
                LIMIT: limit_by_steady_heel_m(9.80665) - limit_by_steady_heel_m(9.81),
                "/columns/gm_fluid_m/0": limit_by_steady_heel_m(9.81) - limit_by_steady_heel_m(9.80665),
            },
            id="gravity of the 2008 IS Code",
        ),
        pytest.param(
            assumed_vcg.DEPTH_PERCENT,
            "tank_barge",
            61.0,
            "tank barge",
            {"/lightship/z_m": 0.01 * D, "/vcg/z_m": 0.01 * D},
            id="assumed VCG of a tank barge",
        ),
    ],
)
def test_a_patched_constant_turns_its_case_red_and_no_other(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    table: dict[Any, Any],
    key: object,
    value: object,
    red: str,
    expected: dict[str, float],
) -> None:
    assert key in table
    monkeypatch.setitem(table, key, value)
    found = replayed(folder)
    assert {name: one.verdict for name, one in found.items()} == {**dict.fromkeys(KINDS, "same"), red: "deviates"}
    assert differences(found[red]) == pytest.approx(expected, abs=CLOSE_M)
