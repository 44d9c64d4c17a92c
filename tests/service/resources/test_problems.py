"""GET /problems and /problems/{code}."""

import pytest
from starlette.testclient import TestClient

from service.edge.problem_texts import texts


def test_list(plain_http: TestClient) -> None:
    rows = plain_http.get("/problems?format=json").json()
    assert [row["code"] for row in rows] == list(texts())
    page = plain_http.get("/problems").text
    assert all(f"problems/{code}'" in page for code in texts())


@pytest.mark.parametrize("code", ["sinks", "open-skin"])
def test_one(plain_http: TestClient, code: str) -> None:
    document = plain_http.get(f"/problems/{code}", headers={"Accept": "application/json"}).json()
    assert document["meaning"] == texts()[code].meaning
    assert ("status" in document) == (texts()[code].status is not None)
    page = plain_http.get(f"/problems/{code}", headers={"Accept": "text/html"})
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    assert "Cure" in page.text


def test_type_of_a_problem_leads_to_its_page(plain_http: TestClient) -> None:
    problem = plain_http.get("/nowhere").json()
    assert plain_http.get(problem["type"]).status_code == 200


def test_unknown_code(plain_http: TestClient) -> None:
    answer = plain_http.get("/problems/QQZQ")
    assert (answer.status_code, answer.json()["type"]) == (404, "/problems/not-found")
    assert "QQZQ" not in answer.text


def test_neither_page_nor_json(plain_http: TestClient) -> None:
    assert plain_http.get("/problems/sinks", headers={"Accept": "image/png"}).status_code == 406
