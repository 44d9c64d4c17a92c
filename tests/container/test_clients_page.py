"""The examples of docs/clients.md, run as they stand against a served instance."""

import json
import math
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.performance.served import served

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs/clients.md").read_text(encoding="utf-8")
KEY = "only-for-this-test-01"


def block(language: str) -> str:
    (found,) = re.findall(rf"^```{language}\n(.*?)^```$", PAGE, re.M | re.S)
    return found


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with served(api_key=KEY) as at:
        yield f"http://{at.host}:{at.port}"


def test_curl(address, tmp_path):
    script = block("sh").replace("http://127.0.0.1:8000", address)
    told = subprocess.run(
        ["bash", "-euc", script], cwd=tmp_path, env={**os.environ, "STS_API_KEY": KEY}, capture_output=True, check=True
    )
    assert json.loads((tmp_path / "answer.json").read_text())["lightship"]["mass_t"] > 0
    assert float(told.stdout) == pytest.approx(math.degrees(math.atan(40 / (2000 * 1.25))), rel=1e-9)


def test_python(address, tmp_path):
    environment = {**os.environ, "STS_API_KEY": KEY, "STS_ADDRESS": address}
    told = subprocess.run(
        [sys.executable, "-W", "error", "-c", block("python")],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    # The example barge is a box of 60 × 12 m: 60 · 12 · 3.5 · 1.025 = 2583 t.
    assert told.stdout.splitlines() == ["2583.0 t", "/problems/waterplane-above-hull #/waterplanes/0"]


def test_python_is_told_why_not(address, tmp_path):
    environment = {**os.environ, "STS_API_KEY": "a wrong one", "STS_ADDRESS": address}
    told = subprocess.run(
        [sys.executable, "-c", block("python")],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 1
    assert told.stderr.splitlines()[-1].startswith("Refused: /problems/api-key")


def test_typescript_is_what_the_contract_stage_compiles_and_runs():
    whole = (ROOT / "tests/clients/main_job.ts").read_text(encoding="utf-8").splitlines()
    lines = [line for line in block("ts").splitlines() if line]
    assert len(lines) > 8
    assert [line for line in lines if line not in whole] == []
