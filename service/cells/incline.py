"""Cells of the incline: moments, tangents, slope, GM. Layer: service.cells."""

from typing import Annotated

import numpy as np
from fastapi import APIRouter
from pydantic import Field

from engine.errors import InputError, NotDeterminedError
from engine.incline.instruments import (
    LARGEST_TANGENT_RATIO,
    Inclinometer,
    Instrument,
    Pendulum,
    Positive,
    UTube,
    refuse_implausible,
)
from engine.incline.plausible import refuse_implausible_gm
from engine.incline.regression import Regression, regress
from service.cells.cell import cell
from service.cells.table import Table
from service.edge.model import Model
from service.edge.shelf import Shelf

router = APIRouter()

Reading = Annotated[float, Field(ge=-1000, le=1000)]
Length = Annotated[float, Field(ge=1e-3, le=1e4)]
Degrees = Annotated[float, Field(ge=-80, le=80)]
Displacement = Annotated[float, Field(ge=1e-3, le=1e7)]
Moments = Annotated[tuple[Annotated[float, Field(ge=-1e9, le=1e9)], ...], Field(min_length=2)]
Tangents = Annotated[tuple[Annotated[float, Field(ge=-10, le=10)], ...], Field(min_length=2)]


class MomentParameters(Model):
    """One weight and where it went."""

    mass_t: Annotated[float, Field(ge=1e-6, le=1e5)]
    from_y_m: Reading
    """To port +."""
    to_y_m: Reading
    """To port +."""


class PendulumParameters(Model):
    """A deflection against that of reading 0."""

    deflection_m: Reading
    length_m: Length
    initial_deflection_m: Reading = 0.0
    positive: Positive = "starboard"
    """The side to which she heels when the reading grows."""
    initial_heel_deg: Degrees = 0.0


class UTubeParameters(Model):
    """The levels against those of reading 0."""

    starboard_level_m: Reading
    port_level_m: Reading
    spread_m: Length
    initial_starboard_level_m: Reading = 0.0
    initial_port_level_m: Reading = 0.0
    initial_heel_deg: Degrees = 0.0


class AngleParameters(Model):
    """An angle against that of reading 0."""

    angle_deg: Degrees
    initial_angle_deg: Degrees = 0.0
    positive: Positive = "starboard"
    """The side to which she heels when the reading grows."""
    initial_heel_deg: Degrees = 0.0


class LineParameters(Model):
    """Moments [t·m] and tangents of heel, as many of each; reading 0 included."""

    moments: Moments
    tangents: Tangents


class GmParameters(LineParameters):
    """The same and the displacement."""

    displacement_t: Displacement


class ListParameters(Model):
    """A heeling moment on an upright ship."""

    heeling_moment_tm: Annotated[float, Field(ge=-1e9, le=1e9)]
    displacement_t: Displacement
    gm_m: Annotated[float, Field(ge=1e-6, le=1e4)]
    """Fluid metacentric height."""


@cell(
    router,
    "moment",
    parameters=MomentParameters,
    operation_id="compute_cell_moment",
    summary="Heeling moment of a weight moved athwart [t·m]",
    example={"mass_t": "5", "from_y_m": "4", "to_y_m": "-4"},
)
def moment(given: MomentParameters, _: Shelf) -> float:
    """Return mass × distance moved, to starboard +."""
    return given.mass_t * (given.from_y_m - given.to_y_m)


@cell(
    router,
    "pendulum-tangent",
    parameters=PendulumParameters,
    operation_id="compute_cell_pendulum_tangent",
    summary="Tangent of heel by a pendulum",
    example={"deflection_m": "0.125", "length_m": "2.5"},
)
def pendulum_tangent(given: PendulumParameters, _: Shelf) -> float:
    """Return tan φ = tan φ₀ ± (d − d₀)/length, to starboard +."""
    readings = np.array([given.initial_deflection_m, given.deflection_m])
    return _tangent(Pendulum("", given.length_m, given.positive, readings), given.initial_heel_deg)


@cell(
    router,
    "u-tube-tangent",
    parameters=UTubeParameters,
    operation_id="compute_cell_u_tube_tangent",
    summary="Tangent of heel by a U-tube",
    example={"starboard_level_m": "0.66", "port_level_m": "0.34", "spread_m": "8"},
)
def u_tube_tangent(given: UTubeParameters, _: Shelf) -> float:
    """Return tan φ = tan φ₀ + ((s − p) − (s₀ − p₀))/spread, to starboard +."""
    port = np.array([given.initial_port_level_m, given.port_level_m])
    starboard = np.array([given.initial_starboard_level_m, given.starboard_level_m])
    return _tangent(UTube("", given.spread_m, port, starboard), given.initial_heel_deg)


@cell(
    router,
    "angle-tangent",
    parameters=AngleParameters,
    operation_id="compute_cell_angle_tangent",
    summary="Tangent of heel by an inclinometer",
    example={"angle_deg": "1.5"},
)
def angle_tangent(given: AngleParameters, _: Shelf) -> float:
    """Return the tangent of φ = φ₀ ± (a − a₀), to starboard +."""
    readings = np.array([given.initial_angle_deg, given.angle_deg])
    return _tangent(Inclinometer("", given.positive, readings), given.initial_heel_deg)


LINE = {"moments": "-40;-20;0;20;40", "tangents": "-0.0199;-0.0101;0;0.0100;0.0201"}


@cell(
    router,
    "slope",
    parameters=LineParameters,
    operation_id="compute_cell_slope",
    summary="Slope of the tangents on the moments [1/(t·m)]",
    example=LINE,
)
def slope(given: LineParameters, _: Shelf) -> float:
    """Return the slope by least squares, the scatter on the tangents."""
    return _fit(given).slope_per_tm


@cell(
    router,
    "gm",
    parameters=GmParameters,
    operation_id="compute_cell_gm",
    summary="Metacentric height by regression [m]",
    example={**LINE, "displacement_t": "2000"},
)
def gm(given: GmParameters, _: Shelf) -> float:
    """Return the fluid GM = 1/(slope × displacement); refused where no ship of that displacement has it."""
    found = _fit(given, given.displacement_t).gm_fluid_m
    refuse_implausible_gm(found, displacement_t=given.displacement_t)
    return found


@cell(
    router,
    "residual-table",
    parameters=LineParameters,
    operation_id="compute_cell_residual_table",
    summary="Moments, tangents, and what the line leaves of each",
    example=LINE,
    gives="table",
)
def residual_table(given: LineParameters, _: Shelf) -> Table:
    """Return one row a reading."""
    residuals = [float(one) for one in _fit(given).residual_ratio[0]]
    return {"moment_tm": given.moments, "tangent_ratio": given.tangents, "residual_ratio": residuals}


@cell(
    router,
    "list",
    parameters=ListParameters,
    operation_id="compute_cell_list",
    summary="List under a small heeling moment [deg]",
    example={"heeling_moment_tm": "40", "displacement_t": "2000", "gm_m": "1.25"},
)
def list_deg(given: ListParameters, _: Shelf) -> float:
    """Return φ of tan φ = moment/(displacement × GM), to starboard +; refused beyond small angles."""
    refuse_implausible_gm(given.gm_m, displacement_t=given.displacement_t)
    tangent = given.heeling_moment_tm / (given.displacement_t * given.gm_m)
    if abs(tangent) > LARGEST_TANGENT_RATIO:
        raise NotDeterminedError(
            f"the moment would heel her to a tangent of {tangent:.6g}, GM alone tells the list up to "
            f"{LARGEST_TANGENT_RATIO:.6g}: is the moment in t·m?",
            code="heel-implausible",
            field="heeling_moment_tm",
            value=tangent,
            limit=LARGEST_TANGENT_RATIO,
        )
    return float(np.degrees(np.arctan(tangent)))


def _tangent(one: Instrument, initial_heel_deg: float) -> float:
    """Return the tangent at the second of two readings."""
    tangents = one.tangents(heel_at_first_deg=initial_heel_deg)
    refuse_implausible(tangents[None, :], heel_at_zero_deg=initial_heel_deg)
    return float(tangents[1])


def _fit(given: LineParameters, displacement_t: float = 1.0) -> Regression:
    """Return the line; reading 0 is the one whose moment is nearest 0."""
    if len(given.moments) != len(given.tangents):
        raise InputError(
            f"{len(given.moments)} moments but {len(given.tangents)} tangents", code="unequal-lengths", field="tangents"
        )
    moments, tangents = np.array(given.moments), np.array(given.tangents)
    at_zero = tangents[np.argmin(np.abs(moments))]
    refuse_implausible(tangents[None, :], heel_at_zero_deg=float(np.degrees(np.arctan(at_zero))))
    return regress(moment_tm=moments, tangents=[tangents], displacement_t=displacement_t)
