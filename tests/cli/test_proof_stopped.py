"""A proof that somebody stops proves nothing and releases nothing."""

from __future__ import annotations

import pytest

from steadyhead.cli.app import run
from steadyhead.station import examples


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.setenv("STEADYHEAD_PROOF", "yes")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "cache"))
    monkeypatch.setattr("steadyhead.services.protection.proof_of", lambda *_, **__: None)
    path = tmp_path / "station.yaml"
    path.write_bytes(examples.read("dunmarrow-bottom"))
    return path


def test_a_stopped_proof_ends_with_130_and_says_so(file, capsys):
    assert run(["prove", str(file)]) == 130
    assert "Stopped; nothing is proved." in capsys.readouterr().err


def test_a_release_whose_proof_was_stopped_is_not_made(file, capsys):
    assert run(["release", str(file), "--by", "Ilse Marrow"]) == 130
    assert "Stopped; nothing is released." in capsys.readouterr().err
    assert not list(file.parent.glob("*.release.json"))


def test_a_check_goes_on_without_it_and_says_so(file, capsys):
    run(["check", str(file)])
    assert "Stopped: judged without the protection proof." in capsys.readouterr().err


@pytest.mark.parametrize("words", [["stability"], ["chances", "--event", "pilot-stuck", "--runs", "16"]])
def test_bands_and_chances_that_are_stopped_say_so(words, file, monkeypatch, capsys):
    monkeypatch.setattr("steadyhead.cli.progress.Shown.cancel", lambda self: True)
    assert run([words[0], str(file), *words[1:]]) == 130
    assert "Stopped: the rest was not run." in capsys.readouterr().err
