"""The units a person prints in, from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from steadyhead.cli.app import run
from steadyhead.station import examples
from tests.reports import reading


@pytest.fixture
def station(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the main example as a file, for a person with settings of their own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv("STEADYHEAD_UNITS", raising=False)
    place = tmp_path / "station.yaml"
    place.write_bytes(examples.read("quillenby-row"))
    return place


def test_units_shows_every_set_and_the_one_in_force(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["units"]) == 0
    told = capsys.readouterr().out
    assert "In force: metric (nothing chosen)." in told
    for word in ("metric-m3h", "m head", "US gpm", "psi", "STEADYHEAD_UNITS"):
        assert word in told


def test_units_once_kept_are_printed_until_forgotten(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["units", "us+metric"]) == 0
    assert "Kept: us+metric" in capsys.readouterr().err
    run(["why", str(station), "LAD-09"])
    assert "psi (" in capsys.readouterr().out
    run(["why", str(station), "LAD-09", "--units", "metric"])
    assert "psi" not in capsys.readouterr().out
    run(["units", "--json"])
    told = json.loads(capsys.readouterr().out)
    assert told["in_force"]["name"] == "us+metric"
    assert told["second"]["pressure"] == "bar"
    assert run(["units", "--forget"]) == 0
    run(["why", str(station), "LAD-09"])
    assert "psi" not in capsys.readouterr().out


def test_the_environment_counts_before_what_was_kept_and_that_is_said(
    station: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("STEADYHEAD_UNITS", "uk")
    assert run(["units", "us"]) == 0
    assert "The environment says uk" in capsys.readouterr().err
    run(["why", str(station), "LAD-09"])
    assert " m head" in capsys.readouterr().out


@pytest.mark.parametrize("command", [["check"], ["why", "LAD-09"], ["draw", "strip"], ["card"], ["plan"]])
def test_units_that_are_not_known_are_refused_by_every_command(
    command: list[str], station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name, *more = command
    more += ["--for", "yearly"] if name == "plan" else ["--json"]
    assert run([name, str(station), *more, "--units", "parsec"]) == 2
    told = capsys.readouterr().err
    assert "--units: got 'parsec'" in told
    assert "us+metric" in told


def test_keeping_and_forgetting_at_once_is_refused(station: Path) -> None:
    assert run(["units", "us", "--forget"]) == 2
    assert run(["units", "parsec"]) == 2


def test_a_card_is_printed_as_its_station_file_says_unless_asked_otherwise(
    station: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    station.write_text(f"{station.read_text('utf-8')}papers: {{card: us+metric}}\n", "utf-8")
    run(["card", str(station), "--json"])
    assert json.loads(capsys.readouterr().out)["gauge"] == "psi (bar) gauge"
    run(["card", str(station), "--json", "--units", "uk"])
    assert json.loads(capsys.readouterr().out)["gauge"] == "m head gauge"
    place = tmp_path / "card.pdf"
    run(["card", str(station), "--pdf", str(place)])
    assert "58.0 psi (4.00 bar)" in reading.text(place.read_bytes())
