"""``python -m service archive``: a case of a record, with and without names."""

import json
from pathlib import Path
from typing import Any

import pytest

from service.__main__ import main
from service.cases.case import read_case
from service.demo import demo_record
from service.resources.archived_cases import EXAMPLE
from tests.service.cases.cases import write

TANK: Any = EXAMPLE["request"]
TANK_PATH, TANK_BODY = TANK["path"], TANK["body"]


@pytest.fixture
def record(tmp_path: Path) -> Path:
    return write(tmp_path, "record", demo_record())


def test_archived_then_verified(record: Path, tmp_path: Path) -> None:
    case = tmp_path / "made.json"
    assert main(["archive", str(record), "--output", str(case)]) == 0
    found = read_case(case.read_bytes())
    assert found.name == "made"
    assert found.request.body == demo_record()
    assert {"/lightship/mass_t", "/lightship/z_m", "/as_inclined/displacement_t"} <= {
        one.pointer for one in found.expected
    }
    assert all(one.tolerance for one in found.expected if isinstance(one.value, float))
    assert main(["verify", str(case)]) == 0


def test_without_an_output_it_is_printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path, "tank", TANK_BODY)
    assert main(["archive", str(path), "--path", TANK_PATH, "--name", "a tank"]) == 0
    found = read_case(capsys.readouterr().out.encode())
    assert (found.name, found.request.path) == ("a tank", TANK_PATH)


def test_anonymised_the_numbers_are_the_same(record: Path, tmp_path: Path) -> None:
    plain, anonymous = tmp_path / "plain.json", tmp_path / "anonymous.json"
    assert main(["archive", str(record), "--output", str(plain)]) == 0
    assert main(["archive", str(record), "--output", str(anonymous), "--anonymise"]) == 0
    first, second = read_case(plain.read_bytes()), read_case(anonymous.read_bytes())
    numbers = [
        [(one.pointer, one.value) for one in case.expected if isinstance(one.value, float)] for case in (first, second)
    ]
    assert numbers[0] == numbers[1]
    text = anonymous.read_text(encoding="utf-8")
    body = demo_record()
    names = [body["vessel"]["name"], *(entry["name"] for entry in body["items"] + body["tanks"])]
    assert not [name for name in names if name in text]
    assert main(["verify", str(anonymous)]) == 0


def test_the_file_name_is_not_kept_where_names_go(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    named = record.rename(tmp_path / "Zebra Star.json")
    assert main(["archive", str(named), "--anonymise"]) == 0
    assert "Zebra" not in capsys.readouterr().out


def test_a_refused_record_is_archived_as_such(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    body = TANK_BODY | {"trim_m": 5000.0}
    case = tmp_path / "refused.json"
    path = write(tmp_path, "tank", body)
    assert main(["archive", str(path), "--path", TANK_PATH, "--output", str(case)]) == 0
    assert "refused with 422 schema" in capsys.readouterr().err
    assert main(["verify", str(case)]) == 0


@pytest.mark.parametrize("content", ["[]", "{", "null", '{"a": NaN}'])
def test_what_is_no_record(tmp_path: Path, content: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["archive", str(write(tmp_path, "r", content))]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "r.json" in captured.err


def test_what_cannot_be_read_or_written(record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["archive", str(tmp_path / "none.json")]) == 2
    assert main(["archive", str(record), "--output", str(tmp_path / "no" / "case.json")]) == 2
    assert main(["archive", str(record), "--path", "/v1/nothing"]) == 2
    assert capsys.readouterr().err.count("\n") == 3


def test_a_name_the_answer_depends_on_is_not_taken_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from service.cases import replay

    def answer(self: object, body: bytes, **_: object) -> bytes:
        return json.dumps({"length": len(body)}).encode()

    monkeypatch.setattr(replay.Operation, "answer", answer)
    path = write(tmp_path, "tank", TANK_BODY)
    assert main(["archive", str(path), "--path", TANK_PATH, "--anonymise"]) == 2
    assert "without its names the record gives other numbers" in capsys.readouterr().err
