"""Analytic hulls: meshes of four refinements approach the closed forms at second order.

Every expected value is a closed form written out below it (origin at the keel, B beam and T draft of the
waterline); those of the standard bodies are in any text on naval architecture, the rest by integration.
"""

from dataclasses import dataclass

import numpy as np
import pytest

from engine.geometry.plane import Planes
from engine.geometry.surface_solid import SurfaceSolid
from tests.engine.geometry import meshes

PI = np.pi
REFINEMENTS = (32, 64, 128, 256)


@dataclass(frozen=True)
class Hull:
    """A mesh for n points round it, a draft, and closed forms."""

    mesh: object
    draft: float
    volume: float
    kb: float
    area: float
    bm_transverse: float
    bm_longitudinal: float


def sphere():
    r, h = 3.0, 2.0
    v = PI * h * h * (3 * r - h) / 3
    half = r * r - (r - h) ** 2  # waterline radius squared
    bm = PI * half**2 / 4 / v
    return Hull(
        lambda n: meshes.ellipsoid(n, a=r, b=r, c=r, draft=h), h, v, h * (8 * r - 3 * h) / (4 * (3 * r - h)), PI * half,
        bm, bm,
    )  # fmt: skip


def ellipsoid(d):
    a, b, c = 30.0, 6.0, 4.0
    v = PI * a * b * d * d * (3 * c - d) / (3 * c * c)
    ratio = d * (2 * c - d) / c**2  # of the waterplane to that at the middle
    return Hull(
        lambda n: meshes.ellipsoid(n, a=a, b=b, c=c, draft=d), d, v, d * (8 * c - 3 * d) / (4 * (3 * c - d)),
        PI * a * b * ratio, PI * a * b**3 * ratio**2 / 4 / v, PI * a**3 * b * ratio**2 / 4 / v,
    )  # fmt: skip


def cylinder(t):
    r, length = 5.0, 40.0
    a = np.arccos((r - t) / r)
    section = r * r * (a - np.sin(a) * np.cos(a))
    beam = 2 * r * np.sin(a)
    return Hull(
        lambda n: meshes.cylinder_along_x(n, radius=r, length=length, draft=t), t, length * section,
        r - 2 * r * np.sin(a) ** 3 / (3 * (a - np.sin(a) * np.cos(a))), beam * length,
        beam**3 / (12 * section), beam * length**2 / 12 / section,
    )  # fmt: skip


def cone():
    r, t = 4.0, 6.0
    bm = 3 * r * r / (4 * t)
    return Hull(
        lambda n: meshes.revolved(n, radius=lambda z: r * z / t, height=lambda z: z, waterline=t, end=8.0), t,
        PI * r * r * t / 3, 3 * t / 4, PI * r * r, bm, bm,
    )  # fmt: skip


def paraboloid():
    r, t = 4.0, 6.0
    bm = r * r / (2 * t)
    return Hull(
        lambda n: meshes.revolved(n, radius=lambda s: r * s, height=lambda s: t * s * s, waterline=1.0, end=1.2), t,
        PI * r * r * t / 2, 2 * t / 3, PI * r * r, bm, bm,
    )  # fmt: skip


def upright_cylinder():
    r, t = 4.0, 6.0
    bm = r * r / (4 * t)

    def mesh(n):
        angle = np.linspace(0, 2 * PI, n, endpoint=False)
        ring = np.column_stack([r * np.cos(angle), r * np.sin(angle)])
        points = np.stack([np.column_stack([ring, np.full(n, z)]) for z in (0.0, t, 8.0)])
        return meshes.rings(points, bottom=[0, 0, 0], top=[0, 0, 8.0])

    return Hull(mesh, t, PI * r * r * t, t / 2, PI * r * r, bm, bm)


def wigley(d):
    length, b, t = 100.0, 10.0, 6.25
    s = d / t
    f = 2 * s - s * s
    v = (2 / 3) * length * b * t * (s * s - s**3 / 3)
    return Hull(
        lambda n: meshes.wigley(n, line=d if d < t else 4.0), d, v, t * (8 * s - 3 * s * s) / (4 * (3 - s)),
        2 * length * b * f / 3, 4 * length * b**3 * f**3 / 105 / v, b * length**3 * f / 30 / v,
    )  # fmt: skip


HULLS = {
    "sphere": sphere(),
    "half ellipsoid": ellipsoid(4.0),
    "ellipsoid to 2.5 m": ellipsoid(2.5),
    "cylinder to 3 m": cylinder(3.0),
    "cylinder to its axis": cylinder(5.0),
    "cone": cone(),
    "paraboloid": paraboloid(),
    "upright cylinder": upright_cylinder(),
    "Wigley": wigley(6.25),
    "Wigley to 4 m": wigley(4.0),
}


def measured(hull):
    """Return (4 refinements, 5 quantities)."""
    rows = []
    for n in REFINEMENTS:
        vertices, faces = hull.mesh(n)
        solid = SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces)
        cut = solid.cut(Planes.from_normals(normals=[0, 0, 1], offsets_m=hull.draft))
        volume, tensor = cut.volume_m3[0], cut.waterplane_tensor_m4[0]
        rows.append(
            [volume, cut.centroid_m[0, 2], cut.waterplane_area_m2[0], tensor[1, 1] / volume, tensor[0, 0] / volume]
        )
    return np.array(rows)


@pytest.mark.parametrize("name", HULLS)
def test_second_order_and_the_closed_form_in_the_limit(name):
    hull = HULLS[name]
    exact = np.array([hull.volume, hull.kb, hull.area, hull.bm_transverse, hull.bm_longitudinal])
    values = measured(hull)
    error = np.abs(values / exact - 1)
    limit = (4 * values[-1] - values[-2]) / 3
    np.testing.assert_allclose(limit, exact, rtol=1e-6)
    for column in range(5):
        if error[0, column] < 1e-12:  # the mesh has it exactly, at every refinement
            assert (error[:, column] < 1e-11).all()
            continue
        order = np.log2(error[:-1, column] / error[1:, column])
        assert ((order > 1.9) & (order < 2.1)).all(), (column, order)


@pytest.mark.parametrize(
    ("name", "digits"),
    # the digits these closed forms print to, worked out beforehand in high precision
    [
        ("sphere", (29.32153143350, 1.285714285714, None, 1.714285714286, 1.714285714286)),
        ("half ellipsoid", (1507.964473723, 2.5, 565.4866776462, 3.375, 84.375)),
        ("ellipsoid to 2.5 m", (699.4952392759, 1.611842105263, None, 5.373355263158, 134.3338815789)),
        ("cylinder to 3 m", (792.6734251309, 1.762547717868, None, 3.237452282132, 61.66575775489)),
        ("cone", (100.5309649149, 4.5, None, 2.0, 2.0)),
        ("paraboloid", (150.7964473723, 4.0, None, 1.333333333333, 1.333333333333)),
        ("upright cylinder", (301.5928947446, 3.0, None, 0.6666666666667, 0.6666666666667)),
        ("Wigley", (2777.777777778, 3.90625, 666.6666666667, 1.371428571429, 120.0)),
        ("Wigley to 4 m", (1342.577777778, 2.576271186441, 580.2666666667, 1.87106073414, 216.1016949153)),
    ],
)
def test_the_closed_forms_are_those_tabulated(name, digits):
    hull = HULLS[name]
    forms = (hull.volume, hull.kb, hull.area, hull.bm_transverse, hull.bm_longitudinal)
    for form, digit in zip(forms, digits, strict=True):
        if digit is not None:
            assert form == pytest.approx(digit, rel=5e-12)


@pytest.mark.parametrize(
    ("mesh", "draft", "volume", "kb", "bm_transverse", "bm_longitudinal"),
    [
        (meshes.box(), 3.5, 2520.0, 1.75, 144 / 42, 3600 / 42),  # LBT, T/2, B²/12T, L²/12T
        (meshes.wedge(), 4.0, 1440.0, 8 / 3, 6.0, 150.0),  # LBT/2, 2T/3, B²/6T, L²/6T
        (meshes.trapezoid(), 4.0, 2400.0, 32 / 15, 3.6, 90.0),  # T(b+2B)/3(b+B), B³/6T(b+B), B L²/6T(b+B)
        (meshes.raked_barge(), 3.0, 1800.0, 1.6, 4.8, 120.0),  # BT(L+r), (L+2r)B²/12T(L+r), (L+2r)³/12T(L+r)
    ],
)
def test_polyhedra_upright_are_exact(mesh, draft, volume, kb, bm_transverse, bm_longitudinal):
    solid = SurfaceSolid.from_arrays(vertices_m=mesh[0], faces=mesh[1])
    cut = solid.cut(Planes.from_waterplanes(draft_m=draft, length_bp_m=60.0))
    assert cut.volume_m3[0] == pytest.approx(volume, rel=1e-12)
    assert cut.centroid_m[0, 2] == pytest.approx(kb, rel=1e-12)
    assert cut.waterplane_tensor_m4[0, 1, 1] / volume == pytest.approx(bm_transverse, rel=1e-12)
    assert cut.waterplane_tensor_m4[0, 0, 0] / volume == pytest.approx(bm_longitudinal, rel=1e-12)
    assert cut.waterplane_centroid_m[0, 0] == pytest.approx(30.0, rel=1e-12)


def test_wetted_areas():
    # sphere 2πRh; upright cylinder πr² + 2πrT; cone πr√(r² + T²): of second order too, so by their limit
    for hull, area in (
        (sphere(), 2 * PI * 3 * 2),
        (upright_cylinder(), PI * 16 + 2 * PI * 4 * 6),
        (cone(), PI * 4 * np.sqrt(52)),
    ):
        values = []
        for n in (128, 256):
            vertices, faces = hull.mesh(n)
            solid = SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces)
            cut = solid.cut(Planes.from_normals(normals=[0, 0, 1], offsets_m=hull.draft))
            values.append(cut.wetted_area_m2[0])
        assert (4 * values[1] - values[0]) / 3 == pytest.approx(area, rel=1e-6)
