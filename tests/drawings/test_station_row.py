"""The line of a station in the list: shares of the width, shapes used from one place, labels left open."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.drawings.station_row import (
    LEFT,
    SPAN,
    TOP,
    RowFacts,
    draw_row,
    place_of,
    row_key,
    row_rule,
    row_shapes,
)

BAR = 1e5
USUAL = RowFacts((8.4 * BAR, 10.6 * BAR, 11.8 * BAR), 4 * BAR, 4.8 * BAR, 5.1 * BAR, 5.94 * BAR)
pressures = st.floats(-2e5, 60e5, allow_nan=False)
maybe = st.none() | pressures


def _xml(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


@given(
    st.tuples(pressures, pressures, pressures),
    maybe,
    maybe,
    maybe,
    maybe,
    maybe,
    st.booleans(),
    st.booleans(),
)
def test_whatever_the_pressures_the_line_stays_in_its_row(
    inlet: tuple[float, float, float],
    duty: float | None,
    alarm: float | None,
    trip: float | None,
    limit: float | None,
    read: float | None,
    is_down: bool,
    is_known: bool,
) -> None:
    low, usual, high = sorted(inlet)
    facts = RowFacts((low, usual, high), duty, alarm, trip, limit, read, is_down, is_known)
    drawn = draw_row(facts)
    _xml(drawn.svg)
    shares = [float(one) for one in re.findall(r'(?:x|x1|x2)="(-?[\d.]+)%"', drawn.svg)]
    assert all(0.0 <= one <= 100.0 for one in shares)
    assert "style=" not in drawn.svg
    assert [f"{{{at}}}" in drawn.svg for at in range(3)] == [at < len(drawn.labels) for at in range(3)]
    assert draw_row(facts) == drawn


def test_one_rule_for_all_stations() -> None:
    assert place_of(0.0) == LEFT
    assert place_of(TOP) == LEFT + SPAN
    assert place_of(TOP / 2) == pytest.approx(LEFT + SPAN / 2)
    assert place_of(99e5) == place_of(TOP)
    assert place_of(-1e5) == LEFT


def test_a_reading_is_ringed_and_what_is_worked_out_is_not() -> None:
    assert "#row-ring" not in draw_row(USUAL).svg
    assert "#row-duty" in draw_row(USUAL).svg
    seen = draw_row(RowFacts(USUAL.inlet, USUAL.duty, read=4.1 * BAR))
    assert "#row-ring" in seen.svg
    assert seen.labels == (11.8 * BAR, 4.1 * BAR)


def test_the_line_of_a_station_that_is_shut_ends_in_the_blade_at_its_trip() -> None:
    down = draw_row(RowFacts(USUAL.inlet, USUAL.duty, USUAL.alarm, USUAL.trip, USUAL.limit, is_down=True)).svg
    assert f'<use href="#row-blade" x="{place_of(5.1 * BAR):.4g}%"' in down
    assert "#row-arrow" not in down


def test_an_inlet_beyond_the_rule_is_drawn_cut() -> None:
    assert "#row-cut" in draw_row(RowFacts((12 * BAR, 17 * BAR, 22 * BAR), 4 * BAR)).svg
    assert "#row-cut" not in draw_row(USUAL).svg


def test_a_figure_of_the_inlet_never_stands_behind_the_limit_as_if_it_were_its_own() -> None:
    near = draw_row(RowFacts((5.6 * BAR, 6.8 * BAR, 7.6 * BAR), 3.8 * BAR, limit=8.2 * BAR)).svg
    assert 'class="row-said end"' in near
    assert 'class="row-said end"' not in draw_row(USUAL).svg


def test_every_shape_a_row_uses_is_drawn_once_for_the_page() -> None:
    shapes, rows = row_shapes(), draw_row(USUAL).svg + row_key()
    rows += draw_row(RowFacts((1e5, 20e5, 30e5), 2e5, 3e5, 4e5, 5e5, is_down=True)).svg
    for name in set(re.findall(r'href="#([\w-]+)"', rows)):
        assert shapes.count(f'id="{name}"') == 1
    _xml(shapes)
    _xml(row_key())


def test_the_head_of_the_rule_says_its_figures_as_text() -> None:
    head = row_rule(["0", "<2>", "4"])
    assert [one.text for one in _xml(head).iter("text")] == ["0", "<2>", "4"]
