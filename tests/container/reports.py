"""Reports made by the service in the container: ``reports.py ADDRESS RECORD``, with pypdf at hand.

The PDF is read by pypdf and the Word file by the archive and XML readers of Python itself: none of these wrote them.
"""

import hashlib
import io
import json
import sys
import urllib.request
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pypdf

PDF = "application/pdf"
WORD = "application/vnd.openxmlformats-officedocument.wordprocessingml.document"
LEAST_PAGES = 10
"""The tests of the PDF find more than ten pages for this record (tests/service/report/test_pdf.py)."""
W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"


def answered(address: str, record: bytes, media_type: str) -> bytes:
    """Return the answer in a media type, once seen to be of it."""
    headers = {"Content-Type": "application/json", "Accept": media_type}
    request = urllib.request.Request(f"{address}/v1/stability-tests", record, headers)
    with urllib.request.urlopen(request, timeout=120) as answer:
        assert answer.headers.get_content_type() == media_type, answer.headers
        return bytes(answer.read())


def twice(address: str, record: bytes, media_type: str) -> bytes:
    """Return an answer that is the same, byte for byte, when asked again."""
    first, again = (answered(address, record, media_type) for _ in range(2))
    assert first == again, f"{media_type}: other bytes the second time"
    return first


def digest(data: bytes) -> str:
    """Return the beginning of its SHA-256."""
    return f"sha256 {hashlib.sha256(data).hexdigest()[:16]}…"


def check_pdf(data: bytes, wanted: list[str]) -> None:
    """Read every page."""
    assert data.startswith(b"%PDF-"), data[:20]
    texts = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data), strict=True).pages]
    assert len(texts) >= LEAST_PAGES, len(texts)
    assert all(texts), "a page without a text"
    for words in wanted:
        assert any(words in text for text in texts), f"no page says {words}"
    print(f"PDF: {len(texts)} pages, {len(data)} bytes, {digest(data)} twice; it says {' and '.join(wanted)}")


def check_word(data: bytes, wanted: list[str]) -> None:
    """Read every part, and the text."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        parts = [name for name in archive.namelist() if name.endswith((".xml", ".rels"))]
        trees = {name: ElementTree.fromstring(archive.read(name)) for name in parts}
        pictures = sum(name.startswith("word/media/") for name in archive.namelist())
    document = trees["word/document.xml"]
    text = "\n".join("".join(t.text or "" for t in p.iter(f"{W}t")) for p in document.iter(f"{W}p"))
    tables = sum(1 for _ in document.iter(f"{W}tbl"))
    assert tables > 0
    for words in wanted:
        assert words in text, f"the Word report does not say {words}"
    print(f"Word: {tables} tables, {pictures} pictures, {len(data)} bytes, {digest(data)} twice; it says the same")


def main(address: str, file: str) -> None:
    """Ask for both, and find the computed lightship in them."""
    record = Path(file).read_bytes()
    lightship = json.loads(answered(address, record, "application/json"))["lightship"]
    wanted = [f"{lightship['mass_t']:.2f}", f"{lightship['z_m']:.3f}"]
    check_pdf(twice(address, record, PDF), wanted)
    check_word(twice(address, record, WORD), wanted)


if __name__ == "__main__":
    main(*sys.argv[1:])
