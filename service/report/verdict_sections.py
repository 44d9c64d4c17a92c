"""Sections of the judgement: checks, comparison, loading conditions, verdict. Layer: service.report."""

from dataclasses import replace
from itertools import groupby

from service.report import generic
from service.report.curves import righting_arm_curve
from service.report.document import Block, Column, Fact, Facts, Note, Section, Table, Words
from service.report.source import Source
from service.report.values import Values
from service.schemas.plain_words import in_words
from service.schemas.terms import label

OUTCOMES = {"met": "met", "not_met": "NOT MET", "not_assessed": "not assessed"}
TRIGGERED = {"within": "not exceeded", "exceeded": "EXCEEDED", "not_assessed": "not assessed"}
SIGNS = {"at_least": "at least", "at_most": "at most", "within": "from"}
KNOWN_PARTS = frozenset(
    {
        *("waterline", "as_inclined", "incline", "deadweight", "lightship", "checks", "findings", "cautions"),
        *("provenance", "cross_checks", "comparisons", "loading_conditions", "verdict"),
    }
)


def limit(check: Values) -> str:
    """Return what is asked, in words."""
    low = check.value("limit")
    if low is None:
        return ""
    text = f"{SIGNS.get(check.text('comparison'), '')} {generic.plain(low)}"
    high = check.value("upper_limit")
    return text if high is None else f"{text} to {generic.plain(high)}"


def checks_table(checks: list[Values], caption: str = "") -> Table:
    """Return checks as a table, every one with its clause."""
    heads = (
        Column("outcome", share=0.8),
        Column("what is asked", share=2.4),
        Column("observed", right=True),
        Column("limit", share=0.9),
        Column("unit", share=0.45),
        Column("clause and source", share=2.2),
    )
    rows = tuple(
        (
            OUTCOMES.get(one.text("outcome"), one.text("outcome")),
            one.text("title") + (" [advised]" if one.text("level") == "advised" else "") + _reason(one),
            generic.plain_number(one, "value"),
            limit(one),
            "" if one.text("unit") == "1" else one.text("unit"),
            f"{one.text('clause')}; {one.text('source')}",
        )
        for one in checks
    )
    bold = tuple(i for i, one in enumerate(checks) if one.text("outcome") == "not_met")
    return Table(heads, rows, caption, emphasised=bold)


def _reason(check: Values) -> str:
    reason = check.text("reason")
    return f": {reason}" if reason else ""


def checks(source: Source) -> Section:
    """Return every check with its clause, by rule set."""
    given = list(source.answer.each("checks"))
    if not given:
        return Section("Checks", (Words("No rule sets were applied."),))
    blocks: list[Block] = [Words(counts(given))]
    for name, group in groupby(given, key=lambda one: one.text("rule_set")):
        blocks.append(checks_table(list(group), f"Rule set {name}"))
    notes = tuple((one.text("title"), one.text("note")) for one in given if one.text("note"))
    if notes:
        heads = (Column("check"), Column("note", share=2.0))
        blocks.append(Table(heads, tuple(notes), "Notes of the rule sets"))
    return Section("Checks", tuple(blocks))


def counts(given: list[Values]) -> str:
    """Return how many checks came out how."""
    found = {name: sum(one.text("outcome") == name for one in given) for name in OUTCOMES}
    required = sum(one.text("outcome") == "not_met" and one.text("level") == "required" for one in given)
    return (
        f"{len(given)} checks: {found['met']} met, {found['not_met']} not met ({required} of them required), "
        f"{found['not_assessed']} not assessed."
    )


def comparison(source: Source) -> tuple[Section, ...]:
    """Return the comparison with every lightship given, where the answer has one."""
    blocks: list[Block] = []
    for one in source.answer.each("comparisons"):
        spread = one.below("deviation_uncertainty")
        rows: list[Fact] = []
        for name in one.below("deviation").data:
            u = spread.value(name)
            remark = "" if not u else f"standard uncertainty {source.printer.text(u, name, uncertainty=u)}"
            rows += one.below("deviation").fact(_deviation(name), name, uncertainty=u, remark=remark)
        blocks += [
            Words(f"Against the {one.text('against')} lightship, derived less reference:"),
            Facts(tuple(rows)),
            _triggers(list(one.each("rows"))),
        ]
    return (Section("Comparison with other lightships", tuple(blocks)),) if blocks else ()


def _deviation(name: str) -> str:
    words = {
        "mass_t": "Mass",
        "mass_percent": "Mass, of the reference's",
        "x_m": "LCG",
        "x_over_length_bp_percent": "LCG, of the length between perpendiculars",
        "x_over_load_line_length_percent": "LCG, of the load-line length",
        "y_m": "TCG",
        "z_m": "VCG",
        "z_percent": "VCG, of the reference's",
    }
    return words.get(name, label(name))


def _triggers(rows: list[Values]) -> Table:
    heads = (
        Column("outcome", share=0.8),
        Column("trigger", share=2.0),
        Column("value", right=True),
        Column("limit", right=True),
        Column("unit", share=0.4),
        Column("asks for", share=1.0),
        Column("clause and source", share=2.0),
    )
    body = tuple(
        (
            TRIGGERED.get(one.text("outcome"), one.text("outcome").replace("_", " ")),
            one.text("title") + _reason(one),
            generic.plain_number(one, "value"),
            generic.plain_number(one, "limit"),
            one.text("unit"),
            one.text("action").replace("_", " "),
            f"{one.text('clause')}; {one.text('source')}",
        )
        for one in rows
    )
    return Table(heads, body, "Triggers")


def loading_conditions(source: Source) -> tuple[Section, ...]:
    """Return every loading condition with its righting arms and its limit of VCG, where the answer has some."""
    found = source.answer.below("loading_conditions")
    if not found:
        return ()
    if not isinstance(found.data, list):
        return (Section("Loading conditions", generic.blocks(found)),)
    blocks: list[Block] = []
    for one in found.each():
        blocks += _condition(one, source)
    return (Section("Loading conditions", tuple(blocks)),)


def _condition(one: Values, source: Source) -> list[Block]:
    name, outcome = one.text("name"), one.text("outcome")
    heading = Note("result", f"{name}: {one.text('statement') or OUTCOMES.get(outcome, outcome.replace('_', ' '))}")
    if not one.below("righting_arms"):
        return [heading, *(Note("finding", found.text("message")) for found in one.each("findings"))]
    u = one.value("vcg_margin_standard_uncertainty_m")
    facts = (
        *one.fact("Displacement", "displacement_t", uncertainty=source.spread("mass_t")),
        *one.fact("Draft at midlength", "draft_m", surveyed=True),
        *one.fact("Trim, by the stern +", "trim_m"),
        *one.fact("Heel, to starboard +", "heel_deg"),
        *one.fact("LCG", "lcg_m"),
        *one.fact("VCG solid", "vcg_m", uncertainty=u),
        *one.fact("VCG fluid", "vcg_fluid_m", uncertainty=u),
        *one.fact("GM fluid", "gm_fluid_m"),
        *one.fact("Limit of VCG, solid", "vcg_limit_m", uncertainty=u),
        *one.fact("Margin, limit less VCG solid", "vcg_margin_m", uncertainty=u),
        *one.fact("Its standard uncertainty", "vcg_margin_standard_uncertainty_m", uncertainty=u),
    )
    governing = one.below("governing")
    if governing:
        rule = governing.text("rule")
        title = next((row.text("title") for row in one.each("criteria") if row.text("rule") == rule), in_words(rule))
        facts = (*facts, Fact("Limit set by", f"{title}, {governing.text('clause')}"))
    blocks: list[Block] = [heading, Facts(facts)]
    heels, gm = one.below("righting_arms", "heel_deg").data, one.value("gm_fluid_m")
    if heels:
        arms = righting_arm_curve(
            heels,
            one.below("righting_arms", "righting_arm_m").data,
            printer=source.printer,
            gm_m=gm if gm is not None and gm > 0 else None,
            caption=f"Righting arms, {name}.",
        )
        blocks.append(replace(arms, share=0.8))
    blocks.append(checks_table(list(one.each("criteria")), "Criteria"))
    blocks += [Note("finding", found.text("message")) for found in one.each("findings")]
    return blocks


def verdict(source: Source) -> tuple[Section, ...]:
    """Return the verdict with what it rests on, where the answer has one."""
    found = source.answer.below("verdict")
    if not found:
        return ()
    blocks: list[Block] = []
    for name in found.data:
        one = found.below(name)
        answer, statement = _answer(one).capitalize(), one.text("statement")
        told = statement if statement.startswith(answer) else f"{answer}. {statement}"
        blocks.append(Note("result", f"{one.text('question')} {told}"))
        evidence = tuple((str(line),) for line in one.below("evidence").data or ())
        if evidence:
            blocks.append(Table((Column("what it rests on"),), evidence))
    return (Section("Verdict", tuple(blocks)),)


def verdict_table(found: Values) -> Table:
    """Return the statements in short, for the first page."""
    heads = (Column("question", share=1.3), Column("answer", share=0.5), Column("statement", share=2.4))
    ones = [found.below(name) for name in found.data]
    return Table(heads, tuple((one.text("question"), _answer(one), one.text("statement")) for one in ones), "Verdict")


def _answer(one: Values) -> str:
    return one.text("answer").replace("_", " ")


def others(source: Source) -> tuple[Section, ...]:
    """Return parts of the answer that no section here knows."""
    made = []
    for name in source.answer.data:
        if name not in KNOWN_PARTS:
            found = source.answer.below(name)
            blocks = generic.blocks(found) if isinstance(found.data, (dict, list)) else (Words(found.text()),)
            if blocks:
                made.append(Section(label(name).capitalize(), blocks))
    return tuple(made)
