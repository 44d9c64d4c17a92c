"""The smallest set that reaches the target, and none lighter does."""

import pytest

from engine.errors import InputError
from engine.planning.deck import Stock
from engine.planning.instruments import Needs
from engine.planning.optimise import optimise
from engine.planning.predicted import predict
from engine.planning.stations import freeboard_stations
from engine.planning.weights import HeelRange
from tests.engine.planning.ships import BLOCKS, PLACES, SPREAD, TWO_LANES, box_ship

SHIP = box_ship()
STATIONS = freeboard_stations(hull=SHIP.hull, plane=predict(SHIP).position.planes)


def best(target, stock=BLOCKS):
    return optimise(
        SHIP,
        stock=[stock],
        deck=TWO_LANES,
        heel=HeelRange(),
        places=PLACES,
        needs=Needs(),
        stations=STATIONS,
        spread=SPREAD,
        vcg_standard_uncertainty_m=target,
    )


def test_a_modest_target_takes_fewer_weights_than_a_severe_one():
    loose, severe = best(0.02), best(0.0084)
    assert loose.reached
    assert loose.vcg_standard_uncertainty_m <= 0.02
    assert severe.chosen.mass_t > loose.chosen.mass_t
    assert severe.vcg_standard_uncertainty_m < loose.vcg_standard_uncertainty_m


def test_none_lighter_reaches_it():
    found = best(0.0088)
    assert found.reached
    count = round(found.chosen.mass_t / BLOCKS.mass_t) - 4
    lighter = best(0.0088, Stock(2.5, count, 1.2, 1.0, 0.8))
    assert lighter is None or not lighter.reached


def test_a_target_out_of_reach_gives_the_best_there_is():
    found = best(1e-4)
    assert not found.reached
    assert found.vcg_standard_uncertainty_m > 1e-4
    assert found.vcg_standard_uncertainty_m <= best(0.02).vcg_standard_uncertainty_m


def test_none_where_no_set_keeps_the_heel():
    assert best(0.01, Stock(0.05, 4, 0.5, 0.5, 0.5)) is None


def test_a_target_of_nothing_is_refused():
    with pytest.raises(InputError) as refused:
        best(0.0)
    assert (refused.value.code, refused.value.field) == ("not-positive", "vcg_standard_uncertainty_m")
