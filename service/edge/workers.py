"""Computation off the event loop, bounded in number and in time. Layer: service.edge.

Threads, and a hook in the engine's ``checkpoint()``: docs/decisions/workers.md has the measurements. Two clocks run.
The thread's own processor time does not depend on what else the machine does, so a request over that limit will be
over it again: 422 ``work-over-limit``. The wall clock since the body arrived depends on the load: 503
``deadline-exceeded`` with Retry-After.
"""

import asyncio
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any, TypeVar

from engine.deadline import watched_by
from service.edge.problems import ProblemError

T = TypeVar("T")


class _TimeUp(BaseException):
    """Raised inside the engine at a checkpoint; no ``except Exception`` on the way can hold it up."""

    def __init__(self, problem: ProblemError) -> None:
        self.problem = problem


class Workers:
    """A pool of threads with a bounded queue.

    Parameters
    ----------
    threads : int
        Computations at once.
    queue_limit : int
        Computations that may wait.
    work_limit_s : float
        Processor time of one computation. [s]
    deadline_s : float
        Wall time of one computation, its waiting included. [s]
    """

    def __init__(self, *, threads: int, queue_limit: int, work_limit_s: float, deadline_s: float) -> None:
        self._pool = ThreadPoolExecutor(max_workers=threads, thread_name_prefix="compute")
        self._room = threads + queue_limit
        self._work_limit_s = work_limit_s
        self._deadline_s = deadline_s
        self._lock = threading.Lock()
        self._pending = 0

    async def run(self, work: Callable[[], T]) -> T:
        """Return ``work()``, done in a thread; stop it if the caller is cancelled."""
        with self._lock:
            if self._pending >= self._room:
                raise ProblemError("busy", "all workers are taken and the queue is full", headers={"Retry-After": "2"})
            self._pending += 1
        given_up = threading.Event()
        future = self._pool.submit(self._watched, work, time.monotonic() + self._deadline_s, given_up)
        future.add_done_callback(self._leave)
        try:
            return await asyncio.wrap_future(future)
        except asyncio.CancelledError:
            given_up.set()
            raise

    def _leave(self, _: "Future[Any]") -> None:
        with self._lock:
            self._pending -= 1

    def _watched(self, work: Callable[[], T], deadline: float, given_up: threading.Event) -> T:
        allowed = time.thread_time() + self._work_limit_s

        def hook() -> None:
            if given_up.is_set():
                raise _TimeUp(ProblemError("deadline-exceeded", "the caller went away"))
            if time.thread_time() > allowed:
                detail = f"the computation takes more than {self._work_limit_s:.6g} s of processor time"
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

    def close(self) -> None:
        """Take no more work and wait for what was started."""
        self._pool.shutdown(wait=True)
