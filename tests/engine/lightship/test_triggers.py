"""The trigger sets themselves: whole, and named."""

from typing import get_args

import pytest

from engine.errors import InputError
from engine.lightship.triggers import Action, Against, Deviating, ShipKind, Situation, VcgKind, trigger_sets, vcg_rule
from engine.rules.rule import SourceStatus

NAMES = (
    "imo-a-749",
    "imo-msc-circ-1158",
    "solas-ii-1-5",
    "us-46-cfr-144",
    "us-46-cfr-170",
    "us-46-cfr-28",
    "uscg-mtn-04-95",
)


def test_every_set_is_there():
    assert tuple(one.name for one in trigger_sets()) == NAMES
    assert [one.name for one in trigger_sets(NAMES[::-1])] == list(NAMES[::-1])


def test_every_row_is_whole_and_its_ids_are_unique():
    for one in trigger_sets():
        ids = [row.id for row in (*one.triggers, *one.baselines)]
        assert len(ids) == len(set(ids)), one.name
        for row in (*one.triggers, *one.baselines):
            assert row.title, row.id
            assert row.clause, row.id
            assert row.source, row.id
            assert row.source_status in get_args(SourceStatus), row.id
            assert set(row.ship_kinds) <= set(get_args(ShipKind)), row.id
        for trigger in one.triggers:
            assert trigger.against, trigger.id
            assert set(trigger.against) <= set(get_args(Against)), trigger.id
            assert trigger.quantity in get_args(Deviating), trigger.id
            assert trigger.action in get_args(Action), trigger.id
            assert (trigger.limit is None) != (trigger.limit_by_length is None), trigger.id
        for baseline in one.baselines:
            assert set(baseline.situations) <= set(get_args(Situation)), baseline.id


@pytest.mark.parametrize("kind", get_args(VcgKind))
def test_every_way_to_a_vcg_has_one_clause(kind):
    assert vcg_rule(kind).kind == kind
    assert sum(one.vcg is not None and one.vcg.kind == kind for one in trigger_sets()) == 1


def test_numbers_that_are_not_known_from_a_text_say_so():
    """What was only remembered must never be quoted as published: the table of 144.315, MTN 04-95, two others."""
    remembered = {
        (one.name, row.id)
        for one in trigger_sets()
        for row in (*one.triggers, *one.baselines)
        if row.source_status == "from memory"
    }
    assert remembered == {
        ("us-46-cfr-144", "aggregate-test"),
        ("us-46-cfr-144", "survey-displacement"),
        ("us-46-cfr-144", "survey-lcg"),
        ("imo-msc-circ-1158", "in-service-lcg"),
        ("solas-ii-1-5", "amended-vcg"),
        *(("uscg-mtn-04-95", row.id) for row in trigger_sets(["uscg-mtn-04-95"])[0].triggers),
        ("uscg-mtn-04-95", "weight-history"),
    }


@pytest.mark.parametrize(
    ("names", "code", "field"),
    [
        (["us-46-cfr-144", "no-such-set"], "rule-set-not-known", "rules/1"),
        (["us-46-cfr-144", "us-46-cfr-144"], "rule-set-duplicate", "rules/1"),
    ],
)
def test_refusals(names, code, field):
    with pytest.raises(InputError) as refused:
        trigger_sets(names)
    assert (refused.value.code, refused.value.field) == (code, field)
