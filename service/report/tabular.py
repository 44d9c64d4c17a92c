"""Reports of answers in columns: hydrostatics, righting arms, tank capacity. Layer: service.report."""

from collections.abc import Sequence

from service.edge.model import Model
from service.edge.operation import Units
from service.report import appendix, generic
from service.report.curves import Group, marks_of, righting_arm_curve, small_multiples
from service.report.document import Block, Column, Document, Facts, Note, Section, Table, Words
from service.report.source import Source
from service.report.values import Values

Heads = tuple[tuple[str, str], ...]
"""Names of columns and their heads."""
HYDROSTATIC_KEYS: Heads = (("draft_m", "draft"), ("trim_m", "trim"), ("heel_deg", "heel"))
HYDROSTATIC_TABLES: tuple[tuple[str, Heads], ...] = (
    (
        "Buoyancy",
        (
            ("volume_m3", "volume"),
            ("displacement_t", "displacement"),
            ("lcb_m", "LCB"),
            ("tcb_m", "TCB"),
            ("vcb_m", "VCB"),
            ("wetted_area_m2", "wetted area"),
        ),
    ),
    (
        "Waterplane and metacentres",
        (
            ("waterplane_area_m2", "waterplane"),
            ("lcf_m", "LCF"),
            ("tcf_m", "TCF"),
            ("bm_transverse_m", "BM"),
            ("km_transverse_m", "KM"),
            ("bm_longitudinal_m", "BM lengthwise"),
            ("km_longitudinal_m", "KM lengthwise"),
        ),
    ),
    (
        "Trim and coefficients",
        (
            ("immersion_t_per_cm", "immersion"),
            ("moment_to_trim_tm_per_cm", "moment to trim"),
            ("block_coefficient", "block"),
            ("prismatic_coefficient", "prismatic"),
            ("midship_coefficient", "midship"),
            ("waterplane_coefficient", "waterplane"),
        ),
    ),
)
HYDROSTATIC_PANELS: tuple[Group, ...] = (
    ("displacement", (("displacement_t", ""),)),
    ("forward of the aft perpendicular", (("lcb_m", "LCB"), ("lcf_m", "LCF"))),
    ("above base", (("vcb_m", "VCB"), ("km_transverse_m", "KM"))),
    ("immersion", (("immersion_t_per_cm", ""),)),
    ("moment to change trim", (("moment_to_trim_tm_per_cm", ""),)),
    ("coefficients", (("block_coefficient", "block"), ("waterplane_coefficient", "waterplane"))),
)
COEFFICIENT_DECIMALS = 4
PICTURES_AT_MOST = 3
ARM_HEADS: Heads = (
    ("righting_arm_m", "righting arm"),
    ("righting_arm_moving_m", "liquids moving"),
    ("righting_arm_correction_m", "by the correction"),
    ("righting_arm_solid_m", "liquids kept"),
    ("area_from_upright_m_rad", "area from upright"),
    ("draft_m", "draft"),
    ("trim_m", "trim"),
    ("gm_fluid_m", "GM fluid"),
)
CAPACITY_HEADS: Heads = (
    ("ullage_m", "ullage"),
    ("volume_m3", "volume"),
    ("fill_percent", "fill"),
    ("mass_t", "mass"),
    ("lcg_m", "LCG"),
    ("tcg_m", "TCG"),
    ("vcg_m", "VCG"),
    ("free_surface_moment_tm", "free surface"),
)
CAPACITY_PANELS: tuple[Group, ...] = (
    ("volume", (("volume_m3", ""),)),
    ("above base", (("vcg_m", "VCG"),)),
    ("free surface", (("free_surface_moment_tm", ""),)),
)


def column_table(columns: Values, keys: Heads, heads: Heads, caption: str) -> Table:
    """Return columns of an answer as a table."""
    shown = [(name, words) for name, words in (*keys, *heads) if columns.below(name)]
    count = len(columns.below(shown[0][0]).data)
    return Table(
        tuple(Column(words, columns.printer.unit(name), right=True) for name, words in shown),
        tuple(tuple(columns.number(name, i, decimals=_decimals(name)) for name, _ in shown) for i in range(count)),
        caption,
    )


def _decimals(name: str) -> int | None:
    return COEFFICIENT_DECIMALS if name.endswith("_coefficient") else None


def hydrostatics_report(request: Model, answer: Model, units: Units = "si") -> Document:
    """Return hydrostatic particulars as tables and curves."""
    source = Source(request, answer, units)
    columns = source.answer.below("columns")
    blocks: list[Block] = [
        Words(
            f"{source.hull_words} Water of {source.printer.text(_density(source), 'density_t_per_m3')}. "
            f"Axes: {source.frame}."
        )
    ]
    blocks += _hydrostatic_curves(columns)
    tables = tuple(column_table(columns, HYDROSTATIC_KEYS, heads, words) for words, heads in HYDROSTATIC_TABLES)
    sections = (Section("Curves", tuple(blocks)), Section("Tables", (*tables, *_column_notes(source))))
    return _document("Hydrostatic particulars", source, sections)


def _density(source: Source) -> float:
    return source.request.value("density_t_per_m3") or 0.0


def _hydrostatic_curves(columns: Values) -> list[Block]:
    """Return a picture for each trim and heel at which there are drafts enough."""
    data = columns.data
    kinds = list(dict.fromkeys(zip(data["trim_m"], data["heel_deg"], strict=True)))
    made: list[Block] = []
    for trim, heel in kinds:
        rows = [i for i, pair in enumerate(zip(data["trim_m"], data["heel_deg"], strict=True)) if pair == (trim, heel)]
        drafts = {data["draft_m"][i] for i in rows}
        if len(drafts) < 2 or trim is None or heel is None or len(made) == PICTURES_AT_MOST:
            continue
        rows.sort(key=lambda i: data["draft_m"][i] or 0.0)
        p = columns.printer
        words = f"trim {p.text(trim, 'trim_m')}, heel {p.text(heel, 'heel_deg')}"
        picture = small_multiples(
            {name: [column[i] for i in rows] for name, column in data.items()},
            up=("draft_m", "draft"),
            groups=HYDROSTATIC_PANELS,
            printer=p,
            title="Hydrostatic curves",
            caption=f"Hydrostatic curves, {words}.",
        )
        made.append(picture)
    left = len(kinds) - len(made)
    if left:
        made.append(Words(f"{left} trims and heels are not drawn: too few drafts, or more than the page has room for."))
    return made


def righting_arms_report(request: Model, answer: Model, units: Units = "si") -> Document:
    """Return righting arms as a curve, a table and what they say of each side."""
    source = Source(request, answer, units)
    a, p = source.answer, source.printer
    columns = a.below("columns")
    sides = {side: a.data[side] for side in ("starboard", "port") if side in a.data}
    liquids = a.text("liquids")
    others = {}
    if "righting_arm_moving_m" in columns.data:
        other, words = ("correction", "by the correction") if liquids == "moving" else ("moving", "liquids moving")
        others[words] = columns.data[f"righting_arm_{other}_m"]
    figure = righting_arm_curve(
        columns.data["heel_deg"],
        columns.data["righting_arm_m"],
        printer=p,
        marks=marks_of(sides),
        gm_m=a.value("gm_fluid_m"),
        label="liquids moving" if liquids == "moving" else "by the correction",
        others=others,
        caption="Righting arms; an arm is positive where it turns her back to port. Dashed: the slope GM gives.",
    )
    facts = (
        *a.fact("Displacement", "displacement_t"),
        *source.request.below("loading").fact("LCG", "lcg_m"),
        *source.request.below("loading").fact("TCG", "tcg_m"),
        *source.request.below("loading").fact("VCG, solid", "vcg_m"),
        *a.fact("GM solid", "gm_solid_m"),
        *a.fact("GM fluid", "gm_fluid_m"),
        *a.fact("Free-surface moment", "free_surface_tm"),
        *a.fact("Free-surface correction", "free_surface_correction_m"),
    )
    side_blocks: list[Block] = []
    for side in sides:
        side_blocks += [Note("result", f"Heeled to {side}"), *generic.blocks(a.below(side))]
    openings = generic.table(a.below("openings"), caption="Openings, and the heels at which water reaches them")
    return _document(
        "Righting arms",
        source,
        (
            Section("Curve", (Words(f"{source.hull_words} Axes: {source.frame}."), Facts(facts), figure)),
            Section("Particulars of each side", (*side_blocks, *openings)),
            Section("Table", (column_table(columns, (("heel_deg", "heel"),), ARM_HEADS, ""), *_column_notes(source))),
        ),
    )


def capacity_report(request: Model, answer: Model, units: Units = "si") -> Document:
    """Return a tank's capacity table with its curves."""
    source = Source(request, answer, units)
    tank, columns = source.request.below("tank"), source.answer.below("columns")
    facts = (
        *source.answer.fact("Capacity, net", "capacity_m3"),
        *tank.fact("Density of the liquid", "density_t_per_m3"),
        *tank.fact("Permeability", "permeability_ratio", decimals=3),
        *source.request.fact("Trim while sounded, by the stern +", "trim_m"),
        *source.request.fact("Heel while sounded, to starboard +", "heel_deg"),
    )
    blocks: list[Block] = [Facts(facts), Words(f"Axes: {source.frame}.")]
    if len(columns.data["sounding_m"]) > 1:
        blocks.append(
            small_multiples(
                columns.data,
                up=("sounding_m", "sounding"),
                groups=CAPACITY_PANELS,
                printer=source.printer,
                title="Tank capacity",
                caption="Volume, centre and free surface over the sounding.",
            )
        )
    blocks.append(column_table(columns, (("sounding_m", "sounding"),), CAPACITY_HEADS, "Capacity table"))
    return _document("Tank capacity", source, (Section("Capacity", tuple(blocks)),), subject=tank.text("name"))


def _column_notes(source: Source) -> tuple[Block, ...]:
    return generic.table(source.answer.below("column_notes"), caption="Entries that do not exist, rows from 0")


def _document(title: str, source: Source, sections: Sequence[Section], subject: str = "") -> Document:
    digest = source.answer.text("provenance", "request_sha256")
    noticed = [Note("finding", one.text("message")) for one in source.answer.each("findings")]
    cautions = [Note("caution", str(one)) for one in source.answer.below("cautions").data or ()]
    return Document(
        title=title,
        subject=subject,
        sections=(
            *sections,
            Section("Findings and cautions", (*noticed, *cautions)),
            appendix.raw(source),
            appendix.provenance(source),
        ),
        foot=f"Request {digest[:12]}",
    )
