"""A document's data by place, each number remembering where it stood. Layer: service.report."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.report.document import Fact, Number
from service.report.numbers import Printer


class Values:
    """An answer or a request as plain JSON data, and how its numbers are printed."""

    def __init__(self, data: Any, printer: Printer, root: str) -> None:
        self.data = data
        self.printer = printer
        self.root = root

    def __bool__(self) -> bool:
        """Whether there is anything."""
        return bool(self.data)

    def below(self, *path: str | int) -> "Values":
        """Return what stands at a place, empty where nothing does."""
        found: Any = self.data
        for key in path:
            inside = (isinstance(found, Mapping) and key in found) or (
                isinstance(key, int) and isinstance(found, Sequence) and key < len(found)
            )
            found = found[key] if inside else None
        return Values(found, self.printer, "/".join([self.root, *map(str, path)]))

    def each(self, *path: str | int) -> "Iterator[Values]":
        """Yield the entries of a list, none where there is no list."""
        found = self.below(*path)
        for i in range(len(found.data) if isinstance(found.data, (list, tuple)) else 0):
            yield found.below(i)

    def text(self, *path: str | int) -> str:
        """Return a text, "" where there is none."""
        found = self.below(*path).data
        return "" if found is None else str(found)

    def value(self, *path: str | int) -> float | None:
        """Return a number, a measured one's value, None where there is none."""
        found = self.below(*path).data
        if isinstance(found, Mapping):
            found = found.get("value")
        return float(found) if isinstance(found, (int, float)) and not isinstance(found, bool) else None

    def number(self, *path: str | int, name: str = "", **how: Any) -> Number | None:
        """Return a number as printed; its field's name tells the unit."""
        field = name or next((str(key) for key in reversed(path) if isinstance(key, str)), self._field())
        return self.printer.number(self.value(*path), field, at="/".join([self.root, *map(str, path)]), **how)

    def fact(self, label: str, *path: str | int, remark: str = "", **how: Any) -> tuple[Fact, ...]:
        """Return a number as a fact, nothing where it does not exist."""
        found = self.number(*path, **how)
        name = str(path[-1])
        unit = self.printer.unit(name, surveyed=bool(how.get("surveyed")))
        return () if found is None else (Fact(label, found, unit, remark),)

    def _field(self) -> str:
        return next((part for part in reversed(self.root.split("/")) if not part.isdigit()), "")
