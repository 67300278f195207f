"""The page about surge shows what the command prints for the file beside it."""

from __future__ import annotations

import doctest
import re
import shutil
from pathlib import Path

import pytest

from devtools.console_examples import FLAGS, console_examples
from steadyhead.cli.app import run
from steadyhead.findings import CATALOGUE
from steadyhead.station.load import load

PAGE = Path(__file__).parents[2] / "docs" / "surge.md"
EXAMPLES = list(console_examples(PAGE.read_text(encoding="utf-8")))


@pytest.mark.parametrize("example", EXAMPLES, ids=[example.command for example in EXAMPLES])
def test_the_page_shows_what_the_command_prints(example, tmp_path, monkeypatch, capsys):
    shutil.copy(PAGE.with_suffix("") / "lane.yaml", tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "110")
    status = run(example.command.split()[1:])
    told = capsys.readouterr().out.rstrip() + (f"\n[exit code {status}]" if status else "")
    assert doctest.OutputChecker().check_output(f"{example.expected}\n", f"{told}\n", FLAGS), told


def test_every_finding_the_page_names_exists():
    named = set(re.findall(r"SUR-\d\d", PAGE.read_text(encoding="utf-8")))
    assert named
    assert named <= set(CATALOGUE)


def test_the_yaml_of_the_page_is_that_of_the_file_beside_it():
    station = load((PAGE.with_suffix("") / "lane.yaml").read_bytes()).station
    text = PAGE.read_text(encoding="utf-8")
    assert [event.id for event in station.events] == re.findall(r"- \{id: (\w+), what", text)
    assert [reach.id for reach in station.zone.reaches] == re.findall(r"- \{id: (\w+),[^}]* length", text)
