"""Computation off the event loop, bounded in number, in memory and in time. Layer: service.edge.

Threads, and a hook in the engine's ``checkpoint()``: docs/decisions/workers.md has the measurements. Two clocks run.
The thread's own processor time does not depend on what else the machine does, so a request over that limit will be
over it again: 422 ``work-over-limit``. The wall clock since the body arrived depends on the load: 503
``deadline-exceeded`` with Retry-After.

A request takes its place before its body is read. Where there is none it is refused from its headers alone.
"""

import asyncio
import contextlib
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from types import TracebackType
from typing import Any, Self, TypeVar

from engine.deadline import watched_by
from service.edge.problems import ProblemError

T = TypeVar("T")


class _TimeUp(BaseException):
    """Raised inside the engine at a checkpoint; no ``except Exception`` on the way can hold it up."""

    def __init__(self, problem: ProblemError) -> None:
        self.problem = problem


class Place:
    """Room for one request: left at the end of the ``with``, or, once work runs in it, when that work has ended."""

    def __init__(self, workers: "Workers") -> None:
        self._workers = workers
        self._held_bytes = 0
        self.taken_by_work = False
        self.given_up = False
        """Whether nobody waits for the work any more."""
        self.waited_s = 0.0
        """How long the work waited for a thread."""
        self.worked_s = 0.0
        """Processor time of the work."""

    def hold(self, size_bytes: int) -> None:
        """Count so many more bytes of body; raise ``busy`` where the process holds too many."""
        self._workers.hold(size_bytes)
        self._held_bytes += size_bytes

    def leave(self) -> None:
        """Give the room back."""
        self._workers.leave(self._held_bytes)

    def __enter__(self) -> Self:
        """Stay."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Leave, unless the work does so."""
        if not self.taken_by_work:
            self.leave()


class Workers:
    """A pool of threads with a bounded queue.

    Parameters
    ----------
    threads : int
        Computations at once.
    queue_limit : int
        Requests that may wait, their bodies still arriving included.
    work_limit_s : float
        Processor time of one computation. [s]
    deadline_s : float
        Wall time of one computation, its waiting included. [s]
    bodies_limit_bytes : int
        Bytes of body held at once.
    """

    def __init__(
        self,
        *,
        threads: int,
        queue_limit: int,
        work_limit_s: float,
        deadline_s: float,
        bodies_limit_bytes: int = 2**31,
    ) -> None:
        self._pool = ThreadPoolExecutor(max_workers=threads, thread_name_prefix="compute")
        self._room = threads + queue_limit
        self.work_limit_s = work_limit_s
        self._deadline_s = deadline_s
        self._bodies_limit_bytes = bodies_limit_bytes
        self._lock = threading.Lock()
        self.pending = 0
        """Requests that have a place."""
        self.held_bytes = 0
        """Bytes of their bodies."""

    def admit(self) -> Place:
        """Return a place for one request; raise ``busy`` where there is none."""
        with self._lock:
            if self.pending >= self._room:
                raise _busy("all workers are taken and the queue is full")
            self.pending += 1
        return Place(self)

    def hold(self, size_bytes: int) -> None:
        """Count bytes of a body; raise ``busy`` where they are too many."""
        with self._lock:
            if self.held_bytes + size_bytes > self._bodies_limit_bytes:
                raise _busy("the bodies held take all the memory they may")
            self.held_bytes += size_bytes

    def leave(self, held_bytes: int) -> None:
        """Give a place and its bytes back."""
        with self._lock:
            self.pending -= 1
            self.held_bytes -= held_bytes

    async def run(
        self, work: Callable[[], T], place: Place | None = None, *, unless: "asyncio.Future[None] | None" = None
    ) -> T:
        """Return ``work()``, done in a thread; stop it if the caller is cancelled, or when ``unless`` is done."""
        place, arrived, loop = place or self.admit(), time.monotonic(), asyncio.get_running_loop()
        done: asyncio.Future[T] = loop.create_future()

        def in_thread() -> None:
            tell: Callable[[Any], None] = done.set_result
            try:
                outcome: Any = self._watched(work, arrived, place)
            except BaseException as error:
                tell, outcome = done.set_exception, error
            place.leave()
            with contextlib.suppress(RuntimeError):  # the loop is closed: nobody waits
                loop.call_soon_threadsafe(_unless_done, done, tell, outcome)
            del tell, outcome  # a failure's traceback holds this frame

        self._pool.submit(in_thread)
        place.taken_by_work = True
        if unless is not None:
            unless.add_done_callback(lambda _: done.cancel())
        try:
            return await done
        except asyncio.CancelledError:
            place.given_up = True
            raise

    def _watched(self, work: Callable[[], T], arrived: float, place: Place) -> T:
        begun = time.thread_time()
        allowed, deadline = begun + self.work_limit_s, arrived + self._deadline_s
        place.waited_s = time.monotonic() - arrived

        def hook() -> None:
            if place.given_up:
                raise _TimeUp(ProblemError("deadline-exceeded", "the caller went away"))
            if time.thread_time() > allowed:
                detail = f"the computation takes more than {self.work_limit_s:.6g} s of processor time"
                raise _TimeUp(ProblemError("work-over-limit", detail))
            if time.monotonic() > deadline:
                detail = f"not done within {self._deadline_s:.6g} s"
                raise _TimeUp(ProblemError("deadline-exceeded", detail, headers={"Retry-After": "5"}))

        try:
            hook()
            with watched_by(hook):
                return work()
        except _TimeUp as up:
            raise up.problem from None
        finally:
            place.worked_s = time.thread_time() - begun

    def close(self) -> None:
        """Take no more work and wait for what was started."""
        self._pool.shutdown(wait=True)


def _busy(detail: str) -> ProblemError:
    return ProblemError("busy", detail, headers={"Retry-After": "2"})


def _unless_done(done: "asyncio.Future[Any]", tell: Callable[[Any], None], outcome: object) -> None:
    if not done.done():
        tell(outcome)
