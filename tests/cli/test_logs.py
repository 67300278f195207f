"""Files of loggers, from the command line."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from steadyhead.cli.app import run
from steadyhead.register import open_register
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.services.logs.files import dateless, plain


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A register with one station."""
    place = tmp_path / "register"
    register = open_register(place)
    save(register, read("dunmarrow-bottom"), "Ilse Marrow")
    register.close()
    return place


def logs(folder: Path, *words: object) -> int:
    return run(["logs", *(str(one) for one in words), "--register", str(folder)])


def taken_in(folder: Path, file: Path, *more: str) -> int:
    return logs(folder, "read", file, "--station", "DMB-01", "--by", "Ilse Marrow", "--zone", "UTC", *more)


def test_the_example_of_a_logger_is_read_judged_and_told(folder, tmp_path, capsys):
    assert run(["example"]) == 0
    assert "kiosk.csv " in capsys.readouterr().out
    assert run(["example", "kiosk.csv"]) == 0
    path = tmp_path / "kiosk.csv"
    path.write_text(capsys.readouterr().out, "utf-8")
    told = ("--station", "DMB-01", "--zone", "UTC+1", "--by", "Ilse Marrow")
    assert logs(folder, "read", path, *told) == 0
    assert "20010 used" in capsys.readouterr().out
    assert logs(folder, "judge", "DMB-01") == 1  # something is told
    judged = capsys.readouterr().out
    assert "night creep." in judged
    assert "trip. The shut-off closed for 3.7 h" in " ".join(judged.split())
    assert judged.count("gap, every channel") == 1


def test_a_file_is_read_in_words_listed_found_again_judged_and_undone(folder, tmp_path, capsys):
    path = plain(tmp_path)
    assert taken_in(folder, path, "--source", "kiosk") == 0
    told = capsys.readouterr().out
    assert "read as one time column with a column for each channel; commas, decimal point" in " ".join(
        told.split()
    )
    assert "row 2        2027-03-01T00:00:00Z     8" in told
    assert "Import 1 of DMB-01. To take it back: steadyhead logs undo 1" in told
    assert taken_in(folder, path) == 0
    assert "is kept already, by import 1" in " ".join(capsys.readouterr().out.split())
    assert logs(folder, "list", "DMB-01") == 0
    listed = capsys.readouterr().out
    assert "1, kiosk: 240 samples, 2027-03-01T00:00:00Z to" in listed
    assert "inlet pressure, spot from '" in listed, "which column of the file a channel is"
    assert logs(folder, "judge", "DMB-01", "--from", "2027-03-01", "--to", "2027-03-02") in (0, 1)
    assert capsys.readouterr().out
    assert logs(folder, "undo", 1, "--by", "Bo", "--reason", "wrong station") == 0
    assert "is undone" in capsys.readouterr().out
    assert logs(folder, "list", "DMB-01") == 0
    assert "by Bo: wrong station" in capsys.readouterr().out
    assert logs(folder, "undo", 1, "--by", "Ilse Marrow") == 2
    again = " ".join(capsys.readouterr().err.split())
    assert re.search(r"import: number 1 was undone on \d+ \w+ 20\d\d at \d\d:\d\d UTC by Bo\.", again)
    assert "Nothing is left to undo." in again


def test_earlier_judgements_of_the_same_samples_are_counted_and_listed_when_asked(folder, tmp_path, capsys):
    assert taken_in(folder, plain(tmp_path)) == 0
    for _ in range(3):
        assert logs(folder, "judge", "DMB-01", "--by", "Bo") in (0, 1)
    assert logs(folder, "judge", "DMB-01", "--to", "2027-03-01T05:00", "--by", "Bo") in (0, 1)
    capsys.readouterr()
    assert logs(folder, "list", "DMB-01") == 0
    told = capsys.readouterr().out
    assert told.count("Judged 20") == 2
    assert told.count("2 earlier judgements of the same samples; --all lists them.") == 1
    assert logs(folder, "list", "DMB-01", "--all") == 0
    told = capsys.readouterr().out
    assert told.count("Judged 20") == 4
    assert "earlier" not in told
    assert logs(folder, "list", "DMB-01", "--json") == 0
    assert len(json.loads(capsys.readouterr().out)["judgements"]) == 4


def test_first_and_last_samples_are_told_in_the_units_that_were_chosen_too(folder, tmp_path, capsys):
    assert taken_in(folder, plain(tmp_path), "--look", "--units", "us") == 0
    told = capsys.readouterr().out
    assert re.search(r"row 2 .* 8 +\(116\.0 psi\)", told)
    assert taken_in(folder, plain(tmp_path), "--look") == 0
    assert "psi" not in capsys.readouterr().out


def test_looking_keeps_nothing_and_says_what_is_assumed(folder, tmp_path, capsys):
    assert logs(folder, "read", plain(tmp_path), "--station", "DMB-01", "--look") == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "zone=UTC: the stamps are UTC (taken)" in told
    assert told.endswith("Nothing was kept.")


def test_what_must_be_asked_is_told_with_its_answer_and_nothing_is_kept(folder, tmp_path, capsys):
    assert taken_in(folder, dateless(tmp_path), "--json") == 1
    said = capsys.readouterr()
    assert "start: is open" in said.err
    (error,) = json.loads(said.out)["errors"]
    assert error["field"] == "start"
    assert "start=2027-03-01T00:00:00" in error["remedy"]
    assert taken_in(folder, dateless(tmp_path), "--answer", "start=2027-03-01T06:00", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["format"], told["number"]) == ("steadyhead/logs/1", 1)
    assert told["channels"][0]["first"] == "2027-03-01T06:00:00Z"


def test_what_must_be_asked_is_asked_where_a_person_sits_there(folder, tmp_path, capsys, monkeypatch):
    typed = iter(["sometime", "2027-03-01T06:00"])
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", lambda words: next(typed))
    assert taken_in(folder, dateless(tmp_path)) == 0
    said = capsys.readouterr()
    assert "which is no time" in said.err
    assert "Import 1" in said.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["read", "none.csv", "--station", "DMB-01"], "which is no file"),
        (["read", "FILE", "--station", "NONE"], "is not kept here"),
        (["read", "FILE", "--station", "DMB-01", "--answer", "zone"], "FIELD=VALUE"),
        (["read", "FILE", "--station", "DMB-01", "--answer", "colour=red"], "is no question"),
        (["read", "FILE", "--station", "DMB-01"], "--by"),
        (["undo", "L1"], "number of an import"),
        (["undo", "7", "--by", "Bo"], "got 7"),
        (["judge", "DMB-01"], "holds no samples"),
        (["judge", "DMB-01", "--from", "today"], "which is no time"),
        (["list", "NONE"], "is not kept here"),
    ],
)
def test_what_cannot_be_done_is_said_with_a_remedy(folder, tmp_path, capsys, words, said):
    path = plain(tmp_path)
    assert logs(folder, *(path if one == "FILE" else one for one in words)) == 2
    assert said in " ".join(capsys.readouterr().err.split())


def test_a_folder_without_a_register_is_refused_and_stays_empty(tmp_path, capsys):
    assert logs(tmp_path, "list", "DMB-01") == 2
    assert "holds no register" in " ".join(capsys.readouterr().err.split())
    assert list(tmp_path.iterdir()) == []


def test_keys_of_loggers_are_made_listed_and_ended(folder, capsys):
    assert logs(folder, "keys", "DMB-01") == 0
    assert capsys.readouterr().out == "No logger of DMB-01 has a key.\n"
    assert logs(folder, "keys", "DMB-01", "--make", "kiosk", "--by", "Ilse Marrow") == 0
    told = capsys.readouterr().out
    secret = told.splitlines()[0]
    assert secret.startswith("sh-")
    assert "shown once" in told
    assert logs(folder, "keys", "DMB-01", "--json") == 0
    listed = capsys.readouterr().out
    assert secret not in listed
    (key,) = json.loads(listed)["keys"]
    assert (key["logger"], key["who"], key["used"]) == ("kiosk", "Ilse Marrow", "")
    assert logs(folder, "keys", "DMB-01", "--end", key["id"], "--make", "x", "--by", "Bo") == 2
    assert logs(folder, "keys", "NONE-1") == 2
    capsys.readouterr()
    assert logs(folder, "keys", "DMB-01", "--end", key["id"], "--by", "Bo") == 0
    assert "No logger" in capsys.readouterr().out
    assert logs(folder, "keys", "DMB-01", "--end", key["id"], "--by", "Bo") == 2
    assert "holds no more" in " ".join(capsys.readouterr().err.split())
