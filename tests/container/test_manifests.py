"""What the schemas of the manifests cannot see: that they fit each other and the service."""

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from starlette.testclient import TestClient

from service import __version__
from service.app import create_app
from service.settings import Settings

DEPLOY = Path(__file__).resolve().parents[2] / "deploy"
MIB = 2**20


def manifests() -> list[dict[str, Any]]:
    files = sorted((DEPLOY / "kubernetes").glob("*.yaml"))
    return [one for file in files for one in yaml.safe_load_all(file.read_text(encoding="utf-8"))]


def of_kind(kind: str) -> list[dict[str, Any]]:
    return [one for one in manifests() if one["kind"] == kind]


def only(kind: str) -> dict[str, Any]:
    (one,) = of_kind(kind)
    return one


@pytest.fixture
def pod() -> dict[str, Any]:
    return only("Deployment")["spec"]["template"]["spec"]


@pytest.fixture
def container(pod) -> dict[str, Any]:
    (one,) = pod["containers"]
    return one


def configuration(name: str) -> dict[str, str]:
    """Return the data of the one map whose name begins so."""
    (found,) = [one for one in of_kind("ConfigMap") if one["metadata"]["name"].startswith(f"stability-test-{name}-")]
    return found["data"]


def settings_of(values: dict[str, str], monkeypatch, **folders: Path) -> Settings:
    """Read settings as the service in the pod would."""
    for name, value in values.items():
        monkeypatch.setenv(name, value)
    for name, folder in folders.items():
        monkeypatch.setenv(name, str(folder))
    return Settings()


def mounted(data: dict[str, str], folder: Path) -> Path:
    """Write a map as the cluster's agent mounts it: files that are links through a link to a hidden folder."""
    hidden = folder / "..2026_01_01"
    hidden.mkdir(parents=True)
    (folder / "..data").symlink_to(hidden.name)
    for name, text in data.items():
        (hidden / name).write_text(text, encoding="utf-8")
        (folder / name).symlink_to(f"..data/{name}")
    return folder


def bytes_of(quantity: str) -> int:
    assert quantity.endswith("Mi")
    return int(quantity[:-2]) * MIB


def test_selectors_are_the_labels_of_the_pod():
    labels = only("Deployment")["spec"]["template"]["metadata"]["labels"].items()
    selectors = [
        only("Deployment")["spec"]["selector"]["matchLabels"],
        only("Service")["spec"]["selector"],
        only("PodDisruptionBudget")["spec"]["selector"]["matchLabels"],
        only("NetworkPolicy")["spec"]["podSelector"]["matchLabels"],
        *(
            one["labelSelector"]["matchLabels"]
            for one in only("Deployment")["spec"]["template"]["spec"]["topologySpreadConstraints"]
        ),
    ]
    for selector in selectors:
        assert selector
        assert selector.items() <= labels


def test_everything_is_in_the_namespace_that_enforces_restricted_pods():
    namespace = only("Namespace")["metadata"]
    assert namespace["labels"]["pod-security.kubernetes.io/enforce"] == "restricted"
    assert {one["metadata"].get("namespace") for one in manifests() if one["kind"] != "Namespace"} == {
        namespace["name"]
    }


def test_the_namespace_comes_first():
    assert manifests()[0]["kind"] == "Namespace"  # files are applied in the order of their names


def test_the_pod_fulfils_what_restricted_asks(pod, container):
    # Pod Security Standards, restricted: the six rules that concern a pod without host access.
    assert pod["securityContext"]["runAsNonRoot"] is True
    assert pod["securityContext"]["seccompProfile"] == {"type": "RuntimeDefault"}
    assert container["securityContext"]["allowPrivilegeEscalation"] is False
    assert container["securityContext"]["capabilities"] == {"drop": ["ALL"]}
    assert not {"hostNetwork", "hostPID", "hostIPC"} & pod.keys()
    assert {next(iter(one.keys() - {"name"})) for one in pod["volumes"]} <= {"configMap", "emptyDir", "secret"}
    # Beyond it: ours.
    assert container["securityContext"]["readOnlyRootFilesystem"] is True
    assert pod["automountServiceAccountToken"] is False


def test_user_port_and_version_are_those_of_the_image(pod, container):
    dockerfile = (DEPLOY / "Dockerfile").read_text(encoding="utf-8")
    user, group = pod["securityContext"]["runAsUser"], pod["securityContext"]["runAsGroup"]
    assert f"USER {user}:{group}\n" in dockerfile
    (port,) = container["ports"]
    assert f"EXPOSE {port['containerPort']}\n" in dockerfile
    assert f'"--port", "{port["containerPort"]}"' in dockerfile
    assert container["image"].endswith(f":{__version__}")
    assert f"ARG VERSION={__version__}\n" in dockerfile
    annotations = only("Deployment")["spec"]["template"]["metadata"]["annotations"]
    assert annotations["prometheus.io/port"] == str(port["containerPort"])


def test_named_ports_exist(container):
    names = {one["name"] for one in container["ports"]}
    probes = [container[name]["httpGet"]["port"] for name in ("startupProbe", "livenessProbe", "readinessProbe")]
    services = [one["targetPort"] for one in only("Service")["spec"]["ports"]]
    policies = [one["port"] for rule in only("NetworkPolicy")["spec"]["ingress"] for one in rule["ports"]]
    assert {*probes, *services, *policies} <= names


def test_probes_ask_paths_the_service_has(container):
    with TestClient(create_app(Settings(api_key="0123456789abcdef"))) as client:
        for name in ("startupProbe", "livenessProbe", "readinessProbe"):
            answer = client.get(container[name]["httpGet"]["path"])
            assert answer.status_code == 200, name
        annotations = only("Deployment")["spec"]["template"]["metadata"]["annotations"]
        assert client.get(annotations["prometheus.io/path"]).status_code == 200
    assert container["startupProbe"]["httpGet"]["path"] == "/health/ready"  # live answers before anything is loaded
    assert container["readinessProbe"]["httpGet"]["path"] == "/health/ready"
    assert container["livenessProbe"]["httpGet"]["path"] == "/health/live"  # a full queue is no reason to be killed


def test_times_fit_each_other(pod, container, monkeypatch):
    settings = settings_of(configuration("settings"), monkeypatch)
    command = container["lifecycle"]["preStop"]["exec"]["command"]
    assert command[0] == "sleep"
    assert pod["terminationGracePeriodSeconds"] > int(command[1]) + settings.graceful_s
    assert settings.graceful_s > settings.deadline_s  # what was admitted is finished
    assert container["readinessProbe"]["timeoutSeconds"] > settings.ready_s
    assert settings.deadline_s > settings.work_limit_s


def test_memory_has_room_for_what_the_settings_allow(container, monkeypatch):
    settings = settings_of(configuration("settings"), monkeypatch)
    resources = container["resources"]
    assert bytes_of(resources["requests"]["memory"]) <= bytes_of(resources["limits"]["memory"])
    assert float(resources["requests"]["cpu"]) <= float(resources["limits"]["cpu"])
    # Most seen by tests/performance/capacity.py with these settings: 673 MiB.
    assert (settings.body_limit_bytes, settings.bodies_limit_bytes, settings.hull_cache_bytes) == (
        16 * MIB,
        64 * MIB,
        64 * MIB,
    )
    assert bytes_of(resources["limits"]["memory"]) >= 1.25 * 673 * MIB


def test_the_budget_leaves_a_pod_that_may_go(container):
    scaling, budget = only("HorizontalPodAutoscaler")["spec"], only("PodDisruptionBudget")["spec"]
    deployment = only("Deployment")
    assert 0 < budget["minAvailable"] < scaling["minReplicas"] <= scaling["maxReplicas"]
    assert "replicas" not in deployment["spec"]  # it would undo the scaling at each apply
    assert scaling["scaleTargetRef"]["name"] == deployment["metadata"]["name"]
    assert scaling["scaleTargetRef"]["kind"] == deployment["kind"]
    assert container["resources"]["requests"]["cpu"]  # the share of the processor is of this
    assert deployment["spec"]["strategy"]["rollingUpdate"]["maxUnavailable"] == 0


def test_names_of_maps_and_mounts_exist(pod, container):
    maps = {one["metadata"]["name"]: one for one in of_kind("ConfigMap")}
    named = [one["configMapRef"]["name"] for one in container["envFrom"]]
    named += [one["configMap"]["name"] for one in pod["volumes"] if "configMap" in one]
    assert sorted(named) == sorted(maps)  # none is missing, none is idle
    assert all(one["immutable"] is True for one in maps.values())
    assert {one["name"] for one in container["volumeMounts"]} == {one["name"] for one in pod["volumes"]}
    mounts = {one["mountPath"]: one for one in container["volumeMounts"]}
    settings = configuration("settings")
    for name in ("HULL_LIBRARY", "RULE_SETS"):
        assert mounts[settings[name]]["readOnly"] is True
    assert [path for path, one in mounts.items() if not one.get("readOnly")] == ["/tmp"]


def test_every_setting_is_one_the_service_has():
    known = {f"STS_{name.upper()}" for name in Settings.model_fields} | {"HULL_LIBRARY", "RULE_SETS"}
    assert configuration("settings").keys() <= known
    compose = yaml.safe_load((DEPLOY / "compose.yaml").read_text(encoding="utf-8"))
    assert compose["x-instance"]["environment"].keys() <= known


def test_library_and_rule_sets_are_read_as_mounted(tmp_path, monkeypatch):
    hulls = mounted(configuration("hulls"), tmp_path / "hulls")
    rules = mounted(configuration("rule-sets"), tmp_path / "rules")
    settings = settings_of(configuration("settings"), monkeypatch, HULL_LIBRARY=hulls, RULE_SETS=rules)
    with TestClient(create_app(settings)) as client:
        listed = client.get("/v1/hulls").json()["hulls"]
        assert [one["name"] for one in listed] == ["example-barge"]
        sets = client.get("/v1/rule-sets").json()
        assert "example-of-a-firm" in json.dumps(sets)
        asked = {
            "hull": {"kind": "library", "name": "example-barge"},
            "density_t_per_m3": 1.0,
            "waterplanes": [{"draft_m": 3.5}],
        }
        volume = client.post("/v1/hydrostatics", json=asked).json()["columns"]["volume_m3"]
    assert volume == pytest.approx([60 * 12 * 3.5], rel=1e-12)  # the example barge is a box


def test_compose_mounts_the_same_configuration():
    for name, folder in (("hulls", "hulls"), ("rule-sets", "rule-sets")):
        files = {path.name: path.read_text(encoding="utf-8") for path in (DEPLOY / "configuration" / folder).iterdir()}
        assert files == configuration(name)


def test_compose_runs_the_instances_as_the_cluster_does(pod, container, monkeypatch):
    compose = yaml.safe_load((DEPLOY / "compose.yaml").read_text(encoding="utf-8"))
    one, two, proxy = (compose["services"][name] for name in ("one", "two", "proxy"))
    assert {k: v for k, v in one.items() if k != "networks"} == {k: v for k, v in two.items() if k != "networks"}
    for service in (one, two, proxy):
        assert service["read_only"] is True
        assert service["cap_drop"] == ["ALL"]
        assert service["security_opt"] == ["no-new-privileges:true"]
        assert service["mem_limit"] == service["memswap_limit"]
    assert one["image"] == container["image"]
    assert one["mem_limit"] == f"{bytes_of(container['resources']['limits']['memory']) // MIB}m"
    given = {name: value for name, value in one["environment"].items() if value is not None}
    assert given.items() <= configuration("settings").items()
    assert int(one["stop_grace_period"].removesuffix("s")) > int(given["STS_GRACEFUL_S"])
    for name, service in (("SERVER_ONE", one), ("SERVER_TWO", two)):
        address = service["networks"]["inside"]["ipv4_address"]
        assert proxy["environment"][name] == f"{address}:{container['ports'][0]['containerPort']}"
    assert compose["networks"]["inside"]["internal"] is True
    assert "ports" not in one  # only the proxy is reached from outside


def test_the_proxy_waits_longer_than_the_service_and_sends_nothing_twice():
    config = (DEPLOY / "proxy.cfg").read_text(encoding="utf-8")
    lines = [line.split("#")[0].split() for line in config.splitlines()]
    timeouts = {line[1]: int(line[2].removesuffix("s")) for line in lines if line[:1] == ["timeout"]}
    settings = Settings()
    assert timeouts["server"] > settings.deadline_s + settings.body_s
    assert timeouts["client"] > settings.body_s
    assert [line[1:] for line in lines if line[:1] == ["retry-on"]] == [["conn-failure"]]
    (defaults,) = [line for line in lines if line[:1] == ["default-server"]]
    assert int(defaults[defaults.index("maxconn") + 1]) < settings.threads + settings.queue_limit
