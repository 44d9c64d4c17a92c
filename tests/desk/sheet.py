"""The incline sheet in a real spreadsheet program against a running service, held against the engine.

    python -m tests.desk.sheet ADDRESS

Run in an English and in a German setting: the second writes 3,5 into the URLs and reads 2.25 only as it is told to.
"""

import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from engine.incline.moments import plateaus
from engine.incline.regression import regress
from fixtures.workbook.__main__ import DISPLACEMENT_T, workbook
from fixtures.workbook.incline import FIRST
from service.demo import demo_record
from service.schemas.record import StabilityTest

CALC = Path(__file__).with_name("calc.py")
SYSTEM_PYTHON = "/usr/bin/python3"


def seen(address: str, locale: str) -> dict[str, float | str]:
    """Return the cells of the incline sheet as the program shows them."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "incline.xlsx"
        workbook(address).save(path)
        command = [SYSTEM_PYTHON, str(CALC), str(path), locale]
        done = subprocess.run(command, capture_output=True, text=True, timeout=180, check=True)
    cells: dict[str, float | str] = json.loads(done.stdout)["incline"]
    return cells


def check(cells: dict[str, float | str]) -> None:
    """Hold every computed cell against the engine's own."""
    record = StabilityTest.model_validate_json(json.dumps(demo_record()))
    moments = plateaus(
        weights={one.id: one.weight() for one in record.weights}, moves=[one.move() for one in record.moves]
    ).moment_tm
    tangents = [one.instrument().tangents(heel_at_first_deg=0.0) for one in record.instruments]
    rows = range(FIRST, FIRST + len(moments))
    close([cells[f"F{row}"] for row in rows], moments, "moments")
    for j, tangent in enumerate(tangents):
        letter = chr(ord("G") + j)
        close([cells[f"{letter}{row}"] for row in rows], tangent, f"tangents of instrument {j}")
        fit = regress(moment_tm=moments, tangents=[tangent], displacement_t=DISPLACEMENT_T)
        close([cells[f"{letter}3"]], [fit.slope_per_tm], "slope")
        close([cells[f"{letter}4"]], [fit.gm_fluid_m], "GM")
    fit = regress(moment_tm=moments, tangents=[tangents[0]], displacement_t=DISPLACEMENT_T)
    table = FIRST + len(moments) + 2
    assert str(cells[f"A{table}"]).startswith("<?xml"), cells[f"A{table}"]
    close([cells[f"B{table + k}"] for k in range(len(moments))], fit.residual_ratio[0], "residuals")
    row = table + len(moments) + 1
    assert str(cells[f"B{row}"]).startswith("#ERR query: gm_m must be 1e-06 or more"), cells[f"B{row}"]
    close([cells[f"B{row + 1}"]], [3.5 / 2 + 12**2 / (12 * 3.5)], "KM of a box: T/2 + B²/12T")
    assert cells[f"B{row + 2}"] == "12-06-3", cells[f"B{row + 2}"]
    close([cells[f"B{row + 3}"]], [150.375 * 0.0254], "12 ft 6 3/8 in")


def close(shown: list[float | str], wanted: object, what: str) -> None:
    """Assert that what is shown is wanted, to the digits a cell holds."""
    assert all(isinstance(one, (int, float)) and math.isfinite(one) for one in shown), f"{what}: {shown}"
    numbers = np.array(shown, dtype=float)
    np.testing.assert_allclose(numbers, np.asarray(wanted, dtype=float), rtol=1e-9, atol=1e-12, err_msg=what)


def main(address: str) -> None:
    """Check both settings."""
    for locale in ("en-US", "de-DE"):
        cells = seen(address.rstrip("/"), locale)
        check(cells)
        print(f"{locale}: {len(cells)} cells of the incline sheet as computed by the engine")


if __name__ == "__main__":
    main(sys.argv[1])
