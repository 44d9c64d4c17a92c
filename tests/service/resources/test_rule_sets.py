"""GET /v1/rule-sets: every set with its rules, and every quantity a rule can be about."""

from engine.rules import OBSERVABLES, built_in_sets


def test_every_built_in_set_is_told_whole(plain_http):
    found = plain_http.get("/v1/rule-sets").json()
    sets = {one["name"]: one for one in found["rule_sets"]}
    for subject in ("test", "stability"):
        for rule_set in built_in_sets(subject):
            told = sets.pop(rule_set.name)
            assert (told["title"], told["version"], told["subject"]) == (rule_set.title, rule_set.version, subject)
            assert told["origin"] == "built_in"
            for rule, seen in zip(rule_set.rules, told["rules"], strict=True):
                assert (seen["id"], seen["clause"], seen["source"]) == (rule.id, rule.clause, rule.source)
                assert (seen["source_status"], seen["level"]) == (rule.source_status, rule.level)
                assert (seen["quantity"], seen["limit"], seen["unit"]) == (
                    rule.requirement.quantity,
                    rule.requirement.limit,
                    rule.requirement.unit,
                )
                assert len(seen["alternative"]) == len(rule.alternative)
    assert sets == {}


def test_a_moving_limit_is_told(plain_http):
    found = plain_http.get("/v1/rule-sets").json()
    (one,) = [one for one in found["rule_sets"] if one["name"] == "us-46-cfr-170-173-c"]
    rule = one["rules"][-1]
    assert (rule["limit"], rule["limit_slope_ratio"], rule["limit_quantity"]) == (4.86, -0.057, "gz_maximum_angle_deg")
    assert "limit_quantity" not in one["rules"][0]  # absent, not null


def test_quantities(plain_http):
    told = {one["name"]: one for one in plain_http.get("/v1/rule-sets").json()["quantities"]}
    assert list(told) == [one.name for one in OBSERVABLES]
    assert told["vessel_length_bp_m"]["subjects"] == ["test", "stability"]
    assert told["gm_fluid_m"]["subjects"] == ["stability"]
    assert told["moves_count"]["subjects"] == ["test"]


def test_an_unknown_parameter_is_refused(plain_http):
    answer = plain_http.get("/v1/rule-sets?subject=test")
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/query")
