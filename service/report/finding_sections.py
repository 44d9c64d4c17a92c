"""Sections of what was noticed: cross-checks, diagnoses, findings, cautions. Layer: service.report."""

from service.edge.problem_texts import texts
from service.report import compared, generic
from service.report.document import Block, Cell, Column, Fact, Facts, Note, Section, Table, Words
from service.report.source import Source
from service.report.values import Values
from service.schemas.plain_words import in_words, inner

TOLD = ("evidence", "action", "separate")
PLACES = ("heights", "items", "readings", "moves", "instruments", "weights")
NOT_FACTS = ("cause", "trace", "members", "is_fault", "alternatives", *TOLD, *PLACES)
WITH_AND_WITHOUT = {
    "gm_with_m": "GM fluid, record as it stands",
    "gm_without_m": "GM fluid, with this allowed for",
    "slope_with_per_tm": "Slope, record as it stands",
    "slope_without_per_tm": "Slope, with this allowed for",
    "draft_with_m": "Draft with the sag fitted, record as it stands",
    "draft_without_m": "Draft with the sag fitted, this allowed for",
    "trim_with_m": "Trim with the sag fitted, record as it stands",
    "trim_without_m": "Trim with the sag fitted, this allowed for",
    "heel_with_deg": "Heel with the sag fitted, record as it stands",
    "heel_without_deg": "Heel with the sag fitted, this allowed for",
}
"""What a diagnosis moves. Heights are diagnosed with the sag they fix; the floating plane may be without it."""


def faults(source: Source) -> list[Values]:
    """Return the diagnoses that are faults, of the survey first."""
    return [one for one in _diagnoses(source) if one.below("is_fault").data]


def noticed(source: Source) -> list[Values]:
    """Return the diagnoses that are no faults and yet move GM."""
    return [one for one in _diagnoses(source) if not one.below("is_fault").data and one.value("gm_without_m")]


def _diagnoses(source: Source) -> list[Values]:
    return [*source.answer.each("waterline", "diagnoses"), *source.answer.each("incline", "diagnoses")]


def name_of(diagnosis: Values) -> str:
    """Return the cause in words."""
    return in_words(diagnosis.text("cause"))


def title_of(finding: Values) -> str:
    """Return what a finding is called, as its page among the problems has it."""
    code = finding.text("code")
    known = texts().get(code)
    return in_words(code) if known is None else inner(known.title)


def places_of(source: Source, diagnosis: Values) -> str:
    """Return what a diagnosis is about, numbered as the tables of the report are; "" where it names nothing."""
    heights = list(source.answer.each("waterline", "heights"))
    items = [one.text("name") for one in source.request.each("items")]
    told = [_height(heights, k) for k in _whole(diagnosis, "heights")]
    told += [items[k] if k < len(items) else f"item {k + 1}" for k in _whole(diagnosis, "items")]
    told += _listed("reading", [str(k) for k in _whole(diagnosis, "readings")])
    told += _listed("move", [str(k + 1) for k in _whole(diagnosis, "moves")])  # moves count from 1 in the tables
    told += _listed("weight", list(diagnosis.below("weights").data or ()))
    instruments = list(diagnosis.below("instruments").data or ())
    if len(instruments) < len(list(source.request.each("instruments"))):
        told += _listed("instrument", instruments)
    return ", ".join(told)


def _whole(diagnosis: Values, name: str) -> list[int]:
    return [int(k) for k in diagnosis.below(name).data or ()]


def _height(heights: list[Values], k: int) -> str:
    if k >= len(heights):
        return f"height {k + 1}"
    return f"{heights[k].text('kind').replace('_', ' ')} {int(heights[k].value('index') or 0) + 1}"


def _listed(noun: str, names: list[str]) -> list[str]:
    return [f"{noun}{'' if len(names) == 1 else 's'} {', '.join(names)}"] if names else []


def in_short(source: Source, diagnosis: Values) -> str:
    """Return a diagnosis in a line: its cause, its place, and GM both ways where that is known."""
    places, p = places_of(source, diagnosis), source.printer
    words = name_of(diagnosis) + (f" ({places})" if places else "")
    both = [diagnosis.value(name) for name in ("gm_with_m", "gm_without_m")]
    if None in both:
        return words
    stands, allowed = (p.text(one, "gm_m") for one in both if one is not None)
    return f"{words}: GM fluid by regression {stands} as the record stands, {allowed} with this allowed for"


def diagnoses(source: Source) -> tuple[Section, ...]:
    """Return what the readings and heights show to be wrong, and what to do; nothing where there is nothing."""
    found = _diagnoses(source)
    crossed = list(source.answer.each("cross_checks"))
    blocks: list[Block] = [_crossed(crossed)] if crossed else []
    for one in found:
        lead = "Suspected fault" if one.below("is_fault").data else "Noticed, no fault"
        blocks.append(Note("finding", f"{lead}, {name_of(one)}: {one.text('evidence')}"))
        members = one.below("members").data or ()
        places = places_of(source, one)
        rows = [Fact("Where", places)] if places else []
        rows += [Fact("What to do", one.text("action")), Fact("What tells the causes apart", one.text("separate"))]
        if len(members) > 1:
            rows.append(Fact("Causes with the same trace", ", ".join(map(in_words, members))))
        rows += generic.facts(one, leave_out=(*NOT_FACTS, *WITH_AND_WITHOUT)).rows
        rows += [fact for name, words in WITH_AND_WITHOUT.items() for fact in one.fact(words, name)]
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
            compared.value_of(one),
            compared.limit_of(one),
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
    rows: list[tuple[Cell, ...]] = [
        (title_of(one), one.text("message"), one.text("field") or None, None) for one in source.answer.each("findings")
    ]
    rows += [(name_of(one), one.text("evidence"), places_of(source, one) or None, None) for one in faults(source)]
    rows += [
        (title_of(one), one.text("message"), f"condition {condition.text('name')}", None)
        for condition in source.answer.each("loading_conditions")
        for one in condition.each("findings")
    ]
    blocks: list[Block] = []
    if rows:
        blocks.append(Table(heads, tuple(rows), "The last column is for the naval architect to fill in"))
    else:
        blocks.append(Words("Nothing was noticed about the data beyond the checks above."))
    blocks += [Note("caution", str(one)) for one in source.answer.below("cautions").data or ()]
    return Section("Findings and cautions", tuple(blocks))
