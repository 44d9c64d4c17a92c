"""Sections of the survey: vessel, people, day, water, heights, floating plane, tanks, ledger. Layer: service.report."""

from service.report import conduct_sections, generic
from service.report.document import Block, Cell, Column, Facts, Note, Section, Table, Words
from service.report.ship_figures import body_plan, profile
from service.report.source import Source
from service.report.values import Values


def undone(step: Values, what: str) -> tuple[Block, ...]:
    """Return why a step was not done."""
    why = [Note("finding", one.text("message")) for one in step.each("findings")]
    return (Words(f"{what} could not be determined from this record."), *why)


def vessel(source: Source) -> Section:
    """Return whose test it is, the drawings, and who took part, as far as the record says."""
    r = source.request
    blocks: list[Block] = []
    if r.below("vessel"):
        blocks += generic.blocks(r.below("vessel"))
    length = source.length_bp_m
    if r.value("vessel", "length_bp_m") is None:
        blocks.append(Words(f"Length between perpendiculars of the hull: {r.printer.text(length, 'length_bp_m')}."))
    blocks += [*conduct_sections.documents(source), *conduct_sections.persons(source)]
    return Section("Vessel, drawings and people", tuple(blocks), new_page=True)


def day(source: Source) -> Section:
    """Return the conditions of the day and the water samples."""
    r = source.request
    blocks = [*conduct_sections.circumstances(source), _samples(source)]
    facts = (
        *r.fact("Temperature of the water alongside", "water", "temperature_c"),
        *source.answer.fact("Density used, the mean", "waterline", "density_t_per_m3"),
    )
    return Section("Conditions of the day and water", (*blocks, *((Facts(facts),) if facts else ())))


def _samples(source: Source) -> Table:
    """Return the samples; what was read and the density it gives in columns of their own where the two differ."""
    r, p, title = source.request, source.printer, "Samples of the water she floats in"
    samples = list(r.each("water", "samples"))
    temperature = Column("temperature", p.unit("temperature_c"), right=True)
    if r.value("water", "temperature_c") is None and not any(one.below("hydrometer") for one in samples):
        plain = [(str(i + 1), s.number("density_t_per_m3"), s.number("temperature_c")) for i, s in enumerate(samples)]
        return Table((Column("sample"), _density("density", source), temperature), tuple(plain), title)
    heads = (
        Column("sample"),
        Column("hydrometer", share=2.0),
        Column("as read", right=True),
        temperature,
        _density("density used", source),
    )
    used = source.answer.below("waterline", "sample_density_t_per_m3")
    rows = []
    for i, s in enumerate(samples):
        marked = s.below("hydrometer")
        name = "reading_ratio" if marked.text("kind") == "relative_density" else "reading_t_per_m3"
        read = marked.value(name) if marked else s.value("density_t_per_m3")
        rows.append(
            (
                str(i + 1),
                _marking(marked),
                None if read is None else p.text(read, name, decimals=4),
                s.number("temperature_c"),
                used.number(i),
            )
        )
    return Table(heads, tuple(rows), title)


def _density(name: str, source: Source) -> Column:
    return Column(name, source.printer.unit("density_t_per_m3"), right=True)


def _marking(hydrometer: Values) -> str:
    """Return how a hydrometer is marked, in words; "none" for a density that was given."""
    if not hydrometer:
        return "none: a density"
    p = hydrometer.printer
    at = [p.text(hydrometer.value("reference_temperature_c") or 0.0, "temperature_c")]
    if hydrometer.text("kind") == "relative_density":
        at.append(p.text(hydrometer.value("water_temperature_c") or 0.0, "temperature_c"))
        return f"relative density, {at[0]} to water at {at[1]}"
    return f"density {'in air' if hydrometer.below('apparent_in_air').data else 'in vacuo'}, {at[0]}"


def floating(source: Source) -> Section:
    """Return freeboards and marks, the plane fitted to them, and what is left of each."""
    a, p = source.answer, source.printer
    title = "Freeboards, drafts and floating plane"
    w = a.below("waterline")
    if not source.done("waterline"):
        return Section(title, undone(w, "The floating plane"))
    plane = (
        *w.fact("Draft at midlength, on the centreline", "draft_m", surveyed=True),
        *w.fact("Draft at the aft perpendicular", "draft_aft_m", surveyed=True),
        *w.fact("Draft at the forward perpendicular", "draft_forward_m", surveyed=True),
        *w.fact("Trim, by the stern +", "trim_m"),
        *w.fact("Heel, to starboard +", "heel_deg"),
        *w.fact("Sag of the hull applied, hog −", "sag_m", remark=_sag(w)),
        *w.fact("Degrees of freedom of the fit", "degrees_of_freedom_count"),
    )
    heads = (
        Column("read at"),
        *(Column(name, p.unit("x_m"), right=True) for name in ("x", "y", "measured from z")),
        Column("reading", p.unit("freeboard_m", surveyed=True), right=True),
        Column("water at z", p.unit("x_m"), right=True),
        Column("residual", p.unit("x_mm"), right=True),
        Column("its standard uncertainty", p.unit("x_mm"), right=True),
    )
    rows = tuple(_height(source, one) for one in w.each("heights"))
    blocks: list[Block] = [
        Facts(plane),
        Table(heads, rows, f"Heights of the water as read; {source.frame}"),
    ]
    ship = source.in_ship_frame("waterline")
    blocks.append(profile(ship, source.lines, source.length_bp_m, p))
    if source.lines is not None:
        blocks.append(body_plan(ship, source.lines, source.length_bp_m, p))
    return Section(title, tuple(blocks))


def _sag(w: Values) -> str:
    u = w.value("sag_standard_uncertainty_m")
    return (
        "the readings do not determine one"
        if u is None
        else f"standard uncertainty {w.printer.text(u, 'x_m', uncertainty=u)}"
    )


def _height(source: Source, one: Values) -> tuple[Cell, ...]:
    index, mark = int(one.value("index") or 0), one.text("kind") == "draft_mark"
    given = source.request.below("draft_marks" if mark else "freeboards", index)
    p, u = source.printer, one.value("residual_standard_uncertainty_m") or 0.0
    residual = one.value("residual_m") or 0.0
    time = given.text("time")
    return (
        f"{'mark' if mark else 'freeboard'} {index + 1}" + (f", {time}" if time else ""),
        one.number("x_m"),
        one.number("y_m"),
        given.number("zero_z_m" if mark else "reference_z_m"),
        given.number("draft_m" if mark else "freeboard_m", surveyed=True),
        one.number("water_z_m"),
        p.number(1000.0 * residual, "residual_mm", uncertainty=1000.0 * u or None),
        p.number(1000.0 * u, "residual_mm", uncertainty=1000.0 * u or None),
    )


def hydrostatics(source: Source) -> Section:
    """Return the hydrostatics used, at the survey and as inclined."""
    a, title = source.answer, "Hydrostatics used"
    if not source.done("waterline"):
        return Section(title, undone(a.below("waterline"), "The hydrostatics at the floating plane"))
    w = a.below("waterline")
    at_survey = (
        *w.fact("Volume", "volume_m3", uncertainty=source.spread("displacement_t")),
        *w.fact("Displacement", "displacement_t", uncertainty=source.spread("displacement_t")),
        *w.fact("Centre of buoyancy, lengthwise", "lcb_m"),
        *w.fact("Centre of buoyancy, athwart", "tcb_m"),
        *w.fact("Centre of buoyancy, height", "vcb_m"),
        *w.fact("Centre of flotation, lengthwise", "lcf_m"),
        *w.fact("Transverse metacentre above base, KM", "km_transverse_m"),
        *w.fact("Immersion", "immersion_t_per_cm"),
        *w.fact("Moment to change trim", "moment_to_trim_tm_per_cm"),
    )
    hull = source.hull_words
    return Section(
        title,
        (Words(hull), Facts(at_survey), *_differences(source)),
    )


def _differences(source: Source) -> tuple[Block, ...]:
    rows = [
        (one.text("name"), one.number("mass_t"), one.number("x_m"), one.number("y_m"), one.number("z_m"))
        for one in source.request.each("survey_differences")
    ]
    if not rows:
        return (Words("Nothing came aboard or went ashore between the readings of the heights and reading 0."),)
    return (
        Table(source.place_heads("difference"), tuple(rows), "Aboard at reading 0, not when the heights were read"),
    )


def tanks(source: Source) -> Section:
    """Return every tank with what was read and how it lies."""
    title, r, p = "Tanks", source.request, source.printer
    given = list(r.each("tanks"))
    if not given:
        return Section(title, (Words("The record has no tanks."),))
    liquids = list(source.answer.each("deadweight", "liquids")) if source.done("deadweight") else []
    heads = (
        Column("tank", share=2.0),
        Column("as read", share=1.2),
        Column("volume", p.unit("volume_m3"), right=True),
        Column("fill", "%", right=True),
        Column("density", p.unit("density_t_per_m3"), right=True),
        Column("mass", p.unit("mass_t"), right=True),
        *(Column(axis, p.unit("x_m"), right=True) for axis in ("x", "y", "z")),
        Column("free surface", p.unit("free_surface_tm"), right=True),
    )
    rows = []
    for i, tank in enumerate(given):
        liquid = liquids[i] if i < len(liquids) else Values(None, p, "")
        rows.append(
            (
                tank.text("name"),
                contents(tank),
                liquid.number("volume_m3"),
                liquid.number("fill_percent", decimals=1),
                tank.number("density_t_per_m3"),
                liquid.number("mass_t"),
                liquid.number("x_m", decimals=2),
                liquid.number("y_m", decimals=2),
                liquid.number("z_m", decimals=2),
                liquid.number("free_surface_tm"),
            )
        )
    why = () if liquids else undone(source.answer.below("deadweight"), "What the tanks hold")
    return Section(title, (*why, Table(heads, tuple(rows), "Liquids as they lie at reading 0")))


def contents(tank: Values) -> str:
    """Return what was read of a tank, in words."""
    kind, c = tank.text("contents", "kind"), tank.below("contents")
    if kind in ("empty", "full"):
        return "pressed full" if kind == "full" else kind
    name = f"{kind}_m3" if kind == "volume" else f"{kind}_m"
    value = c.value(name)
    surveyed = name.endswith("_m")
    return kind if value is None else f"{kind} {c.printer.text(value, name, surveyed=surveyed)}"


def ledger(source: Source) -> Section:
    """Return the list of what is to come off, to come aboard and to be put elsewhere."""
    items = list(source.request.each("items"))
    if not items:
        return Section("Add, remove and relocate", (Words("The record has no items to add, remove or relocate."),))
    p = source.printer
    heads = (
        Column("item", share=2.0),
        Column("what is done", share=0.8),
        Column("mass", p.unit("mass_t"), right=True),
        *(Column(axis, p.unit("x_m"), right=True) for axis in ("x", "y", "z")),
        Column("belongs at", share=1.1),
    )
    rows = [
        (
            one.text("name"),
            one.text("action"),
            one.number("mass_t", decimals=3),
            one.number("x_m", decimals=2),
            one.number("y_m", decimals=2),
            one.number("z_m", decimals=2),
            _to(one.below("to")),
        )
        for one in items
    ]
    sums = source.answer.below("deadweight", "sums")
    facts = (
        *sums.fact("Removed", "removed_mass_t", decimals=3),
        *sums.fact("Added", "added_mass_t", decimals=3),
        *sums.fact("Relocated", "relocated_mass_t", decimals=3),
        *sums.fact("Liquids that are not lightship", "liquids_mass_t", decimals=3),
        *sums.fact("Inclining weights", "inclining_weights_mass_t", decimals=3),
    )
    return Section("Add, remove and relocate", (Table(heads, tuple(rows)), *((Facts(facts),) if facts else ())))


def _to(place: Values) -> str | None:
    if not place:
        return None
    numbers = [place.number(name, decimals=2) for name in ("x_m", "y_m", "z_m")]
    return ", ".join(one.text for one in numbers if one is not None)
