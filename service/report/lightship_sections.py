"""Sections of the result: KG, the lightship line by line, its uncertainty. Layer: service.report."""

from service.report.document import Block, Cell, Column, Fact, Facts, Formula, Number, Section, Table, Words
from service.report.incline_figures import RESULTS, budget_bars
from service.report.numbers import decimals_of, printed
from service.report.source import Source
from service.report.survey_sections import undone
from service.report.values import Values

KINDS = {
    "remove": "remove",
    "add": "add",
    "relocate_from": "relocate, from",
    "relocate_to": "relocate, to",
    "inclining_weight": "inclining weight off",
    "liquid": "liquid off",
    "lightship_liquid": "liquid of the lightship",
}
CLOSING = Formula(
    'm_"lightship" = Delta + sum m_k, quad quad '
    'x_"lightship" = (Delta x_"as inclined" + sum m_k x_k) / m_"lightship", quad quad "y and z likewise"',
    "m lightship = Δ + Σ mₖ;   x lightship = (Δ · x as inclined + Σ mₖ xₖ) / m lightship;   y and z likewise",
)
LEAST_SHARE_PERCENT = 0.005
PLACES = (("x_m", "LCG"), ("y_m", "TCG"), ("z_m", "VCG"))


def as_inclined(source: Source) -> Section:
    """Return the ship at reading 0: displacement and centre."""
    a, title = source.answer.below("as_inclined"), "As inclined: displacement and KG"
    if not source.done("as_inclined"):
        return Section(title, undone(a, "The ship as inclined"))
    u = source.answer.below("lightship", "standard_uncertainty")
    facts = (
        *a.fact("Displacement", "displacement_t", uncertainty=source.spread("displacement_t")),
        *a.fact("Draft at midlength", "draft_m", surveyed=True),
        *a.fact("Trim, by the stern +", "trim_m"),
        *a.fact("Heel, to starboard +", "heel_deg"),
        *a.fact("Transverse metacentre above base, KM", "km_transverse_m"),
        *a.fact("Centre of gravity, lengthwise", "lcg_m", uncertainty=u.value("x_m")),
        *a.fact("Centre of gravity, athwart", "tcg_m", uncertainty=u.value("y_m")),
        *a.fact("KG, liquids where they lie (solid)", "vcg_m", uncertainty=u.value("z_m")),
        *a.fact("KG raised by the free surfaces (fluid)", "vcg_fluid_m", uncertainty=u.value("z_m")),
    )
    return Section(title, (Facts(facts),))


def lightship(source: Source) -> Section:
    """Return the lightship, line by line from the ship as inclined, and by each method."""
    s, p, title = source.answer.below("lightship"), source.printer, "Lightship"
    if not source.done("lightship"):
        return Section(title, undone(s, "The lightship"))
    heads = source.place_heads(
        "line",
        *(Column(f"mass × {axis}", p.unit("moment_tm"), right=True) for axis in ("x", "y", "z")),
    )
    start = source.answer.below("as_inclined")
    rows: list[tuple[Cell, ...]] = [
        _line(source, "As inclined, liquids where they lie", start, ("lcg_m", "tcg_m", "vcg_m"))
    ]
    for one in s.each("table"):
        rows.append(_line(source, f"{one.text('name')} ({KINDS.get(one.text('kind'), one.text('kind'))})", one))
    rows.append(_line(source, "Lightship", s))
    methods = tuple(
        (
            {"geometric": "hull floated at each reading", "regression": "pooled regression"}[name],
            *(
                s.number("by_method", name, field, uncertainty=_u(s, field))
                for field in ("mass_t", "x_m", "y_m", "z_m")
            ),
        )
        for name in ("geometric", "regression")
        if s.below("by_method", name)
    )
    return Section(
        title,
        (
            CLOSING,
            Table(heads, tuple(rows), f"From the ship as inclined; {source.frame}", emphasised=(0, len(rows) - 1)),
            Table(source.place_heads("by"), methods, "The lightship by each way of finding the metacentric height"),
        ),
    )


def _line(
    source: Source, name: str, one: Values, fields: tuple[str, str, str] = ("x_m", "y_m", "z_m")
) -> tuple[Cell, ...]:
    p, mass = source.printer, one.value("mass_t")
    field = "mass_t"
    if mass is None:
        mass, field = one.value("displacement_t"), "displacement_t"
    levers = [one.value(place) for place in fields]
    moments = [None if mass is None or lever is None else mass * lever for lever in levers]
    return (
        name,
        one.number(field, decimals=3),
        *(one.number(place) for place in fields),
        *(p.number(moment, "moment_tm", decimals=2) for moment in moments),
    )


def _u(s: Values, field: str) -> float | None:
    return s.value("standard_uncertainty", field)


def uncertainty(source: Source) -> Section:
    """Return what the uncertainty is, what it is made of and what would halve it."""
    s, p, title = source.answer.below("lightship"), source.printer, "Uncertainty"
    if not s.below("budget_summary"):
        return Section(title, (Words("No uncertainty could be determined from this record."),))
    rows: list[tuple[Cell, ...]] = []
    for one in s.each("budget_summary"):
        u = one.value("standard_uncertainty")
        name = one.text("result")
        rows.append(
            (
                RESULTS.get(name, name),
                one.number("standard_uncertainty", name=name, uncertainty=u),
                one.number("expanded_uncertainty", name=name, uncertainty=u),
                p.unit(name),
                _plain(one, "coverage_factor_ratio", 2),
                _plain(one, "degrees_of_freedom_count", 0) or "no limit",
                one.text("dominating") or None,
                _halving(one),
            )
        )
    heads = (
        Column("result", share=0.9),
        Column("standard uncertainty", right=True),
        Column("expanded", right=True),
        Column("unit", share=0.5),
        Column("coverage factor", right=True),
        Column("degrees of freedom", right=True),
        Column("dominated by", share=1.3),
        Column("halved by", share=1.8),
    )
    percent = s.value("expanded", "coverage_percent")
    covered = "" if percent is None else f" Expanded: the half-width that covers {printed(percent, 0)} %."
    words = Words(
        "One Jacobian from the raw inputs through the whole chain to each result (JCGM 100:2008): an error of the "
        "draft moves displacement, KM and GM together." + covered
    )
    blocks: list[Block] = [words, Table(heads, tuple(rows))]
    blocks.append(budget_bars(s.data["budget"], s.data["budget_summary"]))
    blocks.append(_budget(s))
    return Section(title, tuple(blocks))


def _plain(one: Values, field: str, decimals: int) -> Number | None:
    return one.number(field, name="plain_ratio", decimals=decimals)


def _halving(one: Values) -> str | None:
    names = one.below("halved_by").data or ()
    factor = one.value("halving_factor_ratio")
    return f"{', '.join(names)}: each {printed(factor, 1)} times smaller" if names and factor is not None else None


def _budget(s: Values) -> Table:
    heads = (
        Column("result", share=0.8),
        Column("kind of error", share=1.4),
        Column("gives alone", right=True),
        Column("unit", share=0.4),
        Column("share of variance", "%", right=True),
        Column("sources", right=True),
        Column("largest", share=1.2),
    )
    totals = {one.text("result"): one.value("standard_uncertainty") for one in s.each("budget_summary")}
    shown = [one for one in s.each("budget") if (one.value("share_percent") or 0.0) >= LEAST_SHARE_PERCENT]
    rows = tuple(
        (
            RESULTS.get(one.text("result"), one.text("result")),
            one.text("name"),
            one.number("value", name=one.text("result"), uncertainty=_finer(totals.get(one.text("result")))),
            s.printer.unit(one.text("result")),
            one.number("share_percent", decimals=2),
            str(int(one.value("source_count") or 0)),
            one.text("largest"),
        )
        for one in shown
    )
    left = len(list(s.each("budget"))) - len(rows)
    caption = "Budget" + (f"; {left} rows with less than {LEAST_SHARE_PERCENT} % left out" if left else "")
    return Table(heads, rows, caption)


def _finer(total: float | None) -> float | None:
    """Return what fixes the digits of a part: one more than the total has."""
    return None if total is None else total / 10.0


def result_facts(source: Source) -> Facts:
    """Return the lightship with its uncertainty, for the first page."""
    s, p = source.answer.below("lightship"), source.printer
    labels = (("mass_t", "Lightship"), *PLACES)
    covered = s.value("expanded", "coverage_percent")
    rows: list[Fact] = []
    for field, label in labels:
        u, wide = _u(s, field), s.value("expanded", field)
        remark = ""
        if u and wide is not None and covered is not None:
            places = decimals_of(u / p.factor(field))
            remark = (
                f"± {printed(wide / p.factor(field), places)} {p.unit(field)} ({printed(covered, 0)} %), "
                f"standard uncertainty {printed(u / p.factor(field), places)} {p.unit(field)}"
            )
        rows += s.fact(label, field, uncertainty=u, remark=remark)
    return Facts(tuple(rows), large=True)
