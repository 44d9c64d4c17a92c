"""Sections of what was noticed: cross-checks, diagnoses, findings, cautions. Layer: service.report."""

from service.report import generic
from service.report.document import Block, Cell, Column, Fact, Facts, Note, Section, Table, Words
from service.report.source import Source
from service.report.values import Values

TOLD = ("evidence", "action", "separate")
NOT_FACTS = ("cause", "trace", "members", "is_fault", "alternatives", *TOLD)


def faults(source: Source) -> list[Values]:
    """Return the diagnoses that are faults, of the survey first."""
    return [one for one in _diagnoses(source) if one.below("is_fault").data]


def _diagnoses(source: Source) -> list[Values]:
    return [*source.answer.each("waterline", "diagnoses"), *source.answer.each("incline", "diagnoses")]


def name_of(diagnosis: Values) -> str:
    """Return the cause in words."""
    return diagnosis.text("cause").replace("_", " ").replace("-", " ")


def diagnoses(source: Source) -> tuple[Section, ...]:
    """Return what the readings and heights show to be wrong, and what to do; nothing where there is nothing."""
    found = _diagnoses(source)
    crossed = list(source.answer.each("cross_checks"))
    blocks: list[Block] = [_crossed(crossed)] if crossed else []
    for one in found:
        lead = "Suspected fault" if one.below("is_fault").data else "Noticed, no fault"
        blocks.append(Note("finding", f"{lead}: {name_of(one)}. {one.text('evidence')}"))
        members = one.below("members").data or ()
        rows = [Fact("What to do", one.text("action")), Fact("What tells the causes apart", one.text("separate"))]
        if len(members) > 1:
            rows.append(Fact("Causes with the same trace", ", ".join(members)))
        rows += [row for row in generic.facts(one, leave_out=NOT_FACTS).rows if row.value not in (None, "")]
        blocks.append(Facts(tuple(row for row in rows if row.value)))
    return (Section("Cross-checks and diagnoses", tuple(blocks)),) if blocks else ()


def _crossed(rows: list[Values]) -> Table:
    heads = (
        Column("cross-check", share=1.2),
        Column("what is compared", share=1.8),
        Column("value", right=True),
        Column("limit", right=True),
        Column("unit", share=0.4),
        Column("agrees", share=0.5),
    )
    body = tuple(
        (
            one.text("name").replace("-", " ") + (f", {one.text('instrument')}" if one.text("instrument") else ""),
            one.text("message"),
            generic.plain_number(one, "value"),
            generic.plain_number(one, "limit"),
            "" if one.text("unit") == "1" else one.text("unit"),
            "yes" if one.below("agrees").data else "NO",
        )
        for one in rows
    )
    return Table(heads, body, "One part of the record against another")


def findings(source: Source) -> Section:
    """Return the findings, room for what was done about them, and the cautions."""
    heads = (
        Column("finding", share=0.9),
        Column("in words", share=3.0),
        Column("place", share=0.9),
        Column("what was done about it", share=1.6),
    )
    noticed = source.answer.each("findings")
    rows: list[tuple[Cell, ...]] = [
        (one.text("code"), one.text("message"), one.text("field") or None, None) for one in noticed
    ]
    rows += [(name_of(one), one.text("evidence"), None, None) for one in faults(source)]
    blocks: list[Block] = []
    if rows:
        blocks.append(Table(heads, tuple(rows), "The last column is for the naval architect to fill in"))
    else:
        blocks.append(Words("Nothing was noticed about the data beyond the checks above."))
    blocks += [Note("caution", str(one)) for one in source.answer.below("cautions").data or ()]
    return Section("Findings and cautions", tuple(blocks))
