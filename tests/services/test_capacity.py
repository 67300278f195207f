from __future__ import annotations

from datetime import date

import pytest

from steadyhead.errors import InputError
from steadyhead.records.pictures import CapacityPicture
from steadyhead.services.capacity import capacity_picture, capacity_pictures, required_of
from steadyhead.services.judging import Judged, judge_file
from steadyhead.services.papers import design_paper, picture_data
from steadyhead.station.examples import read
from steadyhead.units import METRIC, US
from tests.reports import reading


def judged(name: str, old: str = "", new: str = "") -> Judged:
    text = read(name).decode("utf-8")
    assert old in text
    return judge_file(text.replace(old, new, 1).encode())


def test_the_design_sheet_shows_the_map_of_each_reducer_and_what_other_sizes_need():
    paper = design_paper(judged("sorrel-flat"), US, date(2027, 3, 2))
    words = reading.text(paper)
    for said in ("Capacity of RV1", "Capacity of RV2", "What a valve of each size must pass in place of RV2"):
        assert said in words
    assert "Cv needed to hold duty pressure" in words
    assert all(reading.alternatives(paper))


def test_a_size_that_passes_nothing_is_told_in_words():
    found = judged("quillenby-row", "value: 7.2 bar", "value: 3.99 bar")
    words = reading.text(design_paper(found, METRIC, date(2027, 3, 2)))
    assert "none of this size" in words


def test_the_map_as_data_says_what_it_shows():
    data = picture_data(judged("quillenby-row"), "map")
    assert data["picture"] == "map"
    assert data["says"].startswith("Capacity map, Quillenby Row, RV")
    assert data["facts"]["shown"]["borders"]


def test_another_reducer_may_be_named():
    shown = capacity_picture(judged("sorrel-flat"), "RV2")
    assert isinstance(shown, CapacityPicture)
    assert shown.shown.reducer == "RV2"


def test_a_station_the_twin_cannot_work_with_has_no_map():
    found = judged("quillenby-row", "senses: T3", "senses: T0")
    with pytest.raises(InputError, match="no capacity map yet"):
        capacity_picture(found)
    assert capacity_pictures(found) == ()
    assert required_of(found) == ()


def with_streams() -> Judged:
    """Two streams and a low-flow one beside the reducer of an example."""
    text = read("quillenby-row").decode("utf-8")
    head, mark, tail = text.partition("  - {part: isolating_valve, id: IV1")
    line = """
  - {part: isolating_valve, id: IV1, size: DN 150, turns: 24 turns, closes: clockwise, tight: yes}
  - {part: strainer, id: ST, size: DN 150}
  - {part: tap, id: T1}
  - part: parallel
    id: PG
    branches:
      - id: a
        role: main
        line:
          - part: reducer
            id: RV
            size: DN 80
            duty: {pressure: 4.0 bar, flow: 5 L/s}
            lockup: 4.2 bar
            senses: T3
            pilot: {spring_low: 1.5 bar, spring_high: 7 bar, raises: clockwise}
      - id: lb
        role: low flow
        line:
          - part: reducer
            id: LB
            kind: direct-acting
            size: DN 25
            kv: Kv 8
            duty: {pressure: 4.25 bar, flow: 0.5 L/s}
            senses: T3
            pilot: {spring_low: 1.5 bar, spring_high: 7 bar, raises: clockwise}
  - {part: tap, id: T3}
  - {part: drain, id: TD, size: DN 80, kv: Kv 45}
  - {part: isolating_valve, id: IV2, size: DN 150, turns: 24 turns, closes: clockwise, tight: yes}
  - {part: tap, id: T4}
"""
    rest = tail.partition("\nalarm:")[2]
    assert mark
    assert rest
    return judge_file(f"{head}{line.lstrip(chr(10))}\nalarm:{rest}".encode())


def test_a_reducer_inside_a_stream_has_a_map_and_a_direct_acting_one_is_refused_plainly():
    found = with_streams()
    assert "inlet of the main stream a" in picture_data(found, "map", reducer="RV")["says"]
    assert [picture.shown.reducer for picture in capacity_pictures(found)] == ["RV"]
    assert [one.reducer for one in required_of(found)] == ["RV", "LB"]
    with pytest.raises(InputError, match=r"direct-acting.*Judge it by the flow and droop"):
        capacity_picture(found, "LB")
    with pytest.raises(InputError, match="reducers of this station: RV, LB"):
        capacity_picture(found, "XX")


def test_the_design_sheet_shows_what_the_sizing_rests_on_losses_and_fire_flow_with_evidence():
    found = judged("quillenby-row", "  name: Quillenby Row\n", "  name: Quillenby Row\n  altitude: 1500 m\n")
    words = reading.text(design_paper(found, METRIC, date(2027, 3, 2)))
    for said in (
        "What the sizing of RV rests on", "standard atmosphere at 1500 m, altitude of the file",
        "vapour pressure of the water, absolute", "F_F", "nearest isolating valve, else the main",
        "velocity in a valve's bore, lasting", "ST, clean strainer", "Fire flow",
        "common practice: 0.1 to 0.2 bar",
        "gravel range", "Quick check of its loop", "not calibrated, forbids nothing",
    ):  # fmt: skip
        assert said.replace("'", "’") in words or said in words, said
    assert "dB" not in words
