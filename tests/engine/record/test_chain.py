"""The one Jacobian against the whole job done again with each recorded value changed by hand.

Expected: central differences of the answer, step by step through every value the sources name. The steps are small
enough that the third order does not show and large enough that round-off does not.
"""

import copy
import json

import numpy as np
import pytest
from pydantic import TypeAdapter

from engine.flotation.hydrostatics import hydrostatics
from engine.geometry.plane import Planes
from engine.record.budget import chain_of, uncertainty
from engine.record.chain import OUTPUTS
from engine.record.solve import solve
from engine.record.sources import sources
from fixtures.demo import demo_record
from service.schemas.hull import OffsetsHull, solid_of
from service.schemas.record import StabilityTest

STEPS = {"m": 1e-4, "t": 1e-3, "t/m³": 1e-5, "m³": 1e-3, "1": 1e-5}


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


def tables_of(hull):
    """Hydrostatic tables of an offsets hull, by the engine's own hydrostatics."""
    solid, _ = solid_of(TypeAdapter(OffsetsHull).validate_json(json.dumps(hull)))
    draft = np.linspace(2.0, 4.0, 41)
    tables = []
    for trim in (-0.5, 0.0, 0.25, 0.5, 1.0):
        planes = Planes.from_waterplanes(draft_m=draft, trim_m=trim, length_bp_m=56.0)
        at = hydrostatics(solid=solid, planes=planes, density_t_per_m3=1.025, length_bp_m=56.0)
        columns = ("displacement_t", "lcb_m", "vcb_m", "lcf_m", "km_transverse_m", "km_longitudinal_m")
        tables.append(
            {"trim_m": trim, "draft_m": draft.tolist()} | {name: getattr(at, name).tolist() for name in columns}
        )
    return {"kind": "tables", "length_bp_m": 56.0, "density_t_per_m3": 1.025, "tables": tables}


def demo():
    return demo_record(instruments="three_kinds")


def everything():
    """The demo with what it lacks: differences, a sag, marks, a sounding, hydrometers, stated uncertainties."""
    record = demo()
    record["water"] = {
        "temperature_c": 11.5,
        "samples": [
            {"density_t_per_m3": 1.0243, "temperature_c": 22.0},
            {
                "hydrometer": {
                    "kind": "density",
                    "reference_temperature_c": 15.0,
                    "apparent_in_air": True,
                    "reading_t_per_m3": {"value": 1.0239, "standard_uncertainty": 0.002},
                },
                "temperature_c": 11.5,
            },
            {
                "hydrometer": {
                    "kind": "relative_density",
                    "reference_temperature_c": 15.0,
                    "water_temperature_c": 30.0,
                    "reading_ratio": {"value": 1.0285, "standard_uncertainty": 0.002},
                },
                "temperature_c": 25.0,
            },
        ],
    }
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


def by_tables():
    """The demo with her hydrostatics tabled at five trims in place of her hull; a sag too."""
    record = demo()
    record["hull"] = tables_of(record["hull"])
    record["deflection"] = "apply"
    for row in record["freeboards"]:
        row["freeboard_m"] -= 0.012 * (1 - (2 * row["x_m"] / 56.0 - 1) ** 2)
    return record


DEMO = demo()
AGAIN = ("freeboards/freeboard_m", "water density, scatter of the samples")
"""Kinds the demo has, tried in the other documents too."""
KINDS_OF_DEMO = {_kind(one.input.name) for one in sources(chain_of(*solved(DEMO)))}


@pytest.mark.parametrize("document", [DEMO, everything(), by_tables()], ids=["demo", "everything", "by tables"])
def test_every_column_is_the_difference_of_two_answers(document):
    record, found = solved(document)
    chain = chain_of(record, found)
    named = sources(chain)
    columns = chain.jacobian([one.shift for one in named])
    spread = np.array([one.input.standard_uncertainty for one in named])
    combined = np.sqrt(np.sum((columns * spread) ** 2, axis=1))
    tried = {_kind(one.input.name): one.input.name for one in named}  # the last of each kind
    if document is not DEMO and found.inclined.fit is not None:  # what the demo has is tried there
        tried = {kind: name for kind, name in tried.items() if kind not in KINDS_OF_DEMO or kind in AGAIN}
    wrong = []
    for one, column in zip(named, columns.T, strict=True):
        if one.input.name not in tried.values():
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
        if found.inclined.fit is None:  # VCG then comes by that same GM
            relative[3] = 3e-2
        allowed = relative * np.abs(column) * u + np.array([3e-4] * 5 + [5e-3]) * combined
        wrong += [
            f"{one.input.name} {out.name}: {c:.6g} for {d:.6g}"
            for out, e, a, c, d in zip(OUTPUTS, error, allowed, column, there / (2 * step), strict=True)
            if e > a
        ]
    assert tried
    assert not wrong, "\n".join(wrong)


def test_tables_of_the_hull_give_its_regression_and_its_uncertainty():
    """Tabled every 50 mm and at five trims: the lightship of the regression on the hull, to what tables leave out."""
    document = demo()
    document.pop("loading_conditions", None)
    whole, on_hull = solved(document)
    record, by_table = solved({**document, "hull": tables_of(document["hull"])})
    assert by_table.inclined.method == "regression"
    assert by_table.not_done["geometric_fit"].code == "tables-no-geometry"
    ours, theirs = by_table.derivation.lightship, on_hull.derivations["regression"].lightship
    assert ours.mass_t == pytest.approx(theirs.mass_t, rel=5e-5)
    assert ours.centre_m == pytest.approx(theirs.centre_m, abs=1.5e-3)
    spread = uncertainty(chain_of(record, by_table)).standard_uncertainty
    expected = uncertainty(chain_of(whole, on_hull)).standard_uncertainty
    for name, value in expected.items():
        assert spread[name] == pytest.approx(value, rel=0.05), name
