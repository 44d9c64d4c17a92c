"""Are the verdict's standard uncertainties what they say? ``python -m tests.performance.verdict [--count N]``

The demo test is written down again and again with errors drawn for every input of the budget, as in coverage.py, and
every such record goes the whole way: lightship, loading conditions, limit of VCG. Printed for each condition: the
standard deviation of the margin of VCG over the records beside the standard uncertainty the verdict states (root mean
square over the records), their ratio, and how often the margin without any error lies within two stated standard
uncertainties. Two cases: the hull exact, and its volume wrong too. The uncertainty stated is that of the lightship. An
error of the hull's volume is in it as far as it changes the lightship; it changes the limit of VCG as well, so in the
second case the ratio shows what that adds.
"""

import argparse
import json
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np

from engine.flotation.tables import HydrostaticTables
from engine.record.budget import chain_of, uncertainty
from engine.record.solve import solve
from fixtures.demo import demo_trial
from fixtures.simulator import Noise, simulate
from service.schemas.loading_answer import ConditionAnswer, assess_conditions
from service.schemas.record import StabilityTest
from tests.performance.coverage import noise

CONDITIONS: list[dict[str, Any]] = [
    {
        "name": "departure",
        "items": [
            {"name": "stores", "mass_t": 20, "x_m": 20, "y_m": 0, "z_m": 6.5},
            {"name": "deck cargo", "mass_t": 90, "x_m": 18, "y_m": 0, "z_m": 6.8},
        ],
        "tanks": [{"tank": "fresh water", "fill_percent": 98, "use": "fresh_water"}],
    },
    {
        "name": "arrival",
        "items": [{"name": "stores", "mass_t": 3, "x_m": 20, "y_m": 0, "z_m": 6.5}],
        "tanks": [{"tank": "fresh water", "fill_percent": 10, "use": "fresh_water"}],
    },
]
BASIS: dict[str, Any] = {"openings": [], "rules": ["imo-2008-is-code-a-2-2"]}
CASES = ("hull exact", "hull volume wrong too", "no error")


def drawn(case: str) -> Noise:
    """Return the standard deviations of a case."""
    if case == "no error":
        return Noise()
    every = noise("every input")
    return every if case == "hull volume wrong too" else replace(every, hull_volume_percent=0.0)


def margins(case: str, seed: int) -> list[tuple[float, float]]:
    """Return margin and stated standard uncertainty of each condition of one record. [m]"""
    record = simulate(demo_trial(instruments="three_kinds"), noise=drawn(case), seed=seed)
    record |= {"loading_conditions": CONDITIONS, "stability": BASIS}
    if case == "hull exact":
        record["uncertainty"] = {"hull_volume_percent": 0.0}
    request = StabilityTest.model_validate_json(json.dumps(record))
    given, _ = request.record()
    solved = solve(given)
    assert solved.derivation is not None
    assert not isinstance(given.hull, HydrostaticTables)
    found = assess_conditions(
        request.loading_conditions,
        hull=given.hull,
        length_bp_m=given.length_bp_m,
        lightship=solved.derivation.lightship,
        covariance=uncertainty(chain_of(given, solved)).budget.covariance[:4, :4],
        basis=request.stability,
        tanks=request.tanks,
    )
    told = []
    for one in found:
        assert isinstance(one, ConditionAnswer)
        assert one.vcg_margin_m is not None
        assert one.vcg_margin_standard_uncertainty_m is not None
        told.append((one.vcg_margin_m, one.vcg_margin_standard_uncertainty_m))
    return told


def figures(case: str, *, count: int, first_seed: int, processes: int) -> dict[str, tuple[float, float, float]]:
    """Return by condition the observed standard deviation [m], the stated one [m], and how many hold the truth [%]."""
    truth = np.array(margins("no error", 0))[:, 0]
    seeds = range(first_seed, first_seed + count)
    with ProcessPoolExecutor(processes) as pool:
        every = np.array(list(pool.map(partial(margins, case), seeds, chunksize=5)))
    found, stated = every[..., 0], every[..., 1]
    observed = np.std(found, axis=0, ddof=1)
    held = 100.0 * np.mean(np.abs(found - truth) <= 2.0 * stated, axis=0)
    rms = np.sqrt(np.mean(stated**2, axis=0))
    return {str(one["name"]): (float(observed[i]), float(rms[i]), float(held[i])) for i, one in enumerate(CONDITIONS)}


def main() -> None:
    """Print both cases."""
    parser = argparse.ArgumentParser(description="The verdict's standard uncertainties against drawn records.")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=40_000)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    print(f"a standard deviation of {asked.count} records is known to {100 / np.sqrt(2 * (asked.count - 1)):.1f} %")
    for case in CASES[:2]:
        print(f"{case}: {asked.count} records")
        told = figures(case, count=asked.count, first_seed=asked.seed, processes=asked.processes)
        for name, (observed, stated, held) in told.items():
            print(
                f"  {name:<10} observed {1000 * observed:6.2f} mm  stated {1000 * stated:6.2f} mm  "
                f"stated/observed {stated / observed:5.3f}  within two stated {held:5.1f} %"
            )


if __name__ == "__main__":
    main()
