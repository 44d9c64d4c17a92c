"""Sections of loading conditions: what is aboard, arms, limit, criteria, wind. Layer: service.report."""

from dataclasses import replace

from service.report import generic
from service.report.curves import righting_arm_curve
from service.report.document import Block, Cell, Column, Fact, Facts, Note, Section, Table
from service.report.finding_sections import title_of
from service.report.numbers import Printer
from service.report.source import Source
from service.report.values import Values
from service.report.verdict_sections import OUTCOMES, checks_table
from service.schemas.plain_words import in_words

STEP_DEG = 5.0
"""Heels of the table of arms."""
SAME_M = 5e-4
"""Arms of both sides that differ by less are printed once."""
SEVERE_WIND = (
    ("P", "pressure of the wind", ("pressure_pa",), 0),
    ("l_w1", "lever of the steady wind", ("steady_lever_m",), 4),
    ("l_w2", "lever of the gust", ("gust_lever_m",), 4),
    ("φ₀", "heel under the steady wind", ("steady_heel_deg",), 2),
    ("φ₁", "roll to windward", ("roll", "angle_deg"), 2),
    ("X₁", "by breadth over draft", ("roll", "x1_ratio"), 3),
    ("X₂", "by the block coefficient", ("roll", "x2_ratio"), 3),
    ("k", "by bilges and bilge keels", ("roll", "k_ratio"), 3),
    ("r", "0.73 + 0.6 OG/d", ("roll", "r_ratio"), 3),
    ("s", "by the period", ("roll", "s_ratio"), 4),
    ("T", "period of roll", ("roll", "period_s"), 2),
    ("B", "breadth of the waterline", ("roll", "breadth_m"), 3),
    ("d", "draft", ("roll", "draft_m"), 3),
    ("L_wl", "length of the waterline", ("roll", "length_waterline_m"), 3),
    ("C_B", "block coefficient", ("roll", "block_coefficient"), 4),
    ("φ_f", "angle of flooding", ("flooding_deg",), 2),
    ("", "heel at which the deck edge goes under", ("deck_edge_deg",), 2),
    ("φ₂", "where area b ends", ("end_heel_deg",), 2),
    ("a", "area to windward", ("area_a_m_rad",), 4),
    ("b", "area to leeward", ("area_b_m_rad",), 4),
)
"""Symbols as in A/2.3, what they are, where they stand, and their decimals."""


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
    return (Section("Loading conditions", tuple(blocks), new_page=True),)


def _condition(one: Values, source: Source) -> list[Block]:
    name, outcome = one.text("name"), one.text("outcome")
    heading = Note("result", f"{name}: {one.text('statement') or OUTCOMES.get(outcome, outcome.replace('_', ' '))}")
    if not one.below("righting_arms"):
        return [heading, *(Note("finding", found.text("message")) for found in one.each("findings"))]
    u = one.value("vcg_margin_standard_uncertainty_m")
    of_limit = list(one.each("limit_findings"))
    noted = f"see the finding beneath: {title_of(of_limit[0])}" if of_limit else ""
    facts = (
        *one.fact("Displacement", "displacement_t", uncertainty=source.spread("mass_t")),
        *one.fact("Draft at midlength", "draft_m", surveyed=True),
        *one.fact("Trim, by the stern +", "trim_m"),
        *one.fact("Heel, to starboard +", "heel_deg"),
        *one.fact("LCG", "lcg_m"),
        *one.fact("VCG solid", "vcg_m", uncertainty=u),
        *one.fact("VCG fluid", "vcg_fluid_m", uncertainty=u),
        *one.fact("GM solid", "gm_solid_m"),
        *one.fact("GM fluid", "gm_fluid_m"),
        *one.fact("Limit of VCG, solid", "vcg_limit_m", uncertainty=u, remark=noted),
        *one.fact("Margin, limit less VCG solid", "vcg_margin_m", uncertainty=u),
        *one.fact("Its standard uncertainty", "vcg_margin_standard_uncertainty_m", uncertainty=u),
    )
    governing = one.below("governing")
    if governing:
        rule = governing.text("rule")
        title = next((row.text("title") for row in one.each("criteria") if row.text("rule") == rule), in_words(rule))
        facts = (*facts, Fact("Limit set by", f"{title}, {governing.text('clause')}"))
    blocks: list[Block] = [heading, *_aboard(one, source), Facts(facts)]
    heels, gm = one.below("righting_arms", "heel_deg").data, one.value("gm_fluid_m")
    if heels:
        arms = righting_arm_curve(
            heels,
            one.below("righting_arms", "righting_arm_m").data,
            printer=source.printer,
            gm_m=gm if gm is not None and gm > 0 else None,
            caption=f"Righting arms, {name}.",
        )
        blocks += [replace(arms, share=0.7), _arms(one.below("righting_arms"), heels, source.printer)]
    blocks.append(checks_table(list(one.each("criteria")), "Criteria"))
    if one.below("weather"):
        blocks.append(_weather(one.below("weather")))
    told = [found.text("message") for found in one.each("findings")]
    return [*blocks, *(Note("finding", words) for words in told)]


def _aboard(one: Values, source: Source) -> tuple[Block, ...]:
    """Return what is aboard line by line, and the sums."""
    p = source.printer
    heads = (
        Column("aboard", share=2.0),
        Column("fill", "%", right=True),
        Column("density", p.unit("density_t_per_m3"), right=True),
        Column("mass", p.unit("mass_t"), right=True),
        *(Column(axis, p.unit("x_m"), right=True) for axis in ("x", "y", "z")),
        Column("free surface", p.unit("free_surface_moment_tm"), right=True),
    )
    rows: list[tuple[Cell, ...]] = [
        (
            _line(load),
            load.number("fill_percent", decimals=1),
            load.number("density_t_per_m3", decimals=3),
            load.number("mass_t"),
            *(load.number(axis) for axis in ("x_m", "y_m", "z_m")),
            load.number("free_surface_moment_tm"),
        )
        for load in one.each("loads")
    ]
    if not rows:
        return ()
    sums = (one.number(name) for name in ("displacement_t", "lcg_m", "tcg_m", "vcg_m", "free_surface_moment_tm"))
    rows.append(("all aboard; free surface allowed for", None, None, *sums))
    caption = f"What is aboard; {source.frame}; free surface of a tank as filled, upright"
    return (Table(heads, tuple(rows), caption, emphasised=(len(rows) - 1,)),)


def _line(load: Values) -> str:
    kind, name = load.text("kind"), load.text("name")
    if kind == "lightship_liquid":
        return f"{name}: what the lightship holds of it"
    return "lightship, as found" if kind == "lightship" else name


def _arms(arms: Values, heels: list[float], printer: Printer) -> Table:
    """Return arms and areas at every few degrees, of both sides where they differ."""
    at = {round(heel, 6): i for i, heel in enumerate(heels)}
    upto = max(heels)
    steps = [k * STEP_DEG for k in range(int(upto / STEP_DEG) + 1)]
    wanted = [heel for heel in (*steps, *([] if upto in steps else [upto])) if round(heel, 6) in at]
    value = arms.below("righting_arm_m").data
    sides = [(1.0, "to starboard"), (-1.0, "to port")]
    if any(round(-heel, 6) not in at for heel in wanted):
        sides = sides[:1]
    elif all(abs(value[at[round(h, 6)]] + value[at[round(-h, 6)]]) < SAME_M for h in wanted):
        sides = [(1.0, "either side")]
    heads = [Column("heel", printer.unit("heel_deg"), right=True)]
    for _, words in sides:
        heads.append(Column(f"righting arm, {words}", printer.unit("righting_arm_m"), right=True))
        heads.append(Column("area from upright", printer.unit("area_m_rad"), right=True))
    rows = []
    for heel in wanted:
        row: list[Cell] = [printer.number(heel, "heel_deg", decimals=0 if heel == round(heel) else 1)]
        for sign, _ in sides:
            i = at[round(sign * heel, 6)]
            place = f"{arms.root}/righting_arm_m/{i}"
            row += [
                printer.number(sign * value[i], "righting_arm_m", at=place if sign > 0 else ""),
                arms.number("area_m_rad", i),
            ]
        rows.append(tuple(row))
    return Table(tuple(heads), tuple(rows), "Righting arms and areas; + rights her")


def _weather(weather: Values) -> Table:
    """Return what the criteria on the wind were judged with."""
    p = weather.printer
    facts: list[tuple[str, str, tuple[str, ...], int]] = [
        ("A", "lateral area above the waterline", ("area_m2",), 1),
        ("Z, H", "its centroid above half the draft", ("lever_m",), 3),
        ("", "heel T of 46 CFR 170.170", ("required_at_heel_deg",), 2),
        *((symbol, words, ("severe_wind", *place), decimals) for symbol, words, place, decimals in SEVERE_WIND),
    ]
    rows = tuple(
        (symbol, words, weather.number(*place, decimals=decimals), p.unit(place[-1]))
        for symbol, words, place, decimals in facts
        if weather.value(*place) is not None
    )
    heads = (Column("", share=0.3), Column("wind", share=2.0), Column("value", right=True), Column("unit", share=0.5))
    return Table(heads, rows, f"What the criteria on the wind were judged with, blown to {weather.text('side')}")
