"""README and manual say what is so: real output, files that exist, pictures of today."""

from __future__ import annotations

import doctest
import json
import re
from pathlib import Path

import pytest

from devtools import demo, risk_curve
from devtools.console_examples import FLAGS, page_problems
from devtools.places import ROOT
from devtools.reference.commands import names
from steadyhead.cli.app import app
from steadyhead.design.protection import prove_station
from steadyhead.services.judging import judge_file
from steadyhead.services.papers import PICTURES, drawing
from steadyhead.station import examples
from steadyhead.station.load import load

README = (ROOT / "README.md").read_text(encoding="utf-8")
DOCS = ROOT / "docs"
CODE = ROOT / "src" / "steadyhead"


def test_the_readme_opens_with_one_paragraph_that_names_the_person_and_the_job():
    blocks = [block for block in README.split("\n\n") if block.strip()]
    assert blocks[0] == "# steadyhead"
    assert "answers for a pressure-reducing station" in blocks[1]
    assert "judges the design, and writes the test plan" in " ".join(blocks[1].split())
    assert blocks[2].startswith("```text\n$ python3 dev.py demo")


@pytest.mark.parametrize("command", ["python3 dev.py demo", "python3 dev.py test"])
def test_the_readme_names_the_command(command: str):
    assert command in README


@pytest.mark.parametrize("command", names(app))
def test_the_readme_lists_every_command(command: str):
    assert f"| `steadyhead {command}" in README


@pytest.mark.by_turns(3)
def test_the_readme_shows_what_the_demo_prints(monkeypatch, capsys, tmp_path):
    """Papers and pictures are left out here; the demo's own test makes them."""
    ask = demo._ask

    def without_papers(*words: str, also_fine: int = 0) -> str:
        for option in ("--pdf", "--svg"):
            if option in words:
                (tmp_path / words[words.index(option) + 1]).write_text("made", encoding="utf-8")
                return ""
        return ask(*words, also_fine=also_fine)

    def shown(path: Path) -> str:
        return path.relative_to(tmp_path).as_posix() if path.is_relative_to(tmp_path) else path.name

    monkeypatch.setattr(demo, "_ask", without_papers)
    monkeypatch.setattr(demo, "ROOT", tmp_path)
    monkeypatch.setattr(demo, "FOLDER", tmp_path / "demo")
    monkeypatch.setattr(demo, "shown", shown)
    monkeypatch.setenv("COLUMNS", "110")
    monkeypatch.setenv("STEADYHEAD_PROOF", "yes")
    assert demo.main() == 0
    told = README.split("```text\n$ python3 dev.py demo\n", 1)[1].split("```", 1)[0]
    printed = capsys.readouterr().out
    assert doctest.OutputChecker().check_output(told, printed, FLAGS), printed


def _facts(svg: str) -> str:
    return svg.split("<desc>", 1)[1].split("</desc>", 1)[0]


@pytest.mark.by_turns(3)
@pytest.mark.parametrize("picture", PICTURES)
def test_the_kept_picture_shows_the_station_of_the_demo_as_it_is_drawn_today(picture: str):
    name = examples.names()[0]
    kept = (DOCS / "_static" / f"{picture}.svg").read_text(encoding="utf-8")
    source = examples.read(name)
    proof = prove_station(load(source).station) if picture == "ladder" else None
    fresh = drawing(judge_file(source, name, proof=proof), picture)
    told = f"steadyhead example {name} > s.yaml; steadyhead draw s.yaml {picture} --width 880 --svg …"
    assert _facts(kept) == _facts(fresh), f"Draw it again: {told}"


def test_the_curve_of_risk_is_that_of_the_evidence_kept():
    fresh = risk_curve.drawn(json.loads(risk_curve.EVIDENCE.read_text(encoding="utf-8")))
    told = "Draw it again: python -m devtools.risk_curve"
    assert _facts(risk_curve.PICTURE.read_text(encoding="utf-8")) == _facts(fresh), told


@pytest.mark.parametrize("page", ["README.md", "docs/first_hour.md", "docs/method.md"])
def test_every_link_to_a_file_of_ours_leads_somewhere(page: str):
    place = ROOT / page
    links = re.findall(r"\]\(([^)#:]+)\)", place.read_text(encoding="utf-8"))
    assert links
    assert not [link for link in links if not (place.parent / link).exists()]


@pytest.mark.parametrize("page", ["tour.md", "architecture.md"])
def test_every_file_of_the_code_that_a_page_names_exists(page: str):
    text = (DOCS / page).read_text(encoding="utf-8")
    named = set(re.findall(r"`([a-z_/]+\.(?:py|typ))`", text))
    every = [path.relative_to(CODE).as_posix() for path in CODE.rglob("*") if path.suffix in (".py", ".typ")]
    missing = [name for name in named if not any(path == name or path.endswith(f"/{name}") for path in every)]
    assert not missing
    folders = set(re.findall(r"`([a-z_]+(?:/[a-z_]+)*)/`", text))
    assert not [folder for folder in folders if not (CODE / folder).is_dir()]


def test_every_function_that_the_tour_names_is_in_its_file():
    text = (DOCS / "tour.md").read_text(encoding="utf-8")
    for file, name in re.findall(r"`([a-z_/]+\.py)`, `([A-Za-z_.]+)`", text):
        code = Path(CODE / file).read_text(encoding="utf-8")
        assert re.search(rf"(def|class) {name.rpartition('.')[2]}\b", code), f"{file}: {name}"


def test_every_room_of_the_house_stands_on_the_architecture_page():
    rooms = {path.name for path in CODE.iterdir() if path.is_dir() and path.name != "__pycache__"}
    text = (DOCS / "architecture.md").read_text(encoding="utf-8")
    rooms |= {path.stem for path in CODE.glob("*.py") if not path.stem.startswith("__")}
    assert not {room for room in rooms if f"`{room}`" not in text}


def test_every_decision_says_context_choice_and_cost():
    for path in sorted((DOCS / "decisions").glob("*.md")):
        if path.name != "index.md":
            text = path.read_text(encoding="utf-8")
            heads = re.findall(r"\*\*(Context|Choice|Cost)\.\*\*", text)
            assert heads == ["Context", "Choice", "Cost"], path.name
            assert len(text.splitlines()) <= 15, path.name


def test_examples_of_a_page_find_the_files_beside_it(tmp_path):
    page = tmp_path / "page.md"
    (tmp_path / "page").mkdir()
    (tmp_path / "page" / "station.yaml").write_text("format: none", encoding="utf-8")
    page.write_text(
        "```console\n$ steadyhead check station.yaml\nstation.yaml: ...\n[exit code 2]\n```\n",
        encoding="utf-8",
    )
    assert not list(page_problems(page))
