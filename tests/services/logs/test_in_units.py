"""Measures on a page are in the reader's units, as close as they are known, without exponents."""

from __future__ import annotations

import pytest

from steadyhead.services.logs.in_units import in_units
from steadyhead.services.logs.measuring import MeasureView
from steadyhead.units import METRIC, US


def measure(
    unit: str, value: float | None, low: float | None = None, high: float | None = None
) -> MeasureView:
    return MeasureView(
        code="droop", value=value, unit=unit, low=low, high=high, start="", end="", n_valid=1, n_total=1,
        channels=(), assumptions=(), confidence="good", words="", rows=(),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (("Pa", 1.261e4, 1.207e4, 1.307e4), "0.126 bar, between 0.121 bar and 0.131 bar"),
        (("fraction", 0.982), "98.2 %"),
        (("m3/s", 0.01205), "12.05 L/s"),
        (("Pa/Pa", 0.0587, 0.0516, 0.0659), "0.059, between 0.052 and 0.066"),
        (("Pa s2/m6", 2.402e8), "0.0024 bar/(L/s)²"),
        (
            ("Pa s2/m6 per day", 2.49e5, -4.3e6, 4.3e6),
            "0.0000025 bar/(L/s)² per day, between −0.000043 bar/(L/s)² per day "
            "and 0.000043 bar/(L/s)² per day",
        ),
        (("per day", 2.04, 1.44, 2.82), "2.04 per day, between 1.44 per day and 2.82 per day"),
        (("s", 1378080.0, 748680.0, 2010360.0), "383 h, between 208 h and 558 h"),
        (("s", 5400.0), "5400 s"),
        (("Pa", None), ""),
    ],
)
def test_a_measure_is_told_in_units_of_the_trade(given, told):
    assert in_units(measure(*given), METRIC) == told


def test_a_reader_of_other_units_gets_theirs():
    assert in_units(measure("Pa", 1.261e4, 1.207e4, 1.307e4), US).startswith("1.83 psi, between")
