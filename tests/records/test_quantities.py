"""Fields of the station file: what a quantity field reads, keeps and writes."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from steadyhead.records.quantities import (
    Duration,
    PositivePressure,
    Ratio,
    Share,
    Size,
    Temperature,
    Turns,
    as_typed,
)

PRESSURE, RATIO, SHARE = TypeAdapter(PositivePressure), TypeAdapter(Ratio), TypeAdapter(Share)


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


@pytest.mark.parametrize("typed", [0.6, 1, "0.6", "60", " .5 "])
def test_a_share_needs_its_per_cent(typed):
    with pytest.raises(ValidationError, match="without the per cent"):
        SHARE.validate_python(typed)


@pytest.mark.parametrize("typed", ["0.6 %", "0.6 percent", "0,6%"])
def test_a_share_in_per_cent_is_read(typed):
    assert SHARE.validate_python(typed).si == pytest.approx(0.006)


@pytest.mark.parametrize("typed", [3, "3", " 3.5", "1/4", "1e3"])
def test_turns_need_their_unit(typed):
    with pytest.raises(ValidationError, match="without a unit"):
        TypeAdapter(Turns).validate_python(typed)


def test_text_of_any_length_is_refused_at_once():
    with pytest.raises(ValidationError, match="got 300000 characters"):
        SHARE.validate_python("1" * 300_000)


@pytest.mark.parametrize("typed", ["2026-03-02", "2026-03", "1988", ""])
def test_a_date_may_be_a_month_or_a_year(typed):
    assert PRESSURE.validate_python({"value": "4.2 bar", "date": typed}).date == typed


@pytest.mark.parametrize("typed", ["2026-13", "26-03-02", "2026-3-2", "20260302", "1850", "yesterday"])
def test_what_is_no_date_is_refused(typed):
    with pytest.raises(ValidationError, match="no date of the calendar"):
        PRESSURE.validate_python({"value": "4.2 bar", "date": typed})


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
