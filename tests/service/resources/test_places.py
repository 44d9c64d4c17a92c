"""Places and lengths that are not of the ship, each by one change of the demo, no lightship to hold it against."""

import pytest

from service.demo import demo_record

WHOLE, WATERLINE, SURVEY = (f"/v1/stability-tests{end}" for end in ("", "/waterline", "/survey"))
LENGTH_M = 56.0
TOLD = {
    "reference-above-hull",
    "reference-below-top",
    "reference-in-from-side",
    "reference-sides-differ",
    "weight-below-deck",
}
TOLD |= {"length-and-hull-differ"}
IN_QUESTION = {"outside-ship", "height-inside-hull", "length-not-of-hull", "reference-not-of-ship"}


def alone():
    record = demo_record()
    for name in ("approved", "predicted", "loading_conditions", "stability"):
        del record[name]
    return record


def from_midship(record):
    for one in record["freeboards"]:
        one["x_m"] -= LENGTH_M / 2


def ends_exchanged(record):
    for one in record["freeboards"]:
        one["x_m"] = LENGTH_M - one["x_m"]


def list_upside_down(record):
    places = [one["x_m"] for one in record["freeboards"]]
    for one, x in zip(record["freeboards"], reversed(places), strict=True):
        one["x_m"] = x


def hull_end_for_end(record):
    stations = record["hull"]["stations"]
    sections = [one["points_m"] for one in stations]
    for one, points in zip(stations, reversed(sections), strict=True):
        one["points_m"] = points


def breadth_in_millimetres(record):
    for one in record["freeboards"]:
        one["y_m"] *= 1000


def hull_in_feet(record):
    for one in record["hull"]["stations"]:
        one["points_m"] = [[y / 0.3048, z / 0.3048] for y, z in one["points_m"]]


def a_digit_of_the_length(record):
    record["hull"]["length_bp_m"] = record["vessel"]["length_bp_m"] = LENGTH_M / 10


def length_in_feet(record):
    record["hull"]["length_bp_m"] = record["vessel"]["length_bp_m"] = 183.7


def stations_left_out(record):
    record["hull"]["stations"] = [one for one in record["hull"]["stations"] if one["x_m"] < 49]


@pytest.mark.parametrize(
    ("slip", "code"),
    [
        (from_midship, "outside-ship"),
        (ends_exchanged, "outside-ship"),
        (list_upside_down, "outside-ship"),
        (hull_end_for_end, "outside-ship"),
        (breadth_in_millimetres, "outside-ship"),
        (hull_in_feet, "height-inside-hull"),
        (a_digit_of_the_length, "length-not-of-hull"),
        (length_in_feet, "length-not-of-hull"),
        (stations_left_out, "length-not-of-hull"),
    ],
)
def test_a_record_not_of_one_ship_is_in_question(plain_http, slip, code):
    record = alone()
    record["approved"] = demo_record()["approved"]
    before = plain_http.post(WHOLE, json=record).json()
    assert not (TOLD | IN_QUESTION) & {one["code"] for one in before["findings"]}
    assert before["verdict"]["differs_from_approved"]["answer"] != "not_known"
    slip(record)
    answer = plain_http.post(WHOLE, json=record).json()
    assert code in {one["code"] for one in answer["findings"]}
    sound, differs = (answer["verdict"][name] for name in ("test_is_sound", "differs_from_approved"))
    assert (sound["answer"], differs["answer"]) == ("no", "not_known")
    assert sound["statement"].startswith("In question")


def on_another_deck(record):
    for one in record["freeboards"]:
        one["reference_z_m"] += 1.1


def on_a_lower_deck(record):
    for one in record["freeboards"]:
        one["reference_z_m"] -= 1.1


def half_the_breadth(record):
    for one in record["freeboards"]:
        one["y_m"] /= 2


def weights_at_the_keel(record):
    record["weights"][0]["z_m"] = 0.375


@pytest.mark.parametrize(
    ("slip", "code", "says"),
    [
        (on_another_deck, "reference-above-hull", "their place: 10 of 10,"),
        (on_a_lower_deck, "reference-below-top", "their place: 10 of 10,"),
        (half_the_breadth, "reference-in-from-side", "side: 10 of 10,"),
        (weights_at_the_keel, "weight-below-deck", "weights/0 at z = 0.375 m"),
    ],
)
def test_what_may_well_be_so_is_told_only(plain_http, slip, code, says):
    record = alone()
    before = plain_http.post(WHOLE, json=record).json()["verdict"]["test_is_sound"]["answer"]
    slip(record)
    answer = plain_http.post(WHOLE, json=record).json()
    told = {one["code"]: one["message"] for one in answer["findings"]}
    assert says in told[code]
    assert answer["verdict"]["test_is_sound"]["answer"] == before != "no"


def test_one_axis_in_millimetres_is_refused(plain_http):
    record = alone()
    for one in record["hull"]["stations"]:
        one["points_m"] = [[1000 * y, 1000 * z] for y, z in one["points_m"]]
    (fault,) = plain_http.post(WHOLE, json=record).json()["errors"]
    assert (fault["pointer"], fault["code"]) == ("#/hull", "hull-proportions")


def test_a_lightship_next_to_nothing_is_withheld(plain_http):
    record = alone()
    whole = plain_http.post(WHOLE, json=record).json()["lightship"]
    place = {name: whole[name] for name in ("x_m", "y_m", "z_m")}
    record["items"].append({"name": "most of her", "action": "remove", "mass_t": whole["mass_t"] - 5, **place})
    answer = plain_http.post(WHOLE, json=record).json()
    why = answer["lightship"]
    assert (why["outcome"], why["findings"][0]["code"]) == ("not_determined", "lightship-implausible")
    assert answer["verdict"]["test_is_sound"]["answer"] == "no"


def test_the_steps_tell_it_too(plain_http):
    ship = {name: alone()[name] for name in ("hull", "water", "freeboards")}
    from_midship(ship)
    survey = {**ship, "vcg": {"kind": "approved", "approved": demo_record()["approved"]}, "ship_kind": "cargo"}
    for path, sent in ((WATERLINE, ship), (SURVEY, survey)):
        answer = plain_http.post(path, json=sent)
        assert answer.status_code == 200, answer.text
        assert "outside-ship" in {one["code"] for one in answer.json()["findings"]}
    survey["vcg"]["approved"]["mass_t"] *= 1000
    assert "reference-not-of-ship" in {one["code"] for one in plain_http.post(SURVEY, json=survey).json()["findings"]}


@pytest.mark.parametrize(
    ("name", "field", "change"),
    [
        ("approved", "mass_t", lambda mass: 1000 * mass),
        ("approved", "z_m", lambda z: 1000 * z),
        ("approved", "x_m", lambda x: x - LENGTH_M / 2),
        ("predicted", "mass_t", lambda mass: 1000 * mass),
    ],
)
def test_a_lightship_of_another_ship_gives_no_comparison(plain_http, name, field, change):
    record = alone() | {one: demo_record()[one] for one in ("approved", "predicted")}
    before = plain_http.post(WHOLE, json=record).json()
    record[name][field] = change(record[name][field])
    answer = plain_http.post(WHOLE, json=record).json()
    told = [one["message"] for one in answer["findings"] if one["code"] == "reference-not-of-ship"]
    assert len(told) == 1
    assert told[0].startswith(f"{name}: {field.partition('_')[0]} = ")
    differs = answer["verdict"]["differs_from_approved"]
    assert (before["verdict"]["differs_from_approved"]["answer"], differs["answer"]) == ("yes", "not_known")
    assert f"looks wrong: {told[0]}" in differs["evidence"]
    if name == "approved":  # the test itself does not rest on it
        assert answer["verdict"]["test_is_sound"] == before["verdict"]["test_is_sound"]


def test_a_condition_with_an_item_outside_the_ship_is_in_doubt(plain_http):
    record = demo_record()
    record["loading_conditions"][0]["items"][0]["x_m"] = -28.0
    answer = plain_http.post(WHOLE, json=record).json()
    first, second = answer["loading_conditions"]
    assert ("outside-ship", "items/0 lies 26 m outside the ship") in [
        (one["code"], one["message"]) for one in first["findings"]
    ]
    assert "outside-ship" not in {one["code"] for one in second["findings"]}
    meets = answer["verdict"]["conditions_meet_criteria"]
    assert meets["answer"] == "not_known"
    assert meets["statement"] == "Not known: 1 of 2 conditions could not be judged in full."
    assert "not known: met as computed, but items/0 lies 26 m outside the ship" in meets["evidence"][0]
    assert answer["verdict"]["test_is_sound"]["answer"] != "no"
