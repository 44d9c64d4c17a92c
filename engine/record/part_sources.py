"""Uncertain inputs beside the survey: inclining weights, instruments, the ledger. Layer: engine.record."""

from collections.abc import Iterator

import numpy as np

from engine.checks import Floats
from engine.incline.moments import Plateaus
from engine.record.chain import Shift
from engine.record.record import Parts
from engine.record.source import AXES, Place, Source, source_at
from engine.survey.ledger import Item

COMMON_WEIGHTS = "inclining weights (common)"


def incline_sources(parts: Parts, moved: Plateaus, tangents: Floats) -> Iterator[Source]:
    """Yield masses and places of the inclining weights, and lengths of the instruments."""
    yield from _weights(parts, moved)
    yield from _instruments(parts, tangents)


def _weights(record: Parts, moved: Plateaus) -> Iterator[Source]:
    for i, (name, weight) in enumerate(record.weights.items()):
        its = np.array([move.weight == name for move in record.moves], dtype=bool)
        shifts = np.cumsum(np.where(its[:, None], moved.arms_m, 0.0), axis=0)
        lies = weight.centre_m + np.concatenate([np.zeros((1, 3)), shifts])
        yield from source_at(
            record,
            f"weights/{i}/mass_t",
            value=weight.mass_t,
            unit="t",
            category="masses of the weights",
            shift=Shift(
                weights_moment_tm=lies - weight.centre_m,
                lightship_mass_t=-1.0,
                lightship_moment_tm=-weight.centre_m,
            ),
            assumed=weight.mass_t * record.assumed.weight_percent / 100.0,
            group=COMMON_WEIGHTS,
        )
        for axis, field in enumerate(AXES):
            yield from _coordinate(record, i, name, axis, field, lies)


def _coordinate(record: Parts, i: int, name: str, axis: int, field: str, lies: Floats) -> Iterator[Source]:
    """Yield the errors of one coordinate of a weight: one for each place on deck, x and z only where stated.

    The same place keeps its error however often the weight comes back to it, and so does a coordinate that a move
    leaves as it was.
    """
    mass, along = record.weights[name].mass_t, np.eye(3)[axis]
    assumed = record.assumed.arm_m if field == "y_m" else None
    for n, (place, paths, readings) in enumerate(_marks(record, i, name, field, lies)):
        stated = next((path for path in paths if path in record.stated), None)
        if stated is None and assumed is None:
            continue
        there = np.zeros(record.reading_count)
        there[readings] = 1.0
        first = float(n == 0)
        yield from source_at(
            record,
            stated or paths[0],
            value=float(place[axis]),
            unit="m",
            category="arms of the weights",
            shift=Shift(
                weights_moment_tm=mass * np.outer(there - first, along), lightship_moment_tm=-first * mass * along
            ),
            assumed=assumed,
            places=tuple(Place(path) for path in paths),
        )


def _marks(record: Parts, i: int, name: str, field: str, lies: Floats) -> list[tuple[Floats, list[str], list[int]]]:
    """Return the places a coordinate of a weight was measured at: where, the paths that say so, at which readings."""
    marks: list[tuple[Floats, list[str], list[int]]] = [(lies[0], [f"weights/{i}/{field}"], [0])]
    now = 0
    for k, move in enumerate(record.moves, start=1):
        if move.weight == name and getattr(move, f"to_{field}") is not None:
            near = [n for n, (place, _, _) in enumerate(marks) if np.abs(place - lies[k]).max() < SAME_PLACE_M]
            now = near[0] if near else len(marks)
            if not near:
                marks.append((lies[k], [], []))
            marks[now][1].append(f"moves/{k - 1}/to_{field}")
        marks[now][2].append(k)
    return marks


SAME_PLACE_M = 1e-4


def _instruments(record: Parts, tangents: Floats) -> Iterator[Source]:
    for j, instrument in enumerate(record.instruments):
        known = np.isfinite(tangents[j])
        if instrument.base_m is None or not known.any():
            continue
        since_first = np.where(known, tangents[j] - tangents[j][known][0], 0.0)
        effect = np.zeros_like(tangents)
        effect[j] = -since_first / instrument.base_m
        yield from source_at(
            record,
            f"instruments/{j}/{instrument.base_name}",
            value=instrument.base_m,
            unit="m",
            category="lengths of the instruments",
            shift=Shift(tangents_ratio=effect),
            assumed=record.assumed.length_m,
        )


def item_sources(record: Parts) -> Iterator[Source]:
    """Yield masses and centres of the ledger."""
    for i, item in enumerate(record.items):
        place, sign = f"items/{i}", 1.0 if item.action == "add" else -1.0
        yield from source_at(
            record,
            f"{place}/mass_t",
            value=item.mass_t,
            unit="t",
            category="ledger masses",
            shift=_item_mass(item, sign),
            assumed=item.mass_t * record.assumed.ledger_mass_percent / 100.0,
        )
        for centre, where, its_sign in ((item.centre_m, place, sign), (item.to_m, f"{place}/to", 1.0)):
            if centre is None:
                continue
            for axis, field in enumerate(AXES):
                yield from source_at(
                    record,
                    f"{where}/{field}",
                    value=float(centre[axis]),
                    unit="m",
                    category="ledger centres",
                    shift=Shift(lightship_moment_tm=its_sign * item.mass_t * np.eye(3)[axis]),
                    assumed=record.assumed.ledger_centre_m,
                )


def _item_mass(item: Item, sign: float) -> Shift:
    if item.to_m is not None:
        return Shift(lightship_moment_tm=item.to_m - item.centre_m)
    return Shift(lightship_mass_t=sign, lightship_moment_tm=sign * item.centre_m)
