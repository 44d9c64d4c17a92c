"""What a verdict calls steps, demands and comparisons, and what it looks for. Layer: service.schemas."""

STEPS = {
    "waterline": "the floating position",
    "as_inclined": "the state as inclined",
    "incline": "GM",
    "deadweight": "the deadweight",
    "lightship": "the lightship",
}
ASKED_FOR = {
    "amended_information": "amended stability information",
    "survey_only": "a lightweight survey",
    "full_test": "a full stability test",
}
"""What a trigger asks for, the most demanding last."""
SIGNS = {"at_least": "at least", "at_most": "at most", "within": "from"}

NOT_IN_A_RECORD = frozenset(
    {
        "procedure_notice_days",
        "weight_certificate_age_days",
        "slack_double_bottoms_count",
        "slack_tanks_largest_per_liquid_count",
        "double_bottom_least_fill_percent",
        "double_bottom_largest_fill_percent",
    }
)
"""What rules ask that a record has no place for: it cannot keep a test from being called sound, and is listed."""
FROM_MEMORY = "from memory"
OUT_OF_RANGE, OUTSIDE_SHIP = "weather-criterion-range", "outside-ship"
