"""The one Jacobian against the whole job done again with each recorded value changed by hand.

Expected: central differences of the answer, step by step through every value the sources name. The steps are small
enough that the third order does not show and large enough that round-off does not.
"""

import copy
import json

import numpy as np
import pytest

from engine.record.chain import OUTPUTS, Chain
from engine.record.solve import solve
from engine.record.sources import sources
from fixtures.demo import demo_record
from service.schemas.record import StabilityTest

STEPS = {"m": 1e-4, "t": 1e-3, "t/m³": 1e-5, "m³": 1e-3}


def solved(document):
    record, _ = StabilityTest.model_validate_json(json.dumps(document)).record()
    solution = solve(record)
    return record, solution


def results(document):
    _, found = solved(document)
    ship = found.derivation.lightship
    return np.array(
        [
            ship.mass_t,
            *ship.centre_m,
            found.inclined.at_zero.afloat.displacement_t,
            found.inclined.regression.gm_fluid_m,
        ]
    )


def nudged(document, places, step):
    changed = copy.deepcopy(document)
    for path, factor in places:
        *above, last = path.split("/")
        node = changed
        for part in above:
            node = node[int(part)] if isinstance(node, list) else node[part]
        key = int(last) if isinstance(node, list) else last
        if key in node:
            node[key] = _plus(node[key], step * factor)
        else:  # a move that keeps x or z where the weight was
            node[key] = step * factor
    return changed


def _plus(value, step):
    return {**value, "value": value["value"] + step} if isinstance(value, dict) else value + step


def demo():
    return demo_record(instruments="three_kinds")


def everything():
    """The demo with what it lacks: survey differences, a sag, draft marks, a sounding, stated uncertainties."""
    record = demo()
    record["survey_differences"] = [{"name": "gang way", "mass_t": 3.0, "x_m": 30.0, "y_m": -2.0, "z_m": 7.0}]
    record["deflection"] = "apply"
    for row in record["freeboards"]:
        row["freeboard_m"] -= 0.012 * (1 - (2 * row["x_m"] / 56.0 - 1) ** 2)
    record["draft_marks"] = [{"x_m": 2.0, "y_m": 1.0, "draft_m": 3.4, "zero_z_m": {"value": 0.0}}]
    water_z = 3.2  # about; only its derivative counts
    record["draft_marks"][0]["draft_m"] = {"value": water_z, "standard_uncertainty": 0.5}
    record["draft_marks"][0]["zero_z_m"] = {"value": 0.0, "standard_uncertainty": 0.002}
    record["freeboards"][2]["x_m"] = {"value": record["freeboards"][2]["x_m"], "standard_uncertainty": 0.05}
    record["freeboards"][3]["y_m"] = {"value": record["freeboards"][3]["y_m"], "standard_uncertainty": 0.05}
    record["freeboards"][4]["reference_z_m"] = {
        "value": record["freeboards"][4]["reference_z_m"],
        "standard_uncertainty": 0.004,
    }
    record["tanks"][0]["density_t_per_m3"] = {"value": 1.025, "standard_uncertainty": 0.01}
    record["tanks"][0]["lightship_volume_m3"] = 1.5
    record["tanks"][1]["contents"] = {"kind": "sounding", "sounding_m": {"value": 0.9, "standard_uncertainty": 0.01}}
    record["weights"][1]["z_m"] = {"value": 6.15, "standard_uncertainty": 0.02}
    record["weights"][1]["x_m"] = {"value": 13.0, "standard_uncertainty": 0.02}
    return record


def _kind(name):
    """A path without its numbers, tanks and survey differences kept apart: each is a case of its own."""
    parts = name.split("/")
    return "/".join(part for part in parts if not part.isdigit() or parts[0] == "tanks")


@pytest.mark.parametrize("document", [demo(), everything()], ids=["demo", "everything"])
def test_every_column_is_the_difference_of_two_answers(document):
    record, found = solved(document)
    chain = Chain.of(record, found)
    named = sources(chain)
    columns = chain.jacobian([one.shift for one in named])
    spread = np.array([one.input.standard_uncertainty for one in named])
    combined = np.sqrt(np.sum((columns * spread) ** 2, axis=1))
    tried = {_kind(one.input.name): one.input.name for one in named}.values()  # the last of each kind
    wrong = []
    for one, column in zip(named, columns.T, strict=True):
        if one.input.name not in tried:
            continue
        if one.input.name == "hull":  # an error of the form is no recorded value; it acts as one of the density does
            density = next(other for other in named if other.input.name.startswith("water"))
            scale = one.shift.buoyancy_ratio / density.shift.buoyancy_ratio
            assert column == pytest.approx(scale * columns[:, named.index(density)], rel=1e-12)
            continue
        step = STEPS[one.input.unit]
        there = results(nudged(document, one.places, step)) - results(nudged(document, one.places, -step))
        u = one.input.standard_uncertainty
        error = np.abs(there / (2 * step) - column) * u
        # GM is differentiated as the slope of a straight line: its stiffening term is left out, of order k tan²/GM
        relative = np.array([2e-3] * 5 + [2e-2])
        allowed = relative * np.abs(column) * u + np.array([3e-4] * 5 + [5e-3]) * combined
        wrong += [
            f"{one.input.name} {out.name}: {c:.6g} for {d:.6g}"
            for out, e, a, c, d in zip(OUTPUTS, error, allowed, column, there / (2 * step), strict=True)
            if e > a
        ]
    assert len(tried) >= 18
    assert not wrong, "\n".join(wrong)
