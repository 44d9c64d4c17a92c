"""What goes wrong in a deadweight survey: causes, traces, what to do. Layer: engine.diagnosis."""

from dataclasses import dataclass

from engine.diagnosis.causes import Trace
from engine.diagnosis.result import Named

SURVEY_CAUSES = {
    "height-misread": "one freeboard or mark was misread, or its reference point is wrong",
    "height-foot": "one height is off by a foot",
    "height-inch": "one height is off by an inch",
    "height-eighths": "feet, inches and eighths were written as a decimal number of feet",
    "sides-swapped": "port and starboard were exchanged at one station",
    "all-sides-swapped": "port and starboard were exchanged in all freeboards",
    "mark-misplaced": "the marks of one station are misplaced, or their zero is wrong",
    "moulded-for-extreme": "marks read to the keel's underside were taken as moulded drafts, or the reverse",
    "long-ton-for-tonne": "long tons were taken for tonnes, or the reverse",
    "short-ton-for-tonne": "short tons were taken for tonnes, or the reverse",
    "short-ton-for-long-ton": "short tons were taken for long tons, or the reverse",
    "density-wrong": "the water's density is wrong: read at another temperature, or from the surface only",
    "hull-volume-wrong": "the hull's volume is off by a share",
    "weights-not-aboard": "the test weights were not aboard when the heights were read",
    "item-counted-twice": "an item was counted twice, or was not aboard",
    "item-missing": "another item like it is aboard, or one to be added is aboard already",
    "axis-origin": "lengths were counted from another origin",
    "axis-sign": "lengths were counted the other way",
    "draft-shift": "all heights are shifted together",
    "unexplained": "none of the listed causes explains the difference",
}
"""Code and sentence of every cause a survey may show."""

SURVEY_TRACES = {
    "one-height": Trace(
        ("height-misread", "height-foot", "height-inch", "height-eighths", "mark-misplaced"),
        "Read this height again, and look at the point it is measured from.",
        "A second reading: a misread height changes, a wrong reference point does not.",
    ),
    "sides-swapped": Trace(
        ("sides-swapped", "all-sides-swapped"), "Read both sides of these stations again.", "A second reading."
    ),
    "mark-misplaced": Trace(
        ("mark-misplaced",),
        "Tape the marks of this station from the deck edge; use freeboards there instead.",
        "A dock survey of the marks.",
    ),
    "marks-offset": Trace(
        ("moulded-for-extreme",),
        "Ask for the keel plate's thickness and from where the marks count.",
        "The docking drawing, or the marks' own drawing.",
    ),
    "mass-unit": Trace(
        ("long-ton-for-tonne", "short-ton-for-tonne", "short-ton-for-long-ton"),
        "Ask in which ton the prediction was made.",
        "The unit on the sheet of the prediction.",
    ),
    "displacement": Trace(
        ("density-wrong", "hull-volume-wrong", "moulded-for-extreme", "draft-shift"),
        "Sample the water again at three depths with a thermometer, check the hydrometer's reference temperature, and "
        "ask for the keel plate's thickness and from where references and marks count.",
        "A second hydrometer, and the density expected from salinity and temperature; a tape from keel to reference "
        "point. A density changes the mass alone, a shift of heights adds its layer at the centre of flotation.",
    ),
    "weights-not-aboard": Trace(
        ("weights-not-aboard",),
        "Ask when the weights came aboard, and enter them as a difference of the survey.",
        "The log of the crane, against the time of the heights.",
    ),
    "item": Trace(
        ("item-counted-twice", "item-missing"), "Go through the list on board with this item.", "A look at the item."
    ),
    "axis": Trace(
        ("axis-origin", "axis-sign"),
        "Ask from where, and which way, the prediction counts lengths.",
        "The position of a known bulkhead in both.",
    ),
    "unexplained": Trace(
        ("unexplained",), "Read heights and water again; go through tanks and list.", "None: the readings do not tell."
    ),
}
"""What each trace means."""

CANNOT_SHOW_SURVEY = (
    "Port and starboard exchanged in every height turn the heel round and leave the fit as good as before: only a heel "
    "known otherwise shows it.",
    "With marks alone, or freeboards alone, a shift common to all of them changes the displacement and no residual.",
    "A density wrong by a share and a hull volume wrong by the same share are one and the same in the displacement.",
)
"""What no residual of a survey can show."""


@dataclass(frozen=True, kw_only=True)
class SurveyDiagnosis(Named):
    """What went wrong in a survey, as far as it shows.

    Attributes
    ----------
    heights, items : tuple of int
        Numbers of the heights (freeboards first, then marks) or entries touched.
    size_m, mass_t, share_ratio : float or None
        The size: of a height (water read too high +), of a mass (surveyed less predicted), of the displacement.
    draft_with_m, draft_without_m, trim_with_m, trim_without_m, heel_with_deg, heel_without_deg : float or None
        The plane with the cause in the heights, and with it allowed for.
    """

    heights: tuple[int, ...] = ()
    items: tuple[int, ...] = ()
    size_m: float | None = None
    mass_t: float | None = None
    share_ratio: float | None = None
    draft_with_m: float | None = None
    draft_without_m: float | None = None
    trim_with_m: float | None = None
    trim_without_m: float | None = None
    heel_with_deg: float | None = None
    heel_without_deg: float | None = None
