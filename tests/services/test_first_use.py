from __future__ import annotations

import os
import subprocess
import sys

import pytest

from steadyhead.laws import compiling
from steadyhead.services import first_use


@pytest.fixture
def told(monkeypatch, tmp_path):
    """A process that has compiled nothing yet; what is said, and what is begun beside it."""
    said: list[str] = []
    begun: list[object] = []

    class Beside:
        def __init__(self, command, **_):
            begun.append(command)

        def wait(self):
            begun.append("waited for")

        def terminate(self):
            pass

    monkeypatch.setattr(subprocess, "Popen", Beside)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr(compiling, "mode", lambda: "compiled")
    monkeypatch.setattr(compiling, "cache_folder", lambda: tmp_path)
    monkeypatch.setattr(compiling, "cache_message", lambda: "")
    monkeypatch.setattr(compiling, "shortcut_message", lambda: "")
    yield said, begun
    compiling.wait()


def test_first_use_says_that_it_compiles_and_does_so_in_two_processes(told):
    said, begun = told
    first_use.tell_first_use(said.append)
    assert said == [first_use.COMPILING]
    assert begun == [(sys.executable, "-m", "steadyhead.surge.warming")]
    compiling.wait()
    compiling.wait()
    assert begun[1:] == ["waited for"]


def test_later_use_says_nothing_and_begins_nothing(told, tmp_path):
    said, begun = told
    (tmp_path / "advance.advance-1.py311.1.nbc").write_bytes(b"")
    assert first_use.needs_compiling()  # another process is half way
    (tmp_path / "steady.solve-1.py311.1.nbc").write_bytes(b"")
    first_use.tell_first_use(said.append)
    assert (said, begun) == ([], [])


@pytest.mark.parametrize(("cores", "keeps"), [(1, True), (2, False)])
def test_one_core_or_nowhere_to_keep_it_compiles_in_this_process_alone(told, monkeypatch, cores, keeps):
    said, begun = told
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    if not keeps:
        monkeypatch.setattr(compiling, "cache_folder", lambda: None)
    first_use.tell_first_use(said.append)
    assert (said, begun) == ([first_use.COMPILING], [])


def test_what_is_not_as_usual_about_compiled_code_is_said(told, monkeypatch):
    said, _ = told
    monkeypatch.setattr(compiling, "cache_message", lambda: "Compiled code is not kept.")
    monkeypatch.setattr(compiling, "shortcut_message", lambda: "Kernels are compiled in the usual way.")
    first_use.tell_first_use(said.append)
    assert said[:2] == ["Compiled code is not kept.", "Kernels are compiled in the usual way."]


def test_the_plain_engine_never_compiles(told, monkeypatch):
    said, begun = told
    monkeypatch.setattr(compiling, "mode", lambda: "plain")
    first_use.tell_first_use(said.append)
    assert (said, begun) == ([], [])


def test_the_process_beside_marches_a_smallest_station():
    done = subprocess.run(
        [sys.executable, "-m", "steadyhead.surge.warming"], capture_output=True, text=True, check=False,
        env=os.environ | {compiling.ENGINE_VARIABLE: "plain"},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
