"""Waterplanes asked for. Layer: service.schemas."""

from typing import Annotated

import numpy as np
from pydantic import Field

from engine.geometry import Planes
from engine.geometry.cut import Solid
from service.edge.model import Model

Draft = Annotated[float, Field(ge=-1000, le=1000)]
Heel = Annotated[float, Field(ge=-80, le=80)]
Trim = Annotated[float, Field(ge=-1000, le=1000)]


class Waterplane(Model):
    """One waterplane."""

    draft_m: Draft
    heel_deg: Heel = 0.0
    trim_m: Trim = 0.0


class Grid(Model):
    """Every combination, heel fastest, then trim, then draft."""

    draft_m: Annotated[tuple[Draft, ...], Field(min_length=1, max_length=1000)]
    heel_deg: Annotated[tuple[Heel, ...], Field(min_length=1, max_length=181)] = (0.0,)
    trim_m: Annotated[tuple[Trim, ...], Field(min_length=1, max_length=181)] = (0.0,)

    def planes(self, *, length_bp_m: float) -> Planes:
        """Return the planes in order."""
        draft, trim, heel = np.meshgrid(self.draft_m, self.trim_m, self.heel_deg, indexing="ij")
        return Planes.from_waterplanes(
            draft_m=draft.ravel(), heel_deg=heel.ravel(), trim_m=trim.ravel(), length_bp_m=length_bp_m
        )


def planes_of(waterplanes: tuple[Waterplane, ...], *, length_bp_m: float) -> Planes:
    """Return the planes in the order given."""
    return Planes.from_waterplanes(
        draft_m=[w.draft_m for w in waterplanes],
        heel_deg=[w.heel_deg for w in waterplanes],
        trim_m=[w.trim_m for w in waterplanes],
        length_bp_m=length_bp_m,
    )


def misses_words(plane: Waterplane, solid: Solid, *, is_above: bool) -> str:
    """Return by what a waterplane misses the hull: where it lies, and from where to where the hull reaches."""
    low, high = np.asarray(solid.bounds_m)[:, 2].tolist()
    side = "above" if is_above else "below"
    where = f"draft {plane.draft_m:.6g} m, heel {plane.heel_deg:.6g} deg, trim {plane.trim_m:.6g} m"
    return f"{where}: lies {side} the hull, which reaches from z = {low:.6g} to {high:.6g} m"
