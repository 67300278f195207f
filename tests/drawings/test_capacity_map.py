from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from io import BytesIO

import pytest
import typst
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from steadyhead.drawings import PAPER_WIDTH, alt_text, draw_capacity, one_colour, paper, screen
from steadyhead.drawings.canvas import Layer
from steadyhead.drawings.capacity_areas import Frame, hatch_area, inside
from steadyhead.drawings.capacity_map import compose_capacity
from steadyhead.drawings.capacity_zones import BORDER_PENS, HATCHES
from steadyhead.drawings.palette import PENS
from steadyhead.drawings.scale import Scale
from steadyhead.units import METRIC, UK, US
from tests.drawings.map_samples import BAR, LITRE, MAPS, USUAL, picture
from tests.drawings.png import colours
from tests.drawings.test_paper import SHEET
from tests.drawings.test_readable import PALETTES, WIDTHS, outside, overlaps

pytestmark = pytest.mark.by_turns(2)

SVG = "{http://www.w3.org/2000/svg}"


def said(canvas) -> str:
    return " ".join(box.text for box in canvas.boxes)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
@pytest.mark.parametrize("shown", MAPS.values(), ids=MAPS)
def test_nothing_on_a_map_is_written_over_or_cut_off(shown, palette, width):
    canvas = compose_capacity(shown, palette, width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []


@st.composite
def maps(draw):
    """Maps with design points anywhere on them."""
    points = tuple(
        replace(point, flow=draw(st.floats(0.0, 42.0)) * LITRE, inlet=draw(st.floats(2.0, 14.0)) * BAR)
        for point in USUAL.points
    )
    kept = draw(st.sets(st.sampled_from(range(len(USUAL.borders)))))
    borders = tuple(USUAL.borders[i] for i in sorted(kept))
    return picture(
        replace(USUAL, points=points, borders=borders), units=draw(st.sampled_from([METRIC, UK, US]))
    )


@settings(max_examples=40, derandomize=True)
@given(maps(), st.sampled_from(WIDTHS))
def test_no_map_whatever_is_written_over_or_cut_off(shown, width):
    canvas = compose_capacity(shown, screen(), width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_same_map_gives_the_same_bytes(width):
    for make in (screen, paper, one_colour):
        assert draw_capacity(MAPS["usual"], make(), width) == draw_capacity(MAPS["usual"], make(), width)


@pytest.mark.parametrize("name", MAPS)
def test_every_map_is_one_sentence_too_and_carries_it(name):
    text = alt_text(MAPS[name])
    assert text.endswith(".")
    assert MAPS[name].name in text
    root = ET.fromstring(draw_capacity(MAPS[name], screen(), 1360))
    assert root.attrib["aria-label"] == root.findtext(f"{SVG}desc") == text


def test_the_sentence_says_zone_margin_and_index_of_every_design_point():
    text = alt_text(MAPS["usual"])
    for part in (
        "Holds 4.00 bar", "Average, typical inlet: 9.0 L/s, 10.60 bar, steady cavitation",
        "1.50 bar to spare over wide open, 20 % open", "σ₁ 2.40, damage from 2.20", "gravel range expected",
        "0.40 bar short: the outlet sags", "no difference to lose", "low flow: doubtful, test it",
        "low flow: below what such a valve controls", "gravel range possible from 9.80 bar",
    ):  # fmt: skip
        assert part in text


def test_a_reducer_that_others_help_carries_its_share_and_does_not_sag():
    text, drawn = alt_text(MAPS["helped"]), said(compose_capacity(MAPS["helped"], screen(), 1360))
    assert "carries its share beside RV, RVB, 0.40 bar short alone" in text
    assert "Wide open: carries its share beside RV, RVB" in drawn
    assert "sags" not in text + drawn


@pytest.mark.parametrize("width", [390, 720, 1360])
def test_every_design_point_has_its_margins_in_the_drawing(width):
    words = said(compose_capacity(MAPS["usual"], paper(), width))
    for case in ("Night, static inlet", "Average, typical inlet", "Peak, lowest inlet", "Fire, lowest inlet"):
        assert case in words


def test_every_border_is_named_on_the_map_or_below_it():
    words = said(compose_capacity(MAPS["usual"], screen(), 1360))
    for name in ("Wide open", "Cavitation begins, σ₁ 2.20", "Steady cavitation", "Damage likely", "Low flow",
                 "5.0 m/s in the bore", "Holds 4.00 bar"):  # fmt: skip
        assert name in words
    crowded = compose_capacity(MAPS["usual"], screen(), 390)
    assert "Not named in the map" in said(crowded)


def test_a_case_that_stands_in_the_map_without_its_figures_is_told_below():
    words = said(compose_capacity(MAPS["usual"], screen(), 390))
    bare = words.partition("Without figures in the map, they stand above: ")[2]
    assert bare
    wide = said(compose_capacity(MAPS["usual"], screen(), 1360))
    assert "Without figures" not in wide


def test_a_map_speaks_the_units_of_its_reader():
    words = said(compose_capacity(MAPS["irrigation"], screen(), 1360))
    assert "psi" in words
    assert "flow, US gpm" in words
    assert "16.4 ft/s in the bore" in words


def test_no_level_of_noise_is_ever_told():
    assert not re.search(r"\bdB\b|decibel", alt_text(MAPS["usual"]))


def test_degrees_differ_in_line_and_closeness_of_hatching_without_colour():
    pitches = [pitch for _, pitch in HATCHES.values()]
    assert pitches == sorted(pitches, reverse=True)
    assert len(set(pitches)) == len(pitches)
    forms = {(PENS[BORDER_PENS[d]].dash, PENS[BORDER_PENS[d]].weight) for d in HATCHES}
    assert len(forms) == len(HATCHES)


def test_every_zone_of_a_map_changes_the_drawing_in_one_colour():
    whole = draw_capacity(MAPS["usual"], one_colour(), 1360)
    for border in USUAL.borders:
        if border.kind != "low flow, least lift":
            left = tuple(other for other in USUAL.borders if other != border)
            assert draw_capacity(picture(replace(USUAL, borders=left)), one_colour(), 1360) != whole


def test_hatching_fills_an_area_to_its_edge_and_no_further():
    for rising in (True, False):
        layer = Layer(paper())
        corners = [(0.0, 0.0), (60.0, 0.0), (60.0, 30.0), (30.0, 60.0), (0.0, 60.0)]
        hatch_area(layer, corners, "hatch cannot", pitch=5.0, rising=rising)
        numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", layer.marks[0].split(' d="')[1])]
        assert min(numbers) >= 0.0
        assert max(numbers) <= 60.0
        assert all(x + y <= 90.01 for x, y in zip(numbers[::2], numbers[1::2], strict=True))


def test_an_area_thinner_than_the_pitch_may_stay_empty():
    layer = Layer(paper())
    hatch_area(layer, [(0.0, 0.1), (0.2, 0.1), (0.2, 0.2)], "hatch cannot", pitch=50.0)
    assert layer.marks == []


def test_a_chain_is_cut_at_the_frame():
    frame = Frame(Scale(0, 10, 0, 100), Scale(0, 10, 100, 0))
    assert inside(frame, [(1, 5), (2, 15), (3, 5)]) == [
        [(10.0, 50.0), (15.0, 0.0)], [(25.0, 0.0), (30.0, 50.0)]
    ]  # fmt: skip
    assert inside(frame, [(1, 11), (2, 12)]) == []
    assert inside(frame, [(11, 1), (11, 5)]) == []
    assert inside(frame, [(4, 1), (4, 5), (6, 5)]) == [[(40.0, 90.0), (40.0, 50.0), (60.0, 50.0)]]


@pytest.mark.parametrize("make", [paper, one_colour])
def test_maps_print_in_ink_with_every_word_as_text(make):
    pictures = [{"svg": draw_capacity(p, make(), PAPER_WIDTH), "alt": alt_text(p)} for p in MAPS.values()]
    data = typst.compile(
        SHEET, sys_inputs={"data": json.dumps(pictures)}, pdf_standards=["a-3a", "ua-1"],
        ignore_system_fonts=True,
    )  # fmt: skip
    found = re.sub(r"\s", "", "".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages))
    for shown in MAPS.values():
        for box in compose_capacity(shown, make(), PAPER_WIDTH).boxes:
            assert re.sub(r"\s", "", box.text) in found, box.text
    png = typst.compile(
        SHEET, sys_inputs={"data": json.dumps(pictures[:1])}, format="png", ppi=72, ignore_system_fonts=True
    )
    assert all(r == g == b for r, g, b in colours(png[0] if isinstance(png, list) else png))


@pytest.mark.parametrize("width", [720.0, 900.0, 1240.0])
def test_names_of_nails_above_one_another_keep_their_order(width):
    upper, lower, *others = USUAL.points
    stacked = (
        replace(upper, flow=20.0 * LITRE, inlet=11.8 * BAR),
        replace(lower, flow=20.0 * LITRE, inlet=11.4 * BAR),
    )
    canvas = compose_capacity(picture(replace(USUAL, points=(*stacked, *others))), screen(), width)
    (first,) = [
        box for box in canvas.boxes if "20.0 L/s, 11.80" in box.text and not box.text.endswith("bar:")
    ][:1]
    (second,) = [box for box in canvas.boxes if "20.0 L/s, 11.40" in box.text][:1]
    assert first.top < second.top
