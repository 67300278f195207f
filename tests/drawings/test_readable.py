"""Every picture, at every width: nothing written over, nothing cut off, the same bytes again."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steadyhead.drawings import draw_ladder, draw_strip, one_colour, paper, screen
from steadyhead.drawings.ladder import compose_ladder
from steadyhead.drawings.strip import compose_strip
from steadyhead.drawings.tokens import SIZES
from steadyhead.records.pictures import FailurePeak, LadderRung, StripLimit
from steadyhead.units import METRIC, UK, US
from tests.drawings.samples import BAR, LADDERS, STRIPS, UPSTREAM, WORKED_EXAMPLE, moved

pytestmark = pytest.mark.by_turns(2)

WIDTHS = (390, 640, 720, 768, 1024, 1360)
PALETTES = {"screen": screen(), "paper": paper()}
TOUCH = 1.0
"""Two lines of one block may come this near. [px]"""


def overlaps(canvas) -> list[tuple[str, str]]:
    return [(a.text, b.text) for a, b in combinations(canvas.boxes, 2) if a.meets(b, -TOUCH)]


def outside(canvas) -> list[str]:
    return [
        box.text
        for box in canvas.boxes
        if box.left < 0 or box.top < 0 or box.right > canvas.width or box.bottom > canvas.height
    ]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
@pytest.mark.parametrize("picture", STRIPS.values(), ids=STRIPS)
def test_nothing_on_a_strip_is_written_over_or_cut_off(picture, palette, width):
    canvas = compose_strip(picture, palette, width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
@pytest.mark.parametrize("picture", LADDERS.values(), ids=LADDERS)
def test_nothing_on_a_ladder_is_written_over_or_cut_off(picture, palette, width):
    canvas = compose_ladder(picture, palette, width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []


units = st.sampled_from([METRIC, UK, US])
pressures = st.floats(0.2, 30.0)


@st.composite
def ladders(draw):
    """Ladders of any height and crowding, with rungs as near to each other as they like."""
    factor, shift = draw(st.floats(0.05, 4.0)), draw(st.floats(0.0, 25.0))
    picture = moved(WORKED_EXAMPLE, "Any station", shift, factor, draw(units))
    near = draw(st.lists(st.floats(2.9, 6.6), max_size=3))
    rungs = [LadderRung("reset", (value * factor + shift) * BAR, "self-resetting") for value in near]
    peaks = draw(st.lists(st.floats(5.2, 9.0), max_size=6))
    return replace(
        picture,
        rungs=(*picture.rungs, *rungs),
        peaks=tuple(
            FailurePeak("reducer drifts open, average demand", (value * factor + shift) * BAR, value < 5.9)
            for value in peaks
        ),
    )


@settings(max_examples=60, derandomize=True)
@given(ladders(), st.sampled_from(WIDTHS))
def test_no_ladder_whatever_is_written_over_or_cut_off(picture, width):
    canvas = compose_ladder(picture, screen(), width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []


@st.composite
def strips(draw):
    """The upstream layout with any pressures, flow and limits."""
    taps = tuple(
        replace(
            tap,
            now=draw(st.none() | pressures.map(lambda bar: bar * BAR)),
            at_no_flow=draw(st.none() | pressures.map(lambda bar: bar * BAR)),
            source=draw(st.sampled_from(["read", "worked out"])),
        )
        for tap in UPSTREAM.pressures
    )
    kinds = st.sampled_from(["fault", "normal", "trip", "alarm", "duty"])
    limits = draw(
        st.lists(st.builds(StripLimit, kinds, pressures.map(lambda p: p * BAR), st.just("spur")), max_size=5)
    )
    flow = draw(st.none() | st.floats(0.0, 0.2))
    return replace(UPSTREAM, pressures=taps, limits=tuple(limits), flow=flow, units=draw(units))


@settings(max_examples=60, derandomize=True)
@given(strips(), st.sampled_from([390, 768, 1360]))
def test_no_strip_whatever_is_written_over_or_cut_off(picture, width):
    canvas = compose_strip(picture, screen(), width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_same_record_gives_the_same_bytes(width):
    for make in (screen, paper, one_colour):
        assert draw_strip(UPSTREAM, make(), width) == draw_strip(UPSTREAM, make(), width)
        assert draw_ladder(WORKED_EXAMPLE, make(), width) == draw_ladder(WORKED_EXAMPLE, make(), width)


@pytest.mark.parametrize("width", WIDTHS)
def test_text_stays_text_and_is_as_wide_as_asked(width):
    root = ET.fromstring(draw_strip(UPSTREAM, screen(), width))
    assert root.attrib["width"] == str(width)
    assert root.attrib["viewBox"].startswith(f"0 0 {width} ")
    texts = ["".join(text.itertext()) for text in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "10.92" in texts
    assert not list(root.iter("{http://www.w3.org/2000/svg}foreignObject"))


def test_below_700_px_the_strip_stands():
    assert compose_strip(UPSTREAM, screen(), 699).height > compose_strip(UPSTREAM, screen(), 700).height


def test_no_letter_is_smaller_than_thirteen():
    assert min(SIZES.values()) >= 13.0


@pytest.mark.source(
    kind="analytic", ref="handbook 2.5: [5.05, 5.02] empty by 0.03; [4.98, 5.16]; 8 − 2.06 = 5.94"
)
@pytest.mark.parametrize("width", [390, 720, 1360])
def test_the_worked_example_prints_the_figures_of_the_handbook(width):
    said = " ".join(box.text for box in compose_ladder(WORKED_EXAMPLE, screen(), width).boxes)
    for figure in ("5.05", "5.02", "4.98", "5.16", "EMPTY edges cross by 0.03 bar", "OPEN 0.18 bar wide",
                   "5.88", "6.45", "8.00 − 2.06 = 5.94 bar"):  # fmt: skip
        assert figure in said
