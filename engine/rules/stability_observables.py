"""What a rule on stability in a loading condition can be about. Layer: engine.rules.

All are taken on one side, starboard or port: heels, angles and areas grow towards that side. What the data do not say
is left out: an angle of flooding where no openings are stated, whatever needs the wind profile where there is none. A
statement that there are no openings (an empty list) is data: the angle of flooding is then infinite.
"""

from engine.quantities import Quantity

_NOT_NEGATIVE = "never negative"
_AREA = "+ turns her upright"

STABILITY_OBSERVABLES: tuple[Quantity, ...] = (
    Quantity("gm_fluid_m", "m", "+ stable", "Metacentric height upright, free surfaces included."),
    # areas under the righting arm curve, from upright, once in each unit the texts use
    Quantity("gz_area_to_30_m_rad", "m·rad", _AREA, "Area under the arms from upright to 30°."),
    Quantity("gz_area_to_30_m_deg", "m·deg", _AREA, "Area under the arms from upright to 30°."),
    Quantity(
        "gz_area_to_40_or_flooding_m_rad",
        "m·rad",
        _AREA,
        "Area under the arms from upright to 40° or the angle of flooding, the smaller.",
    ),
    Quantity(
        "gz_area_to_40_or_flooding_m_deg",
        "m·deg",
        _AREA,
        "Area under the arms from upright to 40° or the angle of flooding, the smaller.",
    ),
    Quantity(
        "gz_area_30_to_40_or_flooding_m_rad",
        "m·rad",
        _AREA,
        "Area under the arms from 30° to 40° or the angle of flooding, the smaller; 0 where she floods before 30°.",
    ),
    Quantity(
        "gz_area_30_to_40_or_flooding_m_deg",
        "m·deg",
        _AREA,
        "Area under the arms from 30° to 40° or the angle of flooding, the smaller; 0 where she floods before 30°.",
    ),
    Quantity(
        "gz_area_to_maximum_m_deg", "m·deg", _AREA, "Area under the arms from upright to the angle of the largest arm."
    ),
    Quantity(
        "gz_area_to_maximum_flooding_or_40_m_rad",
        "m·rad",
        _AREA,
        "Area under the arms from upright to the angle of the largest arm, the angle of flooding or 40°, the smallest.",
    ),
    # single arms and angles
    Quantity("gz_maximum_m", "m", _AREA, "Largest righting arm."),
    Quantity("gz_maximum_angle_deg", "deg", _NOT_NEGATIVE, "Heel of the largest righting arm, the first if several."),
    Quantity("gz_largest_from_30_m", "m", _AREA, "Largest righting arm at a heel of 30° or more."),
    Quantity(
        "gz_positive_to_deg",
        "deg",
        _NOT_NEGATIVE,
        "Heel at which the arms cease to be positive; the last heel computed where they do not.",
    ),
    Quantity(
        "flooding_angle_deg",
        "deg",
        _NOT_NEGATIVE,
        "Heel at which the first unprotected opening is immersed; infinite where none is within the heels computed.",
    ),
    Quantity(
        "deck_edge_angle_deg",
        "deg",
        _NOT_NEGATIVE,
        "Heel at which the deck edge is first immersed; infinite where it is not within the heels computed.",
    ),
    # severe wind and rolling
    Quantity(
        "weather_steady_heel_deg",
        "deg",
        _NOT_NEGATIVE,
        "Heel under the steady wind: where the arms first reach its lever; infinite where they do not.",
    ),
    Quantity(
        "weather_area_a_m_rad",
        "m·rad",
        _NOT_NEGATIVE,
        "Area between the gust's lever and the arms, from the end of the roll to windward to the heel under the gust.",
    ),
    Quantity(
        "weather_area_b_m_rad",
        "m·rad",
        "",
        "Area between the arms and the gust's lever, from the heel under the gust to the angle of flooding, 50° or the "
        "second crossing, the smallest; 0 where the arms do not reach the lever.",
    ),
    Quantity("weather_roll_angle_deg", "deg", _NOT_NEGATIVE, "Angle of roll to windward by wave action."),
    # weather GM
    *(
        Quantity(
            f"weather_gm_{water}_{form}_m",
            "m",
            _NOT_NEGATIVE,
            f"Metacentric height required against the wind {words}, by the formula in {units}.",
        )
        for water, words in (
            ("exposed", "on ocean, in Great Lakes winter or exposed waters"),
            ("partially_protected", "in Great Lakes summer or partially protected waters"),
            ("protected", "in protected waters"),
        )
        for form, units in (("si", "metres and tonnes"), ("us", "feet and long tons"))
    ),
)
