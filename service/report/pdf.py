"""A document as PDF, by typst: tagged, PDF/A-2b, the same bytes every time. Layer: service.report.

Only the fonts that come with typst are used, so the bytes do not depend on the machine. A character none of them has is
written by its number, as PDF/A allows none without a picture. The date of the document is fixed: 1 January 2000.
"""

import json
from functools import lru_cache
from importlib.resources import files
from typing import Any, Literal

from service.report.document import (
    Block,
    Cell,
    Document,
    Facts,
    Figure,
    Formula,
    Listing,
    Note,
    Number,
    Signatures,
    Table,
    Words,
)
from service.report.svg import shortened
from service.report.text import breakable, number_of, printable

PAPERS = {"si": "a4", "us": "us-letter"}
SUBJECT_LETTERS = 60
SHORT_TEXT = 28
"""Letters of a cell; where none has more, the columns are as wide as their texts."""
_KNOWN = frozenset(map(chr, [*range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x391, 0x3CA), *range(0x410, 0x450)]))
REMEMBERED_RUNS = 10
PROBED_LETTERS = 400
"""Rare characters of one document that are looked for in the fonts; further ones are written by their numbers."""


def pdf(document: Document, *, paper: str = "a4") -> bytes:
    """Return the document as PDF/A-2b."""
    data: bytes = _compile(document, paper, "pdf")
    return data


def pages(document: Document, *, paper: str = "a4", ppi: float = 80.0) -> list[bytes]:
    """Return the PDF's pages as pictures (PNG)."""
    made = _compile(document, paper, "png", ppi)
    return [made] if isinstance(made, bytes) else list(made)


def picture(svg: str, *, ppi: float = 200.0) -> bytes:
    """Return a drawing as PNG, for forms that take no SVG."""
    source = '#set page(width: auto, height: auto, margin: 0pt)\n#image("a.svg", alt: "")'
    made = _typst({"main.typ": source.encode(), "a.svg": _shown(svg, {}).encode()}, format="png", ppi=ppi)
    data: bytes = made if isinstance(made, bytes) else made[0]
    return data


def source_of(document: Document, paper: str) -> dict[str, bytes]:
    """Return the files that typst makes the document of: the template and the data."""
    template = files("service.report").joinpath("template.typ").read_bytes()
    return {"main.typ": template, "document.json": json.dumps(_data(document, paper)).encode()}


def _compile(document: Document, paper: str, form: Literal["pdf", "png"], ppi: float | None = None) -> Any:
    standards = ["a-2b"] if form == "pdf" else []
    made = _typst(source_of(document, paper), format=form, ppi=ppi, pdf_standards=standards)
    _forget()
    return made


def _typst(sources: dict[str, bytes], **how: Any) -> Any:
    """Compile with typst's own fonts and no other."""
    import typst

    run: Any = typst.compile
    return run(sources, ignore_system_fonts=True, font_paths=_fonts(), **how)


@lru_cache(maxsize=1)
def _fonts() -> Any:
    import typst

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True)


def _forget() -> None:
    """Have typst forget the document just made: it remembers what its last ten runs used, some 45 MB a report."""
    for _ in range(REMEMBERED_RUNS):
        _typst({"main.typ": b"#set page(width: 1pt, height: 1pt)"}, format="svg")


def _data(document: Document, paper: str) -> dict[str, Any]:
    rare: dict[str, str] = {}
    return {
        "title": _shown(document.title, rare),
        "subject": _shown(breakable(document.subject), rare),
        "occasion": _shown(breakable(document.occasion), rare),
        "short_subject": _shown(shortened(printable(document.subject), SUBJECT_LETTERS), rare),
        "foot": _shown(document.foot, rare),
        "keywords": [_shown(one, rare) for one in document.keywords],
        "paper": paper,
        "sections": [
            {
                "title": _shown(section.title, rare),
                "new_page": section.new_page,
                "page_after": section.page_after,
                "blocks": [_block(one, rare) for one in section.blocks],
            }
            for section in document.sections
        ],
    }


def _block(block: Block, rare: dict[str, str]) -> dict[str, Any]:
    def shown(text: str) -> str:
        return _shown(breakable(text), rare)

    match block:
        case Table():
            return {
                "kind": "table",
                "caption": shown(block.caption),
                "columns": [
                    {"head": shown(c.head), "unit": shown(c.unit), "right": c.right, "share": share}
                    for c, share in zip(block.columns, _shares(block), strict=True)
                ],
                "rows": [[_cell(one, rare) for one in row] for row in block.rows],
                "emphasised": list(block.emphasised),
                "row_height_mm": block.row_height_mm,
            }
        case Facts():
            rows = [
                {"label": shown(f.label), "value": shown(with_unit(f.value, f.unit)), "remark": shown(f.remark)}
                for f in block.rows
            ]
            return {"kind": "facts", "large": block.large, "rows": rows}
        case Figure():
            return {
                "kind": "figure",
                "svg": _shown(block.svg, rare),
                "alt": shown(block.alt),
                "caption": shown(block.caption),
                "share": block.share,
            }
        case Words():
            return {"kind": "words", "text": shown(block.text)}
        case Formula():
            return {"kind": "formula", "typst": block.typst, "text": block.text}
        case Note():
            return {"kind": "note", "tone": block.kind, "text": shown(block.text)}
        case Listing():
            return {"kind": "listing", "rows": [[shown(place), shown(what)] for place, what in block.rows]}
        case Signatures():
            return {"kind": "signatures", "roles": [shown(role) for role in block.roles]}


def _shares(table: Table) -> list[float]:
    """Return the columns' shares, 0 for as wide as its text: all of a table whose texts are short."""
    texts = [one for row in table.rows for one in row if isinstance(one, str)]
    if table.row_height_mm is None and all(len(one) <= SHORT_TEXT for one in texts):
        return [0.0 for _ in table.columns]
    return [one.share for one in table.columns]


def _cell(cell: Cell, rare: dict[str, str]) -> str | None:
    if cell is None:
        return None
    return cell.text if isinstance(cell, Number) else _shown(breakable(cell), rare)


def with_unit(value: Cell, unit: str) -> str:
    """Return a fact's value with its unit as one text."""
    text = value.text if isinstance(value, Number) else value or ""
    return f"{text}{'' if unit in ('', '°') else ' '}{unit}" if text else text


def _shown(text: str, rare: dict[str, str]) -> str:
    """Return a text with the characters that no font has written by their numbers."""
    safe = printable(text)
    if safe.isascii():
        return safe
    return "".join(one if one in _KNOWN else rare.get(one) or _found(one, rare) for one in safe)


def _found(letter: str, rare: dict[str, str]) -> str:
    rare[letter] = letter if len(rare) < PROBED_LETTERS and _in_fonts(letter) else number_of(letter)
    return rare[letter]


@lru_cache(maxsize=4096)
def _in_fonts(letter: str) -> bool:
    import typst

    head = '#set text(font: "Libertinus Serif")\n#set document(date: datetime(year: 2000, month: 1, day: 1))\n#'
    source = head + json.dumps("a" + letter, ensure_ascii=False)
    try:
        _typst({"main.typ": source.encode()}, format="pdf", pdf_standards=["a-2b"], pdf_tags=False)
    except typst.TypstError:
        return False
    return True
