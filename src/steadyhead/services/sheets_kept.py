"""The library of valve data sheets as a page shows it; each is read again only when its file changes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from steadyhead.errors import InputError, InputErrors
from steadyhead.services import library
from steadyhead.services.files import read_file
from steadyhead.station.valve_sheets import SheetFile, load_sheet
from steadyhead.units import UnitSet, say

MOST = 500
"""Most sheets that a page shows. Own estimate."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A data sheet in a line: name, what it is, size, flow coefficient, source, and what is wrong with it."""

    name: str
    valve: str
    maker: str
    size: str
    kv: str
    size_m: float | None
    kv_m3_h_bar: float | None
    has_table: bool
    source: str
    problem: str = ""


def shown(units: UnitSet, place: Path | None = None) -> tuple[Shown, ...]:
    """Return every sheet of the library, by name; one that cannot be used says why."""
    here = place or library.folder()
    paths = sorted(here.glob(f"*{library.ENDING}"))[:MOST] if here.is_dir() else []
    return tuple(_shown(path, units) for path in paths)


def _shown(path: Path, units: UnitSet) -> Shown:
    try:
        state = path.stat()
        found = _loaded(path, state.st_mtime_ns, state.st_size)
    except OSError as problem:
        return _broken(path.stem, f"cannot be read: {problem.strerror}.")
    if isinstance(found, str):
        return _broken(path.stem, found)
    sheet = found.sheet
    kv = say(sheet.kv.si, "flow_coefficient", units)
    return Shown(
        sheet.name, sheet.valve, sheet.maker, sheet.size.text, kv,
        sheet.size.si, sheet.kv.si, bool(sheet.lift_table), sheet.source,
    )  # fmt: skip


def _broken(name: str, problem: str) -> Shown:
    return Shown(name, "", "", "", "", None, None, False, "", problem)


@lru_cache(maxsize=MOST)
def _loaded(path: Path, changed: int, size: int) -> SheetFile | str:
    try:
        found = load_sheet(read_file(str(path)), str(path))
    except (InputError, InputErrors) as error:
        return str(error).splitlines()[0]
    if found.sheet.name != path.stem:
        return f"it calls itself {found.sheet.name!r}, its file is called {path.stem!r}."
    return found


def keep(source: bytes, place: Path | None = None) -> str:
    """Put a data sheet into the library and return its name.

    Raises
    ------
    InputError
        Another sheet of that name is there, or the folder cannot be written.
    InputErrors
        A sheet that cannot be used.
    """
    found = load_sheet(source, "sheet")
    try:
        library.keep(found, place)
    except InputError as error:  # whoever looks at a page need not know where the folder lies
        raise InputError("library", error.problem, error.remedy) from None
    return found.sheet.name
