"""Limits on the command line: crossed first, each with the limit and whose it is, in the reader's units."""

from __future__ import annotations

import json

import pytest

from steadyhead.cli.app import run
from steadyhead.register import open_register
from steadyhead.register.logs import logs_folder
from steadyhead.services.logs.importing import read_files
from steadyhead.services.logs.page import held_views
from steadyhead.services.logs.proposing import Given
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.services.logs.tripped import tripped

KEY, WHO = "DMB-01", "Ilse Marrow"


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """A register with a tripped station, whose file states no band it could keep to."""
    folder = tmp_path_factory.mktemp("held")
    register = open_register(folder / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    read_files(register, logs_folder(register), Given(KEY, (tripped(folder),), "kiosk", {"zone": "UTC"}), WHO)
    register.close()
    return folder / "register"


def judged(place, capsys, *more: str) -> str:
    assert run(["logs", "judge", KEY, "--register", str(place), *more]) in (0, 1)
    return str(capsys.readouterr().out)


def test_limits_are_told_though_nothing_is_kept_crossed_ones_first(place, capsys):
    told = judged(place, capsys)
    _, head, rest = told.partition("Held against limits:\n")
    assert head
    part = rest.partition("Measures, from believed samples:")[0]
    firsts = [line.split(":")[0].strip() for line in part.splitlines() if line.startswith("  ")]
    ways = [one for one in firsts if one in ("Crossed", "Within")]
    assert ways == sorted(ways)
    assert len(ways) > 1
    words = " ".join(part.split())
    assert "outlet in its band for" in words
    assert "Limit 98 %; own estimate (" in words
    assert "station file, revision 1." in words
    turned = " ".join(judged(place, capsys, "--units", "us").partition("Held against")[2].split())
    limits = turned.partition("Measures, from believed")[0]
    assert " psi" in limits
    assert " bar" not in limits
    held = json.loads(judged(place, capsys, "--json"))["held"]
    assert len(held) == len(ways)
    assert [one["crossed"] for one in held] == [one == "Crossed" for one in ways]


def test_of_several_stations_the_crossed_limits_are_told(place, capsys):
    told = judged(place, capsys, "--every")
    held = json.loads(judged(place, capsys, "--every", "--json"))["judged"]["held"]
    crossed = [one["words"] for one in held if one["crossed"]]
    assert told.count("Crossed: ") == len(crossed)
    assert all(words in " ".join(told.split()) for words in crossed)
    assert "Within: " not in told


def test_crossed_limits_come_first_and_what_is_foreseen_goes_along():
    within = {"code": "a", "crossed": False, "words": "a 1", "limit": "limit 2", "source": "x: y"}
    ahead = {"meets": "2027-03-01", "earliest": "2027-02-01", "latest": "2027-04-01", "activity": "none"}
    one, other = held_views([within | ahead, within | {"code": "b", "crossed": True}])
    assert (one.code, other.code, other.meets) == ("b", "a", "2027-03-01")
