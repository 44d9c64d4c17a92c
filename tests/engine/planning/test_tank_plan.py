"""Tanks against closed forms of a box: when its liquid meets the top or the bottom; fills, pairs, swaps."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.geometry.plane import Planes
from engine.geometry.shapes import Prism
from engine.liquids import Liquid, SoundingTable, Tank
from engine.planning.predicted import PlannedTank
from engine.planning.tank_plan import pairs_of, plan_tanks
from tests.engine.planning.ships import LENGTH_M, box_tank


def planes(*heels, trim=0.0):
    return Planes.from_waterplanes(draft_m=2.0, heel_deg=[0.0, *heels], trim_m=trim, length_bp_m=LENGTH_M)


def plan(*tanks, heels=(-3.0, 3.0), trim=0.0):
    return plan_tanks(tanks, planes=planes(*heels, trim=trim), displacement_t=1500.0)


@given(
    fill=st.floats(0.05, 0.95),
    heel=st.floats(0.5, 6.0),
    breadth=st.floats(1.0, 10.0),
    height=st.floats(0.6, 4.0),
)
@settings(max_examples=60)
def test_a_box_pockets_when_its_surface_reaches_the_top(fill, heel, breadth, height):
    # up to first contact the surface turns about its middle: it rises b/2 tan φ at the side
    rise = 0.5 * breadth * np.tan(np.radians(heel))
    above, below = (1 - fill) * height - rise, fill * height - rise
    if min(abs(above), abs(below)) < 1e-6:
        return
    tank = box_tank((20, 30), (-breadth / 2, breadth / 2), (0, height), fill=fill)
    (row,) = plan(tank, heels=(heel,))
    assert row.pockets == (above < 0)
    assert row.exposes_bottom == (below < 0)
    assert ("pocketing" in row.breaks) == (above < 0)


def test_trim_alone_can_pocket():
    # 20 m long, trimmed 1 in 30: the surface rises 0.333 m at the after end, 0.3 m are free
    tank = box_tank((10, 30), (-1, 1), (0, 1), fill=0.7)
    assert plan(tank, heels=(0.1,), trim=LENGTH_M / 30)[0].pockets
    assert not plan(tank, heels=(0.1,), trim=0.0)[0].pockets


def test_moment_share_and_rise():
    wide, narrow = plan(box_tank((20, 30), (-2, 2), (0, 2)), box_tank((32, 42), (-1, 1), (0, 2), density=0.9))
    assert wide.free_surface_moment_tm == pytest.approx(10 * 4**3 / 12, rel=1e-9)  # ρ l b³/12
    assert narrow.free_surface_moment_tm == pytest.approx(0.9 * 10 * 2**3 / 12, rel=1e-9)
    assert wide.rise_m == pytest.approx(10 * 4**3 / 12 / 1500, rel=1e-9)
    assert wide.share_percent + narrow.share_percent == pytest.approx(100, rel=1e-12)
    assert wide.share_percent == pytest.approx(100 * 64 / (64 + 0.9 * 8), rel=1e-9)


@pytest.mark.parametrize(
    ("fill", "position", "breaks"),
    [
        (0.0, "deep", ()),
        (1.0, "deep", ()),
        (0.5, "deep", ()),
        (0.2, "deep", ()),
        (0.8, "deep", ()),
        (0.19, "deep", ("fill-out-of-range",)),
        (0.81, "deep", ("fill-out-of-range",)),
        (0.35, "double_bottom", ("fill-out-of-range",)),
        (0.6, "double_bottom", ()),
        (0.98, "deep", ("nearly-full", "pocketing")),
        (0.01, "deep", ("nearly-empty", "bottom-exposed")),
    ],
)
def test_fills(fill, position, breaks):
    # IMO 2008 IS Code B/Annex 1, 2.1.2 and 2.1.3 (from memory): 20–80 %, 40–60 %, 98 % is not full
    (row,) = plan(box_tank((20, 30), (-1, 1), (0, 2), fill=fill, position=position))
    assert row.breaks == breaks
    assert row.state == ("empty" if fill == 0 else "full" if fill == 1 else "slack")
    assert (row.proposal is None) == (not breaks)


def test_the_least_change_is_proposed():
    (row,) = plan(box_tank((20, 30), (-1, 1), (0, 2), fill=0.85))
    assert row.proposal.fill_percent == pytest.approx(80)
    assert row.proposal.volume_change_m3 == pytest.approx(-0.05 * 40)
    assert row.proposal.with_tank is None


def test_a_swap_goes_to_a_tank_of_the_same_liquid_that_stays_within_the_rules():
    fuel = box_tank((20, 30), (-1, 1), (0, 2), fill=0.85, density=0.86, use="fuel")
    water = box_tank((32, 42), (-1, 1), (0, 2), fill=0.5, density=1.0, use="water")
    day = box_tank((44, 54), (-1, 1), (0, 2), fill=0.6, density=0.86, use="fuel")
    rows = plan(fuel, water, day)
    assert rows[0].proposal.with_tank == 2
    assert rows[1].breaks == ()


def test_a_flat_wide_tank_finds_no_slack_fill_and_is_pressed_or_emptied():
    # 10 m wide, 0.3 m deep: at 3° the surface runs 0.26 m up, more than half the depth
    (row,) = plan(box_tank((20, 30), (-5, 5), (0, 0.3), fill=0.5))
    assert {"pocketing", "bottom-exposed"} <= set(row.breaks)
    assert row.proposal.fill_percent in (0.0, 100.0)


def test_one_tank_or_one_pair_of_each_use():
    pair = [box_tank((20, 30), y, (0, 2), use="ballast") for y in ((2, 4), (-4, -2))]
    single = box_tank((32, 42), (-0.5, 0.5), (0, 2), use="ballast")
    other = box_tank((44, 54), (-1, 1), (0, 2), use="fuel")
    rows = plan(*pair, single, other)
    assert [("too-many-slack" in row.breaks) for row in rows] == [False, False, True, False]
    assert rows[2].proposal.fill_percent in (0.0, 100.0)
    assert all("too-many-slack" not in row.breaks for row in plan(*pair, other))


def test_pairs_are_found_port_first():
    tanks = [
        box_tank((20, 30), (-4, -2), (0, 2)),
        box_tank((0, 9), (-1, 1), (0, 2)),
        box_tank((20, 30), (2, 4), (0, 2)),
    ]
    assert pairs_of(tanks) == ((2, 0),)
    assert pairs_of([*tanks[:2], box_tank((21, 31), (2, 4), (0, 2))]) == ()


def test_a_sloping_tank_tells_that_its_moment_changes():
    wedge = Prism.constant(points_m=np.array([(0.0, 0.0), (4.0, 2.0), (0.0, 2.0)]), x_min_m=20, x_max_m=30)
    tank = Tank.of_solid(wedge.solid())
    row, regular = plan(
        PlannedTank(Liquid(tank, 0.5 * tank.capacity_m3, 1.0)), box_tank((32, 42), (-1, 1), (0, 2)), heels=(-4.0, 4.0)
    )
    assert (row.pockets, row.exposes_bottom) == (False, False)
    assert abs(row.shift_deviation_percent) > 2
    assert row.breaks == ("surface-not-regular",)
    assert abs(regular.shift_deviation_percent) < 1e-3


def test_of_a_table_the_shape_is_not_known():
    table = SoundingTable.from_columns(
        sounding_m=[0, 1, 2],
        volume_m3=[0, 20, 40],
        x_m=[25, 25, 25],
        y_m=[0, 0, 0],
        z_m=[0, 0.5, 1],
        free_surface_moment_m4=[6.7, 6.7, 6.7],
    )
    (row,) = plan(PlannedTank(Liquid(Tank.of_table(table), 20.0, 1.0)))
    assert (row.pockets, row.exposes_bottom, row.breaks) == (None, None, ())
