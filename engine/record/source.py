"""One uncertain input of a record: its uncertainty, where it stands, what it does. Layer: engine.record."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from engine.record.assumed import Stated
from engine.record.chain import Shift
from engine.record.record import Parts
from engine.uncertainty import Input

AXES = ("x_m", "y_m", "z_m")


class Place(NamedTuple):
    """Where in the record an error of one unit shows, and by how much it changes the value there."""

    path: str
    factor: float = 1.0


@dataclass(frozen=True, eq=False)
class Source:
    """An uncertain input.

    Attributes
    ----------
    input : Input
        Its value and standard uncertainty.
    places : tuple of Place
        The recorded values it is the error of.
    shift : Shift
        What an error of one unit does.
    """

    input: Input
    places: tuple[Place, ...]
    shift: Shift


def source_at(
    record: Parts,
    path: str,
    *,
    value: float,
    unit: str,
    category: str,
    shift: Shift,
    assumed: float | None,
    group: str | None = None,
    places: tuple[Place, ...] | None = None,
    scale: float = 1.0,
) -> Iterator[Source]:
    """Yield the input at a path: as stated there, else as assumed; nothing where neither says anything."""
    stated = record.stated.get(path, Stated())
    given = stated.standard_uncertainty
    if given is not None:
        group, scale = stated.group, 1.0
    elif assumed is None:
        return
    else:
        given, group = assumed, stated.group or group
    one = Input(name=path, value=value, standard_uncertainty=given * scale, unit=unit, category=category, group=group)
    yield Source(one, places or (Place(path),), shift)
