"""Two files beside each other: values, parts, order, and the ladder."""

from __future__ import annotations

import pytest

from steadyhead.services.stations.comparing import compared, differences
from steadyhead.services.stations.rungs import _moved
from steadyhead.services.stations.steps import draft, read_steps
from steadyhead.station.document import dump
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.units import METRIC, US

SOURCE = read("quernhollow-lane")


def _changed(*steps):
    return dump(draft(SOURCE, read_steps(list(steps))))


def test_the_same_file_has_no_difference():
    found = compared(SOURCE, SOURCE)
    assert found.differences == ()
    assert not found.only_text
    assert all(not rung.moved for rung in found.rungs)


def test_a_comment_more_is_told_as_text_only():
    found = compared(SOURCE, SOURCE + b"# looked at\n")
    assert found.differences == ()
    assert found.only_text


def test_a_value_is_told_with_before_and_after_in_the_readers_units():
    found = compared(SOURCE, _changed({"do": "set", "at": ["line", 5, "trip"], "value": "76 psi"}), US)
    one = found.differences[0]
    assert (one.field, one.kind, one.was, one.now) == (
        "SO: trip",
        "changed",
        "74.0 psi, typed 5.1 bar",
        "76 psi",
    )
    trip = next(rung for rung in found.rungs if rung.name == "trip")
    assert trip.moved.startswith("up")
    assert trip.was_pa == pytest.approx(5.1e5)


def test_a_plain_number_is_said_as_typed_and_not_in_per_cent():
    new = _changed({"do": "set", "at": ["zone", "bore_over_wall"], "value": "19"})
    one = next(one for one in compared(SOURCE, new).differences if one.field.endswith("bore_over_wall"))
    assert one.now == "19"
    assert "%" not in one.was


def test_an_answer_is_told_by_what_it_answers_and_in_words():
    answer = {"to": "LAY-26", "at": "station.fire_water", "value": "982b7e921608", "answer": "asked",
              "by": "Ada Holm", "shut_off": "allowed"}  # fmt: skip
    new = _changed({"do": "add", "at": ["answers"], "value": answer})
    (one,) = compared(SOURCE, new).differences
    assert (one.field, one.kind) == ("answer to LAY-26, station: fire water", "added")
    assert one.now == "answer: asked, by: Ada Holm, shut off: allowed"


def test_parts_are_told_added_removed_and_moved_by_their_names():
    new = _changed(
        {"do": "add", "at": ["line"], "to": 2, "value": {"part": "vent", "id": "V1"}},
        {"do": "remove", "at": ["line", 1]},
        {"do": "move", "at": ["gauges", 0], "to": 1},
    )
    told = {(one.field, one.kind): one for one in compared(SOURCE, new).differences}
    assert told["V1", "added"].now == "vent V1"
    assert told["IV1", "removed"].was.startswith("isolating valve IV1, inlet isolating: size: DN 150")
    moved = [one for one in told.values() if one.kind == "moved"]
    assert len(moved) == 1
    assert moved[0].field.startswith("gauges TG-")


def test_where_a_value_comes_from_is_a_difference_of_its_own():
    new = _changed({"do": "set", "at": ["supply", "typical", "source"], "value": "logger"})
    assert [(one.field, one.now) for one in compared(SOURCE, new).differences] == [
        ("supply.typical.source", "logger")
    ]


def test_both_ways_tell_the_same_places():
    new = load(_changed({"do": "set", "at": ["alarm", "pressure"], "value": "4.7 bar"},
                        {"do": "remove", "at": ["equipment"]})).data  # fmt: skip
    old = load(SOURCE).data
    there, back = differences(old, new), differences(new, old)
    assert {one.field for one in there} == {one.field for one in back}
    assert {(one.was, one.now) for one in there} == {(one.now, one.was) for one in back}


@pytest.mark.parametrize(("writing", "units"), [("5,1 bar", METRIC), ("510 kPa", METRIC), ("5.10 bar", US)])
def test_the_same_value_in_another_writing_is_told_as_written_anew(writing, units):
    found = compared(SOURCE, _changed({"do": "set", "at": ["line", 5, "trip"], "value": writing}), units)
    told = [(one.kind, one.was, one.now) for one in found.differences]
    assert told == [("anew", "5.1 bar", writing)]
    assert all(not rung.moved for rung in found.rungs)


@pytest.mark.parametrize(
    ("now", "was", "units", "said"),
    [
        (5.0967e5, 5.1e5, METRIC, ""), (5.0947e5, 5.1004e5, METRIC, "down 0.01 bar"),
        (4.65e5, 4.4e5, METRIC, "up 0.25 bar"),
        (5.09e5, 5.1e5, US, "down 0.2 psi"),
    ],
)  # fmt: skip
def test_a_pressure_moved_by_what_the_shown_figures_differ(now, was, units, said):
    assert _moved(now, was, units) == said
