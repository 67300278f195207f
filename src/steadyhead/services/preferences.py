"""Which units a person reads, and which a paper is printed in; nothing computed depends on it."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from steadyhead.errors import InputError
from steadyhead.records.station import Station
from steadyhead.services import library
from steadyhead.services.files import read_file, write_replacing
from steadyhead.units import METRIC, UnitError, UnitSet, read_units

VARIABLE = "STEADYHEAD_UNITS"
FILE = "units"
OPTION = "--units"
_HEAD = "# Units this person reads, as: steadyhead units SET\n"


@dataclass(frozen=True, slots=True)
class Chosen:
    """Units in force, and in a person's words where they were chosen."""

    units: UnitSet
    where: str
    is_chosen: bool = True


def place(environment: Mapping[str, str] = os.environ, system: str = sys.platform) -> Path:
    """Return the file that keeps a person's units, in the folder for settings; it need not exist."""
    return library.folder(environment, system).parent / FILE


def chosen(
    option: str = "",
    *,
    station: Station | None = None,
    paper: str = "",
    environment: Mapping[str, str] = os.environ,
    system: str = sys.platform,
) -> Chosen:
    """Return the units to print in.

    The first that is stated counts: the option; for a paper what its station file asks for; the environment
    variable ``STEADYHEAD_UNITS``; the person's file; metric. A paper belongs to the crew of its station, the
    screen to the person before it.

    Parameters
    ----------
    option
        As typed after ``--units``; empty where left out.
    station, paper
        The station of a paper and its field in ``papers``: ``design_sheet``, ``plan`` or ``card``.
    environment, system
        Where to look.

    Raises
    ------
    InputError
        A choice that is not known, named by where it stands.
    """
    if option.strip():
        return Chosen(_read(option, OPTION), OPTION)
    asked = station.papers.choice(paper) if station is not None and paper else ""
    if asked:
        return Chosen(_read(asked, "papers"), "the station file")
    stated = environment.get(VARIABLE, "").strip()
    if stated:
        return Chosen(_read(stated, VARIABLE), VARIABLE)
    path = place(environment, system)
    text = _kept(path)
    return (
        Chosen(_read(text, str(path)), str(path))
        if text
        else Chosen(METRIC, "nothing chosen", is_chosen=False)
    )


def units_for(option: str = "", *, station: Station | None = None, paper: str = "") -> UnitSet:
    """Return the units to print in; see `chosen`."""
    return chosen(option, station=station, paper=paper).units


def keep(
    text: str, environment: Mapping[str, str] = os.environ, system: str = sys.platform
) -> tuple[UnitSet, Path]:
    """Keep a person's units, and return them with the file they are kept in.

    Raises
    ------
    InputError
        A choice that is not known, or a folder that cannot be written.
    """
    units = _read(text, "SET")
    path = place(environment, system)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise InputError(
            str(path.parent), f"cannot be made: {problem.strerror}.", "Make room, or free the name."
        ) from None
    return units, write_replacing(path, f"{_HEAD}{units.name}\n".encode())


def forget(environment: Mapping[str, str] = os.environ, system: str = sys.platform) -> Path | None:
    """Forget a person's units; return the file taken away, None where there was none."""
    path = place(environment, system)
    try:
        path.unlink()
    except FileNotFoundError:
        return None
    except OSError as problem:
        raise InputError(str(path), f"cannot be taken away: {problem.strerror}.", "Delete it.") from None
    return path


def _kept(path: Path) -> str:
    if not path.is_file():
        return ""
    try:
        text = read_file(str(path)).decode("utf-8")
    except UnicodeDecodeError:
        raise InputError(str(path), "is no text.", "Delete it, or run: steadyhead units SET") from None
    lines = (line.partition("#")[0].strip() for line in text.splitlines())
    return " ".join(line for line in lines if line)


def _read(text: str, field: str) -> UnitSet:
    try:
        return read_units(text)
    except UnitError as error:
        raise InputError(field, error.problem, error.remedy) from None
