"""The report of a stability test. Layer: service.report."""

from service.edge.model import Model
from service.edge.operation import Units
from service.report import (
    appendix,
    condition_sections,
    conduct_sections,
    finding_sections,
    incline_sections,
    lightship_sections,
    survey_sections,
    verdict_sections,
)
from service.report.document import Block, Document, Fact, Facts, Note, Section, Signatures, Words
from service.report.incline_figures import moment_tangent
from service.report.source import Source
from service.report.values import Values

SHOWN_ON_FIRST_PAGE = 5
FAULTS_ON_FIRST_PAGE = 5
FAILED_BESIDE_PLOT = 2
"""So many checks not met still leave the first page room for the plot."""
_SPREAD_VCG = ("lightship", "standard_uncertainty", "z_m")
ROLES = (
    "Naval architect in charge of the test",
    "For the owner or the yard",
    "For the authority, present at the test",
)


def stability_test_report(request: Model, answer: Model, units: Units = "si") -> Document:
    """Return the report of a whole record.

    Parameters
    ----------
    request, answer : Model
        Of ``/v1/stability-tests``.
    """
    source = Source(request, answer, units)
    digest = source.answer.text("provenance", "request_sha256")
    return Document(
        title="Report of a stability test",
        subject=source.request.text("vessel", "name"),
        occasion=conduct_sections.title_line(source),
        sections=(
            first_page(source),
            survey_sections.vessel(source),
            survey_sections.day(source),
            survey_sections.hydrostatics(source),
            survey_sections.floating(source),
            survey_sections.tanks(source),
            survey_sections.ledger(source),
            incline_sections.weights(source),
            incline_sections.readings(source),
            incline_sections.gm(source),
            lightship_sections.as_inclined(source),
            lightship_sections.lightship(source),
            lightship_sections.uncertainty(source),
            verdict_sections.checks(source),
            *finding_sections.diagnoses(source),
            *verdict_sections.comparison(source),
            *condition_sections.loading_conditions(source),
            *verdict_sections.verdict(source),
            *verdict_sections.others(source),
            finding_sections.findings(source),
            Section("Signatures", (Signatures(ROLES),)),
            appendix.raw(source, "record"),
            appendix.provenance(source),
        ),
        foot=f"Request {digest[:12]}",
    )


def first_page(source: Source) -> Section:
    """Return the preliminary answer: one page that stands alone."""
    a = source.answer
    blocks: list[Block] = []
    if source.done("lightship"):
        blocks.append(lightship_sections.result_facts(source))
        blocks.append(Words(f"LCG, TCG and VCG: {source.frame}; found {_way(a)}. After ± stands half the width."))
    else:
        blocks += survey_sections.undone(a.below("lightship"), "The lightship")
    blocks.append(Facts(_as_inclined(source)))
    suspected = finding_sections.faults(source)
    blocks += _faults(source, suspected)
    if a.below("verdict"):
        blocks.append(verdict_sections.verdict_table(a.below("verdict")))
    checks = list(a.each("checks"))
    if checks:
        blocks.append(Words(verdict_sections.counts(checks)))
    failed = [one for one in checks if one.text("outcome") == "not_met" and one.text("level") == "required"]
    if failed:
        more = len(failed) - SHOWN_ON_FIRST_PAGE
        caption = "Required and not met" + (f"; {more} more under Checks" if more > 0 else "")
        blocks.append(verdict_sections.checks_table(failed[:SHOWN_ON_FIRST_PAGE], caption))
    found = list(a.each("findings"))
    if found:
        words = "; ".join(dict.fromkeys(finding_sections.title_of(one) for one in found[:8]))
        blocks.append(
            Words(f"{_counted(len(found), 'finding')} about the data: {words}{' and more' if len(found) > 8 else ''}.")
        )
    blocks += [Note("caution", str(one)) for one in a.below("cautions").data or ()]
    if source.done("incline") and len(failed) + len(suspected) <= FAILED_BESIDE_PLOT:
        blocks.append(moment_tangent(a.data["incline"], source.printer, small=True))
    return Section("Preliminary answer", tuple(blocks), page_after=True)


def _way(answer: Values) -> str:
    """Return how the metacentric height of the lightship was found."""
    method = answer.text("lightship", "method")
    ways = {"geometric": "by the hull floated at each reading", "regression": "by pooled regression"}
    return ways.get(method, f"by {method}" if method else "")


def _faults(source: Source, suspected: list[Values]) -> list[Block]:
    """Return what is wrong with the record the figures above were computed from, the likeliest first."""
    noticed = finding_sections.noticed(source)
    told = [finding_sections.in_short(source, one) for one in (*suspected, *noticed)][:FAULTS_ON_FIRST_PAGE]
    if not told:
        return []
    lead = _counted(len(suspected), "suspected fault") if suspected else "Noticed, no fault"
    order = ", the likeliest first" if len(suspected) > 1 else ""
    words = f"{lead}{order}: {'; '.join(told)}."
    if suspected:
        words += " This page is of the record as it stands: settle this before using its figures."
    return [Note("finding", words)]


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _as_inclined(source: Source) -> tuple[Fact, ...]:
    a, p = source.answer, source.printer
    at, i = a.below("as_inclined"), a.below("incline")
    rows: tuple[Fact, ...] = ()
    if source.done("as_inclined"):
        rows += (
            *at.fact("Displacement as inclined", "displacement_t", uncertainty=source.spread("displacement_t")),
            *at.fact("Draft at midlength", "draft_m", surveyed=True),
            *at.fact("Trim, by the stern +", "trim_m"),
            *at.fact("Heel at reading 0, to starboard +", "heel_deg"),
        )
    if source.done("incline"):
        u = i.value("gm_standard_uncertainty_m")
        stated = "" if u is None else f"standard uncertainty {p.text(u, 'gm_m', uncertainty=u)}"
        rows += (
            *i.below("geometric_fit").fact("GM fluid, hull floated at each reading", "gm_fluid_m", uncertainty=u),
            *i.fact("GM fluid, pooled regression", "gm_fluid_m", uncertainty=u, remark=stated),
            *i.fact("GM solid, pooled regression", "gm_solid_m", uncertainty=u),
            *at.fact("KM, transverse", "km_transverse_m"),
            *at.fact("KG as inclined, solid", "vcg_m", uncertainty=source.answer.value(*_SPREAD_VCG), remark=_way(a)),
        )
    return rows
