"""Fields of the station file: what a quantity field reads, keeps and writes."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from steadyhead.records.quantities import Duration, PositivePressure, Ratio, Size, Temperature, as_typed

PRESSURE, RATIO = TypeAdapter(PositivePressure), TypeAdapter(Ratio)


def test_a_value_keeps_its_text_and_provenance():
    value = PRESSURE.validate_python(
        {
            "value": "4.2  bar",
            "source": "gauge",
            "date": "2026-03-02",
            "confidence": "measured",
            "plus_minus": "0.1 bar",
        }
    )
    assert (value.text, value.source, value.date, value.confidence) == (
        "4.2 bar",
        "gauge",
        "2026-03-02",
        "measured",
    )
    assert value.si == pytest.approx(4.2e5)
    assert value.spread == pytest.approx(0.1e5)


@pytest.mark.parametrize(
    ("kind", "typed"),
    [
        (PositivePressure, "95 psi"),
        (PositivePressure, {"value": "4.2 bar", "source": "gauge"}),
        (PositivePressure, {"value": "5.2 bar a", "plus_minus": "0.1 bar a"}),
        (Temperature, {"value": "52 °F", "plus_minus": "3 °F"}),
        (Ratio, {"value": "0.6", "plus_minus": "5 %"}),
        (Size, {"value": "4 in", "confidence": "stated"}),
        (Duration, {"value": "6 s", "date": "2026-01-01", "plus_minus": "0.5 s"}),
    ],
)
def test_a_value_written_and_read_again_is_the_same(kind, typed):
    adapter = TypeAdapter(kind)
    value = adapter.validate_python(typed)
    assert adapter.validate_python(as_typed(value)) == value
    assert adapter.validate_python(value) is value


@pytest.mark.parametrize("typed", [0.6, "0.6", "60 %"])
def test_a_ratio_needs_no_unit(typed):
    assert RATIO.validate_python(typed).si == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (4.2, "got 4.2 without a unit"),
        (True, "got no text where a quantity belongs"),
        (None, "got no text where a quantity belongs"),
        ({"source": "x"}, "got the keys source"),
        ("-1 bar", "below the lowest usable value 0 bar"),
        ("0.5 bar a", "below the lowest usable value 0 bar"),
    ],
)
def test_what_is_no_quantity_is_refused(typed, words):
    with pytest.raises(ValidationError, match=words):
        PRESSURE.validate_python(typed)


@pytest.mark.source(kind="analytic", ref="gauge = absolute − atmosphere")
def test_the_atmosphere_of_the_place_turns_absolute_into_gauge():
    value = PRESSURE.validate_python("3 bar a", context={"atmosphere_pa": 80e3})
    assert value.si == pytest.approx(2.2e5)
    assert PRESSURE.validate_python("3 bar a").si == pytest.approx(3e5 - 101325)
