"""The command line as a person meets it: output, files written, exit status."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from steadyhead.cli.app import run
from steadyhead.station import examples, templates

EXAMPLES = examples.names()
VISITS = ("first", "yearly", "after-repair=reducer pilot", "new-setting", "return-to-service")


@pytest.fixture
def station(tmp_path: Path) -> Path:
    """Return the main example as a file."""
    place = tmp_path / "station.yaml"
    place.write_bytes(examples.read("quillenby-row"))
    return place


def changed(station: Path, old: str, new: str) -> Path:
    """Return the file with one piece of text replaced; the piece must be there."""
    text = station.read_text("utf-8")
    assert old in text
    station.write_text(text.replace(old, new, 1), "utf-8")
    return station


def test_example_lists_one_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["example"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == [*EXAMPLES, "kiosk.csv"]
    assert all(len(line.split()) > 3 for line in lines)


@pytest.mark.parametrize("name", EXAMPLES)
def test_example_prints_the_stored_file(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["example", name]) == 0
    assert capsys.readouterr().out.encode() == examples.read(name)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_is_releasable_or_says_why(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = tmp_path / "s.yaml"
    place.write_bytes(examples.read(name))
    status = run(["check", str(place)])
    told = capsys.readouterr().out
    assert (status == 0) == ("Nothing forbids a release" in told)


@pytest.mark.parametrize("layout", list(templates.LAYOUTS))
def test_a_new_file_says_field_by_field_what_is_to_be_filled_in(
    layout: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["new", layout]) == 0
    place = tmp_path / "new.yaml"
    place.write_text(capsys.readouterr().out, "utf-8")
    assert run(["check", str(place)]) == 2
    told = capsys.readouterr().err
    assert "not filled in" in told
    assert "station.name" in told
    assert "Traceback" not in told


def test_check_as_json_carries_findings_and_sheet(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(station), "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["format"] == "steadyhead/check/1"
    assert result["releasable"] is True
    assert {"code", "severity", "subject", "value_hash", "words"} <= set(result["findings"][0])


def test_check_refuses_release_when_a_fault_limit_is_unknown(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = station.read_text("utf-8")
    start, end = text.index("limits:\n"), text.index("line:\n")
    station.write_text(text[:start] + text[end:], "utf-8")
    assert run(["check", str(station)]) == 1
    assert "Not releasable" in capsys.readouterr().out


def test_every_bad_field_is_told_at_once(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    changed(station, "typical: 8.6 bar", "typical: 8.6")
    changed(station, "peak: 18 L/s", "peak: 18 bar")
    changed(station, "size: DN 150", "size: big")
    assert run(["check", str(station)]) == 2
    told = capsys.readouterr().err
    assert "3 things stand in the way" in told
    for path in ("supply.typical", "demand.peak", "size"):
        assert path in told


@pytest.mark.parametrize("visit", VISITS)
def test_plan_is_written_as_text_json_and_paper(
    visit: str, station: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", str(station), "--for", visit]) == 0
    assert "Quillenby Row" in capsys.readouterr().out
    assert run(["plan", str(station), "--for", visit, "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["procedure"]["nodes"]
    paper = tmp_path / "plan.pdf"
    assert run(["plan", str(station), "--for", visit, "--pdf", str(paper)]) == 0
    assert paper.read_bytes().startswith(b"%PDF")


def test_plan_is_refused_with_findings_where_there_is_no_drain(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [
        line for line in station.read_text("utf-8").splitlines(keepends=True) if "part: drain" not in line
    ]
    station.write_text("".join(lines), "utf-8")
    assert run(["plan", str(station), "--for", "first"]) == 1
    assert "No plan for this visit" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("visit", "told"),
    [("sometime", "Use one of"), ("after-repair", "after-repair=ITEM"), ("yearly=reducer", "takes no item")],
)
def test_a_visit_that_is_not_known_says_which_are(
    visit: str, told: str, station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", str(station), "--for", visit]) == 2
    assert told in capsys.readouterr().err


def test_an_unknown_item_lists_the_items(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", str(station), "--for", "after-repair=flux capacitor"]) == 2
    assert "reducer" in capsys.readouterr().err


def test_release_freezes_revisions_and_replaces_none(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["release", str(station), "--by", "Ilse Marrow"]) == 0
    assert run(["release", str(station), "--by", "Ilse Marrow", "--again"]) == 0
    first, second = (station.parent / f"QUR-02.r{n}.release.json" for n in (1, 2))
    record = json.loads(first.read_bytes())
    assert record["file"]["content"].encode() == station.read_bytes()
    assert record["released_by"] == "Ilse Marrow"
    assert json.loads(second.read_bytes())["revision"] == 2


def test_an_unchanged_file_makes_no_new_revision(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["release", str(station), "--by", "Ilse Marrow"])
    capsys.readouterr()
    assert run(["release", str(station), "--by", "Tam Orrin"]) == 0
    assert "Unchanged since revision 1" in capsys.readouterr().out
    assert len(list(station.parent.glob("*.release.json"))) == 1
    changed(station, "peak: 18 L/s", "peak: 18.0 L/s")
    assert run(["release", str(station), "--by", "Tam Orrin"]) == 0
    assert "Released as revision 2" in capsys.readouterr().out


@pytest.mark.parametrize(
    "name", ["Ilse\x07Marrow", "Ilse\nMarrow", "Ilse\u202eMarrow", "\udcff", "…", "n" * 121]
)
def test_a_name_that_hides_something_or_is_none_releases_nothing(
    name: str, station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["release", str(station), "--by", name]) == 2
    assert "--by" in capsys.readouterr().err
    assert not list(station.parent.glob("*.release.json"))


def test_one_finding_stands_and_two_stand(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    changed(station, "trip: 5.2 bar", "trip: 6.4 bar")
    run(["release", str(station), "--by", "Ilse Marrow"])
    told = capsys.readouterr().err
    assert re.search(r"because (1 finding stands|[0-9]+ findings stand) in the way", told)
    assert "1 findings" not in told


def test_release_without_a_name_is_refused(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["release", str(station), "--by", "  "]) == 2
    assert "Say who releases" in capsys.readouterr().err
    assert not list(station.parent.glob("*.release.json"))


def test_release_is_refused_while_findings_forbid_it(
    station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    changed(station, "trip: 5.2 bar", "trip: 6.4 bar")
    assert run(["release", str(station), "--by", "Ilse Marrow"]) == 1
    assert "Not released" in capsys.readouterr().err
    assert not list(station.parent.glob("*.release.json"))


def test_card_is_an_a5_paper(station: Path, tmp_path: Path) -> None:
    paper = tmp_path / "card.pdf"
    assert run(["card", str(station), "--pdf", str(paper)]) == 0
    from pypdf import PdfReader

    page = PdfReader(paper).pages[0]
    assert sorted(round(float(side) / 72 * 25.4) for side in (page.mediabox.width, page.mediabox.height)) == [
        148,
        210,
    ]


@pytest.mark.parametrize("picture", ["strip", "ladder"])
def test_picture_is_an_svg_file(picture: str, station: Path, tmp_path: Path) -> None:
    place = tmp_path / "p.svg"
    assert run(["draw", str(station), picture, "--svg", str(place)]) == 0
    assert place.read_text("utf-8").lstrip().startswith("<svg")


def test_why_explains_with_inputs_and_sources(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["check", str(station), "--json"])
    codes = [f["code"] for f in json.loads(capsys.readouterr().out)["findings"]]
    assert codes
    for code in dict.fromkeys(codes):
        assert run(["why", str(station), code.lower()]) == 0
        assert code in capsys.readouterr().out


def test_why_of_an_unknown_code_is_unusable_input(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["why", str(station), "NOPE"]) == 2
    assert "no finding code" in capsys.readouterr().err


def test_schema_is_json_schema(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["schema"]) == 0
    assert "$schema" in json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("place", ["nowhere.yaml", ".", "\0"])
def test_a_file_that_cannot_be_read_is_said_in_words(place: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", place]) == 2
    told = capsys.readouterr().err
    assert told
    assert "Traceback" not in told


def test_units_change_only_the_printing(station: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["check", str(station), "--json", "--units", "metric"])
    metric = capsys.readouterr().out
    run(["check", str(station), "--json", "--units", "us"])
    assert capsys.readouterr().out == metric
    run(["check", str(station), "--units", "us"])
    assert "psi" in capsys.readouterr().out


def test_same_day_gives_the_same_paper(
    station: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1795000000")
    first, second = tmp_path / "a.pdf", tmp_path / "b.pdf"
    run(["card", str(station), "--pdf", str(first)])
    run(["card", str(station), "--pdf", str(second)])
    assert first.read_bytes() == second.read_bytes()


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys; from steadyhead.cli.app import run\n"
        "run(['--help'])\n"
        "heavy = {'numba', 'numpy', 'pydantic', 'typst', 'ruamel', 'rich'} & set(sys.modules)\n"
        "sys.exit(f'loaded {heavy}' if heavy else 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=os.environ, check=False
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    "words",
    [
        ["example", "--json"],
        ["example", "sorrel-flat", "--json"],
        ["new", "--json"],
        ["new", "two-reducers", "--json"],
        ["schema", "--json"],
        ["draw", "FILE", "strip", "--json"],
        ["draw", "FILE", "ladder", "--json"],
        ["draw", "FILE", "map", "--json"],
        ["card", "FILE", "--json"],
        ["why", "FILE", "LAD-11", "--json"],
        ["release", "FILE", "--by", "Ilse Marrow", "--json"],
    ],
    ids=" ".join,
)
def test_every_command_gives_its_result_as_json(
    words: list[str], station: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([str(station) if word == "FILE" else word for word in words]) == 0
    assert json.loads(capsys.readouterr().out)


def test_no_command_shows_the_help_and_is_unusable(capsys: pytest.CaptureFixture[str]) -> None:
    assert run([]) == 2
    told = capsys.readouterr().out
    assert "Commands:" in told
    assert "\n  check " in told
