"""Readiness: each kind of precondition met, not met and not yet known; what blocks; by when."""

from datetime import date, timedelta
from typing import Any

import pytest

from engine.errors import InputError
from engine.planning.berth import Berth, Tide
from engine.planning.calendar_days import WorkCalendar
from engine.planning.precondition import TOPICS, Precondition, statement_rows
from engine.planning.readiness import Certificate, Deviation, Facts, Limited, Readiness, readiness
from engine.planning.who_brings import NeedChange, Planned, who_brings
from engine.rules import built_in_sets

TODAY, TEST_DAY = date(2026, 6, 1), date(2026, 6, 17)  # a Monday, a Wednesday
PLAN = Planned(pendulums=3, weights=4)


def all_confirmed() -> Any:
    return who_brings(PLAN, changes=[NeedChange(one.id, confirmed=True) for one in who_brings(PLAN)])


def ready_facts(**changed: Any) -> Facts:
    """Return facts with which all is met."""
    given: dict[str, Any] = {
        "statements": dict.fromkeys(statement_rows(), True),
        "observed": {
            "initial_list_deg": 0.3,
            "trim_over_length_percent": 0.4,
            "trim_off_hydrostatics_percent": 0.0,
            "deadweight_over_lightship_percent": 1.5,
            "surplus_over_lightship_percent": 1.2,
            "missing_over_lightship_percent": 0.5,
            "completeness_percent": 99.5,
            "pendulums_count": 3.0,
            "instruments_count": 3.0,
            "weights_count": 4.0,
        },
        "berth": Berth(least_sounding_m=6.0, deepest_point_m=4.0),
        "wind": Limited(forecast_m_per_s=4.0, limit_m_per_s=5.0),
        "current": Limited(forecast_m_per_s=0.1, limit_m_per_s=0.3),
        "certificates": [Certificate("weight", "w1", date(2026, 5, 20), date(2027, 5, 20))],
        "needs": all_confirmed(),
        "procedure_lodged": date(2026, 5, 29),
    }
    return Facts(**(given | changed))


def gone_through(facts: Facts, **changed: Any) -> Readiness:
    return readiness(**({"today": TODAY, "test_date": TEST_DAY, "days": WorkCalendar(), "facts": facts} | changed))


def row(made: Readiness, name: str) -> Precondition:
    return next(one for one in made.preconditions if one.id == name)


def test_ready() -> None:
    made = gone_through(ready_facts())
    assert [one.id for one in made.preconditions if one.outcome != "met"] == []
    assert made.verdict == "ready"
    assert (made.blocking, made.unknown, made.advised) == ((), (), ())


def test_every_topic_of_the_list_is_there() -> None:
    deviations = [Deviation("drawing-lines", "requested")]
    made = gone_through(ready_facts(deviations=deviations))
    assert [topic for topic in TOPICS if topic not in {one.topic for one in made.preconditions}] == []


def test_every_precondition_has_its_clause_and_source() -> None:
    for one in gone_through(Facts(needs=who_brings(PLAN))).preconditions:
        assert one.clause, one.id
        assert one.source, one.id
        assert one.source_status in ("published", "from memory", "common practice, no source", "our choice")
        assert one.outcome == "not_yet_known", one.id  # nothing said, nothing assumed
        if one.source_status == "common practice, no source":
            assert one.source == one.source_status


def test_nothing_known_is_not_ready_nor_refused() -> None:
    made = gone_through(Facts())
    assert made.verdict == "not_yet_known"
    assert made.blocking == ()
    assert "tanks-empty-dry" in made.unknown


@pytest.mark.parametrize("name", sorted(statement_rows()))
def test_each_statement_blocks_alone_if_required(name: str) -> None:
    statements = dict.fromkeys(statement_rows(), True) | {name: False}
    made = gone_through(ready_facts(statements=statements))
    required = statement_rows()[name].level == "required"
    assert made.verdict == ("not_ready" if required else "ready")
    assert made.blocking == ((name,) if required else ())
    assert made.advised == (() if required else (name,))


@pytest.mark.parametrize(
    ("changed", "blocking"),
    [
        ({"initial_list_deg": 0.5}, set()),  # the limit itself passes
        ({"initial_list_deg": 0.51}, {"imo-2008-is-code/initial-list", "us-46-cfr-170/initial-list"}),
        ({"trim_off_hydrostatics_percent": 1.1}, {"us-46-cfr-170/trim"}),
        ({"surplus_over_lightship_percent": 4.1}, {"class-practice/surplus"}),
        ({"completeness_percent": 97.9}, {"us-46-cfr-170/completeness"}),
    ],
)
def test_numbers_against_the_rule_sets(changed: dict[str, float], blocking: set[str]) -> None:
    facts = ready_facts()
    made = gone_through(ready_facts(observed={**facts.observed, **changed}))
    assert set(made.blocking) == blocking


def test_deadweight_over_2_percent_is_advised_against() -> None:
    """Common practice, no source: it cannot block."""
    made = gone_through(ready_facts(observed={**ready_facts().observed, "deadweight_over_lightship_percent": 2.1}))
    assert made.verdict == "ready"
    assert made.advised == ("common-practice/deadweight",)


def test_rule_sets_can_be_chosen() -> None:
    imo = [one for one in built_in_sets() if one.name == "imo-2008-is-code"]
    made = gone_through(ready_facts(observed={**ready_facts().observed, "initial_list_deg": 0.6}), rule_sets=imo)
    assert made.blocking == ("imo-2008-is-code/initial-list",)


@pytest.mark.parametrize(
    ("lodged", "outcome"),
    [(date(2026, 6, 3), "met"), (date(2026, 6, 4), "not_met"), (None, "not_yet_known")],
)
def test_two_weeks_notice(lodged: date | None, outcome: str) -> None:
    """46 CFR 170.085: at least two weeks before; 3 June is 14 days before the 17th."""
    notice = row(gone_through(ready_facts(procedure_lodged=lodged)), "us-46-cfr-170/procedure-notice")
    assert notice.outcome == outcome
    assert notice.due == date(2026, 6, 3)
    assert notice.clause == "46 CFR 170.085"


@pytest.mark.parametrize(
    ("certificate", "outcome"),
    [
        (Certificate("scale", "s", valid_until=TEST_DAY), "met"),  # on the day itself
        (Certificate("scale", "s", valid_until=TEST_DAY - timedelta(days=1)), "not_met"),
        (Certificate("scale", "s", issued=date(2026, 1, 1)), "not_yet_known"),
        (Certificate("scale", "s", issued=TEST_DAY + timedelta(days=1), valid_until=date(2030, 1, 1)), "not_met"),
    ],
)
def test_certificates_in_date_on_the_day(certificate: Certificate, outcome: str) -> None:
    facts = ready_facts()
    made = gone_through(ready_facts(certificates=[*facts.certificates, certificate]))
    found = row(made, "certificate-1")
    assert (found.outcome, found.name) == (outcome, "s")
    assert made.verdict == {"met": "ready", "not_met": "not_ready", "not_yet_known": "not_yet_known"}[outcome]


def test_weights_without_a_certificate_are_not_yet_known() -> None:
    made = gone_through(ready_facts(certificates=[]))
    assert made.unknown == ("certificate-weight",)


@pytest.mark.parametrize(
    ("wind", "outcome"),
    [
        (Limited(5.0, 5.0), "met"),
        (Limited(5.1, 5.0), "not_met"),
        (Limited(None, 5.0), "not_yet_known"),
        (Limited(5.1, None), "not_yet_known"),  # no published limit: nothing to hold it against
    ],
)
def test_wind(wind: Limited, outcome: str) -> None:
    assert row(gone_through(ready_facts(wind=wind)), "wind").outcome == outcome


def test_depth_and_tide() -> None:
    tide = Tide.of(time_min=[0, 360, 720], height_m=[1.0, 3.0, 1.0])
    berth = Berth(least_sounding_m=3.0, deepest_point_m=4.5, margin_m=0.5, tide=tide, start_min=0, duration_min=300)
    made = gone_through(ready_facts(berth=berth))
    assert row(made, "depth").outcome == "met"
    assert row(made, "tide-window").outcome == "not_met"
    assert made.blocking == ("tide-window",)
    assert made.water.windows == ((180.0, 540.0),)  # straight between the given heights


def test_needs_confirmed_or_not() -> None:
    needs = who_brings(PLAN, changes=[NeedChange(one.id, confirmed=one.id != "fenders") for one in who_brings(PLAN)])
    made = gone_through(ready_facts(needs=needs))
    assert made.blocking == ("need-fenders",)
    assert row(made, "need-fenders").responsible == "owner"


def test_an_accepted_deviation_does_not_block() -> None:
    """46 CFR 170.190."""
    statements = dict.fromkeys(statement_rows(), True) | {"drawing-profiles": False}
    for state, verdict, outcome in (
        ("accepted", "ready", "met"),
        ("requested", "not_ready", "not_yet_known"),
        ("refused", "not_ready", "not_met"),
    ):
        deviation = Deviation("drawing-profiles", state)  # type: ignore[arg-type]
        made = gone_through(ready_facts(statements=statements, deviations=[deviation]))
        assert made.verdict == verdict
        assert row(made, "drawing-profiles").outcome == "not_met"  # it is accepted, not mended
        assert row(made, "drawing-profiles").deviation == state
        assert row(made, "deviation-0").outcome == outcome
        assert row(made, "deviation-0").clause == "46 CFR 170.190"
        assert row(made, "deviation-0").deviates_from == "drawing-profiles"


def test_by_when_it_must_be_mended() -> None:
    """Dry tanks: due before the survey, two working days to mend (our choice): 15 and 11 June, over a weekend."""
    statements = dict.fromkeys(statement_rows(), True) | {"tanks-empty-dry": False}
    found = row(gone_through(ready_facts(statements=statements)), "tanks-empty-dry")
    assert (found.due, found.begin_by, found.too_late) == (date(2026, 6, 15), date(2026, 6, 11), False)
    late = row(gone_through(ready_facts(statements=statements), today=date(2026, 6, 12)), "tanks-empty-dry")
    assert late.too_late
    holiday = WorkCalendar.of(holidays=[date(2026, 6, 12)])
    moved = row(gone_through(ready_facts(statements=statements), days=holiday), "tanks-empty-dry")
    assert moved.begin_by == date(2026, 6, 10)


def test_the_first_to_be_mended_comes_first() -> None:
    statements = dict.fromkeys(statement_rows(), True) | {"decks-dry": False, "deck-strength": False}
    assert gone_through(ready_facts(statements=statements)).blocking == ("deck-strength", "decks-dry")


@pytest.mark.parametrize(
    ("changed", "code", "field"),
    [
        ({"statements": {"dance": True}}, "unknown-precondition", "statements/0"),
        ({"deviations": [Deviation("dance", "accepted")]}, "unknown-precondition", "deviations/0/precondition"),
        (
            {"deviations": [Deviation("wind", "accepted"), Deviation("wind", "refused")]},
            "duplicate-id",
            "deviations/1/precondition",
        ),
        (
            {"certificates": [Certificate("crane", "c", valid_until=date(1800, 1, 1))]},
            "date-out-of-range",
            "certificates/0/valid_until",
        ),
        ({"observed": {"dance": 1.0}}, "quantity-unknown", "dance"),
    ],
)
def test_refusals(changed: dict[str, Any], code: str, field: str) -> None:
    with pytest.raises(InputError) as refused:
        gone_through(ready_facts(**changed))
    assert (refused.value.code, refused.value.field) == (code, field)
