"""The one table of quantities: name, unit, sign and definition. Layer: the lowest.

The JSON schema, CSV headers, report labels and ``docs/glossary.md`` all read it. A physical field's name ends
in its unit; ``SUFFIX_UNITS`` says which ending means which unit.
"""

from typing import NamedTuple

SUFFIX_UNITS = {
    "_t_per_m3": "t/m³",
    "_t_per_m2": "t/m²",
    "_g_per_kg": "g/kg",
    "_t_per_cm": "t/cm",
    "_tm_per_cm": "t·m/cm",
    "_m_per_s": "m/s",
    "_m_per_rad": "m/rad",
    "_per_tm": "1/(t·m)",
    "_m_deg": "m·deg",
    "_m_rad": "m·rad",
    "_days": "d",
    "_deg": "deg",
    "_min": "min",
    "_mm": "mm",
    "_m2": "m²",
    "_m3": "m³",
    "_m4": "m⁴",
    "_pa": "Pa",
    "_tm": "t·m",
    "_c": "°C",
    "_m": "m",
    "_s": "s",
    "_t": "t",
}
"""Unit by the ending of a field's name, the longest endings first."""

DIMENSIONLESS_SUFFIXES = ("_ratio", "_coefficient", "_count", "_percent", "_probability")


class Quantity(NamedTuple):
    """One quantity: its field name, unit, sign convention and definition."""

    name: str
    unit: str
    sign: str
    definition: str


QUANTITIES: tuple[Quantity, ...] = (
    Quantity(
        "draft_m", "m", "up from the moulded base line", "Draft at midlength on the centreline, along the ship's z."
    ),
    Quantity(
        "trim_m", "m", "+ by the stern", "Draft at the aft less that at the forward perpendicular, on the centreline."
    ),
    Quantity("heel_deg", "deg", "+ to starboard", "Angle a transverse pendulum shows."),
    Quantity("volume_m3", "m³", "", "Immersed volume."),
    Quantity("displacement_t", "t", "", "Mass of the water displaced."),
    Quantity("lcb_m", "m", "+ forward of the aft perpendicular", "Centre of buoyancy, lengthwise."),
    Quantity("tcb_m", "m", "+ to port", "Centre of buoyancy, athwart."),
    Quantity("vcb_m", "m", "+ above the moulded base line", "Centre of buoyancy, height."),
    Quantity("waterplane_area_m2", "m²", "", "Area of the waterplane, in its own plane."),
    Quantity("lcf_m", "m", "+ forward of the aft perpendicular", "Centre of flotation, lengthwise."),
    Quantity("tcf_m", "m", "+ to port", "Centre of flotation, athwart."),
    Quantity("bm_transverse_m", "m", "", "Transverse second moment of the waterplane over the volume."),
    Quantity("bm_longitudinal_m", "m", "", "Longitudinal second moment of the waterplane over the volume."),
    Quantity(
        "km_transverse_m", "m", "+ above the moulded base line", "Height of the transverse metacentre, VCB + BM n_z."
    ),
    Quantity("km_longitudinal_m", "m", "+ above the moulded base line", "Height of the longitudinal metacentre."),
    Quantity("wetted_area_m2", "m²", "", "Immersed skin, the waterplane left out."),
    Quantity("immersion_t_per_cm", "t/cm", "", "Mass that sinks her one centimetre."),
    Quantity(
        "moment_to_trim_tm_per_cm", "t·m/cm", "", "Moment that trims her one centimetre, with BM for GM lengthwise."
    ),
    Quantity("block_coefficient", "1", "", "Volume over length BP × waterplane breadth × draft."),
    Quantity("prismatic_coefficient", "1", "", "Volume over length BP × midlength section."),
    Quantity("midship_coefficient", "1", "", "Midlength section over waterplane breadth × draft."),
    Quantity("waterplane_coefficient", "1", "", "Waterplane area over length BP × its breadth."),
    Quantity("lcg_m", "m", "+ forward of the aft perpendicular", "Centre of gravity, lengthwise."),
    Quantity("tcg_m", "m", "+ to port", "Centre of gravity, athwart."),
    Quantity(
        "vcg_m",
        "m",
        "+ above the moulded base line",
        "Centre of gravity, height, liquids taken where they lie (solid).",
    ),
    Quantity(
        "vcg_fluid_m",
        "m",
        "+ above the moulded base line",
        "Height of the centre of gravity raised by the free surfaces.",
    ),
    Quantity("gm_solid_m", "m", "+ stable", "Transverse metacentric height without free surfaces."),
    Quantity("gm_fluid_m", "m", "+ stable", "Transverse metacentric height, free surfaces included."),
    Quantity("gm_longitudinal_m", "m", "+ stable", "Longitudinal metacentric height, free surfaces included."),
    Quantity("righting_arm_m", "m", "+ turns her upright", "Lever between weight and buoyancy."),
    Quantity("density_t_per_m3", "t/m³", "", "Density of water or liquid."),
    Quantity("temperature_c", "°C", "", "Temperature, ITS-90."),
    Quantity("mass_t", "t", "", "Mass."),
    Quantity("x_m", "m", "+ forward of the aft perpendicular", "Position, lengthwise."),
    Quantity("y_m", "m", "+ to port", "Position, athwart."),
    Quantity("z_m", "m", "+ above the moulded base line", "Position, height."),
    Quantity("length_bp_m", "m", "", "Length between perpendiculars."),
    Quantity("freeboard_m", "m", "+ down", "Plumb length from the point measured from to the water."),
    Quantity(
        "reference_z_m", "m", "+ above the moulded base line", "Height of the very point a freeboard is measured from."
    ),
    Quantity("zero_z_m", "m", "+ above the moulded base line", "Height of a draft mark's zero."),
    Quantity(
        "sag_m",
        "m",
        "+ sagged, − hogged",
        "Bend of the hull at midlength, a parabola that is zero at both perpendiculars.",
    ),
    Quantity("moment_tm", "t·m", "+ to starboard", "Heeling moment against reading 0."),
    Quantity("tangent_ratio", "1", "+ to starboard", "Tangent of heel."),
    Quantity("slope_per_tm", "1/(t·m)", "+ stable", "Change of the heel's tangent with the heeling moment."),
    Quantity("free_surface_moment_tm", "t·m", "", "Density × second moment of a liquid's surface about its own axis."),
    Quantity("sounding_m", "m", "+ up along the pipe from the striking point", "Depth of liquid in a tank."),
    Quantity("ullage_m", "m", "+ down along the pipe from its top", "Space above the liquid in a tank."),
    Quantity("fill_percent", "%", "", "Liquid volume over capacity."),
)

BY_NAME = {quantity.name: quantity for quantity in QUANTITIES}


def unit_of(name: str) -> str | None:
    """Return the unit a field's name ends in, "1" for a dimensionless ending, None for a name without one."""
    if name.endswith(DIMENSIONLESS_SUFFIXES):
        return "1"
    return next((unit for suffix, unit in SUFFIX_UNITS.items() if name.endswith(suffix)), None)


def glossary() -> str:
    """Return the table as the page ``docs/glossary.md``."""
    rows = [f"| `{q.name}` | {q.unit} | {q.sign} | {q.definition} |" for q in QUANTITIES]
    head = ["# Glossary", "", "| name | unit | sign | definition |", "|---|---|---|---|"]
    return "\n".join([*head, *rows]) + "\n"
