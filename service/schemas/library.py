"""The operator's library: hulls and their tanks. Layer: service.schemas."""

import json
import logging
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError

from service.edge.model import Model
from service.edge.problems import ProblemError
from service.edge.shelf import NAME, Shelf
from service.schemas.hull import GivenHull, HullOf
from service.schemas.tank import TankOf

log = logging.getLogger("service")


class TanksFile(Model):
    """The tanks of one hull, in `NAME.tanks.json` of the library."""

    tanks: Annotated[tuple[TankOf, ...], Field(max_length=500)]


class LibraryEntry(Model):
    """One hull of the library."""

    name: str
    """How a request names it."""
    kind: str
    """How the hull is given."""
    length_bp_m: float
    hull_sha256: str
    """Its digest, as in the provenance of an answer."""
    tanks: tuple[str, ...]
    """Names of its tanks."""


def hull_named(shelf: Shelf, name: str) -> tuple[GivenHull, str]:
    """Return a hull of the library and its digest."""
    hull, digest = shelf.named(name)
    assert isinstance(hull, GivenHull)
    return hull, digest


def tanks_of(folder: Path | None, name: str) -> tuple[TankOf, ...]:
    """Return the tanks of a hull of the library; none where it has no such file."""
    path = folder / f"{name}.tanks.json" if folder is not None and NAME.fullmatch(name) else None
    if path is None or not path.is_file():
        return ()
    try:
        return TanksFile.model_validate_json(path.read_bytes()).tanks
    except ValidationError:
        raise ProblemError("library-file", "the library's file of that hull's tanks does not hold tanks") from None


def tank_named(folder: Path | None, hull: str, tank: str) -> TankOf:
    """Return one tank of a hull of the library."""
    tanks = tanks_of(folder, hull)
    found = next((one for one in tanks if one.name == tank), None)
    if found is None:
        words = f"no tank has that name, of {len(tanks)} of that hull; GET /v1/hulls lists them"
        raise ProblemError("tank-unknown", words)
    return found


def listing(shelf: Shelf) -> tuple[LibraryEntry, ...]:
    """Return all that can be read of the library."""
    entries = []
    for name in shelf.names():
        try:
            hull, digest = hull_named(shelf, name)
            tanks = tuple(one.name for one in tanks_of(shelf.library, name))
        except ProblemError:
            log.warning("a file of the library cannot be read", extra={"facts": {"library_hull": name}})
            continue
        assert isinstance(hull, HullOf)
        entries.append(
            LibraryEntry(name=name, kind=hull.kind, length_bp_m=hull.length_bp_m, hull_sha256=digest, tanks=tanks)
        )
    return tuple(entries)


def stamp(folder: Path | None, name: str) -> str:
    """Return what changes whenever the library's files of one hull do."""
    facts = []
    for path in (folder / f"{name}.json", folder / f"{name}.tanks.json") if folder and NAME.fullmatch(name) else ():
        if path.is_file():
            seen = path.stat()
            facts.append((seen.st_mtime_ns, seen.st_size))
    return json.dumps(facts)
