"""Whose gallon: read as the US gallon, asked about where the rest of the file is not of US habit."""

from __future__ import annotations

import pytest

from steadyhead.findings import Severity, tell
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.station.sense.findings import file_findings


def asked(text: str) -> list:
    return [f for f in file_findings(load(text).station) if f.code == "STN-11"]


def example(name: str, *changes: tuple[str, str]) -> str:
    text = read(name).decode()
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


GALLONS = ("peak: 18 L/s", "peak: 285 gpm")


@pytest.mark.source(kind="analytic", ref="definitions: 285 gpm × 4.54609 / 3.785412 = 342.3 gpm")
def test_a_bare_gallon_in_a_metric_file_is_asked_about_once_with_the_other_gallon():
    (found,) = asked(example("quillenby-row", GALLONS))
    assert found.severity is Severity.ASK
    assert found.subject == "demand.peak"
    words = tell(found).statement
    assert "285 gpm: US gallons are read. Are imperial gallons meant (21.59 L/s)?" in words


def test_a_gallon_whose_country_is_said_is_not_asked_about():
    for unit in ("US gpm", "imp gpm"):
        assert not asked(example("quillenby-row", ("peak: 18 L/s", f"peak: 285 {unit}")))


def test_a_file_of_us_habit_reads_its_own_gallon():
    text = read("sorrel-flat").decode()
    assert " psi" in text
    assert not asked(text.replace("US gpm", "gpm").replace("US gal", "gal"))


def test_an_imperial_gallon_or_a_head_in_metres_makes_the_others_doubtful():
    us = read("sorrel-flat").decode().replace("US gpm", "gpm")
    assert not asked(us)
    (found,) = asked(us.replace("gpm", "imp gpm", 1))
    assert found.severity is Severity.ASK
