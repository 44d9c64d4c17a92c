"""A case asked again. Layer: service.cases.

Who answers is passed in: an operation in this process, a service over HTTP. The case knows neither.
"""

import json
import logging
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Literal, NamedTuple

from service.cases.case import ArchivedCase
from service.cases.compare import COMPARED, Deviation, compare
from service.edge.model import Model
from service.edge.operation import Operation
from service.edge.problems import ProblemError, respond
from service.edge.shelf import Shelf, shelf_at_hand

log = logging.getLogger("service")

Outcome = Literal["same", "deviates", "not_comparable"]


class Answered(NamedTuple):
    """An answer as a client gets it: HTTP status and the JSON document."""

    status: int
    document: Any


Ask = Callable[[str, bytes], Answered]
"""(path, body) → the answer."""


class ReplayProblem(Model):
    """The problem document that came as the answer."""

    status: int
    code: str
    detail: str
    pointers: tuple[str, ...] = ()
    """Where in the archived body the faults are."""


class Replayed(NamedTuple):
    """What came of a case."""

    outcome: Outcome
    deviations: tuple[Deviation, ...]
    problem: ReplayProblem | None


def replay(case: ArchivedCase, ask: Ask) -> Replayed:
    """Ask again, and hold the answer against what is expected.

    "deviates": a value could be compared and is not within its tolerance. "not_comparable": short of that, a value
    could not be compared, or the request was refused though an answer was expected, or the reverse.
    """
    answer = ask(case.request.path, body_bytes(case.request.body))
    problem = problem_in(answer)
    told = tuple(one for expectation in case.expected for one in compare(expectation, answer.document))
    if any(one.reason in COMPARED for one in told) and _as_foreseen(case, problem):
        return Replayed("deviates", told, problem)
    if _as_foreseen(case, problem) and all(one.within for one in told):
        return Replayed("same", told, problem)
    return Replayed("not_comparable", told, problem)


def _as_foreseen(case: ArchivedCase, problem: ReplayProblem | None) -> bool:
    found = None if problem is None else (problem.status, problem.code)
    return found == (None if case.problem is None else (case.problem.status, case.problem.code))


def body_bytes(body: Mapping[str, Any]) -> bytes:
    """Return the bytes a case's body is sent as: the same ones every time."""
    return json.dumps(body).encode()


def problem_in(answer: Answered) -> ReplayProblem | None:
    """Return the problem if the answer is one."""
    if answer.status < 400:
        return None
    document = answer.document if isinstance(answer.document, dict) else {}
    return ReplayProblem(
        status=answer.status,
        code=str(document.get("type", "")).rpartition("/")[2],
        detail=str(document.get("detail", "")),
        pointers=tuple(str(fault["pointer"]) for fault in document.get("errors", ())),
    )


def in_process(
    operations: Iterable[Operation[Any, Any]], *, shelf: Shelf | None = None, crash_is_answer: bool = False
) -> Ask:
    """Return who answers by the operations themselves, as the HTTP route would.

    Hulls of a library come from ``shelf``; without one, from that of the request being served, if one is.
    With ``crash_is_answer`` an exception nobody foresaw is logged and answered as HTTP would, by the problem
    "internal", so that one case cannot end the replay of the others; without it the exception goes on.
    """
    served = {one.path: one for one in operations}

    def answer(path: str, body: bytes) -> bytes:
        if path not in served:
            raise ProblemError("not-found")
        try:
            return served[path].answer(body, shelf=shelf or shelf_at_hand())
        except ProblemError:
            raise
        except Exception as error:
            if not crash_is_answer:
                raise
            log.exception("a case crashed")
            raise ProblemError("internal") from error

    def ask(path: str, body: bytes) -> Answered:
        try:
            return Answered(200, json.loads(answer(path, body)))
        except ProblemError as problem:
            reply = respond(problem, instance="urn:uuid:00000000-0000-0000-0000-000000000000")
            return Answered(reply.status_code, json.loads(bytes(reply.body)))

    return ask
