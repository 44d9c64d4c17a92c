"""A constant changed in a copy of the engine turns the cases red that depend on it, at the values that do."""

import json
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
OTHERS = ("survey-only", "unknown-weight")
"""A survey has no inclining weights and no conditions, a refused record no numbers."""


def red(folder: Path, cases: Sequence[str]) -> dict[str, set[str]]:
    """Return case → pointers out of tolerance, as ``python -m service verify`` finds them with the code in a folder."""
    files = [str(ROOT / "fixtures" / "cases" / f"{name}.json") for name in cases]
    command = [sys.executable, "-m", "service", "verify", *files, "--json", "summary.json"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=120, check=False)
    found = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    assert done.returncode == found["exit_status"], done.stderr
    return {
        case["name"]: {row["pointer"] for row in case["deviations"] if not row["within"]}
        for case in found["cases"]
        if case["verdict"] != "same"
    }


@pytest.mark.parametrize(
    ("name", "path", "before", "after", "moved", "kept"),
    [
        (
            "barge-tapered",
            "engine/record/assumed.py",
            "weight_percent: float = 0.25",
            "weight_percent: float = 0.35",
            {"/lightship/standard_uncertainty/z_m"},
            {"/lightship/mass_t", "/lightship/z_m", "/incline/gm_fluid_m"},
        ),
        (
            "barge-tapered",
            "engine/incline/regression.py",
            "0.5 * stiffening_m",
            "0.6 * stiffening_m",
            {"/incline/gm_fluid_m", "/incline/slope_per_tm"},
            {"/lightship/mass_t", "/lightship/z_m", "/waterline/draft_m"},
        ),
        (
            "demo",
            "engine/rules/sets/imo-2008-is-code-a-2-2.json",
            '"limit": 25,',
            '"limit": 32,',
            {"/verdict/conditions_meet_criteria/answer", "/verdict/conditions_meet_criteria/statement"},
            {"/lightship/mass_t", "/lightship/z_m", "/verdict/differs_from_approved/answer"},
        ),
    ],
    ids=["uncertainty of a weight", "known term of the regression", "limit of a criterion"],
)
def test_a_changed_constant_is_seen(
    tmp_path: Path, name: str, path: str, before: str, after: str, moved: set[str], kept: set[str]
) -> None:
    for package in ("engine", "service"):
        shutil.copytree(ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))
    text = (tmp_path / path).read_text(encoding="utf-8")
    assert text.count(before) == 1
    (tmp_path / path).write_text(text.replace(before, after), encoding="utf-8")
    found = red(tmp_path, [name, *OTHERS])
    assert set(found) == {name}
    assert moved <= found[name]
    assert not kept & found[name]
