"""Every code has its text, every text its page, and the pages say what the table says."""

import ast
import re
from pathlib import Path

from service.edge.faults import SCHEMA_FAULTS
from service.edge.problem_texts import markdown, texts
from tests.contract.codes import all_codes

PAGES = Path(__file__).parents[2] / "docs" / "problems"


def test_every_code_has_a_text() -> None:
    sent = all_codes()
    assert len(sent) > 50  # the finder finds
    missing = {code: place for code, place in sent.items() if code not in texts()}
    assert not missing, "add to service/edge/problem_texts.json, then: python -m service problems"


def test_codes_of_the_validator_have_a_text() -> None:
    assert {code for code, _ in SCHEMA_FAULTS.values()} <= set(texts())


def test_texts_are_whole() -> None:
    for code, text in texts().items():
        assert re.fullmatch("[a-z0-9]+(-[a-z0-9]+)*", code)
        assert not text.title.endswith(".")
        for words in (text.meaning, text.cause, text.cure):
            assert words.endswith("."), code
            assert len(words) >= 8, code
        assert text.status in (None, 400, 401, 404, 405, 406, 408, 409, 413, 414, 415, 422, 429, 500, 503)


def test_pages_are_up_to_date() -> None:
    wanted = {f"{code}.md": markdown(code) for code in texts()}
    written = {path.name: path.read_text(encoding="utf-8") for path in PAGES.glob("*.md")}
    assert written == wanted, "run: python -m service problems"


LOOP = "the end of a loop that no input known reaches: it stands so that the loop cannot end in silence"
UNPROVOKED = {
    "level-not-converged": LOOP,
    "salinity-not-converged": LOOP,
    "vcg-limit-not-converged": LOOP,
}
"""Codes that no test provokes, and why."""


def _words_of_the_tests() -> set[str]:
    words: set[str] = set()
    for path in Path(__file__).parents[1].rglob("*.py"):
        if path.name not in ("test_problems.py", "codes.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    words.update(re.findall("[a-z0-9]+(?:-[a-z0-9]+)+|[a-z]+", node.value))
    return words


def test_every_code_is_provoked_by_a_test() -> None:
    """A test names each code the source can send, but for those with a reason, which goes once there is a test."""
    sent = {**all_codes(), **{code: "the validator" for code, _ in SCHEMA_FAULTS.values()}}
    named = _words_of_the_tests()
    unprovoked = {code: place for code, place in sent.items() if code not in named and code not in UNPROVOKED}
    assert not unprovoked
    assert not UNPROVOKED.keys() & named
    assert UNPROVOKED.keys() <= sent.keys()
