"""GET /."""

import re
from html import unescape

from starlette.testclient import TestClient


def test_every_link_leads_somewhere(plain_http: TestClient) -> None:
    page = plain_http.get("/")
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    on_page = {unescape(link) for link in re.findall(r"href='([^']+)'", page.text)}
    links = {link["href"] for link in plain_http.get("/", headers={"Accept": "application/json"}).json()["links"]}
    assert on_page == links
    assert links
    for link in links:
        assert plain_http.get("/" + link).status_code == 200
