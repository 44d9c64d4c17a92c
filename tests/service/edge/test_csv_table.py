"""Columns as CSV."""

import pytest

from service.edge.csv_table import US_SUFFIXES, columns_csv, us_head


def test_si_is_what_was_given() -> None:
    text = columns_csv({"draft_m": [3.0, None], "row_count": [1, 2], "name": ["=1+1", 'a"b']})
    assert text == 'draft_m,row_count,name\r\n3.0,1,\'=1+1\r\n,2,"a""b"\r\n'


def test_no_negative_zero() -> None:
    assert columns_csv({"trim_m": [-0.0]}) == "trim_m\r\n0.0\r\n"


@pytest.mark.parametrize(
    ("name", "value", "head", "expected"),
    [
        # definitions of the units: 1 ft = 0.3048 m, 1 in = 25.4 mm, 1 LT = 2240 lb, 1 lb = 0.45359237 kg
        ("draft_m", 0.3048, "draft_ft", 1.0),
        ("shell_mm", 25.4, "shell_in", 1.0),
        ("displacement_t", 2240 * 0.00045359237, "displacement_lt", 1.0),
        ("waterplane_area_m2", 0.3048**2, "waterplane_area_ft2", 1.0),
        ("volume_m3", 0.3048**3, "volume_ft3", 1.0),
        ("immersion_t_per_cm", 1.0160469088 / 2.54, "immersion_lt_per_in", 1.0),
        ("moment_to_trim_tm_per_cm", 1.0160469088 * 0.3048 / 2.54, "moment_to_trim_lt_ft_per_in", 1.0),
        ("density_t_per_m3", 0.00045359237 / 0.3048**3, "density_lb_per_ft3", 1.0),
        ("slope_per_tm", 1.0, "slope_per_lt_ft", 1.0160469088 * 0.3048),
        ("heel_deg", 2.0, "heel_deg", 2.0),
        ("block_coefficient", 0.5, "block_coefficient", 0.5),
    ],
)
def test_us_units(name: str, value: float, head: str, expected: float) -> None:
    first, second, _ = columns_csv({name: [value]}, "us").split("\r\n")
    assert first == head
    assert float(second) == pytest.approx(expected, rel=1e-12)


def test_the_longest_ending_wins() -> None:
    for ending, (us, _) in US_SUFFIXES.items():
        assert us_head("thing" + ending)[0] == "thing" + us
