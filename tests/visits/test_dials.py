"""A reading is asked for in the unit of the gauge that shows it; the reader's own stands beside."""

from __future__ import annotations

import re

import pytest

from steadyhead.records.station import Station
from steadyhead.services.planning import make_plan
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.units import METRIC, US, read_units
from steadyhead.visits.dials import dials, plan_units
from steadyhead.visits.text import render


def station(*changes: tuple[str, str]) -> tuple[Station, bytes]:
    text = read("quillenby-row").decode()
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return load(text).station, text.encode()


TG1 = ("{id: TG-1,", "{id: TG-1, dial: psi,")
TG2 = ("{id: TG-2,", "{id: TG-2, dial: psi,")


def test_a_dial_reads_in_the_unit_its_span_is_written_in_unless_it_is_stated():
    plain, _ = station()
    stated, _ = station(TG1)
    assert {gauge.reads_in for gauge in plain.gauges} == {"bar"}
    assert [gauge.reads_in for gauge in stated.gauges if gauge.id == "TG-1"] == ["psi"]
    assert set(dials(plain).values()) == {"bar"}
    assert dials(stated)["T3"] == "psi"


def test_taps_of_gauges_nobody_named_have_no_dial():
    plain, _ = station()
    assert dials(plain.model_copy(update={"gauges": ()})) == {}


def test_a_psi_gauge_reads_psi_first_in_a_metric_plan():
    both, source = station(TG1, TG2)
    plan = make_plan(source, "first")
    assert plan.procedure is not None
    assert plan.procedure is not None
    text = render(plan.procedure, METRIC, numbers=plan.numbers, dials=dials(both))
    assert re.search(r"expected [\d.]+ psi \([\d.]+ bar\) to [\d.]+ psi \([\d.]+ bar\)", text)
    assert not re.search(r"(?<![\d.(−])[\d.]+ bar(?!/)", text)
    assert "L/s" in text
    assert "gpm" not in text


def test_where_dials_differ_words_show_both_and_each_reading_its_own_first():
    mixed = plan_units(METRIC, {"T1": "psi", "T3": "bar"})
    assert mixed.words.heading("pressure") == "bar (psi)"
    assert mixed.at("T1").heading("pressure") == "psi (bar)"
    assert mixed.at("T3").heading("pressure") == "bar"
    assert mixed.at("T9") == mixed.words
    assert not mixed.one_dial


def test_a_reader_of_two_units_keeps_both_whatever_the_dial():
    read_both = read_units("us+metric")
    assert plan_units(read_both, {"T3": "bar"}).words.heading("pressure") == "bar (psi)"
    assert plan_units(read_both, {"T3": "psi"}).words is read_both
    assert plan_units(read_both, {"T3": "kPa"}).words.heading("pressure") == "kPa (psi)"
    assert plan_units(US, {}).words is US


def test_turn_tables_stand_in_both_units_line_under_line():
    both, source = station(TG1, TG2)
    plan = make_plan(source, "first")
    assert plan.procedure is not None
    text = render(plan.procedure, METRIC, numbers=plan.numbers, dials=dials(both))
    rows = re.findall(r"^T3\s+(psi|bar)((?:\s+[\d.]+)+)$", text, re.MULTILINE)
    assert rows
    for (unit, first), (other, second) in zip(rows[::2], rows[1::2], strict=True):
        assert (unit, other) == ("psi", "bar")
        for psi, bar in zip(first.split(), second.split(), strict=True):
            assert float(psi) * 6894.757 == pytest.approx(float(bar) * 1e5, abs=900.0)


def test_no_line_is_longer_than_the_page_in_two_units():
    both, source = station(TG1, TG2)
    plan = make_plan(source, "first")
    assert plan.procedure is not None
    for units in (METRIC, read_units("us+metric")):
        text = render(plan.procedure, units, numbers=plan.numbers, dials=dials(both))
        assert max(len(line) for line in text.splitlines()) <= 92
