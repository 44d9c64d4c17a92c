"""What would break a client between two OpenAPI documents.

    python -m tests.contract.breaking RELEASED NEW

A break is: a path, operation or documented success gone; an operation renamed; a parameter or field of a request newly
required, gone, or taking less; a field of an answer gone, no longer always there, or giving more kinds; a choice gone
from what is taken or new in what is given; a bound of a request drawn closer. New validation of an old field counts.
Schemas are compared where they are used, so a name of a schema may change.
"""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal

Json = dict[str, Any]
Side = Literal["request", "answer"]
DEPTH = 40
LOWER = ("minimum", "exclusiveMinimum", "minLength", "minItems")
UPPER = ("maximum", "exclusiveMaximum", "maxLength", "maxItems")


class Comparison:
    """Two documents, and the breaks found so far."""

    def __init__(self, old: Json, new: Json) -> None:
        self.old, self.new = old, new
        self._seen: set[tuple[str, str, str]] = set()

    def breaks(self) -> Iterator[str]:
        """Yield each break in words."""
        for path, item in self.old["paths"].items():
            for method, before in item.items():
                after = self.new["paths"].get(path, {}).get(method)
                place = f"{method.upper()} {path}"
                if after is None:
                    yield f"{place}: gone"
                else:
                    yield from self._operation(place, before, after)

    def _operation(self, place: str, before: Json, after: Json) -> Iterator[str]:
        if before.get("operationId") != after.get("operationId"):
            yield f"{place}: operationId changed"
        old = {(one["in"], one["name"]): one for one in before.get("parameters", ())}
        new = {(one["in"], one["name"]): one for one in after.get("parameters", ())}
        for key, one in new.items():
            if one.get("required") and not old.get(key, {}).get("required"):
                yield f"{place}: parameter {key[1]} newly required"
        for key, one in old.items():
            if key not in new:
                yield f"{place}: parameter {key[1]} gone"
            else:
                yield from self._schema(f"{place}?{key[1]}", one["schema"], new[key]["schema"], "request")
        if {} in before.get("security", [{}]) and {} not in after.get("security", [{}]):
            yield f"{place}: a key is newly needed"
        bodies = before.get("requestBody", {}).get("content", {})
        for media_type, content in bodies.items():
            other = after.get("requestBody", {}).get("content", {}).get(media_type)
            if other is None:
                yield f"{place}: body as {media_type} gone"
            else:
                yield from self._schema(place, content["schema"], other["schema"], "request")
        for status, answer in before["responses"].items():
            if not status.startswith("2"):
                continue
            for media_type, content in answer.get("content", {}).items():
                other = after["responses"].get(status, {}).get("content", {}).get(media_type)
                if other is None:
                    yield f"{place}: {status} as {media_type} gone"
                elif "schema" in content:
                    yield from self._schema(f"{place} {status}", content["schema"], other["schema"], "answer")

    def _schema(self, place: str, before: Json, after: Json, side: Side, depth: int = 0) -> Iterator[str]:
        seen = (side, json.dumps(before, sort_keys=True), json.dumps(after, sort_keys=True))
        if depth > DEPTH or seen in self._seen:
            return
        self._seen.add(seen)
        before, after = _resolved(self.old, before), _resolved(self.new, after)
        olds, news = _choices(before), _choices(after)
        if len(olds) > 1 or len(news) > 1:
            yield from self._union(place, olds, news, side, depth)
            return
        old_types, new_types = _types(before), _types(after)
        missing = old_types - new_types if side == "request" else new_types - old_types
        if missing and old_types and new_types:
            yield f"{place}: type changed from {sorted(old_types)} to {sorted(new_types)}"
            return
        yield from self._values(place, before, after, side)
        yield from self._object(place, before, after, side, depth)
        if isinstance(before.get("items"), dict) and isinstance(after.get("items"), dict):
            yield from self._schema(f"{place}[]", before["items"], after["items"], side, depth + 1)
        olds, news = before.get("prefixItems", []), after.get("prefixItems", [])
        if len(olds) != len(news):
            yield f"{place}: another number of entries"
        for i, (one, other) in enumerate(zip(olds, news, strict=False)):
            yield from self._schema(f"{place}[{i}]", one, other, side, depth + 1)

    def _union(self, place: str, olds: list[Json], news: list[Json], side: Side, depth: int) -> Iterator[str]:
        """Match the choices by their tag or else their type."""
        old_by = {_key(_resolved(self.old, one)): one for one in olds}
        new_by = {_key(_resolved(self.new, one)): one for one in news}
        gone = old_by.keys() - new_by.keys() if side == "request" else new_by.keys() - old_by.keys()
        for key in sorted(gone):
            yield f"{place}: {key} {'no longer taken' if side == 'request' else 'newly given'}"
        for key in old_by.keys() & new_by.keys():
            yield from self._schema(f"{place}<{key}>", old_by[key], new_by[key], side, depth + 1)

    def _values(self, place: str, before: Json, after: Json, side: Side) -> Iterator[str]:
        old, new = _enum(before), _enum(after)
        if side == "request" and new is not None and (old is None or old - new):
            yield f"{place}: choices no longer taken"
        if side == "answer" and old is not None and (new is None or new - old):
            yield f"{place}: choices newly given"
        if side == "request":
            for name in LOWER:
                if name in after and after[name] > before.get(name, float("-inf")) and after[name] != 0:
                    yield f"{place}: {name} drawn closer"
            for name in UPPER:
                if name in after and after[name] < before.get(name, float("inf")):
                    yield f"{place}: {name} drawn closer"
            if "pattern" in after and after["pattern"] != before.get("pattern"):
                yield f"{place}: pattern changed"
        if before.get("x-unit") != after.get("x-unit"):
            yield f"{place}: unit changed"

    def _object(self, place: str, before: Json, after: Json, side: Side, depth: int) -> Iterator[str]:
        old, new = before.get("properties", {}), after.get("properties", {})
        for name in old:
            if name not in new:
                yield f"{place}/{name}: gone"
            else:
                yield from self._schema(f"{place}/{name}", old[name], new[name], side, depth + 1)
        was, now = set(before.get("required", ())), set(after.get("required", ()))
        if side == "request":
            yield from (f"{place}/{name}: newly required" for name in sorted(now - was))
        else:
            yield from (f"{place}/{name}: no longer always there" for name in sorted((was - now) & set(new)))


def _resolved(document: Json, schema: Json) -> Json:
    while "$ref" in schema:
        node: Any = document
        for part in schema["$ref"].removeprefix("#/").split("/"):
            node = node[part]
        schema = {**node, **{key: value for key, value in schema.items() if key != "$ref"}}
    return schema


def _choices(schema: Json) -> list[Json]:
    choices: list[Json] = schema.get("oneOf") or schema.get("anyOf") or [schema]
    return choices


def _key(schema: Json) -> str:
    """Name a choice of a union by its tag, or else by its type."""
    tag = schema.get("properties", {}).get("kind", {})
    if "const" in tag:
        return f"kind {tag['const']}"
    return "/".join(sorted(_types(schema))) or "anything"


def _types(schema: Json) -> set[str]:
    given = schema.get("type", [])
    types = set(given if isinstance(given, list) else [given])
    return types | {"integer"} if "number" in types else types


def _enum(schema: Json) -> set[Any] | None:
    if "const" in schema:
        return {schema["const"]}
    return set(schema["enum"]) if "enum" in schema else None


def main(released: str, new: str) -> int:
    """Print the breaks; return 1 if there are any."""
    old, current = (json.loads(Path(path).read_text(encoding="utf-8")) for path in (released, new))
    found = list(Comparison(old, current).breaks())
    sys.stdout.writelines(f"{one}\n" for one in found)
    sys.stdout.write(f"{len(found)} breaks in {sum(map(len, old['paths'].values()))} operations\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
