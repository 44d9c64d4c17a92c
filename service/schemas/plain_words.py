"""Counts and names in plain words. Layer: service.schemas."""


def in_words(name: str) -> str:
    """Return a name as words."""
    return name.replace("-", " ").replace("_", " ")


def inner(words: str) -> str:
    """Return a heading as it stands within a sentence: a small first letter, unless an abbreviation begins it."""
    return words if words[1:2].isupper() else words[:1].lower() + words[1:]


def plural(number: int, noun: str) -> str:
    """Return a noun for so many."""
    return noun if number == 1 else {"criterion": "criteria", "entry": "entries"}.get(noun, f"{noun}s")


def count(number: int, noun: str, *, verb: bool = True) -> str:
    """Return "1 check is" or "2 checks are", or without the verb."""
    said = f"{number} {plural(number, noun)}"
    return said + ((" is" if number == 1 else " are") if verb else "")


def all_of(number: int, noun: str) -> str:
    """Return "the 1 check is" or "all 2 checks are"."""
    return f"{'the' if number == 1 else 'all'} {count(number, noun)}"


def every_of(number: int) -> str:
    """Return "the one condition given" or "all 2 conditions"."""
    return "the one condition given" if number == 1 else f"all {number} conditions"


def look(number: int) -> str:
    """Return the verb of so many."""
    return "looks" if number == 1 else "look"
