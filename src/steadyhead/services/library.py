"""The library of valve data sheets: a small folder of each person's own, read by name."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from steadyhead.errors import InputError, InputErrors
from steadyhead.records.valve import SHEET_NAME
from steadyhead.services.files import read_file, write_replacing
from steadyhead.station.load import Loaded
from steadyhead.station.valve_sheets import SheetFile, load_sheet, with_sheets

ENDING = ".yaml"


def folder(environment: Mapping[str, str] = os.environ, system: str = sys.platform) -> Path:
    """Return where this person's data sheets lie; the folder need not exist.

    ``valves`` below the folder for settings: ``XDG_CONFIG_HOME`` or ``~/.config`` (XDG base directories),
    ``APPDATA`` on Windows.
    """
    if system == "win32" and environment.get("APPDATA"):
        base = Path(environment["APPDATA"])
    else:
        stated = environment.get("XDG_CONFIG_HOME", "")
        base = Path(stated) if stated and Path(stated).is_absolute() else Path.home() / ".config"
    return base / "steadyhead" / "valves"


def find(name: str, place: Path | None = None) -> SheetFile | None:
    """Return a data sheet by name; None where it is not in the library.

    Raises
    ------
    InputErrors
        A sheet that cannot be used.
    """
    if not re.fullmatch(SHEET_NAME, name):
        return None
    path = (place or folder()) / f"{name}{ENDING}"
    if not path.is_file():
        return None
    found = load_sheet(read_file(str(path)), str(path))
    if found.sheet.name != name:
        problem = f"calls itself {found.sheet.name!r}, its file is called {name!r}."
        raise InputErrors((InputError("name", problem, "Give both the same name."),), str(path))
    return found


def sheets(place: Path | None = None) -> tuple[SheetFile, ...]:
    """Return every data sheet of the library that can be used, by name."""
    here = place or folder()
    names = sorted(path.stem for path in here.glob(f"*{ENDING}")) if here.is_dir() else []
    found = []
    for name in names:
        try:
            sheet = find(name, here)
        except (InputErrors, InputError):
            continue
        if sheet is not None:
            found.append(sheet)
    return tuple(found)


def keep(sheet: SheetFile, place: Path | None = None) -> Path:
    """Put a data sheet into the library under its name and return its path; an equal one is left alone.

    Raises
    ------
    InputError
        Another sheet of that name is there, or the folder cannot be written.
    """
    here = place or folder()
    path = here / f"{sheet.sheet.name}{ENDING}"
    if path.exists():
        if path.read_bytes() == sheet.source:
            return path
        raise InputError(
            str(path),
            "holds another sheet of that name.",
            "Rename one of them; stations refer to it by name.",
        )
    try:
        here.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise InputError(
            str(here), f"cannot be made: {problem.strerror}.", "Set XDG_CONFIG_HOME to a folder of yours."
        ) from None
    return write_replacing(path, sheet.source)


def completed(loaded: Loaded) -> Loaded:
    """Return a station file filled in from the data sheets it names.

    Raises
    ------
    InputErrors
        As `steadyhead.station.valve_sheets.with_sheets`.
    """
    try:
        station, used = with_sheets(loaded.station, find)
    except InputErrors as errors:
        raise InputErrors(errors.errors, loaded.where) from None
    return replace(loaded, station=station, sheets=used) if used else loaded
