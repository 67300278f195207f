"""Reading and writing files so that nothing is half written and nothing is lost."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from steadyhead.errors import InputError

LARGEST_FILE = 4_000_000


STATION_FILE = "Check the name, or start one with: steadyhead new shut-off-upstream"
"""What to do where a station file is not there."""


def read_file(path: str, most: int = LARGEST_FILE, *, instead: str = "") -> bytes:
    """Return the bytes of a file a person named; a pipe or device is read too, never beyond the limit.

    instead: what to do where it is not there; left out: look at its name.

    Raises
    ------
    InputError
        No such file, a folder, not readable, or larger than 4 MB or `most`; says which and what to do.
    """
    place = Path(path)
    try:
        if place.is_dir():
            raise InputError(path, "is a folder.", instead or "Name a file in it.")
        with place.open("rb") as source:
            return read_stream(source, path, most)
    except FileNotFoundError:
        raise InputError(path, "is not there.", instead or "Check the name and its folder.") from None
    except InputError:
        raise
    except (OSError, ValueError) as problem:
        reason = (
            problem.strerror
            if isinstance(problem, OSError) and problem.strerror
            else "the name cannot be used"
        )
        raise InputError(path, f"cannot be read: {reason}.", "Check the name and the rights on it.") from None


def read_stream(source: BinaryIO | None, name: str, most: int = LARGEST_FILE) -> bytes:
    """Return everything a stream holds; one that never ends is refused as soon as it is too large.

    Raises
    ------
    InputError
        Closed, not readable, or larger than 4 MB or `most`.
    """
    if source is None:
        raise InputError(name, "is closed.", "Name a station file, or feed one in.")
    try:
        content = source.read(most + 1)
    except OSError as problem:
        raise InputError(name, f"cannot be read: {problem.strerror}.", "Name a station file.") from None
    if len(content) > most and most != LARGEST_FILE:
        raise InputError(name, f"is larger than {_size(most)}.", "Name another file, or split it.")
    if len(content) > most:
        raise InputError(name, "is larger than 4 MB; a station file is much smaller.", "Name another file.")
    return content


def _size(count: int) -> str:
    return f"{count / 1e6:.0f} MB" if count >= 1_000_000 else f"{count / 1e3:.0f} kB"


def write_paper(
    place: str, content: bytes, *, option: str, ending: str, begins: bytes, source: str
) -> tuple[Path, bool]:
    """Write a paper or picture; return where, and whether an older one was replaced.

    Parameters
    ----------
    place
        Name a person gave.
    content
        The paper.
    option
        Option the name came with, for messages.
    ending
        What the name must end in, e.g. ``.pdf``.
    begins
        First bytes of every file of this kind; a file that begins otherwise is left alone.
    source
        The station file it is made from; never written over, whatever it is called.

    Raises
    ------
    InputError
        Another ending, the station file itself, a file of another kind, or a place that cannot be written.
    """
    path = Path(place)
    if path.suffix.lower() != ending:
        raise InputError(option, f"got {place!r}.", f"Give a name that ends in {ending}.")
    try:
        is_there = path.exists()
        if is_there and source != "-" and path.samefile(source):
            raise InputError(option, f"got {place!r}, the station file itself.", "Give another name.")
        if is_there and not _is_replaceable(path, begins):
            problem = f"got {place!r}, which is there and is no {ending[1:].upper()} file."
            raise InputError(option, problem, "Give another name, or move that file away.")
    except InputError:
        raise
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or "the name cannot be used"
        raise InputError(option, f"{place!r} cannot be used: {reason}.", "Give another name.") from None
    return write_replacing(path, content), is_there


def _is_replaceable(path: Path, begins: bytes) -> bool:
    """Return whether a file is empty or of the kind that takes its place."""
    if not path.is_file():
        return False
    with path.open("rb") as old:
        head = old.read(len(begins))
    return not head or head == begins


def write_replacing(path: Path, content: bytes) -> Path:
    """Write a file all or nothing; an older one of that name is replaced in one stroke.

    Raises
    ------
    InputError
        When the place cannot be written.
    """
    temporary = _write_beside(path, content)
    try:
        temporary.replace(path)
    except OSError as problem:
        temporary.unlink(missing_ok=True)
        raise InputError(
            str(path), f"cannot be written: {problem.strerror}.", "Choose another place."
        ) from None
    _flush_folder(path.parent)
    return path


def write_new(path: Path, content: bytes) -> Path:
    """Write a file all or nothing; refuse to touch one that exists.

    Raises
    ------
    FileExistsError
        When the name is taken.
    InputError
        When the place cannot be written.
    """
    temporary = _write_beside(path, content)
    try:
        _link_or_create(temporary, path, content)
    finally:
        temporary.unlink(missing_ok=True)
    _flush_folder(path.parent)
    return path


def _link_or_create(temporary: Path, path: Path, content: bytes) -> None:
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links
        with path.open("xb") as target:
            target.write(content)
            target.flush()
            os.fsync(target.fileno())


def _write_beside(path: Path, content: bytes) -> Path:
    name = ""
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name[:40]}.", dir=path.parent)
        with os.fdopen(handle, "wb") as target:
            target.write(content)
            target.flush()
            os.fsync(target.fileno())
        Path(name).chmod(0o644)
    except (OSError, ValueError) as problem:
        if name:
            with suppress(OSError):
                Path(name).unlink(missing_ok=True)
        reason = getattr(problem, "strerror", None) or "the name cannot be used"
        raise InputError(str(path), f"cannot be written: {reason}.", "Choose another place.") from None
    return Path(name)


def _flush_folder(folder: Path) -> None:
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)
