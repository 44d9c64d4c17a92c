"""The committed interface."""

from pathlib import Path

import pytest

from service.__main__ import main


def test_written_then_up_to_date_then_not(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "folder" / "openapi.json"
    assert main(["openapi", "--check", "--path", str(path)]) == 1
    assert main(["openapi", "--path", str(path)]) == 0
    assert main(["openapi", "--check", "--path", str(path)]) == 0
    path.write_text(path.read_text() + " ")
    assert main(["openapi", "--check", "--path", str(path)]) == 1
    assert "not what the code serves" in capsys.readouterr().err
