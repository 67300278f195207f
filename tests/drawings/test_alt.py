from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from steadyhead.drawings import MARKS, alt_text, draw_ladder, draw_mark, draw_strip, paper, screen
from tests.drawings.samples import BARE, LADDERS, SERIES, STRIPS, TRIPPED, UNREAD, UPSTREAM, WORKED_EXAMPLE

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("picture", [*STRIPS.values(), *LADDERS.values()], ids=[*STRIPS, *LADDERS])
def test_every_picture_is_one_sentence_too_and_carries_it(picture):
    text = alt_text(picture)
    assert text.endswith(".")
    assert picture.name in text
    draw = draw_strip if picture in STRIPS.values() else draw_ladder
    root = ET.fromstring(draw(picture, screen(), 1360))
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-label"] == root.findtext(f"{SVG}desc") == text
    assert picture.name in (root.findtext(f"{SVG}title") or "")


def test_the_sentence_of_a_strip_says_figures_states_and_limits():
    text = alt_text(UPSTREAM)
    for said in ("T3 3.90 (read)", "bar at datum 142.0 m", "flow 22.0 L/s", "Shut-off ready", "trip 5.10"):
        assert said in text
    assert "fault and normal limit 5.94, old spur" in text


def test_the_sentence_of_a_tripped_station_says_so():
    assert "Shut-off TRIPPED" in alt_text(TRIPPED)


def test_the_sentence_says_what_was_not_read_and_what_is_part_open():
    text = alt_text(UNREAD)
    for said in ("T1 no gauge", "T2 106.2 (worked out)", "T4 not read", "Inlet isolating part open",
                 "Outlet isolating shut", "Drain open", "Shut-off not known"):  # fmt: skip
        assert said in text
    unknown = tuple(replace(part, open_share=None) if part.id == "IV1" else part for part in UNREAD.parts)
    assert "Inlet isolating not known" in alt_text(replace(UNREAD, parts=unknown))


def test_the_sentence_speaks_the_units_of_the_picture():
    assert "psi at datum" in alt_text(SERIES)
    assert "US gpm" in alt_text(SERIES)


def test_hardware_alone_says_no_pressures():
    assert "read" not in alt_text(BARE).replace("ready", "")


def test_the_sentence_of_a_ladder_says_both_windows_and_every_peak():
    text = alt_text(WORKED_EXAMPLE)
    assert "worst case: EMPTY, edges cross by 0.03 bar" in text
    assert "root-sum-square: trip window 4.98 to 5.16 bar" in text
    assert "5.88, credited" in text
    assert "6.45, NOT covered" in text


@pytest.mark.parametrize("mark", MARKS)
def test_a_state_mark_carries_its_word(mark):
    root = ET.fromstring(draw_mark(mark, "stale since 12:52 & later", paper()))
    assert root.attrib["aria-label"] == "stale since 12:52 & later"
