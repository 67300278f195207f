"""Open an archive that came from anywhere: nothing of it is believed before it is checked."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from stat import S_ISLNK
from typing import Any, BinaryIO

from steadyhead.errors import InputError
from steadyhead.services.archive.layout import (
    CHAIN,
    CONTENTS,
    FORMAT,
    LARGEST,
    LARGEST_TABLE,
    LONGEST_LINE,
    MANIFEST,
    MOST_FILES,
    MOST_PACKED,
    MOST_PACKED_ALL,
    SMALL,
    SMALL_ALL,
    is_logger,
)

PIECE = 1 << 16
_AS_WRITTEN = "Take the archive as steadyhead wrote it, or an older one; nothing was changed."


class Damaged(InputError):
    """A file of the archive is not what its list says."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the list of contents says of a file."""

    size: int
    sha256: str
    kept: bool


class Archive:
    """An archive that may be read: names, sizes and its list were looked at, its files not yet."""

    def __init__(self, source: zipfile.ZipFile, where: str) -> None:
        self._source = source
        self.where = where
        self._members = _members(source, where)
        self.manifest: dict[str, Any] = self._manifest()
        self.contents: dict[str, Told] = self._contents()
        self._compare_names()

    def names(self, start: str = "") -> list[str]:
        """Return the names of what the register is made from, in the order of the list."""
        return [name for name, told in self.contents.items() if told.kept and name.startswith(start)]

    def pieces(self, name: str) -> Iterator[bytes]:
        """Yield the bytes of a file; the last piece comes only when size and hash are as told.

        Raises
        ------
        Damaged
            They are not, or the file cannot be unpacked.
        """
        told = self.contents[name]
        waiting, digest, size = b"", hashlib.sha256(), 0
        for piece in self._raw(name):
            size += len(piece)
            digest.update(piece)
            if size > told.size:
                break
            if waiting:
                yield waiting
            waiting = piece
        if size != told.size or digest.hexdigest() != told.sha256:
            raise Damaged(name, f"in {self.where} is damaged: it is not what its list says.", _AS_WRITTEN)
        if waiting:
            yield waiting

    def content(self, name: str) -> bytes:
        """Return the bytes of a file; see `pieces`."""
        return b"".join(self.pieces(name))

    def lines(self, name: str) -> Iterator[dict[str, Any]]:
        """Yield the rows of a file of JSON lines.

        Raises
        ------
        Damaged
            Not as told, or a line is no JSON object.
        """
        for line in _split(self.pieces(name), name):
            try:
                found = json.loads(line)
            except (ValueError, RecursionError):
                found = None
            if not isinstance(found, dict):
                raise Damaged(name, f"in {self.where} holds a line that is no row.", _AS_WRITTEN)
            yield found

    def wrong(self) -> Iterator[Damaged]:
        """Yield every file that is not as told, those first that the register is made from."""
        for name in sorted(self.contents, key=lambda one: not self.contents[one].kept):
            try:
                for _ in self.pieces(name):
                    pass
            except Damaged as damaged:
                yield damaged

    def _raw(self, name: str) -> Iterator[bytes]:
        try:
            with self._source.open(self._members[name]) as source:
                while piece := source.read(PIECE):
                    yield piece
        except (zipfile.BadZipFile, EOFError, OSError, ValueError, RuntimeError, NotImplementedError) as why:
            raise Damaged(name, f"in {self.where} is damaged: {_reason(why)}.", _AS_WRITTEN) from None

    def _manifest(self) -> dict[str, Any]:
        if MANIFEST not in self._members:
            raise InputError(self.where, f"is no archive of a register: it has no {MANIFEST}.", _AS_WRITTEN)
        try:
            found = json.loads(b"".join(self._raw(MANIFEST)))
        except (ValueError, RecursionError):
            found = None
        if not isinstance(found, dict):
            raise Damaged(MANIFEST, f"in {self.where} cannot be read.", _AS_WRITTEN)
        _refuse_newer(found.get("format"), self.where)
        return found

    def _contents(self) -> dict[str, Told]:
        if CONTENTS not in self._members:
            raise Damaged(CONTENTS, f"is missing in {self.where}.", _AS_WRITTEN)
        digest = hashlib.sha256()
        found: dict[str, Told] = {}
        try:
            for line in _split(self._hashed(CONTENTS, digest), CONTENTS):
                row = json.loads(line)
                name, told = row["name"], Told(row["bytes"], row["sha256"], row["kept"])
                if name in found or type(told.size) is not int or not isinstance(told.sha256, str):
                    raise ValueError(name)
                found[name] = told
        except (ValueError, KeyError, TypeError, RecursionError):
            raise Damaged(CONTENTS, f"in {self.where} cannot be read.", _AS_WRITTEN) from None
        if digest.hexdigest() != self.manifest.get("contents_sha256"):
            raise Damaged(CONTENTS, f"in {self.where} is damaged.", _AS_WRITTEN)
        return found

    def _hashed(self, name: str, digest: Any) -> Iterator[bytes]:
        for piece in self._raw(name):
            digest.update(piece)
            yield piece

    def _compare_names(self) -> None:
        there = set(self._members) - {MANIFEST, CONTENTS}
        for name in self.contents:
            if name not in there:
                raise Damaged(name, f"is missing in {self.where}.", _AS_WRITTEN)
        for name in sorted(there - set(self.contents)):
            raise Damaged(name, f"in {self.where} is not in its list of contents.", _AS_WRITTEN)
        if CHAIN not in self.contents:
            raise Damaged(CHAIN, f"is missing in {self.where}.", _AS_WRITTEN)


@contextmanager
def opened(source: str | Path | BinaryIO, where: str = "") -> Iterator[Archive]:
    """Give an archive; where: its name, for messages.

    Raises
    ------
    InputError
        Not there, no archive, made by a newer version, or with names or sizes no archive of ours has.
    """
    name = where or str(source)
    try:
        with zipfile.ZipFile(source) as target:
            yield Archive(target, name)
    except FileNotFoundError:
        raise InputError(name, "is not there.", "Check the name.") from None
    except zipfile.BadZipFile:
        raise InputError(name, "is no zip file, or its end is missing.", _AS_WRITTEN) from None
    except IsADirectoryError:
        raise InputError(name, "is a folder.", "Name the archive, a file that ends in .zip.") from None
    except PermissionError:
        raise InputError(name, "cannot be read.", "Check the rights on it.") from None


def is_archive(path: Path) -> bool:
    """Return whether a file looks like an archive of a register, damaged or not."""
    try:
        with zipfile.ZipFile(path) as source:
            return bool({CONTENTS, CHAIN} & set(source.namelist()))
    except (zipfile.BadZipFile, OSError, ValueError):
        return False


def _members(source: zipfile.ZipFile, where: str) -> dict[str, zipfile.ZipInfo]:
    """Return what is in the zip by name; refuse what an archive of ours never holds."""
    found: dict[str, zipfile.ZipInfo] = {}
    listed = source.infolist()
    if len(listed) > MOST_FILES:
        raise InputError(where, f"holds {len(listed)} files; {MOST_FILES} are read at most.", _AS_WRITTEN)
    for one in listed:
        if problem := _unfit(one, found):
            shown = one.filename[:80].encode("ascii", "backslashreplace").decode()
            raise InputError(where, f"holds {shown!r}, {problem}.", _AS_WRITTEN)
        found[one.filename] = one
    packed, size = sum(one.compress_size for one in listed), sum(one.file_size for one in listed)
    if size > max(SMALL_ALL, MOST_PACKED_ALL * packed):
        problem = f"unpacks to {size / 1e6:.0f} MB, {size / max(packed, 1):.0f} times its size."
        raise InputError(where, problem, _AS_WRITTEN)
    _refuse_overlap(listed, where)
    return found


def _unfit(one: zipfile.ZipInfo, found: dict[str, zipfile.ZipInfo]) -> str:
    """Return why a member may not be read; empty where it may."""
    name = one.filename
    parts = name.split("/")
    if name in found:
        return "and that twice"
    if name.startswith("/") or "\\" in name or ":" in parts[0] or any(p in ("", ".", "..") for p in parts):
        return "a name that leads out of its folder"
    if S_ISLNK(one.external_attr >> 16):
        return "which is a link to another file"
    if one.flag_bits & 0x1:
        return "which is locked by a password"
    is_table = name.endswith((".jsonl", ".csv", ".parquet", ".geojson")) or is_logger(name)
    most = LARGEST_TABLE if is_table else LARGEST
    if one.file_size > most:
        return f"which unpacks to {one.file_size / 1e6:.0f} MB; {most / 1e6:.0f} MB is read at most"
    if not is_table and one.file_size > max(SMALL, MOST_PACKED * one.compress_size):
        return (
            f"which unpacks to {one.file_size / max(one.compress_size, 1):.0f} times its size; a real one "
            f"stays below {MOST_PACKED} times"
        )
    return ""


def _refuse_overlap(listed: list[zipfile.ZipInfo], where: str) -> None:
    """Refuse members that share bytes: so a small file unpacks to a huge one."""
    end, last = 0, ""
    for one in sorted(listed, key=lambda info: info.header_offset):
        if one.header_offset < end:
            raise InputError(where, f"holds {last!r:.80} and {one.filename!r:.80} in one place.", _AS_WRITTEN)
        end, last = one.header_offset + one.compress_size, one.filename


def _refuse_newer(got: object, where: str) -> None:
    if got == FORMAT:
        return
    head, _, number = str(got).rpartition("/")
    if head == FORMAT.rpartition("/")[0] and number.isdigit() and int(number) > 1:
        problem = f"is in the format {got}; this version reads {FORMAT}."
        raise InputError(where, problem, "Read it with a newer steadyhead; nothing was changed.")
    raise InputError(where, f"is no archive of a register: its format is {got!r:.40}.", _AS_WRITTEN)


def _split(pieces: Iterator[bytes], name: str) -> Iterator[bytes]:
    """Yield the lines of a file, never holding more than one and a piece."""
    rest = b""
    for piece in pieces:
        *whole, rest = (rest + piece).split(b"\n")
        yield from (line for line in whole if line)
        if len(rest) > LONGEST_LINE:
            raise Damaged(name, f"holds a line of more than {LONGEST_LINE / 1e6:.0f} MB.", _AS_WRITTEN)
    if rest:
        yield rest


def _reason(why: BaseException) -> str:
    return "it cannot be unpacked" if str(why) == "" else str(why).rstrip(".")[:120]
