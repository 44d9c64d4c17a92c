"""The alert rules and the dashboard ask for figures that the service really tells."""

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
import yaml
from prometheus_client.parser import text_string_to_metric_families
from starlette.testclient import TestClient

from service.app import create_app
from service.settings import Settings

DEPLOY = Path(__file__).resolve().parents[2] / "deploy"
ADDED_BY_THE_SERVER = {"instance", "job"}
WORDS = {"sum", "by", "rate", "increase", "max", "histogram_quantile", "or", "vector", "absent"}


@pytest.fixture(scope="module")
def told() -> dict[str, set[str]]:
    """Return every figure of a service that did some work, and the names of its labels."""
    found: dict[str, set[str]] = {"up": set()}  # told by the server that scrapes
    asked = {"heeling_moment_tm": 40, "displacement_t": 2000, "gm_m": 1.25}
    with TestClient(create_app(Settings())) as client:
        assert client.get("/v1/cells/list", params=asked).status_code == 200
        hull = {"kind": "library", "name": "example-barge"}
        planes = {"hull": hull, "density_t_per_m3": 1.0, "waterplanes": [{"draft_m": 3.5}]}
        assert client.post("/v1/hydrostatics", json=planes).status_code == 200
        text = client.get("/metrics").text
    for family in text_string_to_metric_families(text):
        for sample in family.samples:
            found.setdefault(sample.name, set()).update(sample.labels)
    return found


def alerts() -> list[dict[str, Any]]:
    document = yaml.safe_load((DEPLOY / "alerts.yaml").read_text(encoding="utf-8"))
    return [rule for group in document["groups"] for rule in group["rules"]]


def board() -> dict[str, Any]:
    return json.loads((DEPLOY / "dashboard.json").read_text(encoding="utf-8"))


def expressions() -> dict[str, str]:
    found = {one["alert"]: one["expr"] for one in alerts()}
    for panel in board()["panels"]:
        found |= {f"{panel['title']} {one['refId']}": one["expr"] for one in panel["targets"]}
    return found


@pytest.mark.parametrize("where", expressions())
def test_figures_and_labels_exist(where, told):
    expression = expressions()[where]
    bare = re.sub(r'"[^"]*"|\[\d+[mhd]\]', "", expression)
    labels = {
        name
        for inside in re.findall(r"\{([^}]*)\}|by \(([^)]*)\)", bare)
        for name in re.findall(r"\w+", "".join(inside))
    }
    figures = set(re.findall(r"[a-z_]+", re.sub(r"\{[^}]*\}|by \([^)]*\)", " ", bare))) - WORDS
    assert figures
    assert figures <= told.keys()
    known = set().union(*(told[one] for one in figures))
    assert labels <= known | ADDED_BY_THE_SERVER


def test_the_panels_can_be_read_by_the_server(tmp_path):
    rules = [{"record": f"panel:{i}", "expr": text} for i, text in enumerate(expressions().values())]
    file = tmp_path / "panels.yaml"
    file.write_text(yaml.safe_dump({"groups": [{"name": "panels", "rules": rules}]}), encoding="utf-8")
    promtool = shutil.which("promtool")
    assert promtool, "promtool is needed"
    done = subprocess.run([promtool, "check", "rules", str(file)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert f"{len(rules)} rules found" in done.stdout


def test_every_alert_is_raised_and_kept_quiet_by_a_test():
    tests = yaml.safe_load((Path(__file__).parent / "alerts_test.yaml").read_text(encoding="utf-8"))["tests"]
    cases = [case for test in tests for case in test["alert_rule_test"]]
    for one in alerts():
        mine = [bool(case["exp_alerts"]) for case in cases if case["alertname"] == one["alert"]]
        assert set(mine) == {True, False}, one["alert"]


def test_every_alert_is_explained():
    page = (DEPLOY.parent / "docs/operations.md").read_text(encoding="utf-8")
    assert [one["alert"] for one in alerts() if f"`{one['alert']}`" not in page] == []


def test_panels_do_not_overlap_and_name_their_source():
    cells: set[tuple[int, int]] = set()
    for panel in board()["panels"]:
        at = panel["gridPos"]
        mine = {(at["x"] + i, at["y"] + j) for i in range(at["w"]) for j in range(at["h"])}
        assert at["x"] + at["w"] <= 24
        assert not mine & cells
        cells |= mine
        assert all(one["datasource"]["uid"] == "${source}" for one in panel["targets"])
