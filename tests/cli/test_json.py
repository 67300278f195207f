"""What ``--json`` tells: everything the text tells, and what cannot be used too."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from steadyhead.cli.app import run
from steadyhead.station import examples


@pytest.fixture
def station(tmp_path: Path) -> Path:
    place = tmp_path / "station.yaml"
    place.write_bytes(examples.read("quillenby-row"))
    return place


def asked(station: Path) -> Path:
    """Return the file with a question in it: a shut-off whose tap is not known to be its own."""
    text = station.read_text("utf-8")
    assert "sensing_tap: own\n" in text
    station.write_text(text.replace("sensing_tap: own\n", "sensing_tap: not known\n", 1), "utf-8")
    return station


def told(capsys: pytest.CaptureFixture[str]) -> Any:
    return json.loads(capsys.readouterr().out)


def test_a_finding_carries_its_words(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["check", str(station), "--json"])
    for finding in told(capsys)["findings"]:
        assert finding["title"]
        assert finding["words"]
        assert finding["why"]
        assert (finding["answer_line"] is not None) == (finding["severity"] == "ask")


def test_the_printed_line_filled_in_and_pasted_settles_the_question(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["check", str(asked(station)), "--json"]) == 1
    lines = [f["answer_line"] for f in told(capsys)["findings"] if f["severity"] == "ask"]
    assert lines
    filled = [
        line.replace('"…"', '"Own cock, seen on site"', 1).replace('"…"', '"Ilse Marrow"') for line in lines
    ]
    station.write_text(station.read_text("utf-8") + "".join(f"  {x}\n" for x in filled), "utf-8")
    assert run(["check", str(station)]) == 0
    assert "Answered by Ilse Marrow" in capsys.readouterr().out


def test_the_printed_line_pasted_unchanged_settles_nothing(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(["check", str(asked(station))])
    printed = capsys.readouterr().out
    lines = [line for line in printed.splitlines() if line.strip().startswith("- {to:")]
    assert lines
    station.write_text(station.read_text("utf-8") + "".join(f"  {x.strip()}\n" for x in lines), "utf-8")
    assert run(["check", str(station)]) == 2
    assert "not filled in" in capsys.readouterr().err


def test_a_plan_carries_turns_water_response_and_openings(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(["plan", str(station), "--for", "first", "--json"])
    result = told(capsys)
    for name in ("turn_tables", "drain_budget", "response"):
        assert result["procedure"][name]
    assert result["numbers"]["inlet_opening"]
    assert all(one["limit_pa"] > 0 for one in result["numbers"]["inlet_opening"].values())


@pytest.mark.parametrize(
    ("words", "fields"),
    [
        (["check", "FILE", "--json"], ["supply.typical", "demand.peak"]),
        (["plan", "FILE", "--for", "yearly", "--json"], ["supply.typical", "demand.peak"]),
        (["check", "nowhere.yaml", "--json"], ["nowhere.yaml"]),
        (["plan", "FILE", "--json"], ["command line"]),
    ],
)
def test_what_cannot_be_used_is_told_as_data_too(
    words: list[str], fields: list[str], station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = station.read_text("utf-8")
    text = text.replace("typical: 8.6 bar", "typical: 8.6", 1).replace("peak: 18 L/s", "peak: 18 bar", 1)
    station.write_text(text, "utf-8")
    assert run([str(station) if word == "FILE" else word for word in words]) == 2
    captured = capsys.readouterr()
    result = json.loads(captured.out)
    assert captured.err
    assert result["format"] == "steadyhead/errors/1"
    assert [error["field"] for error in result["errors"]] == fields
    assert all(set(error) == {"field", "problem", "remedy", "line"} for error in result["errors"])
    if fields[0] == "supply.typical":
        lines = [error["line"] for error in result["errors"]]
        assert "typical" in text.splitlines()[lines[0] - 1]


def test_a_refused_release_is_told_as_data(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["release", str(asked(station)), "--by", "Ilse Marrow", "--json"]) == 1
    result = told(capsys)
    assert result["format"] == "steadyhead/release-refused/1"
    assert result["findings"]


def test_why_says_how_a_limit_comes_about(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["why", str(station), "LAD-09"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    for words in ("at its own place: 9.00 bar", "level of that place: 70.0 m", "level of the datum: 96.0 m"):
        assert words in text
    assert "0.00000000" not in text
    run(["why", str(station), "LAD-09", "--json"])
    assert len(told(capsys)[0]["grounds"]) == 4


def test_check_lists_what_was_taken_by_default(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["check", str(station), "--json"])
    defaults = told(capsys)["sheet"]["defaults"]
    run(["check", str(station)])
    section = capsys.readouterr().out.split("Taken by default", 1)[1]
    flat = " ".join(section.split())
    for one in defaults:
        name = one["what"].replace("kv", "").strip() if one["kind"] == "flow_coefficient" else one["what"]
        assert name in flat


@pytest.mark.parametrize("units", ["metric", "us", "uk"])
def test_the_columns_of_the_ladder_and_of_the_cases_line_up(
    units: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = tmp_path / "s.yaml"
    place.write_bytes(examples.read("sorrel-flat"))
    run(["check", str(place), "--units", units])
    lines = capsys.readouterr().out.splitlines()
    rungs = lines[lines.index("Pressure ladder") + 1 :]
    figures = [line for line in rungs[:8] if line.startswith("  ") and not line.startswith("  Trip")]
    assert len({len(line) - len(line.lstrip().split("  ", 1)[1]) for line in figures}) == 1
    head = next(line for line in lines if line.lstrip().startswith("case "))
    rows = lines[lines.index(head) + 1 : lines.index(head) + 4]
    assert {row.rindex("holding") for row in rows} == {head.index("state")}


def test_a_datum_is_printed_as_typed_where_the_unit_is_the_readers(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = station.read_text("utf-8")
    station.write_text(text.replace("value: 96.0 m,", "value: 314.96 ft,", 1), "utf-8")
    run(["check", str(station), "--units", "us"])
    assert "Datum 314.96 ft;" in capsys.readouterr().out
    run(["check", str(station)])
    assert "Datum 96.0 m;" in capsys.readouterr().out


def test_the_id_of_a_part_lists_what_can_be_repaired_there(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", str(station), "--for", "after-repair=RV"]) == 2
    told_words = " ".join(capsys.readouterr().err.split())
    assert "At RV use one of: reducer pilot," in told_words
    assert "shut-off pilot" not in told_words


def test_the_id_of_a_part_with_one_item_is_taken_for_that_item(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(["plan", str(station), "--for", "after-repair=TD"])
    assert "test drain" in capsys.readouterr().out


def test_a_word_that_is_no_part_lists_all_items_by_part(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", str(station), "--for", "after-repair=widget"]) == 2
    told_words = " ".join(capsys.readouterr().err.split())
    for words in ("RV: reducer pilot,", "SO: shut-off pilot,", "ST: strainer;", "else: "):
        assert words in told_words
