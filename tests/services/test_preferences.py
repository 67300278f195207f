"""Whose units are printed: the option, the paper, the environment, the person, in that order."""

from __future__ import annotations

from pathlib import Path

import pytest

from steadyhead.errors import InputError, InputErrors
from steadyhead.records.station import Station
from steadyhead.services.preferences import VARIABLE, chosen, forget, keep, place
from steadyhead.station.examples import read
from steadyhead.station.load import load


@pytest.fixture
def home(tmp_path: Path) -> dict[str, str]:
    """Return an environment with a folder for settings of its own."""
    return {"XDG_CONFIG_HOME": str(tmp_path)}


def station(papers: str = "") -> Station:
    """Return the main example, with a block of papers put in."""
    return load(read("quillenby-row") + papers.encode()).station


def test_nothing_chosen_is_metric(home):
    now = chosen(environment=home)
    assert now.units.name == "metric"
    assert now.where == "nothing chosen"


def test_what_a_person_keeps_is_found_again_and_can_be_forgotten(home):
    units, path = keep("US + metric, flow = m3/h", home)
    assert path == place(home)
    assert units.name == "us+metric,flow=m³/h"
    assert chosen(environment=home).units == units
    assert forget(home) == path
    assert forget(home) is None
    assert chosen(environment=home).units.name == "metric"


def test_the_order_is_option_paper_environment_person(home):
    keep("uk", home)
    with_papers = station("papers: {units: us+metric, card: metric}\n")
    assert chosen(environment=home).units.name == "uk"
    home[VARIABLE] = "us"
    assert chosen(environment=home).units.name == "us"
    assert chosen(station=with_papers, paper="plan", environment=home).units.name == "us+metric"
    assert chosen(station=with_papers, paper="card", environment=home).units.name == "metric"
    assert chosen(station=with_papers, environment=home).units.name == "us"
    assert chosen(station=station(), paper="card", environment=home).units.name == "us"
    assert chosen("metric-kpa", station=with_papers, paper="card", environment=home).where == "--units"


def test_a_bad_choice_is_named_by_where_it_stands(home):
    for field, ask in (("--units", {"option": "parsec"}), (VARIABLE, {})):
        with pytest.raises(InputError) as caught:
            chosen(ask.get("option", ""), environment=home | {VARIABLE: "furlong"})
        assert caught.value.field == field
        assert "us+metric" in caught.value.remedy
    place(home).parent.mkdir(parents=True)
    place(home).write_text("furlong\n", "utf-8")
    with pytest.raises(InputError) as caught:
        chosen(environment=home)
    assert caught.value.field == str(place(home))
    place(home).write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError):
        chosen(environment=home)


def test_comments_and_an_empty_file_choose_nothing(home):
    place(home).parent.mkdir(parents=True)
    place(home).write_text("# nothing yet\n\n", "utf-8")
    assert chosen(environment=home).where == "nothing chosen"


@pytest.mark.parametrize("block", ["papers: {units: parsec}\n", "papers: {plan: us+metric+uk}\n"])
def test_a_station_file_with_papers_in_no_known_units_is_refused(block):
    with pytest.raises(InputErrors) as caught:
        station(block)
    assert caught.value.errors[0].field.startswith("papers")
    assert "us+metric" in caught.value.errors[0].remedy


def test_a_dial_in_no_unit_of_pressure_is_refused():
    text = read("quillenby-row").decode().replace("{id: TG-1,", "{id: TG-1, dial: gpm,")
    assert "dial" in text
    with pytest.raises(InputErrors) as caught:
        load(text.encode())
    assert "no unit of a gauge's dial" in caught.value.errors[0].problem
