"""``run enter`` and ``run show`` as a person meets them: words in, what it means out, exit status."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest
from typer.testing import CliRunner

from steadyhead.cli.app import run
from steadyhead.cli.entering_text import entered_text
from steadyhead.cli.running import app
from steadyhead.cli.running_text import entering_lines
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.records.entry import VERBS, Entry
from steadyhead.services.entering import Entered
from steadyhead.services.entering.saying import said
from steadyhead.services.plan_files import PlanFile, plan_file, read_plan_file
from steadyhead.services.planning import make_plan
from steadyhead.services.running import JudgedRun
from steadyhead.station import examples
from steadyhead.units import METRIC
from tests.procedure.lane import plan as lane
from tests.procedure.lane import visit as clean_visit
from tests.procedure.walking import clean_ways
from tests.visits.judged_visits import shifted

pytestmark = pytest.mark.by_turns(2)

AT = ("--at", "08:10", "--device", "tab-1")


def enter(plan: str, entries: str, words: str, *more: str) -> int:
    return run(["run", "enter", plan, entries, *words.split(), *(AT if "--at" not in more else ()), *more])


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> str:
    made = make_plan(examples.read("quillenby-row"), "first")
    assert made.procedure is not None
    place = tmp_path_factory.mktemp("enter") / "first.plan"
    place.write_bytes(plan_file(made.procedure))
    return str(place)


def test_a_folder_is_no_file_of_entries(plan, tmp_path, capsys):
    assert enter(plan, str(tmp_path), "A4 air=yes", "--who", "Tam Oduya") == 2
    told = " ".join(capsys.readouterr().err.split())
    assert f"{tmp_path}: is a folder. Name the file the entries are kept in, e.g. {tmp_path}" in told


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("edges", [(-16449.0, 14551.0), (-16551.0, 15449.0)])
def test_a_band_is_told_alike_wherever_one_entry_tells_it(plan, tmp_path, capsys, units, edges):
    made = read_plan_file(Path(plan).read_bytes()).procedure
    node = made.node("B2")
    bands = tuple(replace(one, low=edges[0], high=edges[1]) for one in node.expect)
    odd = replace(made, nodes=tuple(replace(one, expect=bands) if one is node else one for one in made.nodes))
    (tmp_path / "odd.plan").write_bytes(plan_file(odd))
    begun = ("--at", "2027-04-14T08:00+01:00", "--device", "tab-1", "--who", "Tam Oduya", "--units", units)
    enter(str(tmp_path / "odd.plan"), str(tmp_path / "v.jsonl"), "B2 T3=-3bar", *begun)
    seen = capsys.readouterr()
    told = " ".join(f"{seen.out} {seen.err}".split())
    figure = r"[−+]?\d+\.?\d* (?:bar|psi)"
    found = re.findall(rf"(?:OUTSIDE|expected) ({figure} to {figure})", told)
    assert len(found) == 2, told
    assert len(set(found)) == 1, found


@pytest.fixture
def visit(plan: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """Return a file of entries, begun with a person and a gauge."""
    place = str(tmp_path / "visit.jsonl")
    begun = ("--at", "2027-04-14T08:00+01:00", "--device", "tab-1", "--who", "Tam Oduya")
    assert enter(plan, place, "person name=Tam Oduya role=technician", *begun) == 0
    assert enter(plan, place, "instrument name=TG-1 low=0 bar high=16 bar class=0.1 % due=2027-09-30") == 0
    capsys.readouterr()
    return place


def test_an_entry_is_told_with_its_number_and_what_is_still_to_be_noted(
    plan: str, visit: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["run", "enter", plan, visit, "A4", "air=yes", *AT]) == 0
    told = capsys.readouterr().out
    assert told.startswith("    4  14 Apr 08:10:00  A4       air yes; Tam Oduya (time given by hand)\n")
    assert "A4: still to be noted: dry." in told
    assert told.endswith("    Next: A1  The design is released\n")


def test_a_reading_outside_its_band_is_told_at_once_with_what_to_do(
    plan: str, visit: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = "B2 T3=0.9 bar with=TG-1 stood=60 s moved=0.01 bar"
    assert enter(plan, visit, words) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "T3 0.90 bar: OUTSIDE" in told
    assert "Stop. In psi it would lie inside." in told
    assert "RUN-08 B2: A gauge stays up with its drain open." in told
    assert enter(plan, visit, words, "--json") == 0  # it was amiss before
    data = json.loads(capsys.readouterr().out)
    assert data["entries"][0]["number"] == 5
    assert data["bands"][0]["inside"] is False
    assert data["amiss"] == []


def test_us_units_are_told_in_us_units(plan: str, visit: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = [
        "B2",
        "T3=0.1",
        "psi",
        "with=TG-1",
        "stood=60",
        "s",
        "moved=0.1",
        "psi",
        "flow=2",
        "gpm",
        "--units",
        "us",
    ]
    assert run(["run", "enter", plan, visit, *words, *AT]) == 0
    told = capsys.readouterr().out
    assert "T3 0.1 psi at T3" in told
    assert "flow: read as US gallons." in told


def test_an_instrument_past_its_date_is_told_as_it_is_described(plan: str, visit: str, capsys) -> None:
    words = "instrument name=TG-9 what=gauge low=0 bar high=10 bar class=1 %"
    enter(plan, visit, f"{words} due=2027-04-01")
    assert "TG-9 was due 2027-04-01. What it reads proves nothing on this day." in capsys.readouterr().out
    enter(plan, visit, f"{words} due=2027-04-14")
    assert "was due" not in capsys.readouterr().out


def test_a_choice_and_the_answers_beside_it_are_shown_as_two_commands(plan: str) -> None:
    procedure = read_plan_file(Path(plan).read_bytes(), "plan").procedure
    step = next(one.id for one in procedure.choices if procedure.node(one.id).inputs)
    told = entering_lines(procedure, step)
    assert len(told) == 2
    assert " choose " in told[0]
    assert "=" not in told[0]
    assert "=" in told[1]


def test_what_is_wrong_is_refused_with_the_nearest_name(
    plan: str, visit: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = Path(visit).read_bytes()
    assert run(["run", "enter", plan, visit, "A4", "iar=yes", *AT]) == 2
    assert "Did you mean air?" in capsys.readouterr().err
    assert run(["run", "enter", plan, visit, "A4", "air=yes", "--wo", "Tam"]) == 2
    assert run(["run", "enter", plan, "-", "A4", "air=yes"]) == 2
    assert "Name the file" in capsys.readouterr().err
    assert Path(visit).read_bytes() == before


def test_show_numbers_the_entries_and_says_what_came_to_them(
    plan: str, visit: str, capsys: pytest.CaptureFixture[str]
) -> None:
    for words in ("A4 air=no", "correct 4 value=yes reason=mistyped", "void 5 reason=x"):
        enter(plan, visit, words)
    Path(visit).write_bytes(Path(visit).read_bytes() + b"nonsense\n")
    capsys.readouterr()
    assert run(["run", "show", plan, visit]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split()[:4] == ["1", "14", "Apr", "08:00:00"]
    text = " ".join(" ".join(lines).split())
    assert "air no; Tam Oduya [corrected by 5]" in text
    assert "correction of 4: yes (mistyped); Tam Oduya [void by 6]" in text
    assert "void of 5 (x)" in text
    assert "7 cannot be used: is no JSON" in text
    assert run(["run", "show", plan, visit, "A4"]) == 0
    assert "run enter  A4 air= dry=" in capsys.readouterr().out
    assert run(["run", "show", plan, visit, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert [one["number"] for one in data["entries"]] == [1, 2, 3, 4, 5, 6, 7]
    assert data["entries"][3]["corrected_by"] == [5]
    assert run(["run", "show", plan, visit, "A44"]) == 2
    assert "Did you mean A4" in capsys.readouterr().err


def test_next_names_what_is_entered_at_the_step(
    plan: str, visit: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["run", "next", plan, visit]) == 0
    assert "run enter  A1 released=" in capsys.readouterr().out


def test_two_programs_at_one_time_lose_nothing(plan: str, visit: str) -> None:
    words = [sys.executable, "-m", "steadyhead.cli", "run", "enter", plan, visit, "note"]
    hands = [
        subprocess.Popen([*words, f"hand {one}", "--device", "tab-1"], stdout=subprocess.DEVNULL)
        for one in range(3)
    ]
    assert [hand.wait(120) for hand in hands] == [0, 0, 0]
    ledger = read(Path(visit).read_bytes())
    assert ledger.faults == ()
    notes = sorted(str(entry.payload["text"]) for entry in ledger.entries if entry.kind == "note")
    assert notes == ["hand 0", "hand 1", "hand 2"]
    assert sorted(entry.device_seq for entry in ledger.entries) == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize("option", ["--who", "--device"])
def test_a_name_of_two_words_without_quotes_is_refused_and_nothing_is_entered(
    plan: str, visit: str, option: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = Path(visit).read_bytes()
    assert run(["run", "enter", plan, visit, "note", "all", "dry", option, "Ada", "Quill"]) == 2
    assert '"Ada Quill"' in capsys.readouterr().err
    assert Path(visit).read_bytes() == before
    assert run(["run", "enter", plan, visit, "A4", "air=yes", "--who", "Tam Oduya", "dry=yes", *AT]) in (0, 1)


def test_the_device_is_remembered_as_the_person_is(plan: str, visit: str) -> None:
    assert run(["run", "enter", plan, visit, "A4", "air=yes", "--at", "08:12"]) == 0
    made = read(Path(visit).read_bytes()).entries[-1]
    assert (made.device, made.who) == ("tab-1", "Tam Oduya")


def test_the_clock_of_an_entry_is_never_called_exact(plan: str, visit: str) -> None:
    assert run(["run", "enter", plan, visit, "A4", "air=yes", "--at", "08:12"]) == 0
    assert run(["run", "enter", plan, visit, "A4", "dry=yes", "--at", "08:12:30"]) in (0, 1)
    within = [entry.clock_within for entry in read(Path(visit).read_bytes()).entries[-2:]]
    assert within == [60.0, 5.0]


def test_what_steers_a_terminal_is_shown_and_not_sent_to_it(
    plan: str, visit: str, capsys: pytest.CaptureFixture[str]
) -> None:
    note = "\x1b[2J gone\u202e"
    assert run(["run", "enter", plan, visit, "note", note, "--at", "08:12"]) == 0
    assert run(["run", "show", plan, visit]) == 0
    told = capsys.readouterr().out
    assert "[U+001B][2J gone[U+202E]" in told
    assert not {"\x1b", "\u202e"} & set(told)


def test_before_the_first_entry_the_first_step_is_shown_and_how_a_run_is_begun(
    plan: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    none = str(tmp_path / "none.jsonl")
    assert run(["run", "next", plan, none]) == 0
    told = capsys.readouterr()
    assert "run enter  A1 " in told.out
    assert "person name=" in told.err
    assert run(["run", "judge", plan, none]) == 2
    assert "person name=" in capsys.readouterr().err
    assert not Path(none).exists()


def test_a_step_lists_each_name_with_what_it_asks_for_and_each_option_of_its_choice(
    plan: str, visit: str, capsys: pytest.CaptureFixture[str]
) -> None:
    from steadyhead.cli.running_text import _names
    from steadyhead.services.plan_files import read_plan_file
    from steadyhead.units import METRIC

    found = read_plan_file(Path(plan).read_bytes(), "plan").procedure
    assert any(line.lstrip().startswith("choose set ") for line in _names(found, "E0.SO", METRIC))
    assert run(["run", "next", plan, visit]) == 0
    assert any(
        line.split()[0] == "released=" for line in capsys.readouterr().out.splitlines() if line.split()
    )


def test_entries_of_another_station_without_a_plan_are_neither_final_nor_written_to(
    plan: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    other = tmp_path / "other.jsonl"
    other.write_bytes((Path(__file__).parents[2] / "docs" / "run" / "put-right.jsonl").read_bytes())
    assert run(["run", "judge", plan, str(other)]) == 1
    assert "names no plan" in " ".join(capsys.readouterr().out.split())
    before = other.read_bytes()
    assert run(["run", "enter", plan, str(other), "note", "hi"]) == 2
    assert other.read_bytes() == before


def test_a_judgement_says_whether_each_signature_still_stands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = make_plan(examples.read("quernhollow-lane"), "first")
    assert made.procedure is not None
    place = tmp_path / "lane.plan"
    place.write_bytes(plan_file(made.procedure))
    record = tmp_path / "record.jsonl"
    record.write_bytes((Path(__file__).parents[2] / "docs" / "run" / "put-right.jsonl").read_bytes())
    assert run(["run", "judge", str(place), str(record)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "15 Apr 2027 08:54: stands." in told
    assert "14 Apr 2027 16:20: does not stand" in told
    correct = ["correct", "41", "value=4.06", "bar", "reason=misread", "--at", "2027-04-20T09:00+01:00"]
    numbers = [e.payload.get("typed") for e in read(record.read_bytes()).entries]
    at = numbers.index("4.05") + 1
    correct[1] = str(at)
    assert run(["run", "enter", str(place), str(record), *correct, "--who", "Tam Oduya"]) in (0, 1)
    assert "The signature as final stands no more: sign again." in capsys.readouterr().out
    run(["run", "judge", str(place), str(record)])
    assert "15 Apr 2027 08:54: does not stand: 1 entry was made after it." in " ".join(
        capsys.readouterr().out.split()
    )


def test_a_screw_height_is_echoed_in_millimetres() -> None:
    payload = {"input": "height", "quantity": "length", "value": 0.0315, "typed": "31.5", "unit": "mm"}
    entry = Entry("i", "r", "A7", "d", 1, "reading", payload, who="Tam", t_device="2027-04-14T08:00+01:00")
    assert said(entry, METRIC) == "height 31.5 mm"


def test_the_help_of_entering_lists_every_act() -> None:
    shown = " ".join(CliRunner().invoke(app, ["enter", "--help"]).output.split())
    assert f"{', '.join(VERBS)}." in shown


@cache
def raised() -> list[Entry]:
    """Return a clean first visit on which the reducer was set."""
    walks = (clean_visit("first", way) for way in clean_ways(lane("first")))
    return next(one for one in walks if any(entry.node == "ES1.RV" for entry in one))


@pytest.mark.parametrize(
    ("step", "name", "by", "told"),
    [
        ("ES1.RV", "reading", -1e5, "on the way, below"),
        ("ES3.SO", "T3", -1e5, "on the way, below"),
        ("ES1.RV", "reading", 2e5, "Stop."),
        ("ES3.SO", "T3", 2e5, "Stop."),
    ],
)
def test_a_reading_below_its_band_while_a_screw_is_raised_as_advised_is_on_the_way(
    step: str, name: str, by: float, told: str
) -> None:
    entries = shifted(step, name, by)(raised())
    at = next(n for n, one in enumerate(entries) if (one.node, one.payload.get("input")) == (step, name))
    made = Entered(at + 1, (entries[at],), lane_run(entries[:at]), lane_run(entries[: at + 1]))
    assert told in " ".join(entered_text(made, METRIC).split())
    assert made.is_fine is (by < 0.0)


def lane_run(entries: list[Entry]) -> JudgedRun:
    ledger = read(dump(entries))
    file = cast(PlanFile, SimpleNamespace(procedure=lane("first"), sha256=""))
    return JudgedRun(file, ledger, judge(lane("first"), ledger))
