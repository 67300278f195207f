"""The page of the examples lists them all and says what is so."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from steadyhead.services.judging import judge_file
from steadyhead.station import examples
from steadyhead.station.layout import read_layout
from steadyhead.station.load import load

PAGE = (Path(__file__).parents[2] / "docs" / "examples.md").read_text(encoding="utf-8")
ROWS = dict(re.findall(r"^\| `([a-z-]+)` \| ([^|]+) \|", PAGE, re.MULTILINE))
SECTIONS = dict(re.findall(r"^### .+: `([a-z-]+)`\n(.*?)(?=^#|\Z)", PAGE, re.M | re.S))
WARNED_OF = {"fenwarren-gate": {"LAY-40"}, "orrowby-mill": {"LAD-58", "LAD-56"}, "tarnholt-quay": {"LAY-26"}}
"""Codes a section names to say that they are not met, or that they would be."""


def test_the_page_lists_every_example_with_its_layout():
    assert set(ROWS) == set(examples.names())
    for name, layout in ROWS.items():
        assert read_layout(load(examples.read(name)).station).code == layout.strip(), name


@pytest.mark.parametrize("name", SECTIONS)
def test_what_a_section_says_of_its_example_is_told_by_check(name: str):
    told = {finding.code for finding in judge_file(examples.read(name)).sheet.findings}
    named = set(re.findall(r"[A-Z]{3}-\d\d", SECTIONS[name]))
    assert named >= WARNED_OF[name]
    assert named - WARNED_OF[name] <= told
    assert not WARNED_OF[name] & told


@pytest.mark.parametrize("name", [name for name in ROWS if name != "hobble-end"])
def test_an_example_to_copy_can_be_released_as_it_stands(name: str):
    sheet = judge_file(examples.read(name)).sheet
    assert sheet.releasable, [(one.code, one.subject) for one in sheet.findings]
