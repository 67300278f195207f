"""An event told from kept logger data, on the command line, as JSON and on paper."""

from __future__ import annotations

import io
import json
import re
from datetime import datetime, timedelta

import pytest

from steadyhead.cli.app import run
from steadyhead.errors import InputError
from steadyhead.register import open_register
from steadyhead.register.logs import logs_folder
from steadyhead.services.logs.importing import read_files
from steadyhead.services.logs.proposing import Given
from steadyhead.services.logs.telling import tell_at
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.services.logs.files import plain
from tests.services.logs.tripped import at, seen, tripped

KEY, WHO = "DMB-01", "Ilse Marrow"


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """A register with a tripped station."""
    folder = tmp_path_factory.mktemp("tripped")
    register = open_register(folder / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    read_files(register, logs_folder(register), Given(KEY, (tripped(folder),), "kiosk", {"zone": "UTC"}), WHO)
    register.close()
    return folder / "register"


def asked(place, seconds: float, *more: str) -> list[str]:
    when = f"{at(seconds):%Y-%m-%dT%H:%M}"
    return ["logs", "tell", KEY, "--at", when, "--register", str(place), *more]


def test_a_trip_is_told_with_order_signature_rows_and_what_is_not_seen(place, capsys):
    _, start, end = seen()
    assert run(asked(place, start + 3600.0)) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "reducer failed open: likely" in said
    assert "ruled out" in said
    assert "Its place among those above" not in said
    assert re.search(r"May have been before \d\d:\d\d:00 “[A-Z][^”]+”.* known to \d+ s", said)
    assert "Cannot see hunting at this sampling" in said
    assert "consumers isolated" in said
    assert run(asked(place, start + 3600.0, "--json")) == 0
    view = json.loads(capsys.readouterr().out)
    assert view["format"] == "steadyhead/logs-incident/1"
    for place, one in enumerate(view["steps"]):
        assert one["in_order"] == (not one["before"]) == (not one["order"])
        assert all(view["steps"][at]["by"] > one["after"] for at in one["before"])
        assert all(at < place for at in one["before"])
    assert view["event"]["code"] == "trip"
    rows = {one["channel"]: one for one in view["rows"]}["outlet pressure, spot"]
    minutes = round((end - start) / 60.0)
    assert rows["samples"] == pytest.approx(minutes, abs=4)
    assert rows["last_row"] - rows["first_row"] == rows["samples"] - 1


def test_the_paper_of_an_event_is_one_page_and_says_what_the_page_says(place, tmp_path, capsys):
    from pypdf import PdfReader

    assert run(asked(place, seen()[1] + 60.0, "--pdf", str(tmp_path / "event.pdf"))) == 0
    pages = PdfReader(io.BytesIO((tmp_path / "event.pdf").read_bytes())).pages
    assert len(pages) == 1
    words = " ".join(pages[0].extract_text().split())
    for said in (
        "Event told from logger data",
        "reducer failed open: likely",
        "Ruled out",
        "consumers isolated",
    ):
        assert said in words


def test_where_nothing_is_told_or_nothing_is_kept_that_is_said(place, tmp_path, capsys):
    start = seen()[1]
    assert run(asked(place, start - 40.0 * 3600.0, "--pdf", str(tmp_path / "none.pdf"))) == 1
    assert "No event is told within six hours" in capsys.readouterr().out
    assert not (tmp_path / "none.pdf").exists()
    register = open_register(place)
    with pytest.raises(InputError, match="no samples of DMB-01"):
        tell_at(register, logs_folder(register), KEY, at(start) + timedelta(days=400))
    register.close()


def test_an_event_names_the_files_of_its_hours_and_measures_are_told_in_units(place, tmp_path, capsys):
    register = open_register(place)
    before = plain(tmp_path, start=datetime(2026, 12, 24), count=240)
    read_files(register, logs_folder(register), Given(KEY, (before,), "other", {"zone": "UTC"}), WHO)
    told = tell_at(register, logs_folder(register), KEY, at(seen()[1]))
    register.close()
    assert told.event is not None
    assert {len(one.sources) for one in told.rows if one.samples} == {1}
    assert not [words for words in told.clocks if "different files" in words]
    assert run(["logs", "judge", KEY, "--register", str(place)]) in (0, 1)
    words = capsys.readouterr().out
    assert "bar/(L/s)²" in words
    assert re.search(r"droop: 0\.\d+ bar, between", words)
    assert not re.search(r"e[+-]\d\d|s2/m6|m3/s|m³/h", words)


def test_the_list_of_judgements_names_the_events_beside_the_defects(tmp_path, capsys):
    register = open_register(tmp_path / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    given = Given(KEY, (tripped(tmp_path),), "kiosk", {"zone": "UTC"})
    read_files(register, logs_folder(register), given, WHO)
    register.close()
    asked_of = [KEY, "--register", str(tmp_path / "register")]
    assert run(["logs", "judge", *asked_of, "--by", WHO]) in (0, 1)
    capsys.readouterr()
    assert run(["logs", "list", *asked_of]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Events told: trip." in said, "a list that says only 'no defect of the data' hides a trip"


def test_what_is_told_and_judged_follows_the_reader_and_json_stays(place, tmp_path, capsys):
    from pypdf import PdfReader

    old = re.compile(r"\bbar\b|\bL/s\b")
    when = seen()[1] + 60.0
    paper = tmp_path / "us.pdf"
    assert run(asked(place, when, "--units", "us", "--pdf", str(paper))) == 0
    said = capsys.readouterr().out
    assert "psi" in said
    assert not old.search(said)
    words = " ".join(PdfReader(io.BytesIO(paper.read_bytes())).pages[0].extract_text().split())
    assert "psi" in words
    assert not old.search(words)
    judge = ["logs", "judge", KEY, "--register", str(place)]
    assert run([*judge, "--units", "us", "--tables"]) in (0, 1)
    said = capsys.readouterr().out
    assert "psi/(US gpm)²" in said
    assert not old.search(said)
    for command in (asked(place, when), judge):
        run([*command, "--json"])
        plain_json = capsys.readouterr().out
        run([*command, "--json", "--units", "us"])
        assert capsys.readouterr().out == plain_json
