from __future__ import annotations

import importlib.util
import subprocess
import sys

import pytest

from devtools import bootstrap
from devtools.bootstrap import CORE, TEST, SetUpError, ensure
from devtools.places import ROOT


@pytest.fixture
def tree(tmp_path, monkeypatch):
    """A work tree of its own, where commands are written down instead of run."""
    for name in (CORE, TEST, "pyproject.toml"):
        (tmp_path / name).write_text(name)
    commands: list[list[str]] = []
    failing: list[str] = []

    def run(command, env=None):
        words = [str(word) for word in command]
        commands.append(words)
        if words[1:3] == ["-m", "venv"]:
            (tmp_path / ".venv").mkdir(exist_ok=True)
        return int(any(word in failing for word in words))

    monkeypatch.setattr(bootstrap, "ROOT", tmp_path)
    monkeypatch.setattr(bootstrap, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap, "run", run)
    monkeypatch.setattr(bootstrap, "_runs", lambda python: True)
    monkeypatch.delenv("STEADYHEAD_INSTALLER", raising=False)
    return type("Tree", (), {"root": tmp_path, "commands": commands, "failing": failing})


def _used_uv(commands):
    return [words for words in commands if "uv" in words]


def test_a_second_start_runs_nothing(tree):
    ensure(CORE)
    tree.commands.clear()
    ensure(CORE)
    assert tree.commands == []


def test_what_the_tests_need_is_enough_for_the_demo(tree):
    ensure(TEST)
    tree.commands.clear()
    ensure(CORE)
    assert tree.commands == []


def test_a_changed_lock_is_installed_into_the_same_environment(tree):
    ensure(CORE)
    tree.commands.clear()
    (tree.root / CORE).write_text("changed")
    ensure(CORE)
    assert not [words for words in tree.commands if "venv" in words]
    assert [words for words in tree.commands if CORE in words]


def test_an_environment_made_for_another_folder_is_made_anew(tree):
    ensure(CORE)
    (tree.root / ".venv" / ".made-by").write_text("another folder")
    (tree.root / CORE).write_text("changed")
    tree.commands.clear()
    ensure(CORE)
    assert tree.commands[0][1:3] == ["-m", "venv"]


def test_pip_does_the_work_where_the_installer_cannot_be_had(tree):
    tree.failing.append(bootstrap.INSTALLER)
    ensure(CORE)
    assert _used_uv(tree.commands) == []
    assert "pip" in tree.commands[-1]


def test_pip_does_the_work_where_the_installer_fails(tree):
    tree.failing.append("uv")
    ensure(CORE)
    assert _used_uv(tree.commands)
    assert "pip" in tree.commands[-1]
    assert "uv" not in tree.commands[-1]


def test_everything_from_outside_is_installed_by_hash_and_the_project_without_fetching(tree):
    ensure(CORE)
    for words in tree.commands:
        if "install" in words:
            assert "--require-hashes" in words or {"--no-deps", "--no-build-isolation"} <= set(words)


def test_no_ensurepip_and_no_root_gives_one_sentence_with_the_remedy(tree, monkeypatch):
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    monkeypatch.setattr(bootstrap, "install_with_apt", lambda packages: False)
    with pytest.raises(
        SetUpError, match=r"Install the system package python3\.\d+-venv .* run the same command"
    ):
        ensure(CORE)


def test_an_old_python_is_told_which_one_is_needed():
    patched = "import sys, runpy; sys.version_info = (3, 9, 2); runpy.run_path('dev.py', run_name='__main__')"
    done = subprocess.run(
        [sys.executable, "-c", patched], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert done.stderr.startswith("dev.py: this is Python 3.9; steadyhead needs 3.11 or newer.\n")
