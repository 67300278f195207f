"""Reading and writing files so that nothing is half written and nothing is lost."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from steadyhead.errors import InputError

LARGEST_FILE = 4_000_000


def read_file(path: str) -> bytes:
    """Return the bytes of a file a person named.

    Raises
    ------
    InputError
        No such file, a folder, not readable, or larger than 4 MB; says which and what to do.
    """
    place = Path(path)
    try:
        size = -1 if place.is_dir() else place.stat().st_size
        content = place.read_bytes() if 0 <= size <= LARGEST_FILE else b""
    except FileNotFoundError:
        raise InputError(
            path, "is not there.", "Check the name, or start one with: steadyhead new shut-off-upstream"
        ) from None
    except (OSError, ValueError) as problem:
        reason = (
            problem.strerror
            if isinstance(problem, OSError) and problem.strerror
            else "the name cannot be used"
        )
        raise InputError(path, f"cannot be read: {reason}.", "Check the name and the rights on it.") from None
    if size < 0:
        raise InputError(path, "is a folder.", "Name a station file.")
    if size > LARGEST_FILE:
        raise InputError(
            path, f"is {size / 1e6:.1f} MB large; a station file has at most 4 MB.", "Name another file."
        )
    return content


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
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name[:40]}.", dir=path.parent)
        with os.fdopen(handle, "wb") as target:
            target.write(content)
            target.flush()
            os.fsync(target.fileno())
        Path(name).chmod(0o644)
    except OSError as problem:
        raise InputError(
            str(path), f"cannot be written: {problem.strerror}.", "Choose another place."
        ) from None
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
