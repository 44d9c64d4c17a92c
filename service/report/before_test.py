"""Documents before the day: the plan, and the procedure with its blank field sheets. Layer: service.report."""

from service.edge.model import Model
from service.edge.operation import Units
from service.report import appendix, generic
from service.report.document import Block, Cell, Column, Document, Facts, Note, Section, Signatures, Table, Words
from service.report.field_sheets import Known, field_sheets
from service.report.source import Source
from service.report.values import Values
from service.report.verdict_sections import checks_table, counts
from service.schemas.terms import label

ROLES = ("Naval architect in charge of the test", "For the owner or the yard", "For the authority")
FULL_TABLES = ("budget", "budget_summary")
PLAN_SHOWN = frozenset(
    {
        *("possible", "means", "impossible", "predicted", "without_weights", "aimed_heel_deg", "weights", "moves"),
        *("instruments", "freeboards", "water_depth", "tanks", "rehearsal", "findings", "cautions", "provenance"),
    }
)


def procedure_report(request: Model, answer: Model, units: Units = "si") -> Document:
    """Return the procedure as far as it is known, what is missing by whose list, and blank sheets."""
    source = Source(request, answer, units)
    known = source.answer.below("contents")
    vessel = known.text("vessel", "name")
    sheets = field_sheets(
        Known(
            printer=source.printer,
            vessel=vessel,
            day=known.text("day"),
            weights=list(known.each("weights")),
            instruments=list(known.each("instruments")),
            tanks=list(known.each("tanks")),
            items=list(known.each("items")),
        )
    )
    checks = list(source.answer.each("checks"))
    return Document(
        title="Procedure of a stability test",
        subject=vessel,
        sections=(
            _standing(source),
            Section("The test", _contents(known)),
            Section("What the regulations ask for", (_parts(source),)),
            Section("Checks", (Words(counts(checks)), checks_table(checks)) if checks else (Words("None applied."),)),
            Section("Cautions", tuple(_cautions(source))),
            Section("Signatures", (Signatures(ROLES),)),
            *sheets,
            appendix.provenance(source),
        ),
        foot=_foot(source),
    )


def _standing(source: Source) -> Section:
    a = source.answer
    missing = [one for one in a.each("parts") if one.text("outcome") != "present"]
    whole = (
        "Every part asked for is given." if a.below("complete").data else f"{len(missing)} parts are not wholly given."
    )
    blocks: list[Block] = [Note("result", whole)]
    rows: list[tuple[Cell, ...]] = [
        (one.text("title"), "; ".join(fact.text("words") for fact in one.each("missing")), one.text("clause"))
        for one in missing
    ]
    if rows:
        heads = (Column("part", share=1.3), Column("still wanted", share=2.0), Column("clause"))
        blocks.append(Table(heads, tuple(rows), "To be filled in before it is lodged"))
    added = a.below("from_plan").data or ()
    if added:
        blocks.append(Words(f"Taken from the plan: {', '.join(map(str, added))}."))
    return Section("State of the procedure", tuple(blocks))


def _contents(known: Values) -> tuple[Block, ...]:
    found = generic.blocks(known, leave_out=("axes",))
    return found or (Words("Nothing is given yet."),)


def _parts(source: Source) -> Table:
    heads = (
        Column("part", share=1.6),
        Column("by", share=0.5),
        Column("outcome", share=0.7),
        Column("clause and source", share=2.4),
    )
    rows = tuple(
        (one.text("title"), one.text("regulation"), one.text("outcome"), f"{one.text('clause')}; {one.text('source')}")
        for one in source.answer.each("parts")
    )
    return Table(heads, rows)


def plan_report(request: Model, answer: Model, units: Units = "si") -> Document:
    """Return the plan: what she will do, what to bring, where to read; and sheets with what is known printed in."""
    source = Source(request, answer, units)
    a, r = source.answer, source.request
    vessel = r.text("vessel", "name")
    sheets = field_sheets(
        Known(
            printer=source.printer,
            vessel=vessel,
            stations=list(a.each("freeboards")),
            weights=list(a.each("weights", "groups")),
            moves=list(a.each("moves")),
            instruments=list(a.each("instruments")),
            tanks=list(a.each("tanks")),
            items=list(r.each("items")),
        )
    )
    further = [_further(a, name) for name in a.data if name not in PLAN_SHOWN and a.below(name)]
    return Document(
        title="Plan of a stability test",
        subject=vessel,
        sections=(
            _prospect(source),
            _weights_and_moves(source),
            _instruments(source),
            _stations(source),
            Section("Tanks", generic.table(a.below("tanks")) or (Words("None."),)),
            *[one for one in further if one.blocks],
            Section(
                "Findings and cautions",
                (*(Note("finding", one.text("message")) for one in a.each("findings")), *_cautions(source)),
            ),
            *sheets,
            appendix.raw(source),
            appendix.provenance(source),
        ),
        foot=_foot(source),
    )


def _further(a: Values, name: str) -> Section:
    """Return a part in general form; long tables of shares are left to the JSON."""
    found = a.below(name)
    if not isinstance(found.data, (dict, list)):
        return Section(label(name).capitalize(), ())
    blocks = generic.blocks(found, leave_out=FULL_TABLES)
    left = isinstance(found.data, dict) and any(one in found.data for one in FULL_TABLES)
    more = (Words("The whole budget is in the JSON answer."),) if left else ()
    return Section(label(name).capitalize(), (*blocks, *more))


def _prospect(source: Source) -> Section:
    a, p = source.answer, source.printer
    possible = bool(a.below("possible").data)
    lead = (
        "The test can be done as planned."
        if possible
        else "The test cannot be done as asked; this is the nearest plan."
    )
    blocks: list[Block] = [Note("result", lead)]
    blocks += [Note("finding", one.text("message")) for one in a.each("impossible")]
    names = [name for name in a.below("predicted").data or () if a.value("predicted", name) is not None]
    heads = (
        Column("expected", share=2.0),
        Column("weights aboard", right=True),
        Column("without weights", right=True),
        Column("unit", share=0.6),
    )
    rows = tuple(
        (
            label(name),
            a.number("predicted", name),
            a.number("without_weights", name),
            p.unit(name),
        )
        for name in names
    )
    blocks.append(Table(heads, rows, f"Before the test; {source.frame}"))
    blocks.append(
        Facts(
            (
                *a.fact("Heel aimed at, each side", "aimed_heel_deg"),
                *a.fact("Heel to starboard that the weights give", "weights", "starboard_heel_deg"),
                *a.fact("Heel to port that the weights give", "weights", "port_heel_deg"),
                *a.fact("Depth of water needed", "water_depth", "needed_depth_m"),
            )
        )
    )
    return Section("What to expect", tuple(blocks))


def _weights_and_moves(source: Source) -> Section:
    a, p = source.answer, source.printer
    groups = tuple(
        (
            one.text("id"),
            one.text("lane"),
            str(len(one.below("pieces_t").data or ())),
            one.number("mass_t", decimals=3),
            *(one.number(name) for name in ("x_m", "y_m", "z_m", "arm_m")),
        )
        for one in a.each("weights", "groups")
    )
    if not groups:
        return Section("Weights and moves", (Words("No weights do it."),))
    heads = (
        Column("weight"),
        Column("lane"),
        Column("pieces", right=True),
        Column("mass", p.unit("mass_t"), right=True),
        *(Column(words, p.unit("x_m"), right=True) for words in ("x", "y", "z", "way across")),
    )
    moved = (
        Column("reading", right=True),
        Column("weight"),
        Column("from y", p.unit("y_m"), right=True),
        Column("to y", p.unit("y_m"), right=True),
        Column("moment", p.unit("moment_tm"), right=True),
        Column("heel", p.unit("heel_deg"), right=True),
    )
    rows = tuple(
        (
            str(int(one.value("move") or 0)),
            one.text("weight") or None,
            one.number("from_y_m"),
            one.number("to_y_m"),
            one.number("moment_tm"),
            one.number("heel_deg"),
        )
        for one in a.each("moves")
    )
    return Section(
        "Weights and moves",
        (Table(heads, groups, f"As placed at reading 0; {source.frame}"), Table(moved, rows, "Moves, to starboard +")),
    )


def _instruments(source: Source) -> Section:
    p = source.printer
    rows = tuple(
        (
            one.text("id"),
            one.text("kind").replace("_", "-"),
            *(
                one.number(name)
                for name in ("length_m", "scale_length_m", "starboard_deflection_m", "port_deflection_m")
            ),
            "yes" if one.below("enough").data else "NO",
        )
        for one in source.answer.each("instruments")
    )
    words = ("length or spread", "scale", "deflection to starboard", "deflection to port")
    heads = (
        Column("instrument"),
        Column("kind"),
        *(Column(one, p.unit("length_m"), right=True) for one in words),
        Column("enough"),
    )
    return Section("Instruments", (Table(heads, rows),) if rows else (Words("None."),))


def _stations(source: Source) -> Section:
    p = source.printer
    rows = tuple(
        (
            f"freeboards/{i}",
            *(one.number(name) for name in ("x_m", "y_m", "reference_z_m")),
            one.number("freeboard_m", surveyed=True),
            "deck edge" if one.below("from_deck_edge").data else "the hull's edge: measure its height aboard",
        )
        for i, one in enumerate(source.answer.each("freeboards"))
    )
    heads = (
        Column("place"),
        *(Column(words, p.unit("x_m"), right=True) for words in ("x", "y", "measured from z")),
        Column("expected", p.unit("freeboard_m", surveyed=True), right=True),
        Column("measured from", share=2.0),
    )
    return Section("Freeboards", (Table(heads, rows, source.frame),) if rows else (Words("None."),))


def _cautions(source: Source) -> list[Block]:
    return [Note("caution", str(one)) for one in source.answer.below("cautions").data or ()]


def _foot(source: Source) -> str:
    return f"Request {source.answer.text('provenance', 'request_sha256')[:12]}"
