"""What a report is made from: an answer, its request, and the hull's lines. Layer: service.report."""

from collections.abc import Mapping
from functools import cache, cached_property
from typing import Any

from service.edge.axes import SHIP_FRAME, Axes, to_ship_frame
from service.edge.model import Model
from service.edge.operation import Units
from service.report.document import Column
from service.report.lines import Lines, hull_lines
from service.report.numbers import Printer
from service.report.values import Values

_X = {
    "forward_from_ap": "x forward of the aft perpendicular",
    "aft_from_fp": "x aft of the forward perpendicular",
    "forward_from_midship": "x forward of midship",
}


Choices = Mapping[str, frozenset[str]]


@cache
def _choices(model: type[Model]) -> Choices:
    found: dict[str, set[str]] = {}

    def walk(node: Any, name: str) -> None:
        if isinstance(node, dict):
            found.setdefault(name, set()).update(one for one in node.get("enum", ()) if isinstance(one, str))
            found[name] |= {node["const"]} if isinstance(node.get("const"), str) else set()
            for key, below in node.items():
                if key in ("properties", "$defs") and isinstance(below, dict):
                    for field, facts in below.items():
                        walk(facts, field if key == "properties" else "")
                else:
                    walk(below, name)
        elif isinstance(node, list):
            for below in node:
                walk(below, name)

    walk(model.model_json_schema(), "")
    return {name: frozenset(values) for name, values in found.items() if values}


class Source:
    """An answer and its request as plain data, in the axes of the document; figures ask for the ship's frame."""

    def __init__(self, request: Model, answer: Model, units: Units = "si") -> None:
        self.printer = Printer(units)
        self._request, self._answer = request, answer
        self.request = Values(
            request.model_dump(mode="json", exclude_none=True, exclude={"hull"}), self.printer, "request"
        )
        self.answer = Values(answer.model_dump(mode="json", exclude_none=True), self.printer, "answer")

    @cached_property
    def given(self) -> dict[str, Any]:
        """The request as it was sent, the hull apart: what was left out is not filled in."""
        return self._request.model_dump(mode="json", exclude_unset=True, exclude={"hull"})

    @property
    def choices(self) -> Choices:
        """The values a field of the request is chosen from, by the field's name."""
        return _choices(type(self._request))

    @property
    def hull(self) -> Any:
        """The request's hull."""
        return getattr(self._request, "hull", None)

    @property
    def axes(self) -> Axes:
        """The axes of the document."""
        return getattr(self._request, "axes", None) or SHIP_FRAME

    @property
    def length_bp_m(self) -> float:
        """Length between perpendiculars. [m]"""
        holder: Any = self.hull or self._request
        return float(holder.length_bp_m)

    @property
    def frame(self) -> str:
        """Where x, y and z point, in words."""
        return f"{_X[self.axes.x]}, y to {self.axes.y}, z above the moulded base line"

    @cached_property
    def lines(self) -> Lines | None:
        """The hull's lines in the ship's frame; None where there are none to draw."""
        turned = to_ship_frame(self._request, self.axes, length_bp_m=self.length_bp_m)
        return hull_lines(turned.hull)  # type: ignore[attr-defined]

    def in_ship_frame(self, *path: str) -> Any:
        """Return a part of the answer as plain data in the ship's frame."""
        turned = to_ship_frame(self._answer, self.axes, length_bp_m=self.length_bp_m)
        found: Any = turned.model_dump(mode="json", exclude_none=True)
        for key in path:
            found = found[key]
        return found

    def done(self, step: str) -> bool:
        """Return whether a step of the answer was done."""
        found = self.answer.below(step)
        return bool(found) and found.text("outcome") != "not_determined"

    def spread(self, result: str) -> float | None:
        """Return the standard uncertainty of a result of the budget, None where none is known."""
        for one in self.answer.each("lightship", "budget_summary"):
            if one.text("result") == result:
                return one.value("standard_uncertainty")
        return None

    def place_heads(self, name: str, *more: Column) -> tuple[Column, ...]:
        """Return the heads of a table of masses at places."""
        p = self.printer
        return (
            Column(name, share=2.0),
            Column("mass", p.unit("mass_t"), right=True),
            *(Column(axis, p.unit("x_m"), right=True) for axis in ("x", "y", "z")),
            *more,
        )

    @property
    def hull_words(self) -> str:
        """Say what hull the numbers are of."""
        kind = str(getattr(self.hull, "kind", ""))
        words = {
            "offsets": f"Hull by a table of offsets, {len(getattr(self.hull, 'stations', ()))} stations.",
            "mesh": f"Hull by a mesh of {len(getattr(self.hull, 'faces', ()))} triangles.",
            "mesh_file": "Hull by a mesh file.",
            "tables": "Approved hydrostatic tables; no geometry is known.",
        }.get(kind, "")
        shell = getattr(self.hull, "shell_mm", 0.0)
        if shell:
            words += f" Mean thickness of the shell {self.printer.text(shell, 'shell_mm')}."
        appendages = len(getattr(self.hull, "appendages", ()))
        if appendages:
            words += f" {appendages} appendages or openings."
        digest = self.answer.text("provenance", "hull_sha256")
        return words + (f" SHA-256 of the hull: {digest}." if digest else "")
