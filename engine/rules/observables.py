"""What a rule on a test can be about, and what any rule can: the observed quantities. Layer: engine.rules.

One row a quantity. Names end in their unit. Whoever computes a value leaves out what the record does not say: a
missing value makes a check "not assessed", a guessed one would make it wrong. Values are rounded to
``OBSERVED_DECIMALS`` when they are computed, so that 0.35 m − 0.20 m on a batten is 0.15 m and not 2.8e-17 m less.
"""

from engine.quantities import Quantity
from engine.rules.stability_observables import STABILITY_OBSERVABLES

OBSERVED_DECIMALS = 9
"""Decimals an observed value is rounded to by whoever computes it; comparison itself is exact."""

_NOT_NEGATIVE = "never negative"

TEST_OBSERVABLES: tuple[Quantity, ...] = (
    # the ship afloat
    Quantity("vessel_length_bp_m", "m", "", "Length between perpendiculars of the hull given."),
    Quantity("initial_list_deg", "deg", _NOT_NEGATIVE, "Size of the heel at reading 0, before any move."),
    Quantity(
        "trim_over_length_percent",
        "%",
        _NOT_NEGATIVE,
        "100 × size of the trim at reading 0 over the length between perpendiculars.",
    ),
    Quantity(
        "trim_off_hydrostatics_percent",
        "%",
        _NOT_NEGATIVE,
        "100 × size of (trim at reading 0 − trim the hydrostatics in use hold for) over the length between "
        "perpendiculars: 0 where they are computed from hull geometry at the actual trim; with even-keel tables the "
        "trim itself.",
    ),
    Quantity(
        "gm_over_expanded_uncertainty_ratio",
        "1",
        "+ stable",
        "GM fluid as inclined over its expanded uncertainty at 95 %.",
    ),
    # freeboards, draft marks, water
    Quantity(
        "freeboards_least_side_count",
        "1",
        _NOT_NEGATIVE,
        "Freeboards read on the port side (y > 0) and on the starboard side (y < 0): the smaller number.",
    ),
    Quantity(
        "freeboard_largest_gap_ratio",
        "1",
        _NOT_NEGATIVE,
        "Largest distance in x between neighbouring freeboards of a side over the mean distance; of sides with 3 "
        "freeboards or more, the larger.",
    ),
    Quantity(
        "draft_marks_least_side_count",
        "1",
        _NOT_NEGATIVE,
        "Draft marks read on the port side (y > 0) and on the starboard side (y < 0): the smaller number.",
    ),
    Quantity(
        "largest_height_residual_ratio",
        "1",
        _NOT_NEGATIVE,
        "Largest size of (freeboard or draft mark read − that of the fitted waterline, hog or sag included) over the "
        "standard uncertainty of that residual.",
    ),
    Quantity("water_samples_count", "1", _NOT_NEGATIVE, "Water samples whose density was measured."),
    Quantity(
        "density_spread_t_per_m3",
        "t/m³",
        _NOT_NEGATIVE,
        "Largest less smallest density of the water samples; of two samples or more.",
    ),
    # instruments
    Quantity("instruments_count", "1", _NOT_NEGATIVE, "Instruments of every kind with two readings or more."),
    Quantity("pendulums_count", "1", _NOT_NEGATIVE, "Pendulums with two readings or more."),
    Quantity("u_tubes_count", "1", _NOT_NEGATIVE, "U-tubes with two readings or more."),
    Quantity("pendulum_shortest_length_m", "m", _NOT_NEGATIVE, "Pivot to batten of the shortest pendulum."),
    Quantity(
        "pendulum_least_length_difference_m",
        "m",
        _NOT_NEGATIVE,
        "Least difference in length between any two pendulums; of two pendulums or more.",
    ),
    Quantity(
        "pendulum_least_side_deflection_m",
        "m",
        _NOT_NEGATIVE,
        "For each pendulum the largest deflection from reading 0 to starboard and the largest to port (0 where there "
        "is none); the smallest of all these.",
    ),
    Quantity(
        "u_tube_least_side_difference_m",
        "m",
        _NOT_NEGATIVE,
        "For each U-tube the largest change since reading 0 of (starboard level − port level), to starboard and to "
        "port (0 where there is none); the smallest of all these.",
    ),
    # heel, moves, weights
    Quantity(
        "heel_starboard_deg",
        "deg",
        _NOT_NEGATIVE,
        "Largest heel to starboard from reading 0: arc tangent of the mean, over the instruments read, of the change "
        "of tangent; 0 where she was not heeled that way.",
    ),
    Quantity(
        "heel_port_deg",
        "deg",
        _NOT_NEGATIVE,
        "Largest heel to port from reading 0, as a size: found as that to starboard.",
    ),
    Quantity(
        "heel_least_side_deg",
        "deg",
        _NOT_NEGATIVE,
        "The smaller of the largest heels to starboard and to port, from reading 0.",
    ),
    Quantity(
        "heel_largest_side_deg",
        "deg",
        _NOT_NEGATIVE,
        "The larger of the largest heels to starboard and to port, from reading 0.",
    ),
    Quantity(
        "moves_count",
        "1",
        _NOT_NEGATIVE,
        "Moves of a weight that changed the heeling moment and after which at least one instrument was read.",
    ),
    Quantity(
        "zero_return_offset_percent",
        "%",
        _NOT_NEGATIVE,
        "Nearest return to the moment of reading 0: 100 × size of (moment − that of reading 0) over the largest "
        "moment, the least of the readings taken after reading 0; 0 where the weights were brought back exactly.",
    ),
    Quantity("weights_count", "1", _NOT_NEGATIVE, "Inclining weights that were moved at least once."),
    Quantity(
        "weight_standard_uncertainty_percent",
        "%",
        _NOT_NEGATIVE,
        "100 × standard uncertainty of mass over mass, the largest of the inclining weights; as stated in the record "
        "or as set for the document.",
    ),
    Quantity(
        "weight_certificate_age_days",
        "d",
        _NOT_NEGATIVE,
        "Days from the oldest weighing certificate of an inclining weight to the day of the test.",
    ),
    # the plot
    Quantity(
        "largest_residual_deviate_ratio",
        "1",
        _NOT_NEGATIVE,
        "Worst reading of the plot as a normal deviate: the one passed as often, on either side, as the largest "
        "deleted-studentised residual (deviation from the line of the other readings in units of its standard "
        "uncertainty) of so many good readings passes the one found. 3 is passed in 0.27 % of sound tests, however "
        "many readings there are. Only with 3 degrees of freedom or more; may be infinite.",
    ),
    Quantity(
        "largest_reading_residual_ratio",
        "1",
        _NOT_NEGATIVE,
        "Largest size of a reading's residual from the fitted line over the stated standard uncertainty of the "
        "reading (as a tangent).",
    ),
    Quantity(
        "instrument_slope_deviation_percent",
        "%",
        _NOT_NEGATIVE,
        "100 × size of (slope by one instrument − pooled slope) over the pooled slope, the largest; of two "
        "instruments or more.",
    ),
    Quantity(
        "instrument_slope_deviation_ratio",
        "1",
        _NOT_NEGATIVE,
        "Size of (slope by one instrument − slope by the others) over its standard uncertainty, the largest; of two "
        "instruments or more.",
    ),
    Quantity(
        "gm_methods_difference_ratio",
        "1",
        _NOT_NEGATIVE,
        "Size of (GM by regression − GM by regression of the tangents the geometric fit predicts) over its standard "
        "uncertainty; only with hull geometry.",
    ),
    # the ledger, over the lightship found
    Quantity(
        "deadweight_over_lightship_percent",
        "%",
        _NOT_NEGATIVE,
        "100 × mass aboard that is not lightship over the mass of the lightship: items to remove and liquids in "
        "tanks less their lightship volume; the inclining weights left out.",
    ),
    Quantity(
        "surplus_over_lightship_percent",
        "%",
        _NOT_NEGATIVE,
        "100 × mass of the items to remove over the mass of the lightship; inclining weights and tank contents left "
        "out.",
    ),
    Quantity(
        "missing_over_lightship_percent",
        "%",
        _NOT_NEGATIVE,
        "100 × mass of the items to add over the mass of the lightship.",
    ),
    Quantity(
        "completeness_percent",
        "%",
        "",
        "100 × (mass of the lightship − mass of the items to add) over the mass of the lightship.",
    ),
    # tanks
    Quantity(
        "slack_tanks_count",
        "1",
        _NOT_NEGATIVE,
        "Tanks that hold liquid and are not full: fill above 0 and below 100 % of capacity.",
    ),
    Quantity(
        "slack_tanks_largest_per_liquid_count",
        "1",
        _NOT_NEGATIVE,
        "Slack tanks of one use (reserve feed, fuel storage, day, lubricating oil, sanitary, potable), the largest "
        "number; a port and starboard pair counts as one, a centreline tank as one. Only where the uses are given.",
    ),
    Quantity(
        "slack_double_bottoms_count",
        "1",
        _NOT_NEGATIVE,
        "Slack tanks that are double-bottom tanks: 0 where no tank is slack, else only where the kind of each slack "
        "tank is given.",
    ),
    Quantity("slack_tank_least_fill_percent", "%", _NOT_NEGATIVE, "Lowest fill of the slack tanks of every kind."),
    Quantity("slack_tank_largest_fill_percent", "%", _NOT_NEGATIVE, "Highest fill of the slack tanks of every kind."),
    Quantity(
        "double_bottom_least_fill_percent",
        "%",
        _NOT_NEGATIVE,
        "Lowest fill of the slack double-bottom tanks; only where their kinds are given and there is one.",
    ),
    Quantity(
        "double_bottom_largest_fill_percent",
        "%",
        _NOT_NEGATIVE,
        "Highest fill of the slack double-bottom tanks; only where their kinds are given and there is one.",
    ),
    # the result, the authority
    Quantity(
        "vcg_expanded_uncertainty_percent",
        "%",
        _NOT_NEGATIVE,
        "100 × expanded uncertainty (95 %) of the lightship's VCG over that VCG above the moulded base line.",
    ),
    Quantity(
        "procedure_notice_days",
        "d",
        "",
        "Days from the day the procedure was handed to the authority to the day of the test.",
    ),
)

OBSERVABLES = TEST_OBSERVABLES + STABILITY_OBSERVABLES

OBSERVABLE_BY_NAME = {quantity.name: quantity for quantity in OBSERVABLES}

NAMES_BY_SUBJECT = {
    "test": frozenset(quantity.name for quantity in TEST_OBSERVABLES),
    "stability": frozenset(quantity.name for quantity in STABILITY_OBSERVABLES) | {"vessel_length_bp_m"},
}
"""The quantities a rule of each subject can be about."""
