"""The glossary is the table of quantities, written out."""

from pathlib import Path

from engine.quantities import QUANTITIES, glossary


def test_the_page_is_up_to_date() -> None:
    page = Path(__file__).parents[2] / "docs/glossary.md"
    assert page.read_text(encoding="utf-8") == glossary(), "write engine.quantities.glossary() to docs/glossary.md"


def test_no_quantity_is_named_twice() -> None:
    names = [quantity.name for quantity in QUANTITIES]
    assert len(names) == len(set(names))
