"""Sheets written down: exact without noise, the same for one seed, spread as asked."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.planning.plan import plan_test
from engine.planning.rehearsal import BATTEN_ZERO_M, LEVEL_ZERO_M, Noise, rehearse
from tests.engine.planning.ships import outline

PLAN = plan_test(outline())
EXPECTED = PLAN.search.found.expected


def played(noise=None, **change):
    given = {"expected": EXPECTED, "stations": PLAN.stations, "instruments": PLAN.instruments} | change
    return rehearse(**given, noise=noise)


def test_without_noise_the_sheets_hold_what_is_expected():
    made = played()
    assert made.freeboards_m == pytest.approx([one.freeboard_m for one in PLAN.stations], rel=1e-15)
    for sheet, one in zip(made.sheets, PLAN.instruments, strict=True):
        assert (sheet.kind, sheet.length_m) == (one.kind, one.length_m)
        if sheet.kind == "pendulum":
            read = (sheet.readings_m - BATTEN_ZERO_M) / one.length_m
        else:
            read = (sheet.readings_m - sheet.port_levels_m) / one.length_m
            assert sheet.readings_m + sheet.port_levels_m == pytest.approx(2 * LEVEL_ZERO_M)
        assert read == pytest.approx(EXPECTED.tangent_ratio, abs=1e-15)


def test_one_seed_gives_one_set_of_sheets():
    noise = Noise(reading_m=0.001, gust_ratio=1e-4, freeboard_m=0.005, freeboard_common_m=0.002, seed=7)
    first, second, other = played(noise), played(noise), played(Noise(**(vars(noise) | {"seed": 8})))
    assert np.array_equal(first.freeboards_m, second.freeboards_m)
    assert all(np.array_equal(a.readings_m, b.readings_m) for a, b in zip(first.sheets, second.sheets, strict=True))
    assert not np.array_equal(first.freeboards_m, other.freeboards_m)


def test_errors_have_the_spread_asked_for():
    # 200 seeds of 9 readings: a standard deviation is known within 1/√(2·1800) = 1.7 %, so 8 % is nearly five of them
    read, free = [], []
    for seed in range(200):
        made = played(Noise(reading_m=0.001, freeboard_m=0.005, seed=seed))
        read.append(made.sheets[0].readings_m - played().sheets[0].readings_m)
        free.append(made.freeboards_m - played().freeboards_m)
    assert np.std(read) == pytest.approx(0.001, rel=0.08)
    assert np.std(free) == pytest.approx(0.005, rel=0.08)
    assert abs(np.mean(read)) < 5 * 0.001 / np.sqrt(1800)


def test_a_gust_is_common_to_the_instruments_and_a_common_error_to_the_freeboards():
    made = played(Noise(gust_ratio=1e-3, freeboard_common_m=0.01, seed=3))
    first = (made.sheets[0].readings_m - BATTEN_ZERO_M) / made.sheets[0].length_m - EXPECTED.tangent_ratio
    tube = next(sheet for sheet in made.sheets if sheet.kind == "u_tube")
    assert (tube.readings_m - tube.port_levels_m) / tube.length_m - EXPECTED.tangent_ratio == pytest.approx(first)
    shift = made.freeboards_m - played().freeboards_m
    assert np.ptp(shift) < 1e-12
    assert abs(shift[0]) > 1e-4


@pytest.mark.parametrize(
    "change", [{"reading_m": -0.001}, {"gust_ratio": float("nan")}, {"seed": -1}, {"freeboard_m": 2.0}]
)
def test_noise_refused(change):
    with pytest.raises(InputError):
        Noise(**change)
