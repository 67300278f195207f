"""Reading what a person names, never beyond the limit."""

from __future__ import annotations

import io
import os

import pytest

from steadyhead.errors import InputError
from steadyhead.services.files import LARGEST_FILE, read_stream, write_paper


class Folder(io.BytesIO):
    def read(self, size: int | None = -1, /) -> bytes:
        raise IsADirectoryError(21, "Is a directory")


class Endless(io.BytesIO):
    asked = 0

    def read(self, size: int | None = -1, /) -> bytes:
        assert size is not None
        assert 0 < size <= LARGEST_FILE + 1
        return b"0" * size


@pytest.mark.parametrize("stream", [None, Folder(), Endless()])
def test_a_stream_that_is_no_file_is_refused(stream):
    with pytest.raises(InputError, match="standard input"):
        read_stream(stream, "standard input")


def test_a_file_at_the_limit_is_read():
    assert len(read_stream(io.BytesIO(b"0" * LARGEST_FILE), "f")) == LARGEST_FILE


@pytest.mark.parametrize("place", ["out.yaml", "out", "a\0b.pdf", "."])
def test_a_place_that_takes_no_paper_is_refused(place, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError):
        write_paper(place, b"%PDF", option="--pdf", ending=".pdf", begins=b"%PDF", source="-")
    assert not list(tmp_path.iterdir())


def test_a_folder_of_that_name_is_left_alone(tmp_path):
    (tmp_path / "out.pdf").mkdir()
    with pytest.raises(InputError, match="no PDF"):
        write_paper(
            str(tmp_path / "out.pdf"), b"%PDF", option="--pdf", ending=".pdf", begins=b"%PDF", source="-"
        )


def test_what_a_full_disk_did_not_take_leaves_nothing_behind(tmp_path, monkeypatch):
    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="No space left"):
        write_paper(
            str(tmp_path / "out.csv"), b"time [s]", option="--csv", ending=".csv", begins=b"time", source="-"
        )
    assert not list(tmp_path.iterdir())
