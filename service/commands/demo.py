"""Compute the test of the invented demonstration vessel and print it. Layer: service.commands."""

import argparse
import json

from service.resources.stability_tests import StabilityTestAnswer, compute, demo_record
from service.schemas.record import StabilityTest

NAME = "demo"


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
    at, incline, ship = answer.as_inclined, answer.incline, answer.lightship
    lines = [
        f"Stability test of {name} (an invented vessel)",
        "",
        "As inclined, at reading 0",
        f"  displacement        {at.displacement_t:10.2f} t      in water of {at.density_t_per_m3:.4f} t/m3",
        f"  draft at midlength  {at.draft_m:10.3f} m",
        f"  trim by the stern   {at.trim_m:10.3f} m",
        f"  heel to starboard   {at.heel_deg:10.3f} deg",
        f"  KM transverse       {at.km_transverse_m:10.3f} m",
        f"  LCG, TCG, VCG       {at.lcg_m:10.3f} {at.tcg_m:9.3f} {at.vcg_m:9.3f} m   (liquids where they lie)",
        "",
        f"Incline: {len(incline.points)} readings, {len(incline.instruments)} instruments",
        f"  GM fluid            {incline.gm_fluid_m:10.3f} m",
        f"  GM solid            {incline.gm_solid_m:10.3f} m",
        f"  slope               {incline.slope_per_tm:13.6e} per t.m",
        "",
        "Lightship",
        f"  mass                {ship.mass_t:10.2f} t",
        f"  LCG forward of AP   {ship.x_m:10.3f} m",
        f"  TCG to port         {ship.y_m:10.3f} m",
        f"  VCG above base      {ship.z_m:10.3f} m",
        "",
        *answer.cautions,
        "No uncertainty is stated yet: do not take these figures for more than the arithmetic of the record.",
    ]
    return "\n".join(lines)
