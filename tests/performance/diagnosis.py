"""Figures of the diagnosis and of live guidance, by simulation. Run from the top of the repository:

    python -m tests.performance.diagnosis            the table of docs/methods/diagnosis.md (a few minutes)
    python -m tests.performance.diagnosis --calibrate    the constants INDEPENDENT of engine/diagnosis/compare.py

Seeds of the figures start at 20,000,000 and were fixed before any constant was chosen; constants were tried out on
seeds below 6,000,000 and calibrated on 50,000,000 and up.
"""

import argparse
import math
import sys
import timeit
from collections import Counter

import numpy as np

from engine.diagnosis import compare as comparing
from engine.diagnosis import incline as inclining
from engine.diagnosis.incline import diagnose
from engine.diagnosis.live import guidance
from engine.diagnosis.survey import diagnose_survey
from engine.incline.instruments import heel_tangents
from engine.incline.moments import plateaus
from engine.incline.regression import regress
from tests.engine.diagnosis import first_places, simulated, surveyed
from tests.engine.diagnosis.first_places import stepped

SEED = 20_000_000
SIZES = (1, 2, 4, 6, 8)


def classes(count: int) -> None:
    """Right class first, in per cent of ``count`` tests a class and size."""
    print(f"\nRight class first [%], {count} tests each; size = largest shift of a tangent / sd of a reading")
    print(
        f"{'fault':40s} {'class':20s} shown "
        + " ".join(f"{size:>4}" for size in SIZES)
        + "  natural (cause)  mistaken for"
    )
    itself: dict[str, list[float]] = {}
    above: dict[str, list[float]] = {}
    for number, (name, kind) in enumerate(simulated.KINDS.items()):
        shares, mistaken = [], Counter()
        for size in (*SIZES, None):
            if size is None and not kind.natural:
                shares.append("")
                continue
            if size is not None and "natural" in name:
                shares.append("")
                continue
            hits = exact = 0
            for k in range(count):
                made = simulated.make([kind], size=size, seed=SEED + 100_000 * number + 10_000 * (size or 9) + k)
                found = made.diagnose()
                hit = bool(found) and found[0].trace == kind.trace
                hits += hit
                exact += hit and size is None and found[0].cause == kind.cause
                if size == kind.shown_from and not hit:
                    mistaken[found[0].trace if found else "nothing"] += 1
            told = f" ({100 * exact / count:.1f})" if size is None and kind.cause else ""
            shares.append(f"{100 * hits / count:.1f}{told}")
            if size == kind.shown_from or (size is None and "natural" in name):
                itself.setdefault(kind.trace, []).append(100 * hits / count)
            if size is None or size >= kind.shown_from:
                above.setdefault(kind.trace, []).append(100 * hits / count)
        row = " ".join(f"{share:>5}" for share in shares[:-1])
        print(f"{name:40s} {kind.trace:20s} {kind.shown_from:>4.0f} {row}  {shares[-1]:>14}  ", end="")
        print(dict(mistaken.most_common(3)))
    for label, by_class in (("at 'shown' itself", itself), ("at 'shown' and above, natural sizes too", above)):
        mean = {trace: float(np.mean(shares)) for trace, shares in by_class.items()}
        worst = min(mean, key=lambda trace: mean[trace])
        pooled = np.mean([share for shares in by_class.values() for share in shares])
        print(f"{label}: pooled {pooled:.1f}, worst class {worst} {mean[worst]:.1f}")


def first_place(count: int) -> None:
    """First places entered off by a length: what is named first, and whether the place and its weight are told."""
    print(f"\nA first place off by a length [%], {count} tests each: class named first, weight and place told")
    for label, ships in (("usual moves", ()), ("half way too", stepped())):
        for way in ("moves right", "back alike", "back elsewhere", "not back"):
            if way == "not back" and ships:
                continue
            for size in (4, 6, 8, None):
                named: Counter[str] = Counter()
                told = 0
                for k in range(count):
                    case = first_places.make(way, size=size, seed=SEED + 10_000_000 + k, ships=ships)
                    found = case.made.diagnose(readings=case.readings)
                    named[found[0].trace if found else "nothing"] += 1
                    told += bool(found) and "first-place-off" in found[0].members
                shares = {trace: float(f"{100 * times / count:.1f}") for trace, times in named.most_common(3)}
                print(f"{label:13s} {way:15s} {size or 'natural'!s:8s} told {100 * told / count:5.1f}  {shares}")


def sound(count: int) -> None:
    """False alarms on tests without a fault."""
    print(f"\nFalse alarms [%], {count} tests each, nominal 3")
    seed = SEED + 5_000_000
    for label, geometry, noise, instruments, readings in (
        ("hull given: noise, flare, knuckle, slack tanks", True, 1.0, 3, 9),
        ("hull not given (a bend that is no fault aside)", False, 1.0, 3, 9),
        ("hull given, readings 1.5 times worse than stated", True, 1.5, 3, 9),
        ("hull given, one instrument, nine readings", True, 1.0, 1, 9),
        ("hull given, two instruments, nine readings", True, 1.0, 2, 9),
        ("hull given, three instruments, seven readings", True, 1.0, 3, 7),
        ("hull given, three instruments, five readings", True, 1.0, 3, 5),
    ):
        blamed: Counter[str] = Counter()
        for k in range(count):
            made = simulated.make([], size=None, seed=seed + k, worse=noise)
            found = made.diagnose(geometry=geometry, instruments=instruments, readings=readings)
            named = [one for one in found if one.is_fault]
            if named:
                blamed["knuckle or flare among them" if "knuckle-or-flare" in named[0].members else named[0].trace] += 1
        print(f"{label:50s} {100 * sum(blamed.values()) / count:.1f}  {dict(blamed.most_common(4))}")


def two_faults(count: int) -> None:
    """Two faults at once, each at the size its class is shown from, or natural."""
    for label, names in (
        ("all classes", [name for name in simulated.KINDS if "natural" not in name]),
        ("graded classes only", [name for name, kind in simulated.KINDS.items() if not kind.natural]),
    ):
        first = both = 0
        for k in range(count):
            rng = np.random.default_rng(SEED + 6_000_000 + k)
            while True:
                one, other = (simulated.KINDS[str(name)] for name in rng.choice(names, 2, replace=False))
                if one.trace != other.trace:
                    break
            found = simulated.make([one, other], size=None, seed=SEED + 6_000_000 + k).diagnose()
            wanted = {one.trace, other.trace}
            first += bool(found) and found[0].trace in wanted
            both += wanted <= {each.trace for each in found}
        print(f"\nTwo faults, {label}, {count} tests: one of them first {100 * first / count:.1f} %, both named "
              f"{100 * both / count:.1f} %")  # fmt: skip


def coverage(count: int) -> None:
    """How often the next reading of an instrument falls in its 95 % interval."""
    print(f"\nThe next reading inside its 95 % prediction interval [%], {count} tests, three instruments each")
    for taken in (2, 3, 4, 6, 8):
        inside = total = 0
        for k in range(count):
            made = simulated.make([], size=None, seed=SEED + 7_000_000 + k, usual=taken < 3)
            weights, moves, instruments = simulated.engine_of(made.record)
            moment = plateaus(weights=weights, moves=moves).moment_tm
            heel = math.degrees(math.atan(made.setting.tangents[0]))
            table = heel_tangents(instruments, heel_at_zero_deg=heel, reading_count=len(moment))
            straight = table - (made.setting.tangents - _straight(made.setting))
            partial = np.where(np.arange(len(moment)) < taken, straight, np.nan)
            said = guidance(
                moment_tm=moment,
                tangents=list(partial),
                displacement_t=1000.0,
                reading_standard_uncertainty_ratio=simulated.sigma_of(instruments),
            )
            for one in said.expected:
                inside += one.low_ratio <= straight[one.instrument, taken] <= one.high_ratio
                total += 1
        print(f"after {taken} readings: {100 * inside / total:.1f} of {total}")


def _straight(setting: simulated.Setting) -> np.ndarray:
    """Tangents on the straight line through the hull's own: what is left is her form, not a matter of noise."""
    return np.polynomial.Polynomial.fit(setting.moment_tm, setting.tangents, 1)(setting.moment_tm)


def surveys(count: int) -> None:
    """Right class first for faults of the survey."""
    print(f"\nSurvey: right class first, and that very cause [%], {count} tests each")
    right = total = 0
    for number, (name, kind) in enumerate(surveyed.KINDS.items()):
        hits, exact, mistaken = 0, 0, Counter()
        for k in range(count):
            found = diagnose_survey(**kind.make(SEED + 8_000_000 + 10_000 * number + k))
            hit = bool(found) and found[0].trace == kind.trace
            hits += hit
            exact += hit and found[0].cause in kind.causes
            if not hit:
                mistaken[found[0].trace if found else "nothing"] += 1
        right, total = right + hits, total + count
        row = f"{name:40s} {kind.trace:20s} {100 * hits / count:5.1f} {100 * exact / count:5.1f}"
        print(f"{row}  {dict(mistaken.most_common(3))}")
    print(f"pooled {100 * right / total:.1f}")
    alarms = sum(bool(diagnose_survey(**surveyed.sound(SEED + 9_000_000 + k))) for k in range(5 * count))
    print(f"false alarms, nominal 3: {100 * alarms / (5 * count):.1f} of {5 * count}")


def speed() -> None:
    """Time of a diagnosis of nine readings by three instruments, over that of the plain regression of the same."""
    print("\nTime, nine readings by three instruments")
    for label, kinds in (("sound", []), ("one fault", [simulated.KINDS["readings swapped"]])):
        made = simulated.make(kinds, size=None, seed=SEED)
        weights, moves, instruments = simulated.engine_of(made.record)
        moment = plateaus(weights=weights, moves=moves).moment_tm
        table = list(heel_tangents(instruments, heel_at_zero_deg=0.0, reading_count=len(moment)))
        given = {"moment_tm": moment, "tangents": table, "displacement_t": 1000.0}
        fit = regress(**given)
        more = {
            "reading_standard_uncertainty_ratio": simulated.sigma_of(instruments),
            "weights": weights,
            "moves": moves,
            "instruments": instruments,
            "predicted_tangent_ratio": simulated.modelled(made.setting, moment),
            "regression": fit,
        }
        ratios, full = [], []
        for _ in range(60):  # in turn, so that what else the machine does slows both
            plain = timeit.timeit(lambda: regress(**given), number=20) / 20  # noqa: B023
            full.append(timeit.timeit(lambda: diagnose(**given, **more), number=10) / 10)  # noqa: B023
            ratios.append(full[-1] / plain)
        print(f"{label}: {np.median(full) * 1e6:.0f} us, ratio {np.median(ratios):.1f} (medians of 60 runs in turn)")


def calibrate(count: int) -> None:
    """Print, by trace, how many independent candidates the largest gain of sound tests behaves like."""
    from scipy.special import stdtr

    seen: dict[str, list[float]] = {}
    facts: dict[str, tuple[int, bool, float]] = {}
    plain = comparing.compare

    def watched(space: comparing.Space, **more: float) -> comparing.Comparison:
        result = plain(space, **more)
        total_w = comparing.PRIOR_DEVICE + space.freedom_w
        total_c = comparing.PRIOR_COMMON + space.freedom_c
        device = {"one-reading": 2 / 3, "instrument-length": 1.0, "bob-aground": 1.0}
        for block in space.blocks:
            if block.kind == "free":
                part = device.get(block.trace, 0.0)
                freedom = total_w * part + total_c * (1 - part) - 1
                seen.setdefault(block.trace, []).append(float(result.gain[block.start : block.stop].max()))
                facts[block.trace] = (block.stop - block.start, block.one_sided, freedom)
        return result

    inclining.compare = watched  # type: ignore[attr-defined]
    for k in range(count):
        simulated.make([], size=None, seed=50_000_000 + k).diagnose()
    for trace, gains in seen.items():
        candidates, one_sided, freedom = facts[trace]
        rate = max(comparing.SHARES[trace] * 0.03, 0.0015)
        gain = float(np.quantile(gains, 1 - rate))
        tail = stdtr(freedom, -math.sqrt(math.expm1(gain / (freedom + 1)) * freedom)) * (1 if one_sided else 2)
        print(f'    "{trace}": {rate / tail / candidates:.2f},')


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--calibrate", action="store_true", help="print the constants INDEPENDENT")
    parser.add_argument("--count", type=int, default=200, help="tests a class and size")
    chosen = parser.parse_args(sys.argv[1:])
    if chosen.calibrate:
        calibrate(20_000)
        return
    classes(chosen.count)
    first_place(chosen.count)
    sound(max(500, chosen.count))
    two_faults(2 * chosen.count)
    coverage(5 * chosen.count)
    surveys(chosen.count)
    speed()


if __name__ == "__main__":
    main()
