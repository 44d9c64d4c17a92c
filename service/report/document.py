"""What a document is made of, whatever it is written as. Layer: service.report.

Plain data: builders make it from answers, renderers write it. Every text is a text and never markup.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True)
class Number:
    """A number as printed, and where it was taken from.

    Attributes
    ----------
    text : str
        As printed, without its unit.
    at : str
        Its place, "answer/…" or "request/…"; "" for one that is made here, such as a rank.
    """

    text: str
    at: str = ""


Cell = str | Number | None
"""None is an entry that does not exist; it is left empty."""


@dataclass(frozen=True)
class Column:
    """A column of a table."""

    head: str
    unit: str = ""
    right: bool = False
    """Numbers stand to the right."""
    share: float = 1.0
    """Of the width that the columns of text divide among themselves."""


@dataclass(frozen=True)
class Table:
    """Rows under heads; the heads are repeated on every page."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    caption: str = ""
    emphasised: tuple[int, ...] = ()
    """Numbers of the rows set in bold: sums and results."""
    row_height_mm: float | None = None
    """Least height of a row, for a table that is filled in by hand."""


@dataclass(frozen=True)
class Fact:
    """A thing told: what, the value, its unit and a remark."""

    label: str
    value: Cell
    unit: str = ""
    remark: str = ""


@dataclass(frozen=True)
class Facts:
    """Facts one below the other; the first may be the ones that matter."""

    rows: tuple[Fact, ...]
    large: bool = False


@dataclass(frozen=True)
class Figure:
    """A picture in SVG, in words for those who do not see it, and its caption."""

    svg: str
    alt: str
    caption: str
    share: float = 1.0
    """Of the width of the page."""


@dataclass(frozen=True)
class Words:
    """A paragraph."""

    text: str


@dataclass(frozen=True)
class Formula:
    """An equation of ours: for typst, and as a line of text. Never made of what a request holds."""

    typst: str
    text: str


@dataclass(frozen=True)
class Note:
    """A paragraph that must be seen."""

    kind: Literal["note", "finding", "caution", "result"]
    text: str


@dataclass(frozen=True)
class Listing:
    """Places and what stands there, small and complete: for appendices."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Signatures:
    """Blank blocks to sign."""

    roles: tuple[str, ...]


Block = Table | Facts | Figure | Words | Formula | Note | Listing | Signatures


@dataclass(frozen=True)
class Section:
    """A heading and what stands under it."""

    title: str
    blocks: tuple[Block, ...]
    new_page: bool = False
    page_after: bool = False
    """Nothing else stands on its last page."""


@dataclass(frozen=True)
class Document:
    """A whole document."""

    title: str
    subject: str
    """Whose: a vessel's name; "" where none is given."""
    sections: tuple[Section, ...]
    occasion: str = ""
    """When and where, beneath the subject; "" where none is given."""
    foot: str = ""
    """On every page."""
    keywords: tuple[str, ...] = field(default=())

    def blocks(self) -> Iterator[Block]:
        """Yield every block in order."""
        for section in self.sections:
            yield from section.blocks
