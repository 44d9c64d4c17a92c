"""Changes of mass and moment, by hand arithmetic."""

import numpy as np
import pytest

from engine.survey.ledger import Item, change_by, total

AT = np.array([10.0, 2.0, 5.0])


def test_remove_add_and_relocate():
    removed = change_by(Item("remove", 2.0, AT))
    assert (removed.mass_t, *removed.moment_tm) == (-2.0, -20.0, -4.0, -10.0)
    added = change_by(Item("add", 2.0, AT))
    assert (added.mass_t, *added.moment_tm) == (2.0, 20.0, 4.0, 10.0)
    moved = change_by(Item("relocate", 2.0, AT, np.array([13.0, 2.0, 4.0])))
    assert (moved.mass_t, *moved.moment_tm) == (0.0, 6.0, 0.0, -2.0)


def test_relocating_is_removing_and_adding():
    to = np.array([-1.0, 0.5, 9.0])
    both = total([change_by(Item("remove", 3.0, AT)), change_by(Item("add", 3.0, to))])
    assert change_by(Item("relocate", 3.0, AT, to)).moment_tm == pytest.approx(both.moment_tm, abs=1e-12)
    assert both.mass_t == 0
