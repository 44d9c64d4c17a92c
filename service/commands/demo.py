"""Compute the test of the invented demonstration vessel and print it. Layer: service.commands."""

import argparse
import json
import textwrap
from collections import Counter
from typing import TypeVar

from service.demo import demo_record
from service.resources.stability_tests import StabilityTestAnswer, compute
from service.schemas.check import CheckAnswer
from service.schemas.common import NotDetermined
from service.schemas.incline_answer import InclineAnswer
from service.schemas.lightship import LightshipAnswer
from service.schemas.record import StabilityTest
from service.schemas.verdict import Verdict
from service.schemas.waterline import AsInclined

NAME = "demo"
Step = TypeVar("Step")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's options: none."""


def run(arguments: argparse.Namespace) -> int:
    """Compute and print."""
    record = demo_record()
    request = StabilityTest.model_validate_json(json.dumps(record))
    print(page(record["vessel"]["name"], compute(request)))
    return 0


def page(name: str, answer: StabilityTestAnswer) -> str:
    """Return the answer as a page of text."""
    parts = [
        [f"Stability test of {name} (an invented vessel)"],
        _as_inclined(_done(answer.as_inclined)),
        _incline(_done(answer.incline)),
        _lightship(_done(answer.lightship)),
        _checks(answer.checks),
        _verdict(answer.verdict),
        ["Findings", *(f"  {one.message}" for one in answer.findings)] if answer.findings else [],
        textwrap.wrap(" ".join(answer.cautions), 100),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part)


def _verdict(verdict: Verdict) -> list[str]:
    lines = ["Verdict, preliminary"]
    for one in (verdict.test_is_sound, verdict.differs_from_approved, verdict.conditions_meet_criteria):
        lines.append(f"  {one.question} {one.statement}")
        if one is not verdict.test_is_sound:  # its evidence is the checks above
            said = [line for line in one.evidence if not line.startswith("not assessed")]
            lines += [f"    {line}" for line in said]
            if len(said) < len(one.evidence):
                lines.append(f"    not assessed, for reasons the answer gives: {len(one.evidence) - len(said)}")
    return lines


def _done(step: Step | NotDetermined) -> Step:
    if isinstance(step, NotDetermined):
        raise ValueError(step.findings[0].message)
    return step


def _as_inclined(at: AsInclined) -> list[str]:
    return [
        "As inclined, at reading 0",
        f"  displacement        {at.displacement_t:10.2f} t      in water of {at.density_t_per_m3:.4f} t/m3",
        f"  draft at midlength  {at.draft_m:10.3f} m",
        f"  trim by the stern   {at.trim_m:10.3f} m",
        f"  heel to starboard   {at.heel_deg:10.3f} deg",
        f"  KM transverse       {at.km_transverse_m:10.3f} m",
        f"  LCG, TCG, VCG       {at.lcg_m:10.3f} {at.tcg_m:9.3f} {at.vcg_m:9.3f} m   (liquids where they lie)",
    ]


def _incline(incline: InclineAnswer) -> list[str]:
    fitted = incline.geometric_fit
    lines = [
        f"Incline: {len(incline.points)} readings of {len(incline.instruments)} instruments",
        f"  GM fluid by regression       {incline.gm_fluid_m:8.4f} m   "
        f"standard uncertainty {incline.gm_standard_uncertainty_m:.4f} m",
        f"  GM solid by regression       {incline.gm_solid_m:8.4f} m",
    ]
    if fitted is not None:
        lines.append(f"  GM fluid by geometric fit    {fitted.gm_fluid_m:8.4f} m   on the real hull, at reading 0")
        solid = fitted.gm_fluid_m + incline.free_surface_correction_m
        lines.append(
            f"  GM solid by geometric fit    {solid:8.4f} m   free surfaces {incline.free_surface_correction_m:.4f} m"
        )
        lines.append(
            "  the two differ as the hull's form predicts"
            if (fitted.methods_difference_ratio or 0.0) <= 2.0
            else "  the two differ by more than the hull's form predicts: see the checks"
        )
    return lines


def _lightship(ship: LightshipAnswer) -> list[str]:
    half = ship.expanded
    coverage = "" if half is None else f"  (+/- covers {half.coverage_percent:g} %)"
    lines = [f"Lightship by {ship.method} fit{coverage}"]
    for label, name, unit, digits in (
        ("mass", "mass_t", "t", 1),
        ("LCG forward of AP", "x_m", "m", 3),
        ("TCG to port", "y_m", "m", 4),
        ("VCG above base", "z_m", "m", 3),
    ):
        spread = "" if half is None else f"  +/- {getattr(half, name):.{digits}f}"
        lines.append(f"  {label:<18}{getattr(ship, name):11.{digits}f}{spread} {unit}")
    for one in ship.budget_summary:
        result = {"mass_t": "mass", "z_m": "VCG"}.get(one.result)
        if result is not None:
            mended = " and ".join(one.halved_by)
            lines.append(f"  uncertainty of {result}: mostly {one.dominating}; halved only by mending {mended}")
    return lines


def _checks(checks: tuple[CheckAnswer, ...]) -> list[str]:
    count = Counter(one.outcome for one in checks)
    lines = [f"Checks: {count['met']} met, {count['not_met']} not met, {count['not_assessed']} not assessed"]
    for outcome in ("not_met", "not_assessed"):
        for one in checks:
            if one.outcome == outcome:
                unit = "" if one.unit == "1" else f" {one.unit}"
                value = "" if one.value is None else f" ({one.value:.4g}{unit}, limit {one.limit:.4g}{unit})"
                word = outcome.replace("_", " ")
                lines.append(f"  {word}, {one.level}: {one.title}{value} [{one.clause}; {one.source}]")
    return lines
