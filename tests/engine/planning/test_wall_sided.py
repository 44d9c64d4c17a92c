"""What the estimates refuse, and that stiffening lessens the heel."""

import pytest

from engine.errors import InputError
from engine.planning.wall_sided import tangent_ratio


def test_a_stiffening_ship_heels_less_and_a_softening_one_is_taken_as_straight():
    straight = tangent_ratio(displacement_t=1000, gm_m=0.5, moment_tm=50)
    assert straight == pytest.approx(0.1, rel=1e-14)
    assert tangent_ratio(displacement_t=1000, gm_m=0.5, moment_tm=50, stiffening_m=4.0) < straight
    assert tangent_ratio(displacement_t=1000, gm_m=0.5, moment_tm=50, stiffening_m=-4.0) == straight


@pytest.mark.parametrize(("mass", "gm", "field"), [(0.0, 1.0, "displacement_t"), (1.0, -0.1, "gm_m")])
def test_refusals(mass, gm, field):
    with pytest.raises(InputError) as refused:
        tangent_ratio(displacement_t=mass, gm_m=gm, moment_tm=1.0)
    assert (refused.value.code, refused.value.field) == ("not-positive", field)
