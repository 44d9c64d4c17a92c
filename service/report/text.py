"""Texts as they may be printed. Layer: service.report.

A text of a request stays a text: nothing is interpreted, and what cannot be seen or would turn its neighbours about is
written by its number.
"""

import re
import unicodedata
from functools import lru_cache

_TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_HIDDEN_KINDS = ("Cc", "Cs", "Co", "Cn", "Zl", "Zp")
LONG_WORD = 22
"""Letters of a word; a longer one may be broken anywhere."""
SHORT_PART = 12
"""Letters of a word, or of a part between strokes, that is never broken."""


def number_of(letter: str) -> str:
    """Return a character by its number."""
    return f"⟨U+{ord(letter):04X}⟩"


def printable(text: str) -> str:
    """Return a text with control characters and turners of direction written by their numbers."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(number_of(one) if _hidden(one) else one for one in text)


def breakable(text: str) -> str:
    """Return a text in which long words may be broken: zero-width spaces between their letters' groups."""
    return " ".join(_broken(word) for word in text.split(" "))


def _broken(word: str) -> str:
    """Return a long word with places to break after strokes, dots and dashes, in long parts after every few letters."""
    if len(word) <= SHORT_PART:
        return word
    parts = re.findall(r"[^/_.,;-]*[/_.,;-]+|[^/_.,;-]+", word)
    pieces = [one[i : i + SHORT_PART] for one in parts for i in range(0, len(one), SHORT_PART)]
    return "\u200b".join(pieces) if len(word) > LONG_WORD or len(parts) > 1 else word


@lru_cache(maxsize=4096)
def _hidden(letter: str) -> bool:
    return letter in _TURNING or unicodedata.category(letter) in _HIDDEN_KINDS
