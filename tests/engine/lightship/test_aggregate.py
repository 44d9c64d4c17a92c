"""Weight histories: the absolute total of 46 CFR 144.315(a), and moments by hand."""

import numpy as np
import pytest

from engine.errors import NotDeterminedError
from engine.lightship.aggregate import weight_history
from engine.lightship.particulars import Lightship
from engine.survey.ledger import Item

START = Lightship(mass_t=1000.0, x_m=30.0, y_m=0.0, z_m=5.0)


def at(x, y=0.0, z=0.0):
    return np.array([x, y, z])


def test_additions_and_removals_do_not_cancel_and_a_relocation_counts_once():
    """46 CFR 144.315(a): "absolute total of all additions, removals, and relocations"."""
    items = [
        Item("add", 5.0, at(10, 1, 8)),
        Item("remove", 5.0, at(10, 1, 8)),
        Item("relocate", 7.0, at(10, 0, 2), at(20, 0, 2)),
    ]
    found = weight_history(start=START, items=items)
    assert (found.added_t, found.removed_t, found.relocated_t) == (5.0, 5.0, 7.0)
    assert found.aggregate_t == 17.0
    assert found.aggregate_percent == pytest.approx(1.7, rel=1e-14)
    # the pair cancels in mass and moment; 7 t by 10 m of 1000 t is 0.07 m forward
    assert found.calculated.mass_t == 1000.0
    assert found.calculated.x_m == pytest.approx(30.07, rel=1e-14)
    assert (found.calculated.y_m, found.calculated.z_m) == (0.0, 5.0)


def test_calculated_centre_is_that_of_moments():
    found = weight_history(start=START, items=[Item("add", 250.0, at(10.0, 2.0, 9.0))])
    # (1000 · 30 + 250 · 10)/1250 = 26; 250 · 2/1250 = 0.4; (5000 + 2250)/1250 = 5.8
    assert found.calculated.mass_t == 1250.0
    assert [found.calculated.x_m, found.calculated.y_m, found.calculated.z_m] == pytest.approx([26.0, 0.4, 5.8])


def test_what_the_start_does_not_state_stays_unstated():
    found = weight_history(start=Lightship(1000.0, 30.0), items=[Item("add", 1.0, at(0, 1, 9))])
    assert found.calculated.y_m is None
    assert found.calculated.z_m is None


def test_order_does_not_matter():
    items = [Item("add", 5.0, at(1, 2, 3)), Item("remove", 4.0, at(7, 0, 1)), Item("add", 2.5, at(9, 1, 1))]
    one, other = (weight_history(start=START, items=chosen) for chosen in (items, items[::-1]))
    assert one.calculated.x_m == pytest.approx(other.calculated.x_m, rel=1e-14)
    assert one.aggregate_t == other.aggregate_t


def test_nothing_left_is_refused():
    with pytest.raises(NotDeterminedError) as refused:
        weight_history(start=START, items=[Item("remove", 1000.0, at(30))])
    assert refused.value.code == "lightship-not-positive"
    assert refused.value.field == "weight_history"
