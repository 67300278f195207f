"""What is due, from the command line."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from steadyhead.cli.app import run
from steadyhead.register import open_register
from steadyhead.services.stations.saving import save
from steadyhead.services.upkeep.doings import into_service
from steadyhead.station.examples import read


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A register with one station in service since 2020."""
    place = tmp_path_factory.mktemp("due") / "register"
    register = open_register(place)
    key = save(register, read("pinnock-yard"), "Ilse Marrow").key
    into_service(register, key, "Ilse Marrow", on="2020-05-04")
    register.close()
    return place


def test_the_list_says_why_before_when_and_that_something_is_overdue(folder: Path, capsys):
    assert run(["due", str(folder)]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "section shut off between IV1 and IV2" in told
    assert re.search(
        r"Never done on record, in [^.]+\. Check duty and lock-up: reducer RV[^.]*, overdue by", told
    )
    assert "authorises no work" in told


def test_nothing_overdue_leaves_with_nought(folder: Path, capsys):
    assert run(["due", str(folder), "--show", "deferred"]) == 0
    assert "0." in capsys.readouterr().out


def test_as_data_it_tells_the_same(folder: Path, capsys):
    assert run(["due", str(folder), "--json", "--until", "2099-01-01", "--show", "all"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert found["format"] == "steadyhead/due/1"
    assert found["total"] == sum(len(group["lines"]) for group in found["groups"])


def test_the_calendar_is_printed(folder: Path, capsys):
    assert run(["due", str(folder), "--ics"]) == 0
    assert capsys.readouterr().out.startswith("BEGIN:VCALENDAR")


def test_a_folder_without_a_register_is_refused_and_stays_empty(tmp_path: Path, capsys):
    assert run(["due", str(tmp_path)]) == 2
    assert "holds no register" in " ".join(capsys.readouterr().err.split())
    assert list(tmp_path.iterdir()) == []


def test_a_day_that_is_none_is_refused(folder: Path, capsys):
    assert run(["due", str(folder), "--until", "2027-02-30"]) == 2
    assert "no day of the calendar" in capsys.readouterr().err
