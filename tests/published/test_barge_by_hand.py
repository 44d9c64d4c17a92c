"""A box barge worked by hand: every expected number is its closed form, beside it; no engine code makes a truth.

Box of L 60 m, B 12 m, D 8 m from the base line up. The water stands at z = T + a (L/2 - x) - t y, with a = trim / L and
t = tan heel. While neither bottom nor deck is crossed, exactly (∫∫ over the box's plan):

    volume = L B T                     LCB = L/2 - a L²/(12 T)          TCB = -t B²/(12 T)
    VCB = T/2 + (a² L² + t² B²)/(24 T)       and G = B + h (a, t, 1): h is what the incline is for

A slack liquid in a box tank l x b is the same with its own depth d = V/(l b): it runs to -a l²/(12 d) and -t b²/(12 d).
"""

import json
from math import atan, degrees, sqrt

import pytest

from engine.record.budget import chain_of, uncertainty
from engine.record.solve import solve
from service.schemas.record import StabilityTest

L, B, D, RHO = 60.0, 12.0, 8.0, 1.025
LIGHT = (1200.0, 30.0, 0.0, 4.2)
WEIGHTS = {"P1": (12, 25, 4, 8.5), "P2": (12, 35, 4, 8.5), "S1": (12, 25, -4, 8.5), "S2": (12, 35, -4, 8.5)}
MOVES = [("P1", -4), ("P2", -4), ("P1", 4), ("P2", 4), ("S1", 4), ("S2", 4), ("S1", -4), ("S2", -4)]
PLACES = [(x, y) for x in (2, 16, 30, 44, 58) for y in (6, -6)]
OIL = {"box": (10.0, 20.0, 0.0, 5.0, 0.5, 3.0), "volume_m3": 60.0, "density": 0.85}
WATER = {"box": (40.0, 46.0, -5.0, -1.0, 1.0, 4.0), "volume_m3": 30.0, "density": 1.0}
NOTHING_UNCERTAIN = {
    "freeboard_m": 0,
    "freeboard_common_m": 0,
    "reading_m": 0,
    "weight_percent": 0,
    "arm_m": 0,
    "length_m": 0,
    "density_t_per_m3": 0,
    "hull_volume_percent": 0,
}
DISPLACEMENT = 1200 + 4 * 12
DRAFT = DISPLACEMENT / (RHO * L * B)  # 1.6911 m
KM = DRAFT / 2 + B**2 / (12 * DRAFT)  # 7.9417 m
KG = (1200 * 4.2 + 48 * 8.5) / DISPLACEMENT  # 4.3654 m
GM = KM - KG  # 3.5763 m


def floated(masses, tanks=()):
    """Return T, a, t by repeated substitution in G = B + h (a, t, 1)."""
    liquids = [one["volume_m3"] * one["density"] for one in tanks]
    mass = sum(m[0] for m in masses) + sum(liquids)
    draft = mass / (RHO * L * B)
    a = t = 0.0
    for _ in range(200):
        centres = [m[1:] for m in masses] + [lying(one, a, t) for one in tanks]
        weights = [m[0] for m in masses] + liquids
        x, y, z = (sum(w * c[i] for w, c in zip(weights, centres, strict=True)) / mass for i in range(3))
        h = z - draft / 2 - (a * a * L * L + t * t * B * B) / (24 * draft)
        a, t = (x - L / 2) / (h - L * L / (12 * draft)), y / (h - B * B / (12 * draft))
    return draft, a, t


def lying(tank, a, t):
    x0, x1, y0, y1, z0, _ = tank["box"]
    long, wide = x1 - x0, y1 - y0
    d = tank["volume_m3"] / (long * wide)
    up = z0 + d / 2 + (a * a * long**2 + t * t * wide**2) / (24 * d)
    return (x0 + x1) / 2 - a * long**2 / (12 * d), (y0 + y1) / 2 - t * wide**2 / (12 * d), up


def barge_test(light=LIGHT, *, moves=MOVES, tanks=(), differences=(), keel_m=None, instruments=None, sag_m=0.0):
    """Return the document of a test of the barge whose lightship is known."""
    aboard = {name: tuple(float(v) for v in place) for name, place in WEIGHTS.items()}
    tangents = []
    for move in [None, *moves]:
        if move is not None:
            name, y, *rest = move
            mass, x, _, z = aboard[name]
            aboard[name] = (mass, *((rest[0], y, rest[1]) if rest else (x, y, z)))
        tangents.append(floated([light, *aboard.values()], tanks)[2])
    then = [
        light,
        *((float(m), *place) for m, *place in WEIGHTS.values()),
        *((-m, *place) for m, *place in differences),
    ]
    draft, a, t = floated(then, tanks)
    upright = 1 / sqrt(1 + a * a + t * t)  # a plumb tape is longer by 1/n_z in the ship's own z
    water = [(x, y, draft + a * (L / 2 - x) - t * y + sag_m * (1 - (2 * x / L - 1) ** 2)) for x, y in PLACES]
    section = [[0, 0], [B / 2, 0], [B / 2, D]]
    document = {
        "hull": {
            "kind": "offsets",
            "length_bp_m": L,
            "stations": [{"x_m": 0, "points_m": section}, {"x_m": L, "points_m": section}],
        },
        "water": {"samples": [{"density_t_per_m3": RHO}] * 3},
        "weights": [{"id": name, "mass_t": m, "x_m": x, "y_m": y, "z_m": z} for name, (m, x, y, z) in WEIGHTS.items()],
        "moves": [
            {"weight": name, "to_y_m": y, **({"to_x_m": rest[0], "to_z_m": rest[1]} if rest else {})}
            for name, y, *rest in moves
        ],
        "instruments": (instruments or two_pendulums)(tangents),
        "tanks": [
            {
                "name": f"tank {i}",
                "shape": {"kind": "box", **dict(zip(BOX, one["box"], strict=True))},
                "density_t_per_m3": one["density"],
                "contents": {"kind": "volume", "volume_m3": one["volume_m3"]},
                "lightship_volume_m3": one.get("lightship_volume_m3", 0.0),
            }
            for i, one in enumerate(tanks)
        ],
        "survey_differences": [
            {"name": "later", "mass_t": m, "x_m": x, "y_m": y, "z_m": z} for m, x, y, z in differences
        ],
    }
    if keel_m is None:
        document["freeboards"] = [
            {"x_m": x, "y_m": y, "reference_z_m": D, "freeboard_m": (D - z) * upright} for x, y, z in water
        ]
    else:
        document["draft_marks"] = [
            {"x_m": x, "y_m": y, "draft_m": z + keel_m, "zero_z_m": -keel_m} for x, y, z in water
        ]
    return document


BOX = ("x_min_m", "x_max_m", "y_min_m", "y_max_m", "z_min_m", "z_max_m")


def two_pendulums(tangents):
    """Raw batten readings: one of 5 m that grows to starboard, one of 4 m that grows to port."""
    return [
        {
            "kind": "pendulum",
            "id": "a",
            "length_m": 5,
            "positive": "starboard",
            "deflections_m": [5 * t for t in tangents],
        },
        {
            "kind": "pendulum",
            "id": "b",
            "length_m": 4,
            "positive": "port",
            "deflections_m": [1 - 4 * t for t in tangents],
        },
    ]


def tube_and_inclinometer(tangents):
    return [
        {
            "kind": "u_tube",
            "id": "u",
            "spread_m": 10,
            "port_levels_m": [1 - 5 * t for t in tangents],
            "starboard_levels_m": [1.2 + 5 * t for t in tangents],
        },
        {"kind": "inclinometer", "id": "i", "positive": "port", "angles_deg": [5 - degrees(atan(t)) for t in tangents]},
    ]


def solved(document):
    record, _ = StabilityTest.model_validate_json(json.dumps(document)).record()
    return record, solve(record)


def test_the_upright_barge_gives_the_numbers_of_the_slide_rule():
    _, found = solved(barge_test())
    at = found.inclined.at_zero.afloat
    assert at.displacement_t == pytest.approx(DISPLACEMENT, rel=1e-12)  # 48 t of weights on 1200 t
    assert float(at.hydrostatics.km_transverse_m[0]) == pytest.approx(KM, rel=1e-12)  # T/2 + B²/(12 T)
    assert found.inclined.fit.gm_fluid_m == pytest.approx(GM, rel=1e-9)  # KM - ΣmKg/Σm
    # wall-sided, so t (GM + BM t²/2) = M/Δ exactly and the regression with that term is exact too
    assert found.inclined.regression.gm_fluid_m == pytest.approx(GM, rel=1e-9)


def test_heel_trim_and_centre_have_their_signs():
    # G to port (y > 0) and aft: port side down is negative heel, stern down is positive trim
    _, found = solved(barge_test((1200.0, 29.0, 0.05, 4.2)))
    draft, a, t = floated([(1200.0, 29.0, 0.05, 4.2), *((float(m), *place) for m, *place in WEIGHTS.values())])
    plane = found.inclined.at_zero.afloat.plane
    assert t < 0 < a
    assert plane.heel_deg[0] == pytest.approx(degrees(atan(t)), rel=1e-9)
    assert plane.trim_m(length_bp_m=L)[0] == pytest.approx(a * L, rel=1e-9)
    assert plane.draft_m(length_bp_m=L)[0] == pytest.approx(draft, rel=1e-12)


AFT = [(name, y, 20 + 3 * i, 8.5 + 0.4 * (i % 3)) for i, (name, y) in enumerate(MOVES)]


@pytest.mark.parametrize(
    ("light", "how"),
    [
        pytest.param((1200.0, 29.5, 0.0, 4.2), {"tanks": (OIL, WATER)}, id="two slack tanks to one side"),
        pytest.param((1200.0, 28.4, 0.02, 4.2), {}, id="1 per cent by the stern"),
        pytest.param((1200.0, 30.0, -0.07, 4.2), {}, id="list of one degree to starboard"),
        pytest.param(
            (1200.0, 30.0, -0.07, 4.2), {"instruments": tube_and_inclinometer}, id="list, U-tube and inclinometer"
        ),
        pytest.param((1200.0, 29.0, 0.01, 4.2), {"keel_m": 0.015}, id="extreme marks below a keel plate of 15 mm"),
        pytest.param((1200.0, 29.5, 0.02, 4.2), {"moves": AFT}, id="weights also moved forward and up"),
        pytest.param((1200.0, 29.5, 0.02, 4.2), {"moves": MOVES[:2]}, id="two moves"),
        pytest.param((1200.0, 30.0, 0.0, 6.9), {}, id="tender: GM 1.0 m"),
    ],
)
def test_the_lightship_that_floated_comes_back(light, how):
    _, found = solved(barge_test(light, **how))
    assert found.inclined.method == "geometric"
    assert found.derivation.lightship.mass_t == pytest.approx(light[0], rel=1e-9)
    assert found.derivation.lightship.centre_m == pytest.approx(light[1:], abs=1e-8)


@pytest.mark.parametrize("later", [(20.0, 45.0, -2.0, 9.0), (-8.0, 10.0, 3.0, 5.0)], ids=["came aboard", "went ashore"])
def test_what_came_or_went_after_the_freeboards_is_aboard_at_reading_zero(later):
    # the difference is no ledger item: what is aboard at reading 0 and unlisted is lightship, so light = hull + nothing
    light = (1200.0, 29.5, 0.02, 4.2)
    _, found = solved(barge_test(light, differences=(later,), tanks=(WATER,)))
    assert found.surveyed.afloat.displacement_t == pytest.approx(DISPLACEMENT + 30 - later[0], rel=1e-9)
    assert found.derivation.as_inclined.mass_t == pytest.approx(DISPLACEMENT + 30, rel=1e-9)
    assert found.derivation.lightship.centre_m == pytest.approx(light[1:], abs=1e-8)


def test_liquid_that_is_lightship_stays_at_rest_in_its_tank():
    # 10 of the 30 t stay: 10 m3 on 6 x 4 m stand 10/24 m deep on z = 1, so at x 43, y -3, z 1 + 10/48
    _, found = solved(barge_test(tanks=({**WATER, "lightship_volume_m3": 10.0},)))
    expected = [(1200 * a + 10 * b) / 1210 for a, b in zip(LIGHT[1:], (43, -3, 1 + 10 / 48), strict=True)]
    assert found.derivation.lightship.mass_t == pytest.approx(1210, rel=1e-9)
    assert found.derivation.lightship.centre_m == pytest.approx(expected, abs=1e-8)


def test_slack_tank_lowers_gm_by_its_own_breadth_cubed():
    # ρ l b³/12 of 6 x 4 m fresh water: 1.0 · 6 · 4³/12 = 32 t·m, upright (a free surface of constant breadth)
    _, found = solved(barge_test(tanks=({**WATER, "box": (27.0, 33.0, -2.0, 2.0, 1.0, 4.0)},)))
    assert found.surveyed.afloat.free_surface_tm == pytest.approx(32, rel=1e-9)


@pytest.mark.parametrize("sag_m", [0.03, -0.03], ids=["sagged", "hogged"])
def test_a_bent_hull_displaces_two_thirds_of_the_sag_more(sag_m):
    # the mean of a parabola that is zero at both ends is 2/3 of its height: ρ L B 2/3 sag = 14.76 t
    _, found = solved(barge_test(sag_m=sag_m))
    assert found.surveyed.waterline.sag_m == pytest.approx(sag_m, rel=1e-6)
    more = found.surveyed.afloat.displacement_t - DISPLACEMENT
    assert more == pytest.approx(RHO * L * B * 2 / 3 * sag_m, rel=1e-6)


def test_both_sides_mistaken_give_no_gm():
    document = barge_test()
    for one in document["instruments"]:
        one["positive"] = {"starboard": "port", "port": "starboard"}[one["positive"]]
    _, found = solved(document)
    assert found.not_done["incline"].code == "gm-not-positive"
    assert found.derivation is None


M = LIGHT[0]
EACH_Z = RHO * L * B * (DRAFT - LIGHT[3]) / M  # z by draft: d(ρLB(T²/2 + B²/12))/dT = ρLB T, less z by mass
BUOYANT_Z = DISPLACEMENT * (KM - LIGHT[3]) / M  # z by a factor on buoyancy: Δ GM is what the moments give, and stands
GM_Z = DISPLACEMENT * GM / M  # z by a factor on GM
H = KG - DRAFT / 2


@pytest.mark.parametrize(
    ("stated", "expected"),
    [
        pytest.param(
            {"weight_percent": 0.25},  # Δ GM p, and the weights leave: w p (z_w - z)
            {"mass_t": 48 * 0.0025, "z_m": 0.0025 * (GM_Z + 48 * (8.5 - 4.2) / M)},
            id="weights",
        ),
        pytest.param(
            {"arm_m": 0.005},  # eight places, each in error at two readings: Σ M δM/Σ M² = 96·12 e·(1 + 2)/(12·96²)
            {"z_m": GM_Z * sqrt(8) * 12 * 0.005 * 3 / (12 * 96), "y_m": sqrt(4) * 12 * 0.005 / M},
            id="arms",
        ),
        pytest.param(
            {"length_m": 0.003},  # half of GM hangs on each length
            {"z_m": GM_Z * 0.5 * sqrt((0.003 / 5) ** 2 + (0.003 / 4) ** 2)},
            id="pendulum lengths",
        ),
        pytest.param(
            {"density_t_per_m3": 0.0003},
            {"mass_t": DISPLACEMENT * 0.0003 / RHO, "z_m": 0.0003 / RHO * BUOYANT_Z},
            id="density",
        ),
        pytest.param(
            {"hull_volume_percent": 0.2},
            {"mass_t": DISPLACEMENT * 0.002, "z_m": 0.002 * BUOYANT_Z},
            id="hull form",
        ),
        pytest.param(
            {"freeboard_common_m": 0.002},
            {"mass_t": RHO * L * B * 0.002, "z_m": 0.002 * abs(EACH_Z)},
            id="freeboards, common",
        ),
        pytest.param(
            {"freeboard_m": 0.005},  # draft by √10; a by √Σ(x - L/2)² = √(4 (28² + 14²)); t by √Σy² = √360
            {
                "mass_t": RHO * L * B * 0.005 / sqrt(10),
                "x_m": DISPLACEMENT / M * (L**2 / (12 * DRAFT) - H) * 0.005 / sqrt(4 * (28**2 + 14**2)),
                "y_m": DISPLACEMENT / M * GM * 0.005 / sqrt(360),
                "z_m": 0.005 / sqrt(10) * abs(EACH_Z),
            },
            id="freeboards, each",
        ),
    ],
)
def test_one_uncertain_input_gives_its_closed_form(stated, expected):
    """To 0.6 %: the closed forms are of small heel; at t = 0.043 the stiffening of GM, 3/2 BM t²/GM, is 0.55 %."""
    record, found = solved({**barge_test(), "uncertainty": {**NOTHING_UNCERTAIN, **stated}})
    spread = uncertainty(chain_of(record, found)).standard_uncertainty
    for name in ("mass_t", "x_m", "y_m", "z_m"):
        assert spread[name] == pytest.approx(expected.get(name, 0.0), rel=6e-3, abs=1e-7)
