"""The commands of ``run`` as a person meets them: files, output, exit status."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from steadyhead.cli.app import run
from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import Entry
from steadyhead.services.plan_files import read_plan_file
from steadyhead.station import examples
from tests.procedure.walking import walk

NOW = ("--now", "2027-04-16T00:00+01:00")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a station, its plan, and the entries of a clean visit."""
    place = tmp_path_factory.mktemp("run")
    (place / "station.yaml").write_bytes(examples.read("quillenby-row"))
    saved = str(place / "first.plan")
    words = ["plan", str(place / "station.yaml"), "--for", "first", "--save", saved, "--without-proof"]
    assert run(words) in (0, 1)
    (place / "clean.jsonl").write_bytes(dump(visit(place)))
    return place


def visit(place: Path) -> list[Entry]:
    stored = read_plan_file((place / "first.plan").read_bytes())
    made = walk(stored.procedure, {"E0.SO": "set", "E0.RV": "fits"})
    return [replace(made[0], payload={"plan": stored.sha256}), *made[1:]]


def judged(folder: Path, entries: str, *more: str) -> int:
    return run(["run", "judge", str(folder / "first.plan"), str(folder / entries), *NOW, *more])


def test_a_clean_visit_is_final(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert judged(folder, "clean.jsonl") == 0
    told = capsys.readouterr().out
    assert "\nFinal.\n" in told
    assert "Against final" not in told
    assert told.endswith("Next: nothing\n")


def test_bad_lines_are_named_and_the_rest_is_judged(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good = (folder / "clean.jsonl").read_bytes()
    (folder / "bad.jsonl").write_bytes(good + b'{"id": NaN}\n\xff\n{"id": "z", "ru')
    assert judged(folder, "bad.jsonl") == 1
    told = " ".join(capsys.readouterr().out.split())
    count = len(good.splitlines())
    for number in (count + 1, count + 2, count + 3):
        assert f"bad.jsonl:{number}:" in told
    assert "Steps: 56 done" in told


def test_an_empty_file_of_entries_is_an_open_run(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "empty.jsonl").write_bytes(b"")
    assert judged(folder, "empty.jsonl", "--json") == 1
    data = json.loads(capsys.readouterr().out)
    assert data["judgement"]["next"] == ["A1"]
    assert data["plan"]["kind"] == "first"


def test_next_prints_the_step_with_its_bands_and_the_stop_rules(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = visit(folder)
    start = next(i for i, entry in enumerate(made) if entry.node == "F1.SO")
    (folder / "half.jsonl").write_bytes(dump(made[:start]))
    assert run(["run", "next", str(folder / "first.plan"), str(folder / "half.jsonl"), *NOW]) == 0
    told = capsys.readouterr().out
    assert "F1.SO     First rising run" in told
    assert "expected" in told
    assert "Stop and back out when" in told
    assert run(["run", "next", str(folder / "first.plan"), str(folder / "half.jsonl"), *NOW, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["step"]["id"] == "F1.SO"


def test_next_says_why_a_step_is_to_be_done_again(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = visit(folder)
    last = made[-1]
    turn = replace(last, id="turn", node="", kind="action", payload={"do": "turn", "thing": "SO.setting"})
    (folder / "stale.jsonl").write_bytes(dump([*made, replace(turn, device="tab-2")]))
    assert run(["run", "next", str(folder / "first.plan"), str(folder / "stale.jsonl"), *NOW]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert told.startswith("To be done again: SO.acts")
    assert "was touched at" in told


def test_nothing_is_next_where_all_is_done(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["run", "next", str(folder / "first.plan"), str(folder / "clean.jsonl"), *NOW]) == 1
    assert "Nothing to be done now." in capsys.readouterr().out


def test_what_cannot_be_used_is_said_with_its_remedy(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan, entries = str(folder / "first.plan"), str(folder / "clean.jsonl")
    for words, told in (
        ([entries, entries], "got 'steadyhead/entries/1'"),
        ([plan, str(folder / "none.jsonl")], "is not there"),
        ([plan, entries, "--now", "noon"], "--now"),
        ([str(folder / "station.yaml"), entries], "is no plan file"),
    ):
        assert run(["run", "judge", *words]) == 2
        assert told in " ".join(capsys.readouterr().err.split())


def test_a_plan_is_never_saved_over_the_station_file_or_another_kind_of_file(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    station = str(folder / "station.yaml")
    (folder / "other.plan").write_text("mine")
    for place in (station, str(folder / "other.plan"), str(folder / "plan.json")):
        assert run(["plan", station, "--for", "yearly", "--save", place, "--without-proof"]) == 2
    capsys.readouterr()
    assert (folder / "other.plan").read_text() == "mine"


def test_an_input_and_a_signed_value_of_another_kind_are_judged_without_a_fault(folder: Path) -> None:
    made = visit(folder)
    odd = [
        replace(one, payload={**one.payload, "input": {"x": 1}}) for one in made if one.kind == "observation"
    ]
    sign = replace(made[-1], id="odd-sign", kind="sign", payload={"asks": "final", "as_left": [1]})
    (folder / "odd.jsonl").write_bytes(dump([*made[:2], odd[0], replace(sign, device_seq=9999)]))
    assert judged(folder, "odd.jsonl") == 1
