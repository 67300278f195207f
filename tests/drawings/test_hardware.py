from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.drawings import draw_strip, one_colour, screen
from steadyhead.drawings.hardware import Placing, branch_ends, root_places, sensing_lines, shared_roots
from steadyhead.errors import InputError
from steadyhead.records.pictures import SensingLine, StripLimit, TapPressure
from tests.drawings.samples import BYPASS, DOWNSTREAM, REDUCER, SERIES, UPSTREAM


def placing(picture):
    return Placing(tuple(100.0 * index for index in range(len(picture.parts))), 0.0, 2000.0, 0.0)


def test_each_pilot_of_its_own_tapping_has_its_own_root_and_line():
    along = placing(UPSTREAM)
    lines = sensing_lines(UPSTREAM, along.along)
    assert len(set(root_places(lines, along).values())) == 2
    assert {line.level for line in lines} == {0, 1}
    assert shared_roots(lines) == ()


def test_the_line_of_the_nearer_pilot_lies_inside():
    lines = sensing_lines(UPSTREAM, placing(UPSTREAM).along)
    nearest = min(lines, key=lambda line: line.tap - line.part)
    assert nearest.level == 0
    assert UPSTREAM.parts[nearest.part].id == "RV"


def test_a_shared_tapping_is_one_root():
    along = placing(SERIES)
    lines = sensing_lines(SERIES, along.along)
    assert shared_roots(lines) == ("shared",)
    assert len(root_places(lines, along)) == 2
    assert "shared root" in draw_strip(SERIES, screen(), 1360)
    assert "shared root" not in draw_strip(UPSTREAM, screen(), 1360)


def test_sensing_lines_that_do_not_pass_each_other_run_at_one_depth():
    lines = sensing_lines(DOWNSTREAM, placing(DOWNSTREAM).along)
    assert {line.level for line in lines} == {0}


def test_a_bypass_leaves_behind_the_first_part_named_and_returns_before_the_second():
    picture = replace(UPSTREAM, branches=(BYPASS,))
    along = placing(picture)
    order = {part.id: index for index, part in enumerate(picture.parts)}
    first, last = branch_ends(picture, along, BYPASS)
    assert along.along[order["IV1"]] < first < along.along[order["ST"]]
    assert along.along[order["TD"]] < last < along.along[order["IV2"]]


@pytest.mark.parametrize("width", [390, 720, 1360])
def test_a_branch_needs_its_room_and_is_named(width):
    with_branch = draw_strip(replace(UPSTREAM, branches=(BYPASS,)), one_colour(), width)
    assert "Manual" in with_branch
    assert len(with_branch) > len(draw_strip(UPSTREAM, one_colour(), width))


def test_a_tap_that_is_not_there_is_refused_by_name():
    wrong = replace(UPSTREAM, pressures=(TapPressure("T9", 1e5),))
    with pytest.raises(InputError, match=r"^pressures: .*'T9'.* Add the tap"):
        draw_strip(wrong, screen(), 1360)


def test_a_sensing_line_to_nowhere_is_refused_by_name():
    lost = replace(REDUCER, sensing=SensingLine("T9", "root"))
    parts = tuple(lost if part.id == "RV" else part for part in UPSTREAM.parts)
    with pytest.raises(InputError, match=r"^RV\.sensing: .*'T9'"):
        draw_strip(replace(UPSTREAM, parts=parts), screen(), 1360)


def test_a_limit_that_starts_at_no_part_is_refused_by_name():
    limits = (StripLimit("fault", 5e5, after="XY"),)
    with pytest.raises(InputError, match=r"^parts: .*'XY'"):
        draw_strip(replace(UPSTREAM, limits=limits), screen(), 1360)


def test_a_limit_that_is_no_number_is_refused():
    with pytest.raises(InputError, match=r"^limits\.trip: got nan"):
        draw_strip(replace(UPSTREAM, limits=(StripLimit("trip", float("nan")),)), screen(), 1360)


def test_a_pressure_that_is_no_number_is_shown_as_missing():
    pressures = (TapPressure("T0", float("nan"), source="worked out"), *UPSTREAM.pressures[1:])
    drawn = draw_strip(replace(UPSTREAM, pressures=pressures), screen(), 1360)
    assert "T0, not worked out" in drawn
    assert "nan" not in drawn


def test_a_strip_without_parts_is_refused():
    with pytest.raises(InputError, match=r"^parts: got none"):
        draw_strip(replace(UPSTREAM, parts=()), screen(), 1360)


def test_a_language_without_words_is_refused():
    with pytest.raises(InputError, match=r"^lang: got 'xx'"):
        draw_strip(UPSTREAM, screen(), 1360, "xx")
