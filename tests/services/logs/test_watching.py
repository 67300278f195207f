"""A watched folder: files that stand still are taken in once; half ones and open ones are left aside."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import pytest

from steadyhead.cli.app import run
from steadyhead.errors import InputError
from steadyhead.services.logs.importing import list_imports
from steadyhead.services.logs.watching import Watched
from tests.services.logs.files import dateless, plain

KEY, WHO = "DMB-01", "Ilse Marrow"


def laid(folder, name="a.csv", age=60.0, **more):
    """Lay a file that asks nothing, and let it be some time ago."""
    folder.mkdir(exist_ok=True)
    path = plain(folder, name, **more)
    path.write_text(path.read_text("utf-8").replace("Time,", "Time (UTC),"), "utf-8")
    old(path, age)
    return path


def old(path, age=60.0):
    os.utime(path, (time.time() - age,) * 2)


def test_a_file_is_taken_in_once_it_stands_still_and_only_once(register, logs, tmp_path):
    box = tmp_path / "box"
    watched = Watched(box, KEY, "kiosk")
    path = laid(box, age=0.0)
    for name in ("b.csv.part", ".hidden", "~lock", "empty.csv"):
        (box / name).write_bytes(b"" if name == "empty.csv" else b"x")
        old(box / name)
    assert list(watched.look(register, WHO)) == []
    old(path)
    (one,) = watched.look(register, WHO)
    assert one.words().startswith("a.csv: import 1, 240 samples, 120 of 121 rows.")
    assert list(watched.look(register, WHO)) == []
    assert path.exists()
    (again,) = Watched(box, KEY, "kiosk").look(register, WHO)  # begun anew
    assert "is kept already" in again.words()
    laid(box, shift=0.5)
    (changed,) = watched.look(register, WHO)
    assert changed.pushed is not None
    assert changed.pushed.number == 2


def test_what_must_be_asked_is_left_aside_and_said_once(register, logs, tmp_path):
    box = tmp_path / "box"
    box.mkdir()
    old(dateless(box))
    (box / "noise.bin").write_bytes(bytes(range(256)) * 4)
    old(box / "noise.bin")
    watched = Watched(box, KEY)
    found = {one.name: one for one in watched.look(register, WHO)}
    assert all(one.pushed is None and one.why for one in found.values())
    assert "start" in found["seconds.csv"].words()
    assert list(watched.look(register, WHO)) == []
    assert list_imports(register, KEY).imports == ()
    with pytest.raises(InputError, match="cannot be looked into"):
        list(Watched(tmp_path / "none", KEY).look(register, WHO))


def test_the_command_looks_once_or_until_it_is_ended(register, logs, tmp_path, capsys):
    box = tmp_path / "box"
    laid(box)
    common = ["logs", "watch", str(box), "--station", KEY, "--by", WHO, "--register", register.folder]
    assert run([*common, "--once"]) == 0
    assert "a.csv: import 1" in capsys.readouterr().out
    dateless(box)
    assert run([*common, "--once"]) == 1
    assert run(["logs", "watch", str(box), "--station", "NO-1", *common[5:], "--once"]) == 2
    words = [sys.executable, "-m", "steadyhead", *common, "--every", "0.2"]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert "is kept already" in process.stdout.readline()
    process.send_signal(signal.SIGTERM)
    assert process.wait(60.0) == 0
    process.stdout.close()
