"""``python -m service verify``: in this process, over HTTP, and its exit status."""

import contextlib
import json
import os
import pty
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.__main__ import main
from service.schemas.hull import BOX_BARGE
from tests.service.cases.cases import mixed, small_case, write


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    mixed(tmp_path / "cases")
    return tmp_path / "cases"


@pytest.fixture(scope="module")
def url() -> Iterator[str]:
    command = [sys.executable, "-m", "service", "serve", "--port", "0"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        assert server.stdout is not None
        found = re.search(r"http://\S+", server.stdout.readline())
        assert found
        yield found[0]
    finally:
        server.send_signal(signal.SIGTERM)
        server.communicate(timeout=30)


@pytest.mark.parametrize(("select", "status"), [("*same", 0), ("[a-d]_*", 1), ("*", 2), ("nothing", 2)])
def test_exit_status_here_and_over_http(
    folder: Path, url: str, select: str, status: int, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["verify", str(folder), "--select", select]
    assert main(asked) == status
    here = capsys.readouterr().out
    assert main([*asked, "--url", url]) == status
    there = capsys.readouterr().out
    assert re.sub(r"[0-9.]+ s\b", "", here).splitlines()[-3:] == re.sub(r"[0-9.]+ s\b", "", there).splitlines()[-3:]


@pytest.mark.parametrize("over_http", [False, True])
def test_plain_lines_without_a_terminal(
    folder: Path, url: str, over_http: bool, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("CI", raising=False)
    assert main(["verify", str(folder), "--jobs", "2", *(["--url", url] if over_http else [])]) == 2
    out = capsys.readouterr().out
    assert len(re.findall(r"^same +[0-9.]+ s  [ab] same", out, re.MULTILINE)) == 2
    assert "\r" not in out
    assert "5 cases: 2 same, 1 deviates, 1 not_comparable, 1 unreadable" in out


def on_a_terminal(arguments: list[str], **environment: str) -> tuple[int, str]:
    """Return exit status and what a real terminal is sent."""
    ours, theirs = pty.openpty()
    base = {name: value for name, value in os.environ.items() if name != "CI"}
    command = [sys.executable, "-m", "service", "verify", *arguments]
    with subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, env=base | environment) as process:
        os.close(theirs)
        sent = b""
        with contextlib.suppress(OSError):  # Linux ends a terminal by an error
            while piece := os.read(ours, 65536):
                sent += piece
    os.close(ours)
    return process.returncode, sent.decode().replace("\r\n", "\n")


@pytest.mark.parametrize(
    ("over_http", "select", "status", "count"),
    [(False, "*", 2, 5), (True, "*same", 0, 2), (True, "[a-d]_*", 1, 4), (True, "*", 2, 5)],
)
def test_a_bar_on_a_terminal(folder: Path, url: str, over_http: bool, select: str, status: int, count: int) -> None:
    asked = [str(folder), "--select", select, *(["--url", url] if over_http else [])]
    code, drawn = on_a_terminal(asked)
    assert code == status
    assert drawn.count("\r") == count
    assert "\r[" + "#" * 30 + f"] {count}/{count}\n" in drawn
    assert not re.search("^same ", drawn, re.MULTILINE)


def test_plain_lines_on_a_terminal_in_ci(folder: Path, url: str) -> None:
    code, drawn = on_a_terminal([str(folder), "--url", url], CI="true")
    assert code == 2
    assert "\r" not in drawn
    assert len(re.findall(r"^same +[0-9.]+ s  [ab] same", drawn, re.MULTILINE)) == 2


def test_left_out_cases_are_counted(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["verify", str(folder), "--select", "a_*"])
    assert "4 not selected" in capsys.readouterr().out


def test_files_for_programs(folder: Path, tmp_path: Path) -> None:
    junit, summary = tmp_path / "j.xml", tmp_path / "s.json"
    assert main(["verify", str(folder), "--junit", str(junit), "--json", str(summary)]) == 2
    assert junit.read_text().count("<testcase ") == 5
    assert json.loads(summary.read_text())["exit_status"] == 2


def test_a_file_that_cannot_be_written(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(folder), "--select", "*same", "--junit", str(tmp_path / "no" / "j.xml")]) == 2
    assert "cannot write" in capsys.readouterr().err


def test_fail_fast(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for k in range(5):
        write(tmp_path, f"{k}", small_case(f"{k}", value=1.0))
    assert main(["verify", str(tmp_path), "--jobs", "1", "--fail-fast"]) == 1
    assert "5 cases: 1 deviates, 4 not_run" in capsys.readouterr().out


def test_no_service_there(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(folder), "--url", "ftp://x"]) == 2
    assert main(["verify", str(folder), "--url", "http://127.0.0.1:1", "--select", "*same"]) == 2
    assert "2 no_answer" in capsys.readouterr().out


@pytest.mark.parametrize("jobs", ["0", "-1", "x"])
def test_jobs_must_be_a_count(folder: Path, jobs: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["verify", str(folder), "--jobs", jobs])
    assert caught.value.code == 2


def test_a_crash_of_one_case_leaves_the_others(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from service.cases import replay

    first = iter([True])

    def answer(self: object, body: bytes, **_: object) -> bytes:
        if next(first, False):
            raise ZeroDivisionError
        return b'{"free_surface_moment_tm": 48.0}'

    monkeypatch.setattr(replay.Operation, "answer", answer)
    assert main(["verify", str(folder), "--select", "*same", "--jobs", "1"]) == 1
    assert "refused with 500 internal" in capsys.readouterr().out


def test_hulls_of_the_library_are_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    body = {
        "hull": {"kind": "library", "name": "box"},
        "density_t_per_m3": 1.0,
        "waterplanes": [{"draft_m": 2.0}],
    }
    row = {"pointer": "/columns/volume_m3/0", "value": 60.0 * 12.0 * 2.0, "origin": "closed form: L × B × T"}
    case = small_case("library", request={"path": "/v1/hydrostatics", "body": body})
    path = write(tmp_path / "cases", "c", case | {"expected": [row | {"tolerance": {"relative": 1e-12}}]})
    assert main(["verify", str(path)]) == 1
    assert "hull-unknown" in capsys.readouterr().out
    write(tmp_path / "library", "box", BOX_BARGE)
    monkeypatch.setenv("HULL_LIBRARY", str(tmp_path / "library"))
    assert main(["verify", str(path)]) == 0
