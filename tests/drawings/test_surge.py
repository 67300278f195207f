"""The surge trace: every curve keeps its highs, names lie apart, one sentence says it."""

from __future__ import annotations

import random
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from dataclasses import replace

import pytest

from steadyhead.drawings.alt import alt_text
from steadyhead.drawings.palette import one_colour, paper, screen
from steadyhead.drawings.surge import compose_surge, draw_surge, thinned
from steadyhead.drawings.surge_facts import resolve_surge
from steadyhead.records.surge import SurgeRun
from steadyhead.services.surge import run_surge, surge_picture
from steadyhead.units import US
from tests.surge.files import text
from tests.surge.test_reaches import TREE


@pytest.fixture(scope="module")
def picture():
    answer = run_surge(text(), event="pilot-stuck")
    return surge_picture(answer, answer.worst)


@pytest.mark.parametrize("palette", [screen(), screen(embed=True), paper(), one_colour()])
@pytest.mark.parametrize("width", [360.0, 880.0, 1360.0])
def test_it_is_drawn_in_every_palette_and_width_inside_its_frame(picture, palette, width):
    drawn = draw_surge(picture, palette, width)
    assert ET.fromstring(drawn).tag.endswith("svg")
    assert "nan" not in drawn
    canvas = compose_surge(picture, palette, width)
    for box in canvas.boxes:
        assert box.left >= -1.0
        assert box.right <= width + 1.0, box
        assert box.top >= 0.0
        assert box.bottom <= canvas.height


@pytest.mark.parametrize("width", [340.0, 740.0, 880.0, 1360.0])
def test_names_of_limits_and_curves_lie_apart(picture, width):
    canvas = compose_surge(picture, paper(), width)
    named = [box for box in canvas.boxes if any(word in box.text for word in ("bears", "trips", "up to"))]
    short = [box for box in named if len(box.text) < 60]
    assert len(short) >= 4
    for number, box in enumerate(short):
        assert not any(box.meets(other) for other in short[number + 1 :])


def test_thinning_keeps_the_highest_and_the_lowest():
    rng = random.Random(7)
    values = [rng.uniform(0, 9) for _ in range(5000)]
    found = thinned(list(range(5000)), values, 300)
    assert len(found) <= 302
    assert max(v for _, v in found) == max(values)
    assert min(v for _, v in found) == min(values)
    assert [t for t, _ in found] == sorted(t for t, _ in found)


def test_one_sentence_says_event_peaks_and_times_in_the_units_of_the_reader(picture):
    said = alt_text(picture)
    assert "the pilot of RV sticks open" in said
    assert "SO trips" in said
    assert "parts" in said
    assert said.count("..") == 0
    assert "psi" in alt_text(replace(picture, units=US))


def test_what_comes_after_a_cavity_fell_in_is_hatched_and_not_on_the_scale(picture):
    facts = resolve_surge(picture)
    assert facts.fell_in is not None
    assert facts.judged < facts.lines
    judged = max(facts.supply[: facts.judged])
    wild = dict(picture.run.trace.pressures)
    wild["T0"] = tuple(
        400e5 if time > picture.run.fell_in + 1.0 else value
        for time, value in zip(picture.run.trace.time, wild["T0"], strict=True)
    )
    trace = replace(picture.run.trace, pressures=wild)
    changed = replace(picture, run=replace(picture.run, trace=trace))
    assert resolve_surge(changed).span() == facts.span()
    assert f"up to {judged / 1e5:.2f}" in alt_text(changed)
    assert "cavity falls in" in draw_surge(changed, screen(), 880.0)
    calm = replace(picture, run=replace(picture.run, fell_in=None))
    assert resolve_surge(calm).fell_in is None
    assert "cavity falls in" not in [words for _, words in resolve_surge(calm).events()]


def test_both_mains_lie_below_the_trace_with_the_station_between(picture):
    canvas = compose_surge(picture, paper(), 880.0)
    words = [box.text for box in canvas.boxes]
    assert "Along the mains, bar" in words
    assert "station" in words
    assert sum(word.endswith(" m") for word in words) >= 3
    station = next(box for box in canvas.boxes if box.text == "station")
    marks = [box for box in canvas.boxes if box.text.endswith(" m")]
    assert any(mark.right < station.left for mark in marks)
    assert any(mark.left > station.right for mark in marks)
    assert not any(mark.meets(other) for n, mark in enumerate(marks) for other in marks[n + 1 :])
    bare = compose_surge(replace(picture, run=replace(picture.run, profiles=())), paper(), 880.0)
    assert bare.height < canvas.height
    assert "Along the mains" not in [box.text for box in bare.boxes]


@pytest.mark.source(kind="analytic", ref="time counts from the event; limits and trip stand where they are")
def test_time_counts_from_the_beginning_of_the_event(picture):
    facts = resolve_surge(picture)
    assert facts.times[0] == -picture.run.event_at
    begins, words = facts.events()[0]
    assert begins == 0.0
    assert words == "begins"
    trips = next(moment for moment, words in facts.events() if "trips" in words)
    assert trips == pytest.approx(picture.run.shut_offs[0].trip - picture.run.event_at)
    assert facts.times[-1] <= facts.shown_until - picture.run.event_at + 1e-9


def test_a_run_without_a_trip_is_shown_until_it_is_calm():
    answer = run_surge(text(), event="supply-rises")
    run = longer(answer.worst, 60.0)
    facts = resolve_surge(surge_picture(answer, run))
    assert facts.times[-1] < run.until - 10.0
    assert "Shown until" in facts.caption()[0]


def longer(run: SurgeRun, seconds: float) -> SurgeRun:
    """Return a run that stands still for so long at its end."""
    trace = run.trace

    def held(values: Mapping[str, tuple[float, ...]]) -> dict[str, tuple[float, ...]]:
        return {name: (*row, row[-1]) for name, row in values.items()}

    kept = replace(
        trace,
        time=(*trace.time, trace.time[-1] + seconds),
        pressures=held(trace.pressures),
        flows=held(trace.flows),
        lifts=held(trace.lifts),
    )
    return replace(run, until=run.until + seconds, trace=kept)


def test_branches_are_drawn_by_their_distance_from_the_station():
    source = text(zone=TREE)
    answer = run_surge(source, event="demand-falls")
    canvas = compose_surge(surge_picture(answer, answer.worst), screen(), 1360.0)
    assert "nan" not in draw_surge(surge_picture(answer, answer.worst), screen(), 1360.0)
    assert any(box.text == "800 m" for box in canvas.boxes)
