"""What the engine raises. Layer: the lowest.

    EngineError
    ├── InputError           the data cannot mean a hull, a tank, a test
    ├── NotDeterminedError   the data are sound but do not fix the answer
    └── LimitError           the work asked for is over a stated limit

``field`` is the path of the fault inside the caller's arguments, parts joined by ``/``
("stations/3/points_m"); the service turns it into a JSON pointer. The message may hold numbers,
never a string of the request.
"""


class EngineError(ValueError):
    """Base of all: a stable kebab-case ``code`` and, where known, the field, value and limit."""

    def __init__(
        self,
        message: str,
        *,
        code: str,
        field: str = "",
        value: float | None = None,
        limit: float | None = None,
    ) -> None:
        super().__init__(message)
        self.message = message
        self.code = code
        self.field = field
        self.value = value
        self.limit = limit

    def __reduce__(self) -> tuple[object, ...]:
        """Let it cross to another process whole."""
        return _remade, (type(self), self.message, self.code, self.field, self.value, self.limit)

    def at(self, parent: str) -> "EngineError":
        """Return the same error with its field placed below ``parent``."""
        field = f"{parent}/{self.field}" if self.field else parent
        return type(self)(self.message, code=self.code, field=field, value=self.value, limit=self.limit)


def _remade(
    kind: type[EngineError], message: str, code: str, field: str, value: float | None, limit: float | None
) -> EngineError:
    return kind(message, code=code, field=field, value=value, limit=limit)


class InputError(EngineError):
    """The data cannot mean what they are given as."""


class NotDeterminedError(EngineError):
    """The data are sound, but the answer does not follow from them."""


class LimitError(EngineError):
    """The work is over a stated limit."""
