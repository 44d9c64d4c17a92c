"""Sections of the incline: weights, moves, raw readings, tangents, GM both ways. Layer: service.report."""

from collections.abc import Mapping
from typing import Any

from service.report.document import Block, Cell, Column, Facts, Formula, Section, Table, Words
from service.report.incline_figures import moment_tangent
from service.report.source import Source
from service.report.survey_sections import undone
from service.report.svg import shortened
from service.report.values import Values

VALUE_COLUMNS = 6
READINGS = {
    "pendulum": (("deflections_m", "batten"),),
    "u_tube": (("port_levels_m", "port leg"), ("starboard_levels_m", "starboard leg")),
    "inclinometer": (("angles_deg", "angle"),),
}
HEAD_LETTERS = 18
REGRESSION = Formula(
    'tan phi_(j k) + (B M - F S C) / (2 G M_"fluid") tan^3 phi_(j k) = a_j + b M_k, quad '
    'G M_"fluid" = 1 / (b Delta), quad G M_"solid" = G M_"fluid" + F S C, quad F S C = (sum rho i) / Delta',
    "tan φⱼₖ + (BM − FSC)/(2 GM fluid) tan³ φⱼₖ = aⱼ + b Mₖ;   GM fluid = 1 / (b Δ);   "
    "GM solid = GM fluid + FSC;   FSC = Σ ρ i / Δ",
)
"""IMO 2008 IS Code, B/Annex 1, 4.3, with the term of a wall-sided ship; the surfaces' second moments i at reading 0."""


def label_of(rank: int, name: str) -> str:
    """Return an instrument's number and the beginning of its name; the whole stands in the table of instruments."""
    return f"{rank + 1} {shortened(name, HEAD_LETTERS)}"


def weights(source: Source) -> Section:
    """Return the weights, their certificates where given, and the moves."""
    r, p = source.request, source.printer
    given = list(r.each("weights"))
    certified = any(one.text("certificate") for one in given)
    more = (Column("certificate"),) if certified else ()
    rows: list[tuple[Cell, ...]] = []
    for one in given:
        row: tuple[Cell, ...] = (
            one.text("id"),
            one.number("mass_t", decimals=3),
            *(one.number(axis) for axis in ("x_m", "y_m", "z_m")),
        )
        rows.append((*row, one.text("certificate")) if certified else row)
    blocks: list[Block] = [
        Table(source.place_heads("weight", *more), tuple(rows), f"As placed at reading 0; {source.frame}")
    ]
    if not certified:
        blocks.append(Words("The record holds no certificates of the weights."))
    heads = (
        Column("move", right=True),
        Column("weight"),
        *(Column(f"to {axis}", p.unit("x_m"), right=True) for axis in ("x", "y", "z")),
        Column("moment after it", p.unit("moment_tm"), right=True),
    )
    moments = {one.value("move"): one for one in source.answer.each("incline", "points")}
    moved = tuple(
        (
            str(k),
            one.text("weight"),
            *(one.number(f"to_{axis}_m") for axis in ("x", "y", "z")),
            moments[k].number("moment_tm") if k in moments else None,
        )
        for k, one in enumerate(r.each("moves"), start=1)
    )
    blocks.append(
        Table(heads, moved, "Moves; a place left empty is unchanged. Moment against reading 0, to starboard +")
        if moved
        else Words("No move has been made yet.")
    )
    return Section("Inclining weights and moves", tuple(blocks))


def readings(source: Source) -> Section:
    """Return the instruments and what was read, untouched."""
    r, p = source.request, source.printer
    instruments = list(r.each("instruments"))
    heads = (
        Column("instrument", share=2.0),
        Column("kind"),
        Column("length or spread", p.unit("length_m"), right=True),
        Column("grows when she heels to"),
    )
    rows = tuple(
        (
            one.text("id"),
            one.text("kind").replace("_", "-"),
            one.number("length_m") or one.number("spread_m"),
            one.text("positive") or "starboard (starboard leg)",
        )
        for one in instruments
    )
    blocks: list[Block] = [Table(heads, rows, "Instruments")]
    columns = [
        (label_of(i, one.text("id")), words, field, one)
        for i, one in enumerate(instruments)
        for field, words in READINGS.get(one.text("kind"), ())
    ]
    count = max((len(one.below(field).data or ()) for _, _, field, one in columns), default=0)
    for start in range(0, len(columns), VALUE_COLUMNS):
        part = columns[start : start + VALUE_COLUMNS]
        part_heads = (
            Column("reading", right=True),
            *(Column(f"{name}: {words}", p.unit(field), right=True) for name, words, field, _ in part),
        )
        body = tuple((str(k), *(_reading(one, field, k) for _, _, field, one in part)) for k in range(count))
        blocks.append(
            Table(
                part_heads,
                body,
                "Raw readings; reading 0 before any move" if start == 0 else "Raw readings (continued)",
            )
        )
    return Section("Instruments and raw readings", tuple(blocks))


def _reading(instrument: Values, field: str, k: int) -> Cell:
    values = instrument.below(field).data or ()
    if k >= len(values):
        return None
    one = values[k]
    decimals = 4 if field.endswith("_m") else 3
    if one is None:
        return "missed"
    if isinstance(one, list):
        texts = [instrument.number(field, k, j, name=field, decimals=decimals) for j in range(len(one))]
        shown = [text.text for text in texts if text is not None]
        more = f" and {len(shown) - 4} more" if len(shown) > 4 else ""
        return ", ".join(shown[:4]) + more
    return instrument.number(field, k, name=field, decimals=decimals)


def gm(source: Source) -> Section:
    """Return the tangents, the plot and GM both ways."""
    a, p, title = source.answer, source.printer, "Tangents and metacentric height"
    if not source.done("incline"):
        return Section(title, undone(a.below("incline"), "The metacentric height"))
    i, u = a.below("incline"), a.value("incline", "gm_standard_uncertainty_m")
    fit = i.below("geometric_fit")
    stated = "" if u is None else f"standard uncertainty {p.text(u, 'gm_m', uncertainty=u)}"
    by_line = (
        *i.fact("GM fluid, pooled regression", "gm_fluid_m", uncertainty=u, remark=stated),
        *i.fact("Free-surface correction at reading 0", "free_surface_correction_m", uncertainty=u),
        *i.fact("GM solid, pooled regression", "gm_solid_m", uncertainty=u),
        *i.fact("Displacement as inclined", "displacement_t", uncertainty=source.spread("displacement_t")),
        *i.fact("Slope of the tangent on the moment", "slope_per_tm"),
        *i.fact("Tangent at zero moment", "intercept_ratio", decimals=6),
        *i.fact("Coefficient of determination", "r_squared_ratio", decimals=7),
    )
    blocks: list[Block] = [
        Words(
            "The moments are set and the tangents are read, so the tangents are regressed on the moments, all "
            "instruments pooled, each j with an intercept of its own. The cubic term, linear in the moment for a "
            "wall-sided ship, is added first: a line through the bare tangents has another slope."
        ),
        REGRESSION,
        Facts(by_line),
    ]
    if fit:
        blocks += _fitted(source, fit, u)
    blocks += [_by_instrument(i, p.unit("slope_per_tm")), _points(i, p.unit("moment_tm")), moment_tangent(i.data, p)]
    return Section(title, tuple(blocks))


def _fitted(source: Source, fit: Values, u: float | None) -> list[Block]:
    difference = fit.value("methods_difference_ratio")
    told = (
        ()
        if difference is None
        else fit.fact(
            "Regression off the one the fit predicts, in standard uncertainties", "methods_difference_ratio", decimals=2
        )
    )
    spread = source.answer.below("lightship", "standard_uncertainty")
    return [
        Words(
            "The second way floats the hull itself at every reading, liquids running, and fits the centre of gravity "
            "to the tangents; it assumes no straight line."
        ),
        Facts(
            (
                *fit.fact("GM fluid, hull floated at each reading", "gm_fluid_m", uncertainty=u),
                *fit.fact("Centre of gravity, lengthwise", "lcg_m", uncertainty=spread.value("x_m")),
                *fit.fact("Centre of gravity, athwart", "tcg_m", uncertainty=spread.value("y_m")),
                *fit.fact("Centre of gravity, height", "vcg_m", uncertainty=spread.value("z_m")),
                *told,
            )
        ),
    ]


def _by_instrument(i: Values, unit: str) -> Table:
    zeros: Mapping[str, Values] = {one.text("instrument"): one for one in i.each("geometric_fit", "zeros")}
    heads = (
        Column("instrument"),
        Column("slope", unit, right=True),
        Column("intercept", right=True),
        Column("scatter of the tangent", right=True),
        Column("zero against the fit", right=True),
    )
    rows: list[tuple[Any, ...]] = []
    for one in i.each("instruments"):
        name = one.text("id")
        rows.append(
            (
                name,
                one.number("slope_per_tm"),
                one.number("intercept_ratio", decimals=6),
                one.number("residual_standard_deviation_ratio", decimals=6),
                zeros[name].number("zero_ratio", decimals=6) if name in zeros else None,
            )
        )
    return Table(heads, tuple(rows), "Each instrument by itself")


def _points(i: Values, unit: str) -> Table:
    heads = (
        Column("instrument", share=2.0),
        Column("reading", right=True),
        Column("moment", unit, right=True),
        Column("tangent of heel", right=True),
        Column("residual from the line", right=True),
        Column("residual from the fit", right=True),
    )
    labels = {one.text("id"): label_of(k, one.text("id")) for k, one in enumerate(i.each("instruments"))}
    rows = tuple(
        (
            labels.get(one.text("instrument"), one.text("instrument")),
            str(int(one.value("move") or 0)),
            one.number("moment_tm"),
            one.number("tangent_ratio", decimals=6),
            one.number("residual_ratio", decimals=6),
            one.number("geometric_residual_ratio", decimals=6),
        )
        for one in i.each("points")
    )
    return Table(heads, rows, "Moments and tangents, to starboard +")
