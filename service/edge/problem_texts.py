"""The one table of problems: code → status, title, meaning, cause, cure. Layer: service.edge.

The table is ``problem_texts.json`` beside this file; the pages of ``docs/problems`` are written from it. ``status`` is
null for a code that only ever stands in ``findings``.
"""

import json
from functools import lru_cache
from importlib.resources import files
from typing import NamedTuple


class Text(NamedTuple):
    """What is said about one code."""

    title: str
    meaning: str
    cause: str
    cure: str
    status: int | None = 422


@lru_cache(maxsize=1)
def texts() -> dict[str, Text]:
    """Return the table, by code."""
    rows = json.loads(files("service.edge").joinpath("problem_texts.json").read_text(encoding="utf-8"))
    return {code: Text(**row) for code, row in sorted(rows.items())}


def markdown(code: str) -> str:
    """Return the page of one code for ``docs/problems``."""
    text = texts()[code]
    kind = f"HTTP status {text.status}" if text.status else "A finding: the request was answered"
    return (
        f"# {text.title}\n\n`{code}` · {kind}\n\n{text.meaning}\n\n**Cause.** {text.cause}\n\n**Cure.** {text.cure}\n"
    )
