"""Tables read at planes, as the columns of a hull: the box by closed form, and planes beyond the tables."""

import numpy as np
import pytest

from engine.flotation.table_columns import hydrostatics_by_tables
from engine.geometry import Planes
from tests.engine.flotation.test_tables import RHO, B, L, tables


def test_rows_beside_planes_beyond_the_tables():
    planes = Planes.from_waterplanes(draft_m=[3.5, 9.0, 3.5], heel_deg=[2.0, 0.0, 10.0], trim_m=0.0, length_bp_m=L)
    found, missed = hydrostatics_by_tables(tables=tables(), planes=planes, density_t_per_m3=RHO)
    assert [None if one is None else one.code for one in missed] == [None, "beyond-tables", "heel-needs-hull"]
    np.testing.assert_allclose(found.displacement_t, [RHO * L * B * 3.5, np.nan, np.nan])
    # y_B = −B²/(12 T) tan φ, to starboard
    assert found.tcb_m[0] == pytest.approx(-(B**2) / (12 * 3.5) * np.tan(np.radians(2.0)), rel=1e-12)
    np.testing.assert_allclose(found.draft_m, [3.5, 9.0, 3.5])
    assert np.isnan(found.waterplane_area_m2).all()
