"""The forms over HTTP: which is had how, and what is refused."""

import json

import pytest

from service.demo import demo_record

PATH = "/v1/stability-tests"
WORD = "application/vnd.openxmlformats-officedocument.wordprocessingml.document"


@pytest.fixture(scope="module")
def record():
    return demo_record()


@pytest.mark.parametrize(
    ("query", "accept", "content_type", "start"),
    [
        ("?format=html", "*/*", "text/html; charset=utf-8", b"<!doctype html>"),
        ("?format=pdf", "application/json", "application/pdf", b"%PDF-1.7"),
        ("?format=docx", "*/*", WORD, b"PK"),
        ("", "text/html", "text/html; charset=utf-8", b"<!doctype html>"),
        ("", "application/pdf, application/json;q=0.5", "application/pdf", b"%PDF-1.7"),
        ("", WORD, WORD, b"PK"),
        ("", "*/*", "application/json", b"{"),
    ],
)
def test_forms(plain, record, query, accept, content_type, start):
    answer = plain.post(PATH + query, json=record, headers={"Accept": accept})
    assert (answer.status_code, answer.headers["content-type"]) == (200, content_type)
    assert answer.content.startswith(start)


@pytest.mark.parametrize(
    ("query", "accept", "status"),
    [
        ("?format=rtf", "*/*", 406),
        ("", "image/png", 406),
        ("?format=pdf&units=imperial", "*/*", 422),
        ("?page=2", "*/*", 422),
    ],
)
def test_refused(plain, record, query, accept, status):
    answer = plain.post(PATH + query, json=record, headers={"Accept": accept})
    assert answer.status_code == status
    assert answer.headers["content-type"].startswith("application/problem+json")


def test_a_record_that_is_refused_is_refused_as_a_problem_in_any_form(plain, record):
    answer = plain.post(PATH + "?format=pdf", json={**record, "weights": []})
    assert answer.status_code == 422
    assert answer.headers["content-type"].startswith("application/problem+json")


def test_the_report_is_signed_with_the_digest_of_the_body(plain, record):
    body = json.dumps(record).encode()
    headers = {"Content-Type": "application/json"}
    digest = plain.post(PATH, content=body, headers=headers).json()["provenance"]["request_sha256"]
    page = plain.post(PATH + "?format=html", content=body, headers=headers).text
    assert digest in page
    assert f"Request {digest[:12]}" in page
    first = plain.post(PATH + "?format=pdf", content=body, headers=headers).content
    assert plain.post(PATH + "?format=pdf", content=body, headers=headers).content == first


def test_us_units(plain, record):
    page = plain.post(PATH + "?format=html&units=us", json=record).text
    assert "ft-in-8ths" in page
    assert ">LT<" in page
    assert "<span class='unit'>t</span>" not in page  # heads; a rule's limit keeps the unit of the rule


def test_a_hull_that_is_held_is_drawn(plain, record):
    held = plain.post(PATH, json=record).json()["provenance"]["hull_sha256"]
    page = plain.post(PATH + "?format=html", json={**record, "hull": {"kind": "held", "sha256": held}})
    assert page.status_code == 200
    assert "Body plan" in page.text
