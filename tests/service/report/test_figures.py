"""Pictures: what is drawn is what the answer says."""

import math
import re

import numpy as np
import pytest

from service.report.curves import righting_arm_curve
from service.report.incline_figures import moment_tangent
from service.report.lines import hull_lines, spread_out
from service.report.numbers import Printer
from service.report.plot import Frame, Panel, span_of, tick_text, ticks
from service.report.ship_figures import body_plan, profile, water_at
from service.report.svg import Canvas, shortened
from service.schemas.hull import MeshHull


def plain(model):
    return model.model_dump(mode="json", exclude_none=True)


@pytest.mark.parametrize("which", ["demo", "awkward"])
def test_the_waterline_drawn_is_the_one_fitted(request, which):
    """The answer tells water and residual at every height; the curve drawn must pass at water less residual."""
    asked = request.getfixturevalue(which)
    waterline = plain(asked.answer.waterline)
    assert (waterline["sag_m"] < -0.01) == (which == "awkward")  # 30 mm of hog were read into that one
    for one in waterline["heights"]:
        drawn = water_at(waterline, one["x_m"], y_m=one["y_m"], length_bp_m=asked.request.hull.length_bp_m)
        assert drawn == pytest.approx(one["water_z_m"] - one["residual_m"], abs=1e-9)


def test_the_profile_says_hogged(awkward):
    waterline = plain(awkward.answer.waterline)
    drawn = profile(waterline, None, awkward.request.hull.length_bp_m, Printer())
    assert "waterline fitted, hogged" in drawn.svg
    straight = profile({**waterline, "sag_m": 0.0}, None, awkward.request.hull.length_bp_m, Printer())
    assert "hogged" not in straight.svg


def circles(svg):
    return [tuple(map(float, one)) for one in re.findall('<circle cx="([^"]+)" cy="([^"]+)"', svg)]


def test_readings_stand_where_they_belong(demo):
    """The first instrument's circles in the upper plot rise with the moment by the same slope."""
    incline = plain(demo.answer.incline)
    count = sum(one["instrument"] == "forward" for one in incline["points"])
    drawn = np.array(circles(moment_tangent(incline, Printer(), small=True).svg)[1 : 1 + count])  # the legend's first
    read = np.array([(p["moment_tm"], p["tangent_ratio"]) for p in incline["points"] if p["instrument"] == "forward"])
    for k in (0, 1):
        slope, start = np.polyfit(read[:, k], drawn[:, k], 1)
        assert np.abs(drawn[:, k] - start - slope * read[:, k]).max() < 0.01  # as written: two decimals
        assert (slope > 0) == (k == 0)  # y runs downwards


def test_lines_of_a_mesh_are_those_of_the_body():
    """A box of 10 × 4 × 3 m as a mesh: every section is its rectangle."""
    corners = [(x, y, z) for x in (0.0, 10.0) for y in (-2.0, 2.0) for z in (0.0, 3.0)]
    faces = [
        (0, 1, 3),
        (0, 3, 2),
        (4, 6, 7),
        (4, 7, 5),
        (0, 4, 5),
        (0, 5, 1),
        (2, 3, 7),
        (2, 7, 6),
        (0, 2, 6),
        (0, 6, 4),
    ]
    faces += [(1, 5, 7), (1, 7, 3)]
    lines = hull_lines(MeshHull(kind="mesh", length_bp_m=10.0, vertices_m=tuple(corners), faces=tuple(faces)))
    assert lines.x_m[0] == pytest.approx(0.0, abs=1e-6)
    assert lines.x_m[-1] == pytest.approx(10.0, abs=1e-6)
    assert lines.low_m == pytest.approx(np.zeros(len(lines.x_m)))
    assert lines.high_m == pytest.approx(np.full(len(lines.x_m), 3.0))
    assert spread_out(lines.x_m, 5)[0] == 0


def test_a_body_plan_has_every_station_chosen(demo):
    lines = hull_lines(demo.request.hull)
    drawn = body_plan(plain(demo.answer.waterline), lines, demo.request.hull.length_bp_m, Printer())
    assert f"Body plan of {len(spread_out(lines.x_m, 17))} sections" in drawn.alt
    assert hull_lines(object()) is None


@pytest.mark.parametrize(("low", "high"), [(-0.047, 0.053), (0, 1e-9), (-1e6, 3e6), (0.2, 0.21), (-3, 0)])
def test_ticks_are_round_and_inside(low, high):
    found = ticks(low, high)
    step = found[1] - found[0]
    assert 3 <= len(found) <= 14
    assert low - 1e-9 * (high - low) <= found[0] < found[-1] <= high + 1e-9 * (high - low)
    assert round(step / 10 ** math.floor(math.log10(step * 1.0000001))) in (1, 2, 5)
    texts = [tick_text(one, step) for one in found]
    assert len(set(texts)) == len(texts)
    assert not any(re.fullmatch("[−-]0(\\.0*)?", one) for one in texts)


def test_one_value_still_has_a_range():
    low, high = span_of([3.0])
    assert low < 3.0 < high
    assert span_of([0.0])[0] < 0 < span_of([0.0])[1]


def test_a_panel_places_its_corners():
    panel = Panel(Frame(10, 20, 100, 50), (0.0, 2.0), (-1.0, 1.0))
    assert panel.at(0.0, -1.0) == (10, 70)
    assert panel.at(2.0, 1.0) == (110, 20)


def test_names_of_the_ends_do_not_cover_each_other(demo):
    lines = hull_lines(demo.request.hull)
    for trim in (-0.4, -0.01, 0.0, 0.01, 0.4):
        drawn = body_plan({**plain(demo.answer.waterline), "trim_m": trim}, lines, 56.0, Printer()).svg
        heights = [float(re.search(f'y="([0-9.]+)"[^>]*>{name}</text>', drawn).group(1)) for name in ("AP", "FP")]
        assert abs(heights[0] - heights[1]) >= 10.9
        assert trim == 0.0 or (heights[0] < heights[1]) == (trim > 0)  # by the stern: the water stands higher aft


def test_texts_in_a_drawing_are_escaped():
    canvas = Canvas(10, title="<a>")
    canvas.text(0, 0, "</text><script>")
    assert "<script>" not in canvas.svg
    assert "&lt;/text&gt;&lt;script&gt;" in canvas.svg
    assert "<title>&lt;a&gt;</title>" in canvas.svg
    assert shortened("abcdef", 4) == "abc…"


def test_the_slope_of_gm_meets_the_curve_at_its_start():
    """Righting arms of 0.5·sin heel have GM 0.5 m: the line starts at the origin with that slope."""
    heels = [float(h) for h in range(0, 61, 10)]
    arms = [0.5 * math.sin(math.radians(h)) for h in heels]
    drawn = righting_arm_curve(heels, arms, printer=Printer(), gm_m=0.5, caption="c", marks=[("largest", 60.0)])
    line = re.search('stroke="#8a949c" stroke-width="1"[^>]*stroke-dasharray="4 3"', drawn.svg)
    assert line
    assert ">largest</text>" in drawn.svg
    start = re.search(f'<path d="M([0-9.]+) ([0-9.]+)L([0-9.]+) ([0-9.]+)"[^>]*{re.escape("4 3")}', drawn.svg)
    x0, y0, x1, y1 = map(float, start.groups())
    points = circles(drawn.svg)
    assert (x0, y0) == pytest.approx(points[0], abs=0.02)
    first = (points[1][1] - points[0][1]) / (points[1][0] - points[0][0])
    assert (y1 - y0) / (x1 - x0) == pytest.approx(first, rel=0.01)  # sin 10° is 0.5 % below the angle
