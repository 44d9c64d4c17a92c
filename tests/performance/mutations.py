"""Does a test turn red when one sign is wrong? ``python -m tests.performance.mutations``

Clones the repository, spoils one line of the engine at a time, and runs the tests that guard it. Each mutation must be
caught; unspoilt, the same tests pass. What is not committed is not in it, and nothing of the working copy is changed.
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
TESTS = (
    "tests/engine/survey",
    "tests/engine/lightship",
    "tests/engine/incline",
    "tests/service/resources/test_stability_tests.py",
)


class Mutation(NamedTuple):
    """One line made wrong."""

    name: str
    file: str
    right: str
    wrong: str


MUTATIONS = (
    Mutation("freeboard heel sign", "engine/survey/waterline.py", "0.5 - station, -heights.y_m]", "0.5 - station, heights.y_m]"),
    Mutation("freeboards measured up", "engine/survey/waterline.py", "self.from_m - self.plumb_m / upward", "self.from_m + self.plumb_m / upward"),
    Mutation("trim sign", "engine/survey/waterline.py", "np.ones_like(station), 0.5 - station", "np.ones_like(station), station - 0.5"),
    Mutation("trim sign in LCG", "engine/record/as_inclined.py", "(self.bm_transverse_m - gm_solid_m) * self.plane.normals[0]", "(self.bm_transverse_m - gm_solid_m) * self.plane.normals[0] * np.array([-1, 1, 1])"),
    Mutation("trim sign in the fitted centre", "engine/record/solve.py", "moment_by_lever_t=at.displacement_t * normal", "moment_by_lever_t=at.displacement_t * normal * np.array([-1, 1, 1])"),
    Mutation("tank mirrored", "engine/lightship/derivation.py", "liquid.at(normal[None, :]).centroid_m[0] if", "liquid.at(normal[None, :]).centroid_m[0] * [1, -1, 1] if"),
    Mutation("liquid counted twice", "engine/lightship/derivation.py", 'Entry("liquid", i, -liquid.mass_t,', 'Entry("liquid", i, -2 * liquid.mass_t,'),
    Mutation("weights left in", "engine/lightship/derivation.py", 'Entry("inclining_weight", i, -one.mass_t,', 'Entry("inclining_weight", i, 0 * one.mass_t,'),
    Mutation("relocation reversed", "engine/survey/ledger.py", 'Row("relocate_from", -item.mass_t, item.centre_m), Row("relocate_to", item.mass_t, item.to_m)', 'Row("relocate_from", item.mass_t, item.centre_m), Row("relocate_to", -item.mass_t, item.to_m)'),
    Mutation("moment sign", "engine/incline/moments.py", "return -self.shift_tm[:, 1]", "return self.shift_tm[:, 1]"),
    Mutation("free surface left out", "engine/record/solve.py", "gm_solid = regression.gm_fluid_m + at_zero.free_surface_correction_m", "gm_solid = regression.gm_fluid_m"),
    Mutation("free surface with the wrong sign in the answer", "service/schemas/incline_answer.py", "gm_solid_m=regression.gm_fluid_m + free", "gm_solid_m=regression.gm_fluid_m - free"),
    Mutation("pendulum side", "engine/incline/instruments.py", '{"starboard": 1.0, "port": -1.0}', '{"starboard": -1.0, "port": 1.0}'),
)  # fmt: skip


def run_tests(clone: Path) -> str:
    """Return the first test that turned red, "" if all passed."""
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *TESTS],
        cwd=clone,
        capture_output=True,
        text=True,
        check=False,
    )
    red = [line.split(" ", 1)[1] for line in run.stdout.splitlines() if line.startswith(("FAILED ", "ERROR "))]
    if not red and run.returncode:
        raise SystemExit(run.stdout[-3000:])
    return red[0].split(" - ")[0] if red else ""


def caught(mutation: Mutation, clone: Path) -> str:
    """Return the first test that turned red on the spoilt engine, "" if none did."""
    target = clone / mutation.file
    text = target.read_text(encoding="utf-8")
    if text.count(mutation.right) != 1:
        raise SystemExit(f"{mutation.name}: the line to spoil is there {text.count(mutation.right)} times")
    target.write_text(text.replace(mutation.right, mutation.wrong), encoding="utf-8")
    try:
        return run_tests(clone)
    finally:
        target.write_text(text, encoding="utf-8")


def main() -> int:
    """Print each mutation with the test that caught it."""
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        clone = Path(folder) / "clone"
        subprocess.run(["git", "clone", "--quiet", "--no-hardlinks", str(ROOT), str(clone)], check=True)
        if red := run_tests(clone):
            raise SystemExit(f"unspoilt, {red} fails")
        for mutation in MUTATIONS:
            test = caught(mutation, clone)
            missed += not test
            print(f"{mutation.name:<34} {test or 'NOT CAUGHT'}", flush=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
