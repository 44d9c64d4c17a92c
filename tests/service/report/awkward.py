"""A record that is hard to print: long and foreign names, hostile texts, many rows, missing and repeated readings.

Made from the demonstration's, with conditions of her own: its sixteen moves are its eight, made twice; a hog of 30 mm
is read into its freeboards.
"""

import copy
from typing import Any

from service.demo import demo_record

HOSTILE = (
    "<script>alert(1)</script>",
    '#panic("x") *bold* _it_ $x$ @ref <label> \\ `raw` // no',
    "'; DROP TABLE tanks; --",
    "&lt;b&gt; ]]> \"quoted\" 'too'",
    "${7*7} {{7*7}} {% raw %}",
)
FOREIGN = (
    "船体受压载水",
    "Балластная цистерна № 2",
    "δεξαμενή καυσίμου",
    "خزان الوقود",
    "מיכל דלק",
    "Tänk för brännolja",
)
LONG = "forward deep tank of the port side between frames 41 and 57 below the second deck, " * 2
UNBROKEN = "Ballastwassertankentleerungsleitungsabsperrventilhandrad" * 3
TURNED = "safe\u202egnp.exe"
HOG_M = 0.030


def awkward_record() -> dict[str, Any]:
    """Return the record."""
    record: dict[str, Any] = copy.deepcopy(demo_record())
    record["deflection"] = "apply"
    record["vessel"]["name"] = "Invented <b>Ship</b> & Sons #1 *two* 船 " + "of the long name " * 6
    length = record["hull"]["length_bp_m"]
    for one in record["freeboards"]:
        along = one["x_m"] / length
        one["freeboard_m"] += 4 * HOG_M * along * (1 - along)
    record["freeboards"][0]["time"] = "08:15 <i>local</i>"
    record["freeboards"][1]["freeboard_m"] = {
        "value": record["freeboards"][1]["freeboard_m"],
        "standard_uncertainty": 0.008,
    }
    record["draft_marks"] = [{"x_m": 30.0, "y_m": 0.1, "draft_m": "9 ft 4 1/8 in"}]
    names = [*HOSTILE, *FOREIGN, LONG[:200], UNBROKEN[:200], TURNED]
    for tank, name in zip(record["tanks"], (FOREIGN[0], LONG[:200], HOSTILE[1], FOREIGN[3]), strict=True):
        tank["name"] = name
    items = record["items"]
    record["items"] = [
        {**copy.deepcopy(items[i % len(items)]), "name": names[i % len(names)], "mass_t": 0.1 + 0.01 * i}
        for i in range(40)
    ]
    rename = {"A": HOSTILE[0], "B": FOREIGN[1], "C": "C", "D": UNBROKEN[:60]}
    for weight in record["weights"]:
        weight["id"] = rename[weight["id"]]
    record["moves"] = [{**move, "weight": rename[move["weight"]]} for move in record["moves"]] * 2
    for instrument, name in zip(record["instruments"], (HOSTILE[3], LONG[:200], FOREIGN[4]), strict=True):
        instrument["id"] = name
        for field in ("deflections_m", "port_levels_m", "starboard_levels_m", "angles_deg"):
            if field in instrument:
                instrument[field] = instrument[field] + instrument[field][1:]
    pendulum = record["instruments"][0]["deflections_m"]
    pendulum[3] = None
    pendulum[5] = [pendulum[5] - 0.0004, pendulum[5] + 0.0001, pendulum[5] + 0.0003]
    record["conduct"] = {
        "day": "2026-05-14",
        "place": FOREIGN[1] + ", " + HOSTILE[0],
        "wind_direction": TURNED,
        "mooring": UNBROKEN[:200] + " " + LONG,
        "persons": [{"role": one} for one in (*HOSTILE, *FOREIGN)] + [{"role": LONG[:200], "name": UNBROKEN[:200]}],
        "documents": [{"title": LONG[:200], "reference": UNBROKEN[:200]}],
        "remarks": HOSTILE[4],
    }
    for one in record["weights"]:
        one["certificate"] = LONG[:200]
    record["loading_conditions"] = [
        {
            "name": LONG[:200],
            "items": [
                {"name": names[i % len(names)], "mass_t": 0.5 + 0.01 * i, "x_m": 20.0, "y_m": 1.0, "z_m": 6.0}
                for i in range(40)
            ],
            "tanks": [{"tank": tank["name"], "fill_percent": 40} for tank in record["tanks"]],
        },
        {"name": HOSTILE[0], "items": [{"name": UNBROKEN[:200], "mass_t": 9e4, "x_m": 20.0, "y_m": 0.0, "z_m": 6.0}]},
    ]
    record["stability"]["rules"] = ["imo-2008-is-code-a-2-2", "imo-2008-is-code-a-2-3"]
    record["survey_differences"] = [{"name": HOSTILE[2], "mass_t": -0.4, "x_m": 20.0, "y_m": 0.0, "z_m": 6.0}]
    return record
