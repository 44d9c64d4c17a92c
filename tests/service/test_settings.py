"""The one table of settings is what the code has."""

from pathlib import Path

from pydantic import SecretStr

from service.settings import Settings

PAGE = Path(__file__).parents[2] / "docs" / "operations.md"


def rows() -> list[str]:
    """Return the table's rows as the settings have them."""
    found = []
    for name, field in Settings.model_fields.items():
        variable = field.validation_alias or f"STS_{name.upper()}"
        default = (
            "" if field.default is None else f"{field.default:,}" if isinstance(field.default, int) else field.default
        )
        found.append(f"| `{variable}` | {default} | {field.description} |")
    return found


def test_the_page_lists_every_setting() -> None:
    lines = PAGE.read_text(encoding="utf-8").splitlines()
    table = [line for line in lines if line.startswith(("| `STS_", "| `HULL", "| `RULE"))]
    assert table == rows()


def test_the_key_is_never_shown() -> None:
    settings = Settings(api_key=SecretStr("0123456789-Basalt"))
    assert "Basalt" not in repr(settings) + str(settings.model_dump())
