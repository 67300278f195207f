"""The page about surge shows what the command prints for the file beside it."""

from __future__ import annotations

import re
from pathlib import Path

from steadyhead.findings import CATALOGUE
from steadyhead.station.load import load

PAGE = Path(__file__).parents[2] / "docs" / "surge.md"


def test_every_finding_the_page_names_exists():
    named = set(re.findall(r"SUR-\d\d", PAGE.read_text(encoding="utf-8")))
    assert named
    assert named <= set(CATALOGUE)


def test_the_yaml_of_the_page_is_that_of_the_file_beside_it():
    station = load((PAGE.with_suffix("") / "lane.yaml").read_bytes()).station
    text = PAGE.read_text(encoding="utf-8")
    assert [event.id for event in station.events] == re.findall(r"- \{id: (\w+), what", text)
    assert [reach.id for reach in station.zone.reaches] == re.findall(r"- \{id: (\w+),[^}]* length", text)
