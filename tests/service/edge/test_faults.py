"""What the validator finds is told once, and only what is so."""

from functools import partial

import pytest

from service.edge import strict_json
from service.edge.operation import names_of
from service.edge.problems import ProblemError
from service.schemas.record import StabilityTest
from tests.service.edge.small import AreaRequest

BOX = b'"shape": {"kind": "box", "length_m": 1, "breadth_m": 1}'


def faults(body: bytes) -> tuple[str, list[tuple[str, str]]]:
    with pytest.raises(ProblemError) as caught:
        strict_json.parse(AreaRequest, body, partial(names_of, AreaRequest))
    return caught.value.code, [(one.pointer, one.code) for one in caught.value.faults]


def test_a_whole_number_written_as_another_program_may() -> None:
    """JSON Schema takes 1.0 for an integer, so this is no fault of the schema."""
    assert faults(b'{%s, "number_count": 1.0}' % BOX) == (
        "whole-number-form",
        [("#/number_count", "whole-number-form")],
    )
    assert faults(b'{%s, "number_count": 1.5}' % BOX)[0] == "schema"
    assert faults(b'{%s, "number_count": true}' % BOX)[0] == "schema"


def test_an_array_with_a_bad_entry_is_not_called_short() -> None:
    """The one sample has a fault of its own; the array does hold one."""
    body = b'{"hull": {"kind": "library", "name": "a"}, "water": {"samples": [{"density_t_per_m3": "0 t/m3"}]},'
    body += b'"weights": [{"id": "a", "mass_t": 1, "x_m": 0, "y_m": 0, "z_m": 0}], "moves": [],'
    body += b'"instruments": [{"kind": "inclinometer", "id": "a", "positive": "port", "angles_deg": [0]}]}'
    with pytest.raises(ProblemError) as caught:
        strict_json.parse(StabilityTest, body, partial(names_of, StabilityTest))
    assert caught.value.code == "quantity-range"
    assert [one.pointer for one in caught.value.faults] == ["#/water/samples/0/density_t_per_m3"]


def test_an_array_that_is_short_is() -> None:
    body = b'{"hull": {"kind": "library", "name": "a"}, "water": {"samples": []}, "weights": [], "moves": [],'
    body += b'"instruments": []}'
    with pytest.raises(ProblemError) as caught:
        strict_json.parse(StabilityTest, body, partial(names_of, StabilityTest))
    assert caught.value.code == "schema"
    assert {one.code for one in caught.value.faults} == {"wrong-count"}
