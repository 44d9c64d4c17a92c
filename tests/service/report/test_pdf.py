"""The PDF: the same bytes, PDF/A's marks, texts that stay texts, a first page that stands alone."""

import hashlib
import io
import json
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest

from service.report.document import Document, Formula, Note, Section, Words
from service.report.pdf import PAPERS, pages, pdf
from service.report.stability_test import stability_test_report

ROOT = Path(__file__).parents[3]
AGAIN = """
import hashlib, json, sys
from service.resources.stability_tests import StabilityTest, compute
from service.report.stability_test import stability_test_report
from service.report.pdf import pdf
request = StabilityTest.model_validate_json(sys.stdin.buffer.read())
print(hashlib.sha256(pdf(stability_test_report(request, compute(request)))).hexdigest())
"""


def text_of(data):
    """Return the text a reader copies, without the breaks that the page makes."""
    return "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)


def bare(text):
    """Return a text without what a line break changes: spaces, places to break, hyphens."""
    return re.sub("[\\s\u200b\u00ad-]", "", text)


@pytest.fixture(scope="module")
def awkward_pdf(awkward):
    return pdf(stability_test_report(awkward.request, awkward.answer))


@pytest.fixture(scope="module")
def awkward_text(awkward_pdf):
    return bare(text_of(awkward_pdf))


def test_the_same_bytes_again_and_in_a_fresh_process(demo):
    first = pdf(stability_test_report(demo.request, demo.answer))
    assert pdf(stability_test_report(demo.request, demo.answer)) == first
    fresh = subprocess.run(
        [sys.executable, "-c", AGAIN], input=json.dumps(demo.record).encode(), capture_output=True, cwd=ROOT, check=True
    )
    assert fresh.stdout.decode().strip() == hashlib.sha256(first).hexdigest()


def test_another_record_gives_other_bytes(demo):
    report = stability_test_report(demo.request, demo.answer)
    assert pdf(replace(report, subject="Another")) != pdf(report)


@pytest.mark.parametrize("which", ["demo", "awkward", "failed"])
@pytest.mark.parametrize("units", ["si", "us"])
def test_the_first_page_stands_alone(request, which, units):
    asked = request.getfixturevalue(which)
    report = stability_test_report(asked.request, asked.answer, units)
    assert report.sections[0].page_after
    alone = replace(report, sections=report.sections[:1])
    assert len(pages(alone, paper=PAPERS[units], ppi=20)) == 1
    assert len(pages(report, paper=PAPERS[units], ppi=20)) > 10


def test_marks_of_pdf_a(awkward_pdf):
    """ISO 19005-2: identification, output intent; tags and a title besides. No validator is at hand."""
    reader = pypdf.PdfReader(io.BytesIO(awkward_pdf))
    root = reader.trailer["/Root"]
    metadata = root["/Metadata"].get_data().decode()
    assert re.search("pdfaid:part>2<", metadata)
    assert re.search("pdfaid:conformance>B<", metadata)
    assert root["/OutputIntents"][0]["/S"] == "/GTS_PDFA1"
    assert root["/MarkInfo"]["/Marked"]
    assert root["/StructTreeRoot"]
    assert "/AcroForm" not in root
    assert "/OpenAction" not in root
    assert "Report of a stability test" in metadata
    assert {one.title for one in reader.outline} >= {"Preliminary answer", "Lightship", "Uncertainty"}
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            one = font.get_object()
            inner = one["/DescendantFonts"][0] if "/DescendantFonts" in one else one
            assert any(name.startswith("/FontFile") for name in inner["/FontDescriptor"])


def tagged(node, kind, found):
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, pypdf.generic.ArrayObject):
        for one in node:
            tagged(one, kind, found)
    elif isinstance(node, pypdf.generic.DictionaryObject):
        if node.get("/S") == kind:
            found.append(node)
        if "/K" in node:
            tagged(node["/K"], kind, found)
    return found


def test_headings_are_tagged_and_pictures_have_words(demo):
    report = stability_test_report(demo.request, demo.answer)
    tree = pypdf.PdfReader(io.BytesIO(pdf(report))).trailer["/Root"]["/StructTreeRoot"]
    assert len(tagged(tree, "/H1", [])) == len(report.sections)
    pictures = tagged(tree, "/Figure", [])
    assert len(pictures) >= 4
    assert all(len(one["/Alt"]) > 20 for one in pictures)


def test_hostile_texts_stay_texts(awkward_text, awkward_module):
    for hostile in awkward_module.HOSTILE:
        assert bare(hostile) in awkward_text
    assert bare("safe⟨U+202E⟩gnp.exe") in awkward_text


def test_letters_no_font_has_are_told_by_number(awkward_text):
    assert "".join(f"⟨U+{ord(one):04X}⟩" for one in "船体受压载水") in awkward_text
    assert bare("Балластная цистерна № 2") in awkward_text
    assert bare("δεξαμενή καυσίμου") in awkward_text


def test_markup_is_not_read_anywhere():
    """Each place that takes a text is given typst's own markup; it must come out as it went in."""
    evil = '#panic("no") = heading *bold* $x^2$ // comment'
    document = Document(
        title=evil, subject=evil, foot=evil, sections=(Section(evil, (Words(evil), Note("finding", evil))),)
    )
    text = bare(text_of(pdf(document)))
    assert text.count(bare(evil)) >= 5


def test_a_flood_of_rare_letters_is_bounded(monkeypatch):
    """Beyond the number that is looked for, letters are told by number, none is looked for."""
    from service.report import pdf as module

    asked = []
    monkeypatch.setattr(module, "_in_fonts", lambda letter: asked.append(letter) or False)
    flood = "".join(map(chr, range(0x4E00, 0x4E00 + 1000)))
    pages(Document(title="t", subject="", sections=(Section("s", (Words(flood),)),)), ppi=20)
    assert len(asked) == module.PROBED_LETTERS


def test_equations_are_typeset_and_have_words(demo):
    report = stability_test_report(demo.request, demo.answer)
    tree = pypdf.PdfReader(io.BytesIO(pdf(report))).trailer["/Root"]["/StructTreeRoot"]
    written = [one.text for one in report.blocks() if isinstance(one, Formula)]
    assert len(written) == 2
    assert [one["/Alt"] for one in tagged(tree, "/Formula", [])] == written
