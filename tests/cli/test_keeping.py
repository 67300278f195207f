"""export, import and verify of a whole register as a person meets them."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from steadyhead.cli.app import run
from steadyhead.register import open_register
from tests.register.filled import fill


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a filled register in it."""
    monkeypatch.chdir(tmp_path)
    register = open_register(tmp_path / "mine")
    fill(register)
    register.close()
    return tmp_path


def test_a_register_leaves_comes_in_and_is_verified(folder, capsys):
    assert run(["export", "mine", "all.zip"]) == 0
    assert "Archive: all.zip" in capsys.readouterr().err
    assert run(["import", "all.zip", "new"]) == 0
    told = capsys.readouterr().err
    assert "new: 2 stations, 4 revisions" in told
    assert "are equal to the archive's, byte for byte" in told
    for what in ("mine", "new", "all.zip", "new/register.sqlite"):
        assert run(["verify", what]) == 0
        assert "is whole" in capsys.readouterr().out


def test_what_is_broken_is_named_with_its_code_and_exit_status_1(folder, capsys):
    database = sqlite3.connect(folder / "mine" / "register.sqlite")
    database.execute("DROP TRIGGER kept_audit_update")
    database.execute("UPDATE audit SET who = 'Mallory' WHERE seq = 3")
    database.commit()
    database.close()
    assert run(["verify", "mine"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "REG-02 Link 3" in told
    assert "Link 3 is the first that does not hold" in told
    assert run(["verify", "mine", "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert (found["format"], found["first_broken"]) == ("steadyhead/register-verified/1", 3)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["import", "nope.zip", "new"], "is not there"),
        (["import", "mine", "new"], "is a folder"),
        (["import", "mine/register.sqlite", "new"], "is no zip file"),
        (["export", "nope", "a.zip"], "holds no register"),
        (["export", "mine", "a.pdf"], "ends in .zip"),
        (["export", "mine", "no/such/a.zip"], "cannot be written"),
        (["verify", "."], "holds no register"),
        (
            ["verify", "nowhere"],
            "is not there. Check the name. It may be a certificate,",
        ),
    ],
)
def test_what_cannot_be_used_is_said_and_leaves_nothing(folder, capsys, words, said):
    assert run(words) == 2
    assert said in " ".join(capsys.readouterr().err.split())
    assert {one.name for one in folder.iterdir()} == {"mine"}


def test_a_register_that_holds_something_takes_no_archive(folder, capsys):
    assert run(["export", "mine", "all.zip"]) == 0
    assert run(["import", "all.zip", "mine"]) == 2
    assert "is not empty" in capsys.readouterr().err
