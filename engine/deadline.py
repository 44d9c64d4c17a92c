"""Lets a caller stop long work: every solver loop calls ``checkpoint()``. Layer: the lowest.

The engine has no clock. Whoever has one enters ``watched_by(hook)``; the hook raises when time is up.
The hook lives in a context variable, so work in one thread never stops work in another.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_hook: ContextVar[Callable[[], None] | None] = ContextVar("deadline_hook", default=None)


def checkpoint() -> None:
    """Call the hook in force, if any; it raises to end the work."""
    hook = _hook.get()
    if hook is not None:
        hook()


@contextmanager
def watched_by(hook: Callable[[], None]) -> Iterator[None]:
    """Have every ``checkpoint()`` inside the block call ``hook``."""
    token = _hook.set(hook)
    try:
        yield
    finally:
        _hook.reset(token)
