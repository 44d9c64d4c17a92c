"""Floating by tables against floating on the hull the tables were made of, and by closed form."""

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.flotation.equilibrium import equilibrium
from engine.flotation.hydrostatics import hydrostatics
from engine.flotation.table_position import table_position
from engine.flotation.table_rows import hydrostatic_table
from engine.flotation.tables import HydrostaticTables
from engine.geometry import Planes
from engine.geometry.shapes import Box, Prism

L, RHO = 60.0, 1.025
BOX = Box(x_min_m=0, x_max_m=L, y_min_m=-6, y_max_m=6, z_min_m=0, z_max_m=8).solid()
FLARED = Prism.constant(points_m=np.array([[-3.0, 0], [3, 0], [7, 8], [-7, 8]]), x_min_m=0, x_max_m=L).solid()


def tables_of(solid, trims=(0.0,)):
    made = []
    for trim in trims:
        drafts = np.arange(2.0, 6.01, 0.25)
        planes = Planes.from_waterplanes(draft_m=drafts, trim_m=trim, length_bp_m=L)
        h = hydrostatics(solid=solid, planes=planes, density_t_per_m3=RHO, length_bp_m=L)
        names = ("draft_m", "displacement_t", "lcb_m", "vcb_m", "lcf_m", "km_transverse_m", "km_longitudinal_m")
        columns = {name: getattr(h, name) for name in names}
        made.append(hydrostatic_table(length_bp_m=L, trim_m=trim, **columns))
    return HydrostaticTables(length_bp_m=L, density_t_per_m3=RHO, tables=made)


def test_box_by_closed_form():
    """T = V/LB, GM = T/2 + B²/12T − KG; trim by x_G = 30 − L t/12T + (z_G − z_B) t/L, tan φ = −y/GM."""
    found = table_position(
        tables=tables_of(BOX),
        density_t_per_m3=RHO,
        mass_t=RHO * 2520,
        centre_m=[29.2, 0.02, 4.5],
        free_surface_moment_tm=50,
    )
    gm = 1.75 + 144 / 42 - 4.5
    assert found.draft_m == pytest.approx(3.5, abs=1e-9)
    assert found.gm_solid_m == pytest.approx(gm, abs=1e-9)
    assert found.gm_fluid_m == pytest.approx(gm - 50 / (RHO * 2520), abs=1e-9)
    assert np.tan(np.radians(found.heel_deg)) == pytest.approx(-0.02 / found.gm_fluid_m, rel=1e-9)
    trim, z_b = found.trim_m, 1.75 + found.trim_m**2 / (24 * 3.5)
    assert trim > 0  # the centre is aft of midlength: by the stern
    assert 30 - L * trim / (12 * 3.5) + (4.5 - z_b) * trim / L == pytest.approx(29.2, abs=1e-9)


@pytest.mark.parametrize("trims", [(0.0,), (-0.6, 0.0, 0.6)])
def test_a_flared_hull_floats_by_tables_as_by_itself(trims):
    """Against the free equilibrium on the hull itself, 0.32 m by the stern and 1.1° to starboard.

    Measured: 0.5 mm of draft, 0.02 mm of trim, 0.006° and 3.9 mm of GM with the even-keel table (flare stiffens her as
    she heels; a table is upright); 0.1 mm, 0.1 mm, 0.002° and 0.5 mm with three trims.
    """
    mass, centre = 1900.0, [29.5, -0.01, 4.2]
    found = table_position(tables=tables_of(FLARED, trims), density_t_per_m3=RHO, mass_t=mass, centre_m=centre)
    whole = equilibrium(solid=FLARED, density_t_per_m3=RHO, mass_t=mass, centre_m=centre)
    assert found.draft_m == pytest.approx(float(whole.planes.draft_m(length_bp_m=L)[0]), abs=0.001)
    assert found.trim_m == pytest.approx(float(whole.planes.trim_m(length_bp_m=L)[0]), abs=0.001)
    assert found.heel_deg == pytest.approx(float(whole.planes.heel_deg[0]), abs=0.01)
    assert found.gm_solid_m == pytest.approx(float(whole.gm_fluid_m[0]), abs=0.005)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"mass_t": 1000.0}, "beyond-tables"),
        ({"mass_t": 5000.0}, "beyond-tables"),
        ({"centre_m": [29.0, 0.0, 9.0]}, "gm-not-positive"),
        ({"centre_m": [29.5, 0.3, 4.5]}, "heel-needs-hull"),
        ({"centre_m": [10.0, 0.0, 4.5]}, "beyond-tables"),
        ({"free_surface_moment_tm": 9999.0}, "gm-not-positive"),
    ],
)
def test_what_the_tables_do_not_hold(change, code):
    given = {"mass_t": 2583.0, "centre_m": [29.5, 0.0, 4.5]}
    with pytest.raises(NotDeterminedError) as refused:
        table_position(tables=tables_of(BOX), density_t_per_m3=RHO, **{**given, **change})
    assert refused.value.code == code


def test_a_centre_of_two_numbers_is_refused():
    with pytest.raises(InputError) as refused:
        table_position(tables=tables_of(BOX), density_t_per_m3=RHO, mass_t=2583.0, centre_m=[30.0, 4.5])
    assert refused.value.code == "wrong-shape"
