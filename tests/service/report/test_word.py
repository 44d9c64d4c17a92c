"""The Word file: the same bytes, texts that stay texts, tables with repeated heads."""

import io
import re
import zipfile

import docx
import pytest

from service.report.document import Table
from service.report.stability_test import stability_test_report
from service.report.word import word

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"


@pytest.fixture(scope="module")
def made(awkward):
    return word(stability_test_report(awkward.request, awkward.answer))


def texts(data):
    body = docx.Document(io.BytesIO(data)).element.body
    return "".join(one.text or "" for one in body.iter(f"{W}t"))


def test_the_same_bytes(awkward, made):
    assert word(stability_test_report(awkward.request, awkward.answer)) == made
    with zipfile.ZipFile(io.BytesIO(made)) as archive:
        assert {one.date_time for one in archive.infolist()} == {(2000, 1, 1, 0, 0, 0)}


def test_hostile_and_foreign_texts_stay_texts(made, awkward_module):
    found = texts(made)
    for text in (*awkward_module.HOSTILE, *awkward_module.FOREIGN, "safe⟨U+202E⟩gnp.exe"):
        assert text in found


def test_every_table_is_there_with_its_head(awkward, made):
    tables = [one for one in stability_test_report(awkward.request, awkward.answer).blocks() if isinstance(one, Table)]
    document = docx.Document(io.BytesIO(made))
    heads = list(document.element.body.iter(f"{W}tblHeader"))
    assert len(heads) >= len(tables) > 20


def test_pictures_have_words_and_nothing_is_linked(made):
    with zipfile.ZipFile(io.BytesIO(made)) as archive:
        document = archive.read("word/document.xml").decode()
        links = archive.read("word/_rels/document.xml.rels").decode()
    assert len(re.findall('<wp:docPr[^>]* descr="[^"]{20,}"', document)) == document.count("<wp:docPr") >= 3
    assert 'TargetMode="External"' not in links
