"""False alarms and power of the straight-line check: python -m tests.performance.straightness [records].

Normal errors on a straight line, seeded; one row for each number of readings and instruments. Columns: sound tests that
fail with readings alike, with gusts common to a move as large as a reading's error, with instruments 1, 2, 3 times as
coarse; tests that fail with one reading off by 6, 8, 10 of its standard uncertainties. The limit is 3.
"""

import sys
from itertools import product

from engine.errors import NotDeterminedError
from tests.engine.uncertainty.test_straightness import deviates


def main() -> None:
    records = int(sys.argv[1]) if len(sys.argv) > 1 else 4000
    print("readings instruments | alike gusts coarse | off by 6, 8, 10")
    for readings, instruments in product((2, 3, 5, 7, 9), (1, 2, 3)):
        alike, mixed = [1.0] * instruments, [1.0, 2.0, 3.0][:instruments]
        try:
            found = [
                deviates(readings, alike, records=records),
                deviates(readings, alike, common=1.0, records=records),
                deviates(readings, mixed, records=records),
                *(deviates(readings, alike, spoiled=off, records=records) for off in (6.0, 8.0, 10.0)),
            ]
        except NotDeterminedError:
            print(readings, instruments, "| not assessed")
            continue
        shares = [f"{100 * (one > 3.0).mean():.2f} %" for one in found]
        print(readings, instruments, "|", *shares[:3], "|", *shares[3:], flush=True)


if __name__ == "__main__":
    main()
