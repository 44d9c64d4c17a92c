"""Read a rule set from one JSON file, and the sets that come with the engine. Layer: engine.rules."""

import math
import re
from collections.abc import Callable, Mapping
from importlib.resources import files
from typing import NoReturn, TypeVar, get_args

from engine.errors import InputError
from engine.rules.located_json import Located, Path, read_located
from engine.rules.observables import NAMES_BY_SUBJECT
from engine.rules.rule import Comparison, Level, Requirement, Rule, RuleSet, SourceStatus, Subject

_Choice = TypeVar("_Choice", bound=str)
_Part = TypeVar("_Part")

_KEBAB = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_LONGEST_WORDS = 500

_REQUIREMENT = ("quantity", "comparison", "limit")
_SET_FIELDS = ("name", "title", "version", "rules")
_SET_OPTIONAL = ("subject",)
_LIMIT_FIELDS = ("constant", "slope", "quantity")
_RULE_FIELDS = ("id", "title", *_REQUIREMENT, "unit", "clause", "source", "source_status", "level")
_RULE_OPTIONAL = ("applies_when", "alternative", "note")
_COMPARISONS: tuple[Comparison, ...] = get_args(Comparison)
_STATUSES: tuple[SourceStatus, ...] = get_args(SourceStatus)
_LEVELS: tuple[Level, ...] = get_args(Level)
_SUBJECTS: tuple[Subject, ...] = get_args(Subject)


def parse(text: bytes, *, label: str) -> RuleSet:
    """Read one rule set.

    Parameters
    ----------
    text : bytes
        A JSON object ``{name, title, version, subject?, rules: [{id, title, quantity, comparison, limit, unit, clause,
        source, source_status, level, applies_when?, alternative?, note?}]}``; ``limit`` is a number, for ``within`` a
        pair, or ``{constant, slope, quantity}``: constant + slope × the value of a quantity; ``applies_when`` and
        ``alternative`` are lists of ``{quantity, comparison, limit}``; ``subject`` is "test" where left out, and a rule
        takes quantities of its set's subject only.
    label : str
        What the text is called in an error's ``field``, such as its file's name.

    Raises
    ------
    InputError
        The first fault found. Its message begins with the line, its ``field`` is the path below ``label``.
        ``rule-set-not-json``, ``rule-set-field-unknown``, ``rule-set-field-missing`` (also: left blank),
        ``rule-set-field-wrong``, ``rule-set-unit-wrong``, ``quantity-unknown``, ``rule-id-duplicate``.
    LimitError
        ``rule-set-too-large``.
    """
    reader = _Reader(read_located(text, label=label), label)
    body = reader.fields((), required=_SET_FIELDS, optional=_SET_OPTIONAL)
    subject: Subject = reader.choice(body, ("subject",), _SUBJECTS) if "subject" in body else "test"
    reader.quantities = NAMES_BY_SUBJECT[subject]
    rules = reader.list_of(("rules",), reader.rule)
    if not rules:
        reader.fail("must hold at least one rule", "rule-set-field-missing", ("rules",))
    seen: set[str] = set()
    for index, rule in enumerate(rules):
        if rule.id in seen:
            reader.fail("an earlier rule has the same id", "rule-id-duplicate", ("rules", index, "id"))
        seen.add(rule.id)
    return RuleSet(
        name=reader.kebab(body, ("name",)),
        title=reader.words(body, ("title",)),
        version=reader.words(body, ("version",)),
        rules=rules,
        subject=subject,
    )


def built_in_sets(subject: Subject = "test") -> tuple[RuleSet, ...]:
    """Return the sets of one subject that come with the engine, ordered by file name."""
    folder = files("engine.rules") / "sets"
    found = sorted((entry for entry in folder.iterdir() if entry.name.endswith(".json")), key=lambda entry: entry.name)
    every = (parse(entry.read_bytes(), label=entry.name) for entry in found)
    return tuple(rule_set for rule_set in every if rule_set.subject == subject)


class _Reader:
    """Takes fields out of a located JSON value; every refusal names its line."""

    def __init__(self, located: Located, label: str) -> None:
        self._located = located
        self._label = label
        self.quantities: frozenset[str] = frozenset()

    def fail(self, words: str, code: str, path: Path) -> NoReturn:
        lines, known = self._located.lines, path
        while known not in lines:
            known = known[:-1]
        field = "/".join([self._label, *map(str, path)])
        raise InputError(f"line {lines[known]}: {words}", code=code, field=field)

    def at(self, path: Path) -> object:
        value = self._located.value
        for step in path:
            value = value[step]  # type: ignore[index] # the path was walked before
        return value

    def fields(self, path: Path, *, required: tuple[str, ...], optional: tuple[str, ...] = ()) -> Mapping[str, object]:
        value = self.at(path)
        if not isinstance(value, dict):
            self.fail("must be an object", "rule-set-field-wrong", path)
        for name in value:
            if name not in required and name not in optional:
                self.fail("is not a field of this place", "rule-set-field-unknown", (*path, name))
        for name in required:
            if name not in value:
                self.fail("a field is missing", "rule-set-field-missing", (*path, name))
        return value

    def list_of(self, path: Path, part: Callable[[Path], _Part]) -> tuple[_Part, ...]:
        value = self.at(path)
        if not isinstance(value, list):
            self.fail("must be a list", "rule-set-field-wrong", path)
        return tuple(part((*path, index)) for index in range(len(value)))

    def words(self, body: Mapping[str, object], path: Path) -> str:
        value = body[str(path[-1])]
        if not isinstance(value, str):
            self.fail("must be text", "rule-set-field-wrong", path)
        if not value.strip():
            self.fail("must not be blank", "rule-set-field-missing", path)
        if len(value) > _LONGEST_WORDS or not value.isprintable():
            self.fail(f"must be one line of at most {_LONGEST_WORDS} characters", "rule-set-field-wrong", path)
        return value

    def kebab(self, body: Mapping[str, object], path: Path) -> str:
        value = self.words(body, path)
        if not _KEBAB.fullmatch(value):
            self.fail("must be small letters and digits joined by hyphens", "rule-set-field-wrong", path)
        return value

    def choice(self, body: Mapping[str, object], path: Path, allowed: tuple[_Choice, ...]) -> _Choice:
        value = body[str(path[-1])]
        chosen = next((option for option in allowed if value == option), None)
        if chosen is None:
            self.fail(f"must be one of: {'; '.join(allowed)}", "rule-set-field-wrong", path)
        return chosen

    def number(self, path: Path) -> float:
        value = self.at(path)
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.fail("must be a number", "rule-set-field-wrong", path)
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            self.fail("must be a finite number", "rule-set-field-wrong", path)
        return number

    def requirement(self, path: Path) -> Requirement:
        return self._requirement(self.fields(path, required=_REQUIREMENT), path)

    def _requirement(self, body: Mapping[str, object], path: Path) -> Requirement:
        quantity = self.quantity(body, (*path, "quantity"))
        comparison = self.choice(body, (*path, "comparison"), _COMPARISONS)
        place: Path = (*path, "limit")
        if comparison != "within":
            if isinstance(self.at(place), dict):
                moving = self.fields(place, required=_LIMIT_FIELDS)
                constant, slope = self.number((*place, "constant")), self.number((*place, "slope"))
                return Requirement(
                    quantity, comparison, constant, None, self.quantity(moving, (*place, "quantity")), slope
                )
            return Requirement(quantity, comparison, self.number(place))
        ends = self.list_of(place, self.number)
        if len(ends) != 2 or ends[0] > ends[1]:
            self.fail("must be a lower and an upper number", "rule-set-field-wrong", place)
        return Requirement(quantity, comparison, *ends)

    def quantity(self, body: Mapping[str, object], path: Path) -> str:
        name = self.words(body, path)
        if name not in self.quantities:
            self.fail("is not an observed quantity of the set's subject", "quantity-unknown", path)
        return name

    def rule(self, path: Path) -> Rule:
        body = self.fields(path, required=_RULE_FIELDS, optional=_RULE_OPTIONAL)
        requirement = self._requirement(body, path)
        if self.words(body, (*path, "unit")) != requirement.unit:
            self.fail("is not the unit of the quantity", "rule-set-unit-wrong", (*path, "unit"))
        return Rule(
            id=self.kebab(body, (*path, "id")),
            title=self.words(body, (*path, "title")),
            requirement=requirement,
            clause=self.words(body, (*path, "clause")),
            source=self.words(body, (*path, "source")),
            source_status=self.choice(body, (*path, "source_status"), _STATUSES),
            level=self.choice(body, (*path, "level"), _LEVELS),
            applies_when=self._requirements(body, (*path, "applies_when")),
            alternative=self._requirements(body, (*path, "alternative")),
            note=self.words(body, (*path, "note")) if "note" in body else "",
        )

    def _requirements(self, body: Mapping[str, object], path: Path) -> tuple[Requirement, ...]:
        return self.list_of(path, self.requirement) if path[-1] in body else ()
