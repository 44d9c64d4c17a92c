"""JSON pointers (RFC 6901) into an answer. Layer: service.cases."""

import re
from collections.abc import Sequence

PATTERN = r"^(?:/(?:[^~/]|~[01])*)*$"
"""What a pointer looks like; "" is the whole document."""

_INDEX = re.compile("0|[1-9][0-9]*")


class LeadsNowhereError(LookupError):
    """Nothing stands at the pointer."""


def resolve(document: object, pointer: str) -> object:
    """Return what stands at ``pointer`` in a JSON document.

    Raises
    ------
    LeadsNowhereError
        A name or a number on the way does not exist; "-", the entry after the last (RFC 6901, 4), never does.
    """
    here = document
    for part in _parts(pointer):
        if isinstance(here, dict) and part in here:
            here = here[part]
        elif isinstance(here, list) and _INDEX.fullmatch(part) and int(part) < len(here):
            here = here[int(part)]
        else:
            raise LeadsNowhereError(pointer)
    return here


def extended(pointer: str, part: str | int) -> str:
    """Return the pointer of an entry of what stands at ``pointer``."""
    return f"{pointer}/{str(part).replace('~', '~0').replace('/', '~1')}"


def _parts(pointer: str) -> Sequence[str]:
    return [part.replace("~1", "/").replace("~0", "~") for part in pointer.split("/")[1:]]
