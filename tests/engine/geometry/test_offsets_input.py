"""From offsets to a solid: conventions, findings and refusals."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.geometry import OffsetStation, Planes, solid_from_offsets

HALF_BOX = [[0, 0], [6, 0], [6, 8]]
LENGTH = 60.0


def at(draft, heel=0.0, trim=0.0):
    return Planes.from_waterplanes(draft_m=draft, heel_deg=heel, trim_m=trim, length_bp_m=LENGTH)


def prism(**station):
    return [OffsetStation(x_m=x, **station) for x in (0.0, LENGTH)]


def volume(stations, draft=3.5, heel=0.0, **options):
    return solid_from_offsets(stations, **options).solid.cut(at(draft, heel)).volume_m3[0]


def smooth(count=11, points=13):
    """A fair round-bilge half table."""
    angle = np.linspace(0, np.pi / 2, points)
    for x in np.linspace(0, LENGTH, count):
        breadth = 6 * (1 - (2 * x / LENGTH - 1) ** 2) + 0.5
        yield x, np.column_stack([breadth * np.sin(angle), 8 * (1 - np.cos(angle))])


def test_a_half_section_is_mirrored_and_closed_straight_across():
    # Box 60 x 12: V = LBT at draft 3.5, whole volume with the deck at the last point's height.
    result = solid_from_offsets(prism(points_m=HALF_BOX))
    assert result.findings == ()
    assert result.solid.volume_m3 == pytest.approx(60 * 12 * 8, rel=1e-14)
    assert volume(prism(points_m=HALF_BOX), heel=20) == pytest.approx(2520, rel=1e-13)


def test_a_half_section_may_start_off_the_centreline_and_run_down():
    # A flat bottom 4 wide, sides sloping to 12 at z = 4: trapezoid, V = LT(b + B)/2.
    up = [[2, 0], [6, 4], [6, 8]]
    assert volume(prism(points_m=up), draft=4) == pytest.approx(60 * 4 * 8, rel=1e-14)
    assert volume(prism(points_m=up[::-1]), draft=4) == pytest.approx(60 * 4 * 8, rel=1e-14)


def test_half_and_full_are_the_same_hull():
    half, whole = [], []
    for x, line in smooth():
        half.append(OffsetStation(x_m=x, points_m=line))
        whole.append(OffsetStation(x_m=x, points_m=np.concatenate([line, line[:0:-1] * [-1, 1]])[::-1]))
    one = solid_from_offsets(half).solid.cut(at([3, 5], [0, 25], [0, 1]))
    other = solid_from_offsets(whole).solid.cut(at([3, 5], [0, 25], [0, 1]))
    assert one.volume_m3 == pytest.approx(other.volume_m3, rel=1e-13)
    assert one.waterplane_tensor_m4 == pytest.approx(other.waterplane_tensor_m4, rel=1e-11, abs=1e-7)


def test_a_full_table_is_taken_as_it_is():
    # A box between y = 1 and 5, a tank: 4 wide; the default would have mirrored it.
    tank = [[1, 0], [5, 0], [5, 8], [1, 8]]
    solid = solid_from_offsets(prism(points_m=tank), symmetry="full").solid
    cut = solid.cut(at(3.5))
    assert cut.volume_m3[0] == pytest.approx(60 * 4 * 3.5, rel=1e-14)
    assert cut.centroid_m[0, 1] == pytest.approx(3)


def test_an_asymmetric_hull_needs_no_word():
    # y from -4 to 6.
    cut = solid_from_offsets(prism(points_m=[[-4, 0], [6, 0], [6, 8], [-4, 8]])).solid.cut(at(2))
    assert cut.volume_m3[0] == pytest.approx(60 * 10 * 2, rel=1e-14)
    assert cut.centroid_m[0, 1] == pytest.approx(1)


def test_a_closed_half_loop_is_one_hull_of_two():
    demi = [[4, 0], [6, 0], [6, 8], [4, 8], [4, 0]]
    for stations in (prism(points_m=demi), prism(loops_m=[demi[:-1]])):
        result = solid_from_offsets(stations)
        assert [finding.code for finding in result.findings] == ["mirrored-off-centreline"]
        cut = result.solid.cut(at(2))
        assert cut.volume_m3[0] == pytest.approx(60 * 4 * 2, rel=1e-14)
        # It of two strips 2 wide at 5: 2 L (2³/12 + 2·25).
        assert cut.waterplane_tensor_m4[0, 1, 1] == pytest.approx(120 * (8 / 12 + 50), rel=1e-13)
    assert solid_from_offsets(prism(points_m=demi), symmetry="half").findings == ()


def test_a_closed_half_loop_along_the_centreline_is_a_half_section():
    # The edge on the centreline is no skin: wetted area LB + 2T(L + B) as of the plain box.
    cut = solid_from_offsets(prism(points_m=[[6, 8], [0, 8], [0, 0], [6, 0], [6, 8]])).solid.cut(at(3.5))
    assert cut.volume_m3[0] == pytest.approx(2520, rel=1e-14)
    assert cut.wetted_area_m2[0] == pytest.approx(1224, rel=1e-14)


def test_a_moonpool_is_a_loop_inside():
    pool = [[0, 0], [2, 0], [2, 8], [0, 8]]
    cut = solid_from_offsets(prism(points_m=HALF_BOX, loops_m=[pool])).solid.cut(at(3))
    assert cut.volume_m3[0] == pytest.approx(60 * 8 * 3, rel=1e-14)
    assert cut.waterplane_tensor_m4[0, 1, 1] == pytest.approx(60 * (12**3 - 4**3) / 12, rel=1e-13)


def test_a_repeated_x_is_a_break_and_order_may_descend():
    narrow = [[0, 0], [4, 0], [4, 8]]
    table = [(0, HALF_BOX), (30, HALF_BOX), (30, narrow), (60, narrow)]
    stations = [OffsetStation(x_m=x, points_m=line) for x, line in table]
    assert volume(stations, draft=2) == pytest.approx(2 * (30 * 12 + 30 * 8), rel=1e-14)
    result = solid_from_offsets(stations[::-1])
    assert [finding.code for finding in result.findings] == ["stations-descending"]
    assert result.solid.cut(at(2)).centroid_m[0, 0] == pytest.approx((360 * 15 + 240 * 45) / 600)


def test_stem_points_end_the_hull():
    # The box closing to a vertical line, point for point, is a wedge; closing to one point, a pyramid.
    line = [OffsetStation(x_m=0, points_m=HALF_BOX), OffsetStation(x_m=60, points_m=[[0, 0], [0, 0], [0, 8]])]
    assert solid_from_offsets(line).solid.volume_m3 == pytest.approx(60 * 12 * 8 / 2, rel=1e-12)
    point = [OffsetStation(x_m=0, points_m=HALF_BOX), OffsetStation(x_m=60, points_m=[[0, 4]])]
    assert solid_from_offsets(point).solid.volume_m3 == pytest.approx(60 * 12 * 8 / 3, rel=1e-12)


def test_half_stations_near_the_ends():
    # Sections that are a parabola of x in area: exact on any spacing. A = 8·2·(6(1 - u²)) with u = 2x/L - 1.
    x = np.array([0, 3, 6, 12, 18, 30, 42, 48, 54, 57, 60], float)
    stations = [
        OffsetStation(x_m=xi, points_m=[[0, 0], [6 * (1 - (xi / 30 - 1) ** 2), 0], [6 * (1 - (xi / 30 - 1) ** 2), 8]])
        for xi in x
    ]
    assert volume(stations, draft=4) == pytest.approx(4 * 12 * 60 * 2 / 3, rel=1e-13)


def test_curves_follow_a_circle_and_break_at_knuckles():
    # Half circle of radius 5 from 10 points: area πr²/2 within 1e-4 of it; chords alone lose 5e-3.
    angle = np.linspace(0, np.pi / 2, 10)
    arc = np.column_stack([5 * np.sin(angle), 5 * (1 - np.cos(angle))])
    exact = np.pi * 25 / 2 * LENGTH
    assert volume(prism(points_m=arc), draft=5, between_points="curve") == pytest.approx(exact, rel=1e-4)
    assert volume(prism(points_m=arc), draft=5) == pytest.approx(exact * (1 - 5.07e-3), rel=1e-3)
    # With a knuckle at the bilge a box stays a box, whole or half; without it the curve bulges.
    line = [[0, 0], [3, 0], [6, 0], [6, 4], [6, 8]]
    assert volume(prism(points_m=line, knuckles=[2]), between_points="curve") == pytest.approx(2520, rel=1e-13)
    assert volume(prism(points_m=line), between_points="curve") > 2550
    doubled = [[0, 0], [3, 0], [6, 0], [6, 0], [6, 4], [6, 8]]
    assert volume(prism(points_m=doubled), between_points="curve") == pytest.approx(2520, rel=1e-13)
    loop = [[-6, 0], [0, 0], [6, 0], [6, 8], [-6, 8], [-6, 0]]
    stations = prism(points_m=loop, knuckles=[0, 2, 3, 4])
    assert volume(stations, between_points="curve") == pytest.approx(2520, rel=1e-13)


def test_a_curve_over_the_centreline_is_said():
    line = [[0, 0], [0.05, 1], [0.0, 2], [3, 2.5], [6, 3], [6, 8]]
    findings = solid_from_offsets(prism(points_m=line), between_points="curve").findings
    found = {finding.code: finding.count for finding in findings}
    assert found["curve-crosses-centreline"] == 2


def test_fair_tables_have_no_findings():
    assert solid_from_offsets([OffsetStation(x_m=x, points_m=line) for x, line in smooth()]).findings == ()
    chine = [[0, 0], [2, 0], [4, 0], [5.6, 0.4], [6, 2], [6, 4], [6, 6], [6, 8]]
    assert solid_from_offsets(prism(points_m=chine)).findings == ()


@pytest.mark.parametrize(("station", "point", "off"), [(5, 6, 0.6), (3, 12, 0.8), (5, 1, 0.9), (7, 8, -0.7)])
def test_a_spike_is_found_in_its_place(station, point, off):
    stations = []
    for i, (x, line) in enumerate(smooth()):
        if i == station:
            line[point, 0] += off
            place = (x, *line[point])
        stations.append(OffsetStation(x_m=x, points_m=line))
    (finding,) = solid_from_offsets(stations).findings
    assert finding.code == "unfair-point"
    assert finding.count == 1
    assert finding.place_m == pytest.approx(place)


def test_a_spike_is_found_among_stations_of_different_numbers_of_points():
    stations = []
    for i, (x, line) in enumerate(smooth()):
        if i == 4:
            line[6, 0] += 2.0
        stations.append(OffsetStation(x_m=x, points_m=line if i % 2 == 0 else line[::2]))
    (finding,) = solid_from_offsets(stations).findings
    assert (finding.code, finding.place_m[0]) == ("unfair-point", 4 * LENGTH / 10)


def test_a_knuckle_is_not_judged():
    stations = []
    for i, (x, line) in enumerate(smooth()):
        line[6, 0] += 0.6 * (i == 5)
        stations.append(OffsetStation(x_m=x, points_m=line, knuckles=[6]))
    assert solid_from_offsets(stations).findings == ()


REFUSED = [
    ("too-few-stations", "stations", [OffsetStation(0, HALF_BOX)]),
    ("no-length", "stations", [OffsetStation(1, HALF_BOX), OffsetStation(1, HALF_BOX)]),
    ("stations-not-ascending", "stations/2/x_m", [OffsetStation(x, HALF_BOX) for x in (0, 30, 20, 60)]),
    ("station-repeated", "stations/3/x_m", [OffsetStation(x, HALF_BOX) for x in (0, 30, 30, 30, 60)]),
    ("too-few-points", "stations/1/points_m", [OffsetStation(x, HALF_BOX if x else []) for x in (-1, 0, 1)]),
    ("too-few-points", "stations/1/points_m", [OffsetStation(x, HALF_BOX if x else [[0, 1]]) for x in (-1, 0, 1)]),
    ("too-few-points", "stations/0/loops_m/0", prism(loops_m=[[[1, 1], [1, 1]]])),
    ("not-finite", "stations/0/points_m", prism(points_m=[[0, 0], [np.nan, 1]])),
    ("not-finite", "stations/1/x_m", [OffsetStation(0, HALF_BOX), OffsetStation(np.inf, HALF_BOX)]),
    ("wrong-shape", "stations/0/points_m", prism(points_m=[[0, 0, 0], [1, 1, 1]])),
    ("knuckle-out-of-range", "stations/0/knuckles/1", prism(points_m=HALF_BOX, knuckles=[1, 3])),
    ("section-crosses-itself", "stations/0/points_m", prism(points_m=[[0, 0], [6, 6], [6, 0], [0, 5], [3, 8]])),
]


@pytest.mark.parametrize(("code", "field", "stations"), REFUSED)
def test_refused(code, field, stations):
    with pytest.raises(InputError) as caught:
        solid_from_offsets(stations)
    assert (caught.value.code, caught.value.field) == (code, field)


def test_a_section_that_turns_down_without_crossing_itself_is_taken():
    bulwark = [[0, 0], [6, 0], [6, 9], [5.5, 9], [5.5, 8]]  # its inner side runs down again
    # closed form: 12 × 8 and two bulwarks of 0.5 × 1, over the length
    assert volume(prism(points_m=bulwark), draft=20.0) == pytest.approx((12 * 8 + 2 * 0.5) * LENGTH, rel=1e-12)


def test_a_half_table_that_crosses_the_centreline_is_refused():
    with pytest.raises(InputError) as caught:
        solid_from_offsets(prism(points_m=[[0, 0], [6, 0], [-1, 8]]), symmetry="half")
    assert caught.value.code == "half-crosses-centreline"
    assert (caught.value.field, caught.value.value) == ("stations/0/points_m/2", -1.0)
