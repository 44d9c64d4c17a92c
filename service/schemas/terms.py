"""Quantities and fields in the trade's terms: what a text says in place of a field's name. Layer: service.schemas."""

import re

from engine.quantities import BY_NAME, SUFFIX_UNITS
from engine.rules.observables import OBSERVABLE_BY_NAME
from service.schemas.plain_words import in_words, inner

KNOWN = {
    "maximum_arm_m": "largest arm",
    "maximum_deg": "heel of the largest arm",
    "vanishing_deg": "vanishing angle",
    "flooding_deg": "flooding angle",
    "x_m": "x",
    "km_transverse_m": "KM",
    "gm_longitudinal_m": "GM lengthwise",
    "draft_aft_m": "draft aft",
    "draft_forward_m": "draft forward",
    "y_m": "y",
    "z_m": "z",
    "mass_t": "mass",
    "lcg_m": "LCG",
    "tcg_m": "TCG",
    "vcg_m": "VCG",
    "gm_fluid_m": "GM fluid",
    "gm_solid_m": "GM solid",
    "gm_standard_uncertainty_m": "GM, standard uncertainty",
    "as_inclined_vcg_m": "VCG as inclined",
    "lightship_vcg_m": "lightship VCG",
    "length_bp_m": "length between perpendiculars",
    "load_line_length_m": "load-line length",
    "imo_number": "IMO number",
    "gross_tonnage_count": "gross tonnage",
}
_NAME = re.compile(r"(?<![\w/#.-])[a-z][a-z0-9]*(?:_[a-z0-9]+)+(?![\w/])")
"""A name with underscores that stands by itself; a place, with strokes, is left as it is."""


def label(name: str) -> str:
    """Return a field's name in words, its unit left off."""
    if name in KNOWN:
        return KNOWN[name]
    ending = next((one for one in (*SUFFIX_UNITS, "_percent") if name.endswith(one)), "")
    return in_words(name.removesuffix(ending)).strip() or name


def term(name: str) -> str:
    """Return what a quantity is called in a sentence: its term, or the first part of its definition."""
    quantity = OBSERVABLE_BY_NAME.get(name)
    if name in KNOWN or quantity is None:
        return label(name)
    return inner(re.split(r"[:;]|\. ", quantity.definition)[0].rstrip("."))


def in_terms(text: str) -> str:
    """Return a text with the quantities it names said in the trade's terms; no other name is touched."""
    return _NAME.sub(lambda found: term(found[0]) if _is_ours(found[0]) else found[0], text)


def _is_ours(name: str) -> bool:
    return name in KNOWN or name in OBSERVABLE_BY_NAME or name in BY_NAME
