"""The table from the ship as inclined to the lightship, line by line. Layer: service.schemas."""

from collections.abc import Sequence
from typing import Annotated, Literal

from engine.geometry.plane import Planes
from engine.lightship.derivation import Entry
from engine.liquids.running import Liquid
from engine.record.as_inclined import free_surface_tm
from engine.record.record import TankAboard
from service.edge.axes import X, Y
from service.edge.model import Model

Kind = Literal["remove", "add", "relocate_from", "relocate_to", "inclining_weight", "liquid", "lightship_liquid"]


class LedgerLine(Model):
    """A mass put on (+) or taken off (-) at a place."""

    kind: Kind
    index: int
    """Number of the item, inclining weight or tank in its list, from 0."""
    name: str
    mass_t: float
    x_m: Annotated[float, X]
    y_m: Annotated[float, Y]
    z_m: float


class LiquidAnswer(Model):
    """What a tank holds, as it lies."""

    name: str
    volume_m3: float
    fill_percent: float
    mass_t: float
    lightship_mass_t: float
    """The part of it that is lightship."""
    x_m: Annotated[float, X] | None = None
    y_m: Annotated[float, Y] | None = None
    z_m: float | None = None
    free_surface_tm: float
    """Density times transverse second moment of the real surface."""


class LedgerSums(Model):
    """Sums of the table."""

    removed_mass_t: float
    """Items aboard that are not lightship."""
    added_mass_t: float
    """Lightship that is not aboard."""
    relocated_mass_t: float
    inclining_weights_mass_t: float
    liquids_mass_t: float
    """In tanks, less what is lightship."""
    deadweight_mass_t: float
    """Items to remove and liquids that are not lightship; the inclining weights left out."""
    change_mass_t: float
    """What the whole table adds to the ship as inclined."""


def lines(
    entries: Sequence[Entry], *, items: Sequence[str], weights: Sequence[str], tanks: Sequence[str]
) -> tuple[LedgerLine, ...]:
    """Return the table's lines, named as the request names them."""
    names = {"inclining_weight": weights, "liquid": tanks, "lightship_liquid": tanks}
    return tuple(
        LedgerLine(
            kind=one.kind,
            index=one.index,
            name=names.get(one.kind, items)[one.index],
            mass_t=one.mass_t,
            x_m=float(one.centre_m[0]),
            y_m=float(one.centre_m[1]),
            z_m=float(one.centre_m[2]),
        )
        for one in entries
    )


def sums(entries: Sequence[Entry]) -> LedgerSums:
    """Return the table's sums."""
    by_kind: dict[str, float] = {}
    for one in entries:
        by_kind[one.kind] = by_kind.get(one.kind, 0.0) + one.mass_t
    removed = -by_kind.get("remove", 0.0) + 0.0
    liquids = -by_kind.get("liquid", 0.0) - by_kind.get("lightship_liquid", 0.0) + 0.0
    return LedgerSums(
        removed_mass_t=removed,
        added_mass_t=by_kind.get("add", 0.0),
        relocated_mass_t=by_kind.get("relocate_to", 0.0),
        inclining_weights_mass_t=-by_kind.get("inclining_weight", 0.0) + 0.0,
        liquids_mass_t=liquids,
        deadweight_mass_t=removed + liquids,
        change_mass_t=sum(by_kind.values()) + 0.0,
    )


def liquid_answers(
    aboard: Sequence[TankAboard], liquids: Sequence[Liquid], plane: Planes, *, names: Sequence[str]
) -> tuple[LiquidAnswer, ...]:
    """Return how every tank's liquid lies at one plane."""
    return tuple(_liquid(tank, liquid, plane, name) for tank, liquid, name in zip(aboard, liquids, names, strict=True))


def _liquid(aboard: TankAboard, liquid: Liquid, plane: Planes, name: str) -> LiquidAnswer:
    centre = liquid.at(plane.normals).centroid_m[0].tolist() if liquid.volume_m3 > 0 else [None] * 3
    return LiquidAnswer(
        name=name,
        volume_m3=liquid.volume_m3,
        fill_percent=100.0 * liquid.volume_m3 / liquid.tank.capacity_m3,
        mass_t=liquid.mass_t,
        lightship_mass_t=aboard.lightship_volume_m3 * liquid.density_t_per_m3,
        x_m=centre[0],
        y_m=centre[1],
        z_m=centre[2],
        free_surface_tm=free_surface_tm([liquid], plane),
    )
