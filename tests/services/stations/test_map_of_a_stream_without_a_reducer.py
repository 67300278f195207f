"""A stream that lacks its reducer helps no other one; the map of the others is drawn."""

from __future__ import annotations

from datetime import date

from steadyhead.services.judging import judge_file
from steadyhead.services.stations.steps import draft, read_steps
from steadyhead.services.stations.trying import map_svg
from steadyhead.station.document import dump
from steadyhead.station.examples import read


def test_the_map_is_drawn_where_another_stream_has_lost_its_reducer():
    source = read("veldany-house")
    steps = read_steps([{"do": "remove", "at": ["line", 4, "branches", 1, "line", 4]}])
    judged = judge_file(dump(draft(source, steps)), "x.yaml", date(2026, 11, 27))
    assert judged.sheet.findings
    map_svg(judged)
