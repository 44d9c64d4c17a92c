"""Hulls a process keeps read, by their digest, and the operator's library of hulls. Layer: service.edge.

A request that refers to a hull (kinds ``held`` and ``library``) gets the hull itself put in its place before anything
is computed, so nothing further on knows the difference. A hull sent in full that is on the shelf already is taken from
there, and what was built from it is not built again.

The digest is the SHA-256 of the hull as JSON with every default written out, in the order of the schema; answers tell
it as ``provenance.hull_sha256``, a client need not compute it.
"""

import hashlib
import re
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from service.edge.model import Model
from service.edge.problems import Fault, ProblemError

T = TypeVar("T")

BYTES_PER_JSON_BYTE = 8
"""Memory of a hull and what is built from it, beside its JSON: a vertex of 30 characters is three boxed floats, a tuple
and a share of the arrays."""

NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")
"""What a hull of the library may be called; no path can be made of it."""


class Kept(NamedTuple):
    """One hull on the shelf."""

    hull: Model
    size_bytes: int
    built: dict[str, Any]
    """What was made from it, by what it is."""


class Shelf:
    """At most so many bytes of hulls, the longest unused one dropped first."""

    def __init__(
        self,
        *,
        limit_bytes: int,
        library: Path | None = None,
        read_hull: Callable[[bytes], Model] | None = None,
    ) -> None:
        self._limit_bytes = limit_bytes
        self.library = library
        """The folder of the library."""
        self._read_hull = read_hull
        self._lock = threading.Lock()
        self._kept: OrderedDict[str, Kept] = OrderedDict()
        self._size_bytes = 0
        self._digest_of_file: dict[str, tuple[tuple[int, int], str]] = {}

    @property
    def size_bytes(self) -> int:
        """Bytes on the shelf, as estimated."""
        return self._size_bytes

    def names(self) -> list[str]:
        """Return the names of the library, sorted; none where there is no library."""
        if self.library is None:
            return []
        return sorted(path.stem for path in self.library.glob("*.json") if NAME.fullmatch(path.stem))

    def whole(self, hull: Model) -> tuple[Model, str]:
        """Return the hull a request means, and its digest."""
        kind = getattr(hull, "kind", "")
        if kind == "held":
            digest = str(getattr(hull, "sha256", ""))
            kept = self._find(digest)
            if kept is None:
                raise _refused("hull-not-held", "this process does not hold that hull: send it in full")
            return kept.hull, digest
        if kind == "library":
            return self.named(str(getattr(hull, "name", "")))
        return self._put(hull)

    def named(self, name: str) -> tuple[Model, str]:
        """Return a hull of the library and its digest."""
        path = self.library / f"{name}.json" if self.library and NAME.fullmatch(name) else None
        if path is None or self._read_hull is None or not path.is_file():
            words = f"no hull has that name, of {len(self.names())} in the library of this service"
            raise _refused("hull-unknown", f"{words}; GET /v1/hulls lists them")
        facts = path.stat()
        stamp = (facts.st_mtime_ns, facts.st_size)
        known = self._digest_of_file.get(name)
        kept = self._find(known[1]) if known and known[0] == stamp else None
        if kept is not None and known is not None:
            return kept.hull, known[1]
        try:
            read = self._read_hull(path.read_bytes())
        except ValueError:
            raise _refused("library-file", "the library's file of that name is not a hull") from None
        hull, digest = self._put(read)
        self._digest_of_file[name] = (stamp, digest)
        return hull, digest

    def built(self, hull: Model, what: str, build: Callable[[], T]) -> T:
        """Return ``build()``, kept beside ``hull`` where that very object is on the shelf."""
        with self._lock:
            kept = next((one for one in self._kept.values() if one.hull is hull), None)
        if kept is None:
            return build()
        if what not in kept.built:
            kept.built[what] = build()
        made: T = kept.built[what]
        return made

    def _find(self, digest: str) -> Kept | None:
        with self._lock:
            kept = self._kept.get(digest)
            if kept is not None:
                self._kept.move_to_end(digest)
            return kept

    def _put(self, hull: Model) -> tuple[Model, str]:
        data = hull.model_dump_json().encode()
        digest = hashlib.sha256(data).hexdigest()
        size = BYTES_PER_JSON_BYTE * len(data)
        with self._lock:
            kept = self._kept.get(digest)
            if kept is not None:
                self._kept.move_to_end(digest)
                return kept.hull, digest
            if size <= self._limit_bytes:
                self._kept[digest] = Kept(hull, size, {})
                self._size_bytes += size
            while self._size_bytes > self._limit_bytes:
                self._size_bytes -= self._kept.popitem(last=False)[1].size_bytes
        return hull, digest


def _refused(code: str, detail: str) -> ProblemError:
    return ProblemError(code, detail, faults=[Fault("#/hull", code, detail)])


_SHELF: ContextVar[Shelf | None] = ContextVar("shelf", default=None)


@contextmanager
def at_hand(shelf: Shelf | None) -> Iterator[None]:
    """Have ``kept`` look at this shelf meanwhile."""
    token = _SHELF.set(shelf)
    try:
        yield
    finally:
        _SHELF.reset(token)


def shelf_at_hand() -> Shelf | None:
    """Return the shelf in force, for a computation that answers other requests within."""
    return _SHELF.get()


def kept(hull: Model, what: str, build: Callable[[], T]) -> T:
    """Return ``build()``, or what it gave before for the same hull."""
    shelf = _SHELF.get()
    return build() if shelf is None else shelf.built(hull, what, build)
