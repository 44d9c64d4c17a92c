"""Many cases verified at once: files found, read, replayed. Layer: service.cases."""

import threading
import time
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Literal, NamedTuple

from service.cases.case import ArchivedCase, read_case
from service.cases.over_http import NoAnswerError
from service.cases.replay import Ask, Replayed, replay
from service.edge.problems import ProblemError

Verdict = Literal["same", "deviates", "not_comparable", "unreadable", "no_answer", "not_run"]
VERDICTS: tuple[Verdict, ...] = ("same", "deviates", "not_comparable", "unreadable", "no_answer", "not_run")
FAILED: tuple[Verdict, ...] = ("deviates", "not_comparable")
"""The case was replayed and is not the same: exit status 1."""
BROKEN: tuple[Verdict, ...] = ("unreadable", "no_answer")
"""The case could not be replayed: exit status 2."""


class Loaded(NamedTuple):
    """A file, and the case in it or why there is none."""

    path: Path
    case: ArchivedCase | None
    faults: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Name of the case, of the file where it cannot be read."""
        return self.case.name if self.case else self.path.stem


@dataclass(frozen=True)
class Result:
    """What came of one file."""

    loaded: Loaded
    verdict: Verdict
    duration_s: float = 0.0
    replayed: Replayed | None = None
    faults: tuple[str, ...] = ()
    """Why there is nothing to compare, where there is nothing."""


def load(paths: Iterable[Path]) -> list[Loaded]:
    """Return the cases of files, and of all ``*.json`` files in folders and below, each once, by path."""
    found: dict[Path, Loaded] = {}
    for path in paths:
        inside = sorted(path.rglob("*.json")) if path.is_dir() else [path]
        if not inside:
            found[path.resolve()] = Loaded(path, None, ("no *.json in this folder",))
        for one in inside:
            if one.resolve() not in found:
                found[one.resolve()] = _load(one)
    return sorted(found.values(), key=lambda one: one.path)


def _load(path: Path) -> Loaded:
    try:
        return Loaded(path, read_case(path.read_bytes()))
    except OSError as error:
        return Loaded(path, None, (error.strerror or "cannot be read",))
    except ProblemError as problem:
        told = [f"{fault.pointer} {fault.code}: {fault.detail}" for fault in problem.faults]
        return Loaded(path, None, tuple(told) or (f"{problem.code}: {problem.detail}",))


def selected(loaded: Sequence[Loaded], pattern: str | None) -> list[Loaded]:
    """Return the cases whose name, file name or path fits a shell pattern."""
    if pattern is None:
        return list(loaded)
    return [
        one
        for one in loaded
        if any(fnmatchcase(text, pattern) for text in (one.name, one.path.stem, one.path.name, one.path.as_posix()))
    ]


def verify(loaded: Sequence[Loaded], ask: Ask, *, jobs: int = 1, fail_fast: bool = False) -> Iterator[Result]:
    """Replay the cases, ``jobs`` at once; yield each result as it comes.

    With ``fail_fast`` no further case is begun after the first that is not the same; those left are "not_run".
    """
    stopped = threading.Event()

    def one_of(loaded: Loaded) -> Result:
        if stopped.is_set():
            return Result(loaded, "not_run")
        result = _verified(loaded, ask)
        if fail_fast and result.verdict != "same":
            stopped.set()
        return result

    with ThreadPoolExecutor(max_workers=jobs, thread_name_prefix="verify") as pool:
        running = [pool.submit(one_of, one) for one in loaded]
        try:
            for future in as_completed(running):
                yield future.result()
        finally:  # who reads no further wants no further case begun
            stopped.set()


def _verified(loaded: Loaded, ask: Ask) -> Result:
    if loaded.case is None:
        return Result(loaded, "unreadable", faults=loaded.faults)
    start = time.perf_counter()
    try:
        replayed = replay(loaded.case, ask)
    except NoAnswerError as error:
        return Result(loaded, "no_answer", time.perf_counter() - start, faults=(str(error),))
    return Result(loaded, replayed.outcome, time.perf_counter() - start, replayed, _why(loaded.case, replayed))


def _why(case: ArchivedCase, replayed: Replayed) -> tuple[str, ...]:
    """Say in words what the deviations do not: a refusal where an answer is expected, or the reverse."""
    found, wanted = replayed.problem, case.problem
    if found is None:
        return () if wanted is None else (f"answered, where {wanted.status} {wanted.code} is expected",)
    if wanted is not None and (wanted.status, wanted.code) == (found.status, found.code):
        return ()
    where = f" at {', '.join(found.pointers)}" if found.pointers else ""
    instead = "an answer" if wanted is None else f"{wanted.status} {wanted.code}"
    return (f"refused with {found.status} {found.code}{where} ({found.detail}), where {instead} is expected",)


def exit_status(results: Sequence[Result]) -> int:
    """Return 0 if all are the same, 2 if one could not be replayed or there is none, 1 otherwise."""
    if not results or any(one.verdict in BROKEN for one in results):
        return 2
    return 0 if all(one.verdict == "same" for one in results) else 1
