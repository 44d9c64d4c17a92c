"""The rule sets of this service: those that come with it and those of the operator's folder. Layer: service.edge.

They are read once, when the service starts. A file that is not a rule set stops the start, with the file and the line.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from engine.errors import EngineError, InputError
from engine.rules import RuleSet, Subject, built_in_sets, parse


class RuleFolderError(Exception):
    """The operator's folder cannot be used; the message names the file and the line."""


class RuleSets(NamedTuple):
    """The sets of one service."""

    built_in: tuple[RuleSet, ...]
    mounted: tuple[RuleSet, ...] = ()

    def named(self, names: Sequence[str] | None, *, subject: Subject) -> tuple[RuleSet, ...]:
        """Return the sets of these names; all the built-in ones of the subject where no names are given.

        Raises
        ------
        InputError
            ``rule-set-unknown``, ``rule-set-subject``, ``rule-set-duplicate`` at ``rules/i``.
        """
        if names is None:
            return tuple(one for one in self.built_in if one.subject == subject)
        by_name = {one.name: one for one in (*self.built_in, *self.mounted)}
        ours = ", ".join(one.name for one in self.built_in if one.subject == subject)
        for i, name in enumerate(names):
            field = f"rules/{i}"
            if name not in by_name:
                raise InputError(
                    f"no rule set has this name; built in are {ours}; GET /v1/rule-sets lists all",
                    code="rule-set-unknown",
                    field=field,
                )
            if by_name[name].subject != subject:
                judges = "tests, not stability" if subject == "stability" else "stability"
                raise InputError(
                    f"this set judges {judges}; built in are {ours}; GET /v1/rule-sets lists all",
                    code="rule-set-subject",
                    field=field,
                )
            if name in names[:i]:
                raise InputError("this set is named twice", code="rule-set-duplicate", field=field)
        return tuple(by_name[name] for name in names)


@lru_cache(maxsize=1)
def built_in() -> RuleSets:
    """Return the sets that come with the service."""
    return RuleSets((*built_in_sets("test"), *built_in_sets("stability")))


def read_rule_sets(folder: Path | None) -> RuleSets:
    """Return the built-in sets and those of the JSON files of a folder, ordered by file name.

    Raises
    ------
    RuleFolderError
        The folder is not there, a file cannot be read or is not a rule set, a name is taken.
    """
    if folder is None:
        return built_in()
    if not folder.is_dir():
        raise RuleFolderError("the folder of rule sets (RULE_SETS) is not there")
    taken, mounted = {one.name for one in built_in().built_in}, []
    for path in sorted(folder.glob("*.json")):
        try:
            found = parse(path.read_bytes(), label=path.name)
        except OSError as error:
            raise RuleFolderError(f"{path.name}: cannot be read ({error.strerror})") from error
        except EngineError as error:
            raise RuleFolderError(f"{path.name}: {error.message} [{error.code}, {error.field}]") from error
        if found.name in taken:
            raise RuleFolderError(f"{path.name}: another set has this name already [rule-set-duplicate, name]")
        taken.add(found.name)
        mounted.append(found)
    return RuleSets(built_in().built_in, tuple(mounted))


_SETS: ContextVar[RuleSets | None] = ContextVar("rule_sets", default=None)


@contextmanager
def in_force(sets: RuleSets | None) -> Iterator[None]:
    """Have ``rule_sets`` return these meanwhile; with None, those in force stay."""
    token = _SETS.set(sets or _SETS.get())
    try:
        yield
    finally:
        _SETS.reset(token)


def rule_sets() -> RuleSets:
    """Return the sets in force; outside a service, the built-in ones."""
    return _SETS.get() or built_in()
