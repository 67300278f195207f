"""Where logger data lie, and how a file gets there so that it is whole or not there."""

from __future__ import annotations

import hashlib
import os
import re
import sys
import unicodedata
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import delete, insert, select

from steadyhead.errors import InputError
from steadyhead.records.logger import Channel
from steadyhead.register.core import Register
from steadyhead.register.tables import setting

NAME = "logs"
"""Folder of logger data beside an embedded database."""
SETTING = "folder of logger data"
"""Name of the setting that holds the folder that was named last."""


@dataclass(frozen=True, slots=True)
class LogsFolder:
    """The folder of logger data: `raw` files by SHA-256, `samples` by station, channel and month (UTC),
    a manifest for each import, those of undone ones apart, and what is being brought in.
    """

    root: Path

    @property
    def raw(self) -> Path:
        """Files as given."""
        return self.root / "raw"

    @property
    def samples(self) -> Path:
        """Parts: ``STATION/CHANNEL/YEAR-MONTH/TOKEN-NUMBER.parquet``."""
        return self.root / "samples"

    @property
    def imports(self) -> Path:
        """Manifests of imports that are there."""
        return self.root / "imports"

    @property
    def undone(self) -> Path:
        """Manifests of imports that were undone."""
        return self.root / "undone"

    @property
    def staged(self) -> Path:
        """One folder for each import under way, held by its process."""
        return self.root / "staged"

    def manifest(self, token: str, *, is_undone: bool = False) -> Path:
        """Return where the manifest of an import lies."""
        return (self.undone if is_undone else self.imports) / f"{token}.json"

    def raw_file(self, digest: str) -> Path:
        """Return where a file lies as it was given."""
        return self.raw / digest[:2] / digest

    def part(self, name: str) -> Path:
        """Return where a part lies, by its name in a manifest."""
        return self.samples / name


def logs_folder(register: Register, named: str | Path = "") -> LogsFolder:
    """Return the folder of a register's logger data: the one named, now or last, or that beside it.

    Raises
    ------
    InputError
        The register is on a server and no folder was ever named.
    """
    beside = str(Path(register.folder) / NAME) if register.folder else ""
    with register.reading() as connection:
        known = connection.execute(select(setting.c.value).where(setting.c.name == SETTING)).scalar()
    where = str(Path(named).absolute()) if named else (known or beside)
    if not where:
        raise InputError(
            "folder of logger data", "is not named, and a register on a server has none beside it.",
            "Name a folder that every machine of this register reaches, once: --data FOLDER.",
        )  # fmt: skip
    if named and where != (known or beside):
        with register.caching() as connection:
            connection.execute(delete(setting).where(setting.c.name == SETTING))
            connection.execute(insert(setting).values(name=SETTING, value=where))
    return LogsFolder(Path(where))


_PLAIN = re.compile(r"[a-z0-9]+")


def channel_name(channel: Channel) -> str:
    """Return the name a channel goes by in the archive: what it measures, not the file it came from.

    Two imports with the same name are one channel; pressures counted from vacuum are kept apart from others.
    """
    words = [channel.id]
    if channel.quantity == "other":
        words = [f"other, {channel.statistic}", channel.heading or channel.id, channel.unit_as_found]
    if channel.absolute:
        words.append("from vacuum")
    return ", ".join(one for one in words if one)


def channel_key(name: str) -> str:
    """Return the name of a channel's folder: plain letters, apart from others by a hash where they lose.

    Examples
    --------
    >>> channel_key("inlet pressure, spot")
    'inlet-pressure-spot'
    >>> channel_key("other, spot, Füllstand")
    'other-spot-fullstand-52aa32'
    """
    flat = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
    key = "-".join(_PLAIN.findall(flat))[:60]
    if re.fullmatch(r"[a-z0-9 ,]+", name) and len(name) <= 60:
        return key
    return f"{key}-{hashlib.sha256(name.encode()).hexdigest()[:6]}".strip("-")


def unfinished(path: Path) -> Path:
    """Return where a small file is written before it gets its name."""
    return path.with_name(f".{path.name}.new")


def write_durably(path: Path, content: bytes) -> None:
    """Put a small file in its place by one rename; after a kill it is whole or not there."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = unfinished(path)
    with beside.open("wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    beside.replace(path)
    settle([path.parent])


def move(source: Path, target: Path) -> None:
    """Give a file that is on the disk already another name; its folder is made where there is none."""
    target.parent.mkdir(parents=True, exist_ok=True)
    source.replace(target)


def on_disk(path: Path) -> None:
    """Wait until the bytes of a file are on the disk; one that was taken away meanwhile needs no waiting."""
    with suppress(FileNotFoundError), path.open("rb+") as out:
        os.fsync(out.fileno())


def settle(folders: Iterable[Path]) -> None:
    """Wait until the names in folders are on the disk."""
    if sys.platform == "win32":  # pragma: no cover
        return
    for one in dict.fromkeys(folders):
        handle = os.open(one, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def remove(path: Path, above: Path) -> None:
    """Take a file away, and the folders that are empty then, up to one that stays."""
    path.unlink(missing_ok=True)
    with suppress(OSError):
        for one in path.parents:
            if one == above:
                break
            one.rmdir()
