"""A document offered as HTML, PDF and Word beside an operation's JSON. Layer: service.report."""

from collections.abc import Callable, Mapping
from typing import Any

from service.edge import media
from service.edge.operation import Rendering, Units
from service.report.document import Document
from service.report.html import html
from service.report.pdf import PAPERS, pdf
from service.report.word import word

PDF = "application/pdf"
WORD = "application/vnd.openxmlformats-officedocument.wordprocessingml.document"
Build = Callable[[Any, Any, Units], Document]
"""Makes the document of a request and its answer, in the units asked for."""


def renderings(build: Build, *, editable: bool = False) -> Mapping[str, Rendering[Any]]:
    """Return the forms of a document by the names ``?format=`` has for them; ``editable``: Word as well."""

    def as_html(request: Any, answer: Any, units: Units) -> str:
        return html(build(request, answer, units))

    def as_pdf(request: Any, answer: Any, units: Units) -> bytes:
        return pdf(build(request, answer, units), paper=PAPERS[units])

    def as_word(request: Any, answer: Any, units: Units) -> bytes:
        return word(build(request, answer, units), paper=PAPERS[units])

    forms: dict[str, Rendering[Any]] = {
        "html": Rendering(media.HTML, as_html, "charset=utf-8", of_request=True),
        "pdf": Rendering(PDF, as_pdf, binary=True, of_request=True),
    }
    if editable:
        forms["docx"] = Rendering(WORD, as_word, binary=True, of_request=True)
    return forms
