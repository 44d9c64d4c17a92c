"""Is the uncertainty a plan expects the scatter of tests run by it? ``python -m tests.performance.planned [--count N]``

Each plan is rehearsed without noise, and the record written down again and again with errors drawn for every input of
the budget from its assumed distribution (fixtures/simulator/noise.py, which knows nothing of the engine). Printed for
the lightship's mass and VCG: expected over observed standard deviation. Aimed at: within 20 % over 500 tests.
"""

import argparse
import copy
import json
from concurrent.futures import ProcessPoolExecutor
from functools import cache, partial
from typing import Any

import numpy as np

from engine.record.assumed import Assumed
from engine.record.solve import solve
from fixtures.demo import demo_record
from fixtures.demo.vessel import LIGHTSHIP
from fixtures.simulator import Noise
from service.resources.plan import EXAMPLE, plan
from service.schemas.plan import PlanRequest
from service.schemas.record import StabilityTest

DEMO_RECORD = demo_record()
DEMO: dict[str, Any] = {
    **{name: DEMO_RECORD[name] for name in ("hull", "items", "tanks")},
    "lightship": {"mass_t": LIGHTSHIP.mass_t, "x_m": LIGHTSHIP.x_m, "y_m": LIGHTSHIP.y_m, "z_m": LIGHTSHIP.z_m},
    "weights_on_hand": [
        {"id": "blocks", "mass_t": 2.6, "pieces_count": 8, "length_m": 1.2, "breadth_m": 0.8, "height_m": 0.7}
    ],
    "deck": {
        "lanes": [
            {"id": name, "x_m": x, "z_m": 5.8, "y_min_m": -5.0, "y_max_m": 5.0, "length_m": 2.5}
            for name, x in (("aft", 9.0), ("forward", 13.0))
        ]
    },
    "instrument_places": [
        {"id": "forward", "head_room_m": 5.0},
        {"id": "midship", "head_room_m": 4.7},
        {"id": "aft", "spread_m": 9.0},
    ],
    "rehearsal": {},
}
PLANS = {"box barge": EXAMPLE, "demo vessel": DEMO}


@cache
def planned(name: str) -> tuple[dict[str, Any], float, float, float]:
    """Return the rehearsed record, the expected u(mass) and u(VCG), and the LCB."""
    answer = plan(PlanRequest.model_validate_json(json.dumps(PLANS[name])))
    assert answer.rehearsal is not None
    assert answer.expected_uncertainty is not None
    expected = answer.expected_uncertainty.standard_uncertainty
    return answer.rehearsal, expected.lightship_mass_t, expected.lightship_vcg_m, answer.predicted.lcg_m


def found(name: str, seed: int) -> tuple[float, float]:
    """Return mass and VCG of the lightship from one spoiled record."""
    rehearsed, *_, lcg = planned(name)
    of = Assumed()
    noise = Noise(
        reading_m=of.reading_m,
        freeboard_m=of.freeboard_m,
        freeboard_common_m=of.heights_common_m,
        density_t_per_m3=of.density_t_per_m3,
        weight_percent=of.weight_percent,
        arm_m=of.arm_m,
        length_m=of.length_m,
        tank_volume_percent=of.tank_volume_percent,
        ledger_mass_percent=of.ledger_mass_percent,
        ledger_centre_m=of.ledger_centre_m,
        hull_volume_percent=of.hull_volume_percent,
        stretched_about_m=lcg,
    )
    record = copy.deepcopy(rehearsed)
    noise.spoil(record, np.random.Generator(np.random.PCG64(seed)))
    given, _ = StabilityTest.model_validate_json(json.dumps(record)).record()
    derivation = solve(given).derivation
    assert derivation is not None
    return derivation.lightship.mass_t, float(derivation.lightship.centre_m[2])


def main() -> None:
    """Print the ratios."""
    parser = argparse.ArgumentParser(description="Expected uncertainty of a plan against the scatter of tests.")
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", type=int, default=40_000)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    with ProcessPoolExecutor(asked.processes) as pool:
        for name in PLANS:
            seeds = range(asked.seed, asked.seed + asked.count)
            drawn = np.array(list(pool.map(partial(found, name), seeds, chunksize=10)))
            observed = drawn.std(axis=0, ddof=1)
            _, mass, vcg, _ = planned(name)
            print(f"{name}: {asked.count} tests")
            print(f"  mass  expected {mass:8.4f} t   observed {observed[0]:8.4f} t   ratio {mass / observed[0]:.3f}")
            print(f"  VCG   expected {vcg:8.5f} m   observed {observed[1]:8.5f} m   ratio {vcg / observed[1]:.3f}")


if __name__ == "__main__":
    main()
