"""The desk files lie on between being handed over and taken in: no part of what is kept, for two days."""

from __future__ import annotations

import json
import re
import secrets
import shutil
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.services.logs.proposing import Given
from steadyhead.services.staging import clear_left, staging

PREFIX = "steadyhead-logs-"
LONGEST_NAME = 120
AT_ONCE = 1 << 20
_ID = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class Desk:
    """Files of one logger that were handed over. id: nobody can guess it."""

    id: str
    folder: Path

    @property
    def told(self) -> dict[str, Any]:
        """Station, source, interval and answers, as laid down."""
        found: dict[str, Any] = json.loads((self.folder / "told.json").read_text("utf-8"))
        return found

    def given(self) -> Given:
        """Return what was handed over."""
        told = self.told
        files = tuple(self.folder / "files" / str(at) / name for at, name in enumerate(told["files"]))
        return Given(told["station"], files, told["source"], told["answers"], told["interval"])

    def answer(self, answers: Mapping[str, str]) -> None:
        """Lay answers beside those that were given before; an empty one takes the one before back."""
        told = self.told
        kept = {name: value for name, value in {**told["answers"], **answers}.items() if value}
        _lay(self.folder, told | {"answers": kept})

    def clear(self) -> None:
        """Take everything on it away."""
        shutil.rmtree(self.folder, ignore_errors=True)


def _lay(folder: Path, told: Mapping[str, Any]) -> None:
    beside = folder / "told.new"
    beside.write_text(json.dumps(told), "utf-8")
    beside.replace(folder / "told.json")


def lay(
    register: Register,
    station: str,
    files: Iterable[tuple[str, BinaryIO]],
    source: str = "",
    answers: Mapping[str, str] | None = None,
    interval: float | None = None,
) -> Desk:
    """Lay files on a new desk; names: as they were handed over.

    Raises
    ------
    InputError
        There is none.
    """
    clear_left(register)
    id_ = secrets.token_hex(16)
    folder = staging(register) / f"{PREFIX}{id_}"
    folder.mkdir(mode=0o700)
    names = []
    for at, (name, content) in enumerate(files):
        plain = plain_name(name)
        place = folder / "files" / str(at)
        place.mkdir(parents=True)
        with (place / plain).open("wb") as out:
            shutil.copyfileobj(content, out, AT_ONCE)
        names.append(plain)
    if not names:
        shutil.rmtree(folder, ignore_errors=True)
        raise InputError("files", "are none.", "Choose the files of one logger.")
    told = {"station": station, "files": names, "source": source, "interval": interval}
    _lay(folder, told | {"answers": dict(answers or {})})
    return Desk(id_, folder)


def plain_name(name: str) -> str:
    """Return the name of a file without folders, shortened, fit for this machine.

    Examples
    --------
    >>> plain_name("C:/logs/../kiosk 1.csv"), plain_name("..")
    ('kiosk 1.csv', 'file')
    """
    last = re.split(r"[\\/]", name)[-1]
    kept = "".join(one if one.isprintable() and one not in '<>:"|?*' else "_" for one in last).strip(" .")
    stem, dot, ending = kept.rpartition(".")
    if len(kept) > LONGEST_NAME:
        kept = f"{stem[: LONGEST_NAME - 10]}{dot}{ending[:8]}" if stem else kept[:LONGEST_NAME]
    return kept or "file"


def desk_of(register: Register, id_: str, station: str) -> Desk:
    """Return a desk of a station.

    Raises
    ------
    InputError
        There is none of that id, or no more.
    """
    folder = staging(register) / f"{PREFIX}{id_}"
    if _ID.fullmatch(id_) and (folder / "told.json").is_file():
        one = Desk(id_, folder)
        if one.told["station"] == station:
            return one
    raise InputError("files", "lie here no more.", "Hand them over again; nothing was kept of them.")
