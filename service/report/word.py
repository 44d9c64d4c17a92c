"""A document as an editable Word file, by python-docx. Layer: service.report.

Drawings are pictures of 200 dots an inch. The dates in the file are fixed, so the bytes repeat.
"""

import io
import zipfile
from datetime import datetime
from typing import Any

from service.report.document import (
    Block,
    Cell,
    Column,
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
from service.report.pdf import picture, with_unit
from service.report.text import printable

FIXED = datetime(2000, 1, 1)
_ACCENT, _QUIET = "174A7C", "66717A"
_SIZES_MM = {"a4": (210, 297), "us-letter": (215.9, 279.4)}
_MARGIN_MM = 19
_LETTER_MM = 2.1
_FACT_SHARES = (0.37, 0.23, 0.40)
_TONES = {"note": "F2F5F7", "finding": "FBF3EA", "caution": "F6F1F8", "result": "EAF1F8"}
_LEADS = {"finding": "Finding. ", "caution": "Caution. "}


def word(document: Document, *, paper: str = "a4") -> bytes:
    """Return the document as a .docx file."""
    import docx

    made = docx.Document()
    _Writer(made, paper).write(document)
    out = io.BytesIO()
    made.save(out)
    return _repeatable(out.getvalue())


class _Writer:
    """Writes blocks into one file."""

    def __init__(self, made: Any, paper: str) -> None:
        self.made = made
        wide, tall = _SIZES_MM[paper]
        self.width_mm = wide - 2 * _MARGIN_MM
        self._page(wide, tall)

    def write(self, document: Document) -> None:
        """Write it all."""
        from docx.shared import Pt, RGBColor

        normal = self.made.styles["Normal"]
        normal.font.name, normal.font.size = "Georgia", Pt(10)
        for style in ("Title", "Heading 1"):
            self.made.styles[style].font.name = "Georgia"
            self.made.styles[style].font.color.rgb = RGBColor.from_string(_ACCENT)
        core = self.made.core_properties
        core.created = core.modified = FIXED
        core.title, core.subject, core.author = printable(document.title)[:250], printable(document.subject)[:250], ""
        self.made.add_heading(printable(document.title), 0)
        if document.subject:
            self.made.add_paragraph(printable(document.subject)).runs[0].font.size = Pt(13)
        if document.occasion:
            self.made.add_paragraph(printable(document.occasion))
        self._foot(document.foot)
        for section in document.sections:
            heading = self.made.add_heading(printable(section.title), 1)
            heading.paragraph_format.page_break_before = section.new_page
            heading.paragraph_format.keep_with_next = True
            for block in section.blocks:
                self._block(block)

    def _page(self, wide: float, tall: float) -> None:
        from docx.shared import Mm

        section = self.made.sections[0]
        section.page_width, section.page_height = Mm(wide), Mm(tall)
        section.left_margin = section.right_margin = section.top_margin = section.bottom_margin = Mm(_MARGIN_MM)

    def _foot(self, text: str) -> None:
        paragraph = self.made.sections[0].footer.paragraphs[0]
        paragraph.add_run(printable(text) + "    page ")
        _field(paragraph, "PAGE")
        paragraph.add_run(" of ")
        _field(paragraph, "NUMPAGES")

    def _block(self, block: Block) -> None:
        match block:
            case Table():
                self._table(block)
            case Facts():
                count = 3 if any(one.remark for one in block.rows) else 2
                whole = ((one.label, with_unit(one.value, one.unit), one.remark) for one in block.rows)
                rows = tuple(row[:count] for row in whole)
                self._grid(None, rows, rules=False, bold_column=1 if block.large else None)
            case Figure():
                self._figure(block)
            case Words():
                self.made.add_paragraph(printable(block.text))
            case Formula():
                self.made.add_paragraph().add_run(printable(block.text)).italic = True
            case Note():
                self._note(block)
            case Listing():
                heads = (Column("place", share=1.0), Column("what stands there", share=4.0))
                self._grid(heads, block.rows, small=True)
            case Signatures():
                for role in block.roles:
                    self.made.add_paragraph(printable(role)).runs[0].bold = True
                    self.made.add_paragraph(
                        "\n" + "name in print: " + "_" * 26 + "  signature: " + "_" * 24 + "  date: " + "_" * 10
                    )

    def _table(self, table: Table) -> None:
        if table.caption:
            caption = self.made.add_paragraph()
            caption.add_run(printable(table.caption)).italic = True
            caption.paragraph_format.keep_with_next = True
        self._grid(table.columns, table.rows, emphasised=table.emphasised, height_mm=table.row_height_mm)

    def _grid(
        self,
        heads: tuple[Column, ...] | None,
        rows: tuple[tuple[Cell, ...], ...],
        *,
        emphasised: tuple[int, ...] = (),
        rules: bool = True,
        small: bool = False,
        height_mm: float | None = None,
        bold_column: int | None = None,
    ) -> None:
        from docx.shared import Mm, Pt

        if not rows:
            return
        columns = heads or tuple(Column("") for _ in rows[0])
        grid = self.made.add_table(rows=0, cols=len(columns))
        if rules:
            grid.style = "Table Grid"
        grid.autofit = False
        widths = _widths(columns, rows, self.width_mm) if heads else _fact_widths(len(columns), self.width_mm)
        for one, wide in zip(grid.columns, widths, strict=True):
            one.width = Mm(wide)
        size = Pt(6.5) if small else Pt(8.5) if rules else Pt(10)
        if heads is not None:
            cells = grid.add_row().cells
            for cell, column in zip(cells, columns, strict=True):
                unit = f" [{column.unit}]" if column.unit else ""
                _fill(cell, printable(column.head) + unit, size=size, bold=True, right=column.right)
            _mark_row(grid.rows[0], "w:tblHeader")
        for i, row in enumerate(rows):
            made = grid.add_row()
            _mark_row(made, "w:cantSplit")
            if height_mm:
                made.height = Mm(height_mm)
            for k, (cell, column, one) in enumerate(zip(made.cells, columns, row, strict=True)):
                bold = i in emphasised or k == bold_column
                _fill(cell, printable(_text(one)), size=size, bold=bold, right=column.right)
        self.made.add_paragraph().paragraph_format.space_after = Pt(2)

    def _figure(self, figure: Figure) -> None:
        from docx.shared import Mm

        shape = self.made.add_picture(io.BytesIO(picture(figure.svg)), width=Mm(self.width_mm * figure.share))
        shape._inline.docPr.set("descr", printable(figure.alt))
        self.made.paragraphs[-1].paragraph_format.keep_with_next = True
        self.made.add_paragraph().add_run(printable(figure.caption)).italic = True

    def _note(self, note: Note) -> None:
        from docx.oxml import OxmlElement
        from docx.oxml.ns import qn

        paragraph = self.made.add_paragraph()
        paragraph.add_run(_LEADS.get(note.kind, "")).bold = True
        paragraph.add_run(printable(note.text))
        shade = OxmlElement("w:shd")
        for name, value in (("val", "clear"), ("color", "auto"), ("fill", _TONES[note.kind])):
            shade.set(qn(f"w:{name}"), value)
        paragraph.paragraph_format.element.get_or_add_pPr().append(shade)


def _fact_widths(count: int, whole_mm: float) -> list[float]:
    """Return widths of label, value and, where there are some, remarks."""
    label, value, remark = _FACT_SHARES
    shares = (label, value, remark) if count == 3 else (label, value + remark)
    return [whole_mm * one for one in shares]


def _widths(columns: tuple[Column, ...], rows: tuple[tuple[Cell, ...], ...], whole_mm: float) -> list[float]:
    """Return widths: numbers as wide as the longest, the rest among the texts by their shares."""
    longest = [
        max([len(_text(row[k])) for row in rows] + [len(word) for word in column.head.split()])
        for k, column in enumerate(columns)
    ]
    fixed = [_LETTER_MM * longest[k] + 5.0 if one.right else 0.0 for k, one in enumerate(columns)]
    texts = sum(0.0 if one.right else one.share for one in columns)
    rest = max(whole_mm - sum(fixed), 0.3 * whole_mm) if texts else 0.0
    heads = [max(len(word) for word in [*one.head.split(), ""]) for one in columns]
    wide = [
        fixed[k] if one.right else max(rest * one.share / texts, _LETTER_MM * heads[k] + 5.0)
        for k, one in enumerate(columns)
    ]
    return [one * min(1.0, whole_mm / sum(wide)) for one in wide]


def _text(cell: Cell) -> str:
    return cell.text if isinstance(cell, Number) else cell or ""


def _fill(cell: Any, text: str, *, size: Any, bold: bool, right: bool) -> None:
    from docx.enum.text import WD_ALIGN_PARAGRAPH
    from docx.shared import Pt

    paragraph = cell.paragraphs[0]
    paragraph.paragraph_format.space_after = Pt(0)
    run = paragraph.add_run(text)
    run.font.size, run.bold = size, bold
    if right:
        paragraph.alignment = WD_ALIGN_PARAGRAPH.RIGHT


def _mark_row(row: Any, name: str) -> None:
    """Mark a row: ``w:tblHeader`` is repeated on every page, ``w:cantSplit`` kept on one."""
    from docx.oxml import OxmlElement

    row._tr.get_or_add_trPr().append(OxmlElement(name))


def _field(paragraph: Any, name: str) -> None:
    from docx.oxml import OxmlElement
    from docx.oxml.ns import qn

    for kind, text in (("begin", None), (None, name), ("end", None)):
        run = paragraph.add_run()
        element = OxmlElement("w:fldChar" if kind else "w:instrText")
        if kind:
            element.set(qn("w:fldCharType"), kind)
        else:
            element.text = text
        run._r.append(element)


def _repeatable(data: bytes) -> bytes:
    """Return the file with fixed dates of its parts."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as read, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as written:
        for name in read.namelist():
            written.writestr(zipfile.ZipInfo(name, FIXED.timetuple()[:6]), read.read(name), zipfile.ZIP_DEFLATED)
    return out.getvalue()
