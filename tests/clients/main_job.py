"""The main job by the generated Python client, against a running service.

    python tests/clients/main_job.py ADDRESS KEY

The client is generated into the package ``generated_client`` first (.ci/stages/contract).
"""

import sys
from http import HTTPStatus

import httpx
from generated_client import AuthenticatedClient
from generated_client.api.cells import compute_cell_list
from generated_client.api.hulls import list_hulls
from generated_client.api.hydrostatics import compute_hydrostatics
from generated_client.api.stability_tests import compute_stability_test
from generated_client.models import HydrostaticsAnswer, HydrostaticsRequest, Problem, StabilityTest, StabilityTestAnswer


def main(address: str, key: str) -> None:
    """Ask a hull, a test, a cell, and see two refusals."""
    with AuthenticatedClient(base_url=address, token=key, prefix="", auth_header_name="X-API-Key") as client:
        hulls = list_hulls.sync(client=client)
        assert hulls is not None
        assert not isinstance(hulls, Problem)
        name = hulls.hulls[0].name

        hull = {"kind": "library", "name": name}
        asked = {"hull": hull, "density_t_per_m3": 1.0, "waterplanes": [{"draft_m": 3.5}]}
        particulars = compute_hydrostatics.sync(client=client, body=HydrostaticsRequest.from_dict(asked))
        assert isinstance(particulars, HydrostaticsAnswer)
        volume = particulars.columns.volume_m3[0]
        assert volume is not None
        assert abs(volume - 60 * 12 * 3.5) < 1e-9  # the example barge is a box

        example = httpx.get(f"{address}/v1/record-example", headers={"X-API-Key": key}).json()
        record = StabilityTest.from_dict(example)
        assert record.to_dict() == example  # nothing is lost on the way through the client's models
        test = compute_stability_test.sync(client=client, body=record)
        assert isinstance(test, StabilityTestAnswer), test
        lightship = test.lightship.to_dict()
        assert lightship["mass_t"] > 0, lightship

        angle = compute_cell_list.sync(client=client, heeling_moment_tm=40.0, displacement_t=2000.0, gm_m=1.25)
        assert isinstance(angle, str)
        assert 0.9 < float(angle) < 1.0

        asked["waterplanes"] = [{"draft_m": 9.0}]
        refused = compute_hydrostatics.sync(client=client, body=HydrostaticsRequest.from_dict(asked))
        assert isinstance(refused, Problem)
        assert refused.type_ == "/problems/waterplane-above-hull"

    with AuthenticatedClient(base_url=address, token="wrong", prefix="", auth_header_name="X-API-Key") as stranger:
        answer = list_hulls.sync_detailed(client=stranger)
        assert answer.status_code == HTTPStatus.UNAUTHORIZED
    sys.stdout.write(f"Python client: lightship {lightship['mass_t']:.2f} t\n")


if __name__ == "__main__":
    main(sys.argv[1].rstrip("/"), sys.argv[2])
