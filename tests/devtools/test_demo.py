"""The demo against a stand-in for the command line that only writes what it is asked for."""

from __future__ import annotations

import sys

import pytest

from devtools import demo

STAND_IN = """#!{python}
import sys
from pathlib import Path

words = sys.argv[1:]
for option in ("--pdf", "--svg"):
    if option in words and words[0] != "{silent}":
        Path(words[words.index(option) + 1]).write_text("made")
if words == ["example"]:
    print("first-one   an invented station")
    print("second-one  another")
elif words[0] == "example":
    print("format: steadyhead/station/1")
elif words[0] == "check":
    print("The trip window is empty.")
    sys.exit({verdict})
"""


@pytest.fixture
def stand_in(tmp_path, monkeypatch):
    """Return a function that puts a stand-in in the product's place."""

    def put(verdict=0, silent=""):
        program = tmp_path / "steadyhead"
        program.write_text(STAND_IN.format(python=sys.executable, verdict=verdict, silent=silent))
        program.chmod(0o755)

    monkeypatch.setattr(demo, "ROOT", tmp_path)
    monkeypatch.setattr(demo, "FOLDER", tmp_path / "demo")
    monkeypatch.setattr(demo, "script", lambda name: tmp_path / name)
    monkeypatch.setattr(demo, "shown", str)
    return put


pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="The stand-in is a script with a first line.")


def test_findings_that_forbid_release_are_told_and_the_demo_is_a_success(stand_in, capsys):
    stand_in(verdict=1)
    assert demo.main() == 0
    told = capsys.readouterr().out
    assert "The trip window is empty." in told
    assert "first-one-plan.pdf" in told
    assert "first-one-ladder.svg" in told


def test_an_example_that_cannot_be_used_fails_the_demo(stand_in, capsys):
    stand_in(verdict=2)
    assert demo.main() == 1
    assert "ended with exit code 2" in capsys.readouterr().out


def test_a_paper_that_was_not_made_fails_the_demo(stand_in, capsys):
    stand_in(silent="card")
    assert demo.main() == 1
    assert "first-one-card.pdf was promised and is not there." in capsys.readouterr().out
