"""How the test was conducted, as far as the record says, and what of it the record does not say. Layer: service.report.

What a report is to state: 2008 IS Code, Part B, Annex 1 (place, weather, moorings, persons, drawings, weights); the
list below is ours, made from memory of it.
"""

from service.report.document import Block, Column, Fact, Facts, Table, Words
from service.report.source import Source
from service.report.values import Values

STATED = {
    "date": ("day",),
    "time": ("start_time", "end_time"),
    "place": ("place",),
    "weather": ("weather",),
    "air temperature": ("air_temperature_c",),
    "wind": ("wind_speed_m_per_s", "wind_direction"),
    "sea": ("sea",),
    "current": ("current_speed_m_per_s", "current_direction"),
    "depth of water": ("water_depth_m",),
    "mooring": ("mooring",),
    "condition of the vessel": ("vessel_condition",),
}
"""What is to be stated, and the fields that do."""


def title_line(source: Source) -> str:
    """Return day, time and place in a line, "" where none is given."""
    c = source.request.below("conduct")
    return ", ".join(one for one in (c.text("day"), _time(c), c.text("place")) if one)


def circumstances(source: Source) -> tuple[Block, ...]:
    """Return day, place, weather, mooring and condition, and which of them are not stated."""
    c = source.request.below("conduct")
    lacking = [words for words, names in STATED.items() if all(c.below(one).data is None for one in names)]
    rows = (
        *_told("Date", c.text("day")),
        *_told("Time", _time(c)),
        *_told("Place", c.text("place")),
        *_told("Weather", c.text("weather")),
        *c.fact("Air temperature", "air_temperature_c"),
        *_moving(c, "Wind", "wind"),
        *_told("Sea", c.text("sea")),
        *_moving(c, "Current", "current"),
        *c.fact("Depth of water", "water_depth_m", decimals=2, surveyed=True),
        *_told("Mooring", c.text("mooring")),
        *_told("Condition of the vessel", c.text("vessel_condition")),
        *_told("Remarks", c.text("remarks")),
    )
    blocks: list[Block] = [Facts(rows)] if rows else []
    if lacking:
        blocks.append(Words(f"Not stated in the record: {', '.join(lacking)}."))
    return tuple(blocks)


def documents(source: Source) -> tuple[Block, ...]:
    """Return the drawings and tables the test rests on."""
    rows = [(one.text("title"), one.text("reference") or None) for one in source.request.each("conduct", "documents")]
    if not rows:
        return (Words("The record names no drawings or other documents."),)
    return (Table((Column("document", share=1.4), Column("reference")), tuple(rows), "Drawings and documents used"),)


def persons(source: Source) -> tuple[Block, ...]:
    """Return who was present and in what capacity."""
    rows = [(one.text("role"), one.text("name") or None) for one in source.request.each("conduct", "persons")]
    if not rows:
        return (Words("The record names no people and no roles; none are supplied here."),)
    return (Table((Column("capacity", share=1.4), Column("name")), tuple(rows), "Present at the test"),)


def _time(c: Values) -> str:
    start, end = c.text("start_time"), c.text("end_time")
    if start and end:
        return f"{start} to {end}"
    return f"from {start}" if start else f"until {end}" if end else ""


def _told(label: str, text: str) -> tuple[Fact, ...]:
    return (Fact(label, text),) if text else ()


def _moving(c: Values, label: str, name: str) -> tuple[Fact, ...]:
    """Return a speed and a direction, as far as they are given."""
    return (
        *c.fact(label, f"{name}_speed_m_per_s", decimals=1),
        *_told(f"{label}, direction", c.text(f"{name}_direction")),
    )
