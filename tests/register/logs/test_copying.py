"""A copy is the file, byte by byte, with its checksum, however the system writes it."""

from __future__ import annotations

import errno
import hashlib
import os
import time
from io import FileIO
from pathlib import Path

import pytest

from steadyhead.errors import InputError
from steadyhead.register.logs import copying
from steadyhead.register.logs.copying import AT_ONCE, Halted, copied, state_of_file


@pytest.mark.parametrize("size", [0, 1, 4095, 4096, 4097, AT_ONCE, AT_ONCE + 1, 2 * AT_ONCE + 12_345])
@pytest.mark.parametrize("is_past_memory", [False, True])
def test_a_copy_is_the_file_with_its_checksum(tmp_path, size, is_past_memory):
    given, copy = tmp_path / "given", tmp_path / "copy"
    content = os.urandom(size)
    given.write_bytes(content)
    told = copied(given, copy, is_past_memory=is_past_memory)
    assert told == (hashlib.sha256(content).hexdigest(), size)
    assert copy.read_bytes() == content


def test_where_the_system_cannot_write_past_its_memory_it_is_written_plainly(tmp_path, monkeypatch):
    given, copy = tmp_path / "given", tmp_path / "copy"
    given.write_bytes(bytes(range(256)) * 40_000)

    def refuse(path, flags, mode=0o777, **others):
        if flags & getattr(os, "O_DIRECT", 0):
            raise OSError(errno.EINVAL, "no")
        return opened(path, flags, mode, **others)

    opened = os.open
    monkeypatch.setattr(os, "open", refuse)
    copied(given, copy, is_past_memory=True)
    assert copy.read_bytes() == given.read_bytes()


def test_a_write_that_is_refused_past_the_memory_is_made_plainly(tmp_path):
    """Some file systems take the flag and refuse what is then written."""
    copy = tmp_path / "copy"

    class Picky(FileIO):
        def write(self, block):
            import fcntl

            if fcntl.fcntl(self, fcntl.F_GETFL) & os.O_DIRECT:
                raise OSError(errno.EINVAL, "no")
            return super().write(block[:100_000])  # and takes less than it is given

    try:
        out = Picky(copy, "w", opener=lambda path, flags: os.open(path, flags | os.O_DIRECT, 0o666))
    except (OSError, AttributeError):
        pytest.skip("this system cannot write past its memory for files")
    with out:
        copying._put(out, memoryview(bytes(range(256)) * 4096))
    assert copy.read_bytes() == bytes(range(256)) * 4096


def test_no_room_is_told_by_the_file(tmp_path):
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("this system has no full device")
    given = tmp_path / "given"
    given.write_bytes(b"x" * 10_000)
    with pytest.raises(InputError, match="cannot be read or kept"):
        copied(given, full)


def test_a_copy_nobody_waits_for_ends(tmp_path):
    given = tmp_path / "given"
    given.write_bytes(b"x" * 10_000)
    with pytest.raises(Halted):
        copied(given, tmp_path / "copy", is_halted=lambda: True)


def test_a_change_of_a_file_is_seen(tmp_path):
    given = tmp_path / "given"
    given.write_bytes(b"12:00,3\n")
    assert state_of_file(given) is None, "it was written just now: another write may show no other time"
    before = time.time() - 60.0
    os.utime(given, (before, before))
    state = state_of_file(given)
    assert state is not None
    assert state_of_file(given) == state
    with given.open("ab") as more:
        more.write(b"12:01,4\n")
    assert state_of_file(given) != state
    given.write_bytes(b"12:00,4\n")  # as long, and dated back: its number or the time of the change tells
    os.utime(given, (before, before))
    assert state_of_file(given) != state
