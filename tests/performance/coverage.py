"""Does the stated interval hold the truth as often as it says? ``python -m tests.performance.coverage [--count N]``

The demo test is written down again and again with errors drawn for every input of the budget from its stated
distribution (fixtures/simulator/noise.py, which knows nothing of the engine), and put on the recorded values. The
lightship that floats is always the same. Printed for each result: how often the 95 % interval held the truth, and the
stated standard uncertainty over the observed standard deviation. Three cases: every input as by default; the same
with a gust common to all instruments of a move as large as the reading error; and readings alone, all else exact,
where the interval rests on the scatter and its few degrees of freedom.
"""

import argparse
import json
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np

from engine.record.assumed import Assumed
from engine.record.budget import uncertainty
from engine.record.chain import Chain
from engine.record.solve import solve
from fixtures.demo import demo_trial
from fixtures.simulator import Noise, simulate
from service.schemas.record import StabilityTest

NAMES = ("mass_t", "x_m", "y_m", "z_m")
TRUTH = json.loads((Path(__file__).parents[2] / "fixtures/demo/truth.json").read_text())["lightship"]
LCB_M = 24.19
READING_RATIO = 0.0005 / 4.23
"""Tangent error of one reading of the demo's pendulum, for the size of the gust."""


def noise(case: str) -> Noise:
    """Return the standard deviations of a case."""
    if case == "no error":
        return Noise()
    of = Assumed()
    readings = {"reading_m": of.reading_m, "reading_deg": float(np.degrees(READING_RATIO))}
    gust = READING_RATIO if case != "every input" else 0.0
    if case == "readings and gusts alone":
        return Noise(**readings, gust_ratio=gust)
    return Noise(
        **readings,
        gust_ratio=gust,
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
        stretched_about_m=LCB_M,
    )


def trial_once(case: str, seed: int) -> tuple[list[float], list[float], list[float]]:
    """Return the results, their standard and their expanded uncertainties from one record."""
    record = simulate(demo_trial(instruments="three_kinds"), noise=noise(case), seed=seed)
    if case == "readings and gusts alone":
        exact = ("freeboard_m", "weight_percent", "arm_m", "length_m", "density_t_per_m3", "hull_volume_percent")
        exact += ("tank_volume_percent", "ledger_mass_percent", "ledger_centre_m")
        record["uncertainty"] = dict.fromkeys(exact, 0.0)
    given, _ = StabilityTest.model_validate_json(json.dumps(record)).record()
    solved = solve(given)
    outputs = {one.name: one for one in uncertainty(Chain.of(given, solved)).budget.outputs}
    assert solved.derivation is not None
    ship = solved.derivation.lightship
    return (
        [ship.mass_t, *ship.centre_m.tolist()],
        [outputs[name].standard_uncertainty for name in NAMES],
        [outputs[name].expanded_uncertainty for name in NAMES],
    )


def figures(case: str, count: int, first_seed: int, processes: int) -> dict[str, tuple[float, float]]:
    """Return for each result the coverage [%] and stated over observed standard deviation."""
    with ProcessPoolExecutor(processes) as pool:
        drawn = list(pool.map(partial(trial_once, case), range(first_seed, first_seed + count), chunksize=10))
    found, stated, half = (np.array([one[k] for one in drawn]) for k in range(3))
    truth = np.array([TRUTH[name] for name in NAMES])
    if case == "readings and gusts alone":  # mass is then exact: what counts is the answer without any error
        truth = np.array(trial_once("no error", 0)[0])
    held = 100.0 * np.mean(np.abs(found - truth) <= half, axis=0)
    observed = np.std(found, axis=0, ddof=1)
    ratio = np.sqrt(np.mean(stated**2, axis=0)) / np.where(observed > 0, observed, np.nan)
    uncertain = stated.any(axis=0)
    return {name: (float(h), float(r)) for name, h, r, u in zip(NAMES, held, ratio, uncertain, strict=True) if u}


def main() -> None:
    """Print the three cases."""
    parser = argparse.ArgumentParser(description="Coverage of the stated intervals.")
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=20_000)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    for case in ("every input", "every input, and gusts", "readings and gusts alone"):
        print(f"{case}: {asked.count} records")
        for name, (held, ratio) in figures(case, asked.count, asked.seed, asked.processes).items():
            print(f"  {name:<7} held the truth {held:5.1f} %   stated/observed standard deviation {ratio:5.3f}")


if __name__ == "__main__":
    main()
