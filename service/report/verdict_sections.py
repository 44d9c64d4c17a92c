"""Sections of the judgement: checks, comparison, verdict. Layer: service.report."""

from itertools import groupby

from service.report import compared, generic
from service.report.document import Block, Column, Fact, Facts, Note, Section, Table, Words
from service.report.source import Source
from service.report.values import Values
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
    low, high = compared.limit_of(check), compared.limit_of(check, "upper_limit")
    if low is None:
        return ""
    text = f"{SIGNS.get(check.text('comparison'), '')} {low.text}"
    return text if high is None else f"{text} to {high.text}"


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
            compared.value_of(one),
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
        Column("outcome", share=1.2),
        Column("trigger", share=2.0),
        Column("value", right=True),
        Column("limit", right=True),
        Column("unit", share=0.4),
        Column("asks for", share=1.0),
        Column("clause and source", share=2.0),
    )
    body = tuple(
        (
            _triggered(one),
            one.text("title") + _reason(one),
            compared.value_of(one),
            compared.limit_of(one),
            one.text("unit"),
            one.text("action").replace("_", " "),
            f"{one.text('clause')}; {one.text('source')}",
        )
        for one in rows
    )
    return Table(heads, body, "Triggers")


def _triggered(one: Values) -> str:
    """Return the outcome, and whether value and limit are so near that it may be otherwise."""
    words = TRIGGERED.get(one.text("outcome"), one.text("outcome").replace("_", " "))
    off = one.value("exceedance_ratio")
    if one.text("certainty") != "within_uncertainty" or off is None:
        return words
    side = "above" if off > 0 else "below"
    return f"{words}, within the uncertainty: {abs(off):.1f} standard uncertainties {side} the limit"


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
