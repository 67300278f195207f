"""The closing-time picture: every side in its frame, the window through all of them, in every palette."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from steadyhead.drawings.closing import compose_closing, draw_closing
from steadyhead.drawings.closing_facts import closing_text, resolve_closing
from steadyhead.drawings.palette import Palette, one_colour, paper, screen
from steadyhead.records.closing import ClosingPicture, ClosingSweep, SweptPeak, SweptPoint
from steadyhead.records.protection import Failure, NeedleWindow, Side, Stroke, WindowEdge
from steadyhead.units import US

TIMES = (0.5, 1.5, 3.0, 6.0, 12.0, 24.0, 60.0, 120.0)
STROKE = Stroke(11.3e5, 11.3e5, 0.0004, True)


def _edge(stopwatch: float, side: Side) -> WindowEdge:
    failure = Failure("RV", "drifts open", 120.0, True)
    return WindowEdge(1.6, stopwatch, stopwatch, side, "old spur", failure, "static", "night", 3)


def _point(time: float) -> SweptPoint:
    consumer = SweptPeak(
        "consumer", 5.2e5 + 2e4 * time, "a case", 5.4e5 + 2e4 * time, "a case", "old spur", 5.94e5
    )
    inlet = SweptPeak("inlet", 19e5 - 4e4 * time, "a case", None, "", "supply main", 16e5)
    between = SweptPeak("between", 11e5, "a case", None, "", "section between the valves", 20e5)
    return SweptPoint(time, (consumer, between, inlet), parts=time < 1.0)


WINDOW = NeedleWindow("open", True, _edge(10.3, "consumer"), _edge(8.7, "inlet"), 1.98, 5.6, STROKE)
SWEEP = ClosingSweep("main", "main stream", "SO", 5.6, tuple(_point(time) for time in TIMES), WINDOW, 12)
PICTURE = ClosingPicture("Quernhollow Lane", 142.0, SWEEP)
EMPTY = replace(PICTURE, sweep=replace(SWEEP, window=replace(WINDOW, state="empty")))
NO_TRIP = replace(PICTURE, sweep=replace(SWEEP, points=(), window=replace(WINDOW, state="no trip")))


@pytest.mark.parametrize("palette", [screen(), screen(embed=True), paper(), one_colour()])
@pytest.mark.parametrize("width", [340.0, 880.0, 1240.0])
@pytest.mark.parametrize("picture", [PICTURE, EMPTY, NO_TRIP, replace(PICTURE, units=US)])
def test_it_is_drawn_in_every_palette_and_width_inside_its_frame(
    picture: ClosingPicture, palette: Palette, width: float
) -> None:
    drawn = draw_closing(picture, palette, width)
    assert ET.fromstring(drawn).tag.endswith("svg")
    assert "nan" not in drawn
    assert palette.name == "screen" or "var(" not in drawn
    canvas = compose_closing(picture, palette, width)
    for box in canvas.boxes:
        assert box.left >= -1.0
        assert box.right <= width + 1.0, box
        assert box.top >= 0.0
        assert box.bottom <= canvas.height


@pytest.mark.parametrize("width", [340.0, 880.0, 1240.0])
def test_what_is_named_lies_apart(width: float) -> None:
    boxes = [box for box in compose_closing(PICTURE, paper(), width).boxes if len(box.text) < 60]
    for number, box in enumerate(boxes):
        met = [other.text for other in boxes[number + 1 :] if box.meets(other)]
        assert not met, (box.text, met)


def test_a_side_far_from_its_limit_is_left_to_the_table_and_the_window_is_rounded_into_itself() -> None:
    facts = resolve_closing(PICTURE)
    assert [frame.side for frame in facts.frames] == ["inlet", "consumer"]
    assert facts.window_words() == "window 8.7 s – 10.3 s"
    assert facts.now_words() == "as it is 5.6 s"


def test_one_sentence_says_what_it_shows() -> None:
    told = closing_text(PICTURE)
    for words in ("Quernhollow Lane, main stream", "window 8.7 s – 10.3 s", "16.00 supply main bears"):
        assert words in told
    assert "no window" in closing_text(EMPTY)
    assert "nothing is asked of its closing time" in closing_text(NO_TRIP)
