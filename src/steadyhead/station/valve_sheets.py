"""Valve data sheets at the door: a file read and checked, and a station filled in from those it names."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from pydantic import ValidationError

from steadyhead.errors import InputErrors
from steadyhead.records.mechanics import ReducerMechanics, ShutOffMechanics
from steadyhead.records.parts import Branch, LinePart, Parallel, Reducer, ShutOff
from steadyhead.records.station import Station
from steadyhead.records.values import Value
from steadyhead.records.valve import VALVE_FORMAT, ValveSheet
from steadyhead.station.canonical import sha256
from steadyhead.station.decoding import decoded
from steadyhead.station.limits import MOST_ERRORS
from steadyhead.station.plain import Reading, from_tree
from steadyhead.station.refusal import Path, Refusal, in_words
from steadyhead.station.tree import read_tree

SHORT_HASH = 12


@dataclass(frozen=True, slots=True)
class SheetFile:
    """A data sheet with the bytes it was read from and their SHA-256."""

    sheet: ValveSheet
    source: bytes
    sha256: str

    @property
    def reference(self) -> str:
        """Name and the start of its hash, as a station file may refer to it."""
        return f"{self.sheet.name}@{self.sha256[:SHORT_HASH]}"

    @property
    def words(self) -> str:
        """What a value taken from it gives as its source."""
        return f"{self.sheet.source} (data sheet {self.reference})"


def load_sheet(source: bytes, where: str = "") -> SheetFile:
    """Return a valve data sheet, read from YAML of format ``steadyhead/valve/1``.

    Parameters
    ----------
    source
        The file's bytes.
    where
        Name of the file, for messages.

    Raises
    ------
    InputErrors
        Every bad field with its line and a remedy.
    """
    try:
        text, _ = decoded(source)
        reading = from_tree(read_tree(text))
        if not isinstance(reading.data, dict) or reading.data.get("format") != VALVE_FORMAT:
            got = reading.data.get("format") if isinstance(reading.data, dict) else None
            problem = "is left out." if got is None else f"got {str(got)[:60]!r}."
            raise Refusal("format", problem, f"A data sheet starts with 'format: {VALVE_FORMAT}'.")
        sheet = ValveSheet.model_validate(reading.data)
    except ValidationError as error:
        found = [_refusal(dict(item), reading) for item in error.errors(include_url=False)]
        raise InputErrors(found[:MOST_ERRORS], where) from None
    except Refusal as refusal:
        raise InputErrors((refusal,), where) from None
    if reading.errors:
        raise InputErrors(reading.errors[:MOST_ERRORS], where)
    return SheetFile(sheet, source, sha256(source))


def _refusal(item: dict[str, Any], reading: Reading) -> Refusal:
    path: Path = tuple(item["loc"])
    line = next((reading.lines[path[:n]] for n in range(len(path), -1, -1) if path[:n] in reading.lines), 0)
    kind, context = item["type"], item.get("ctx", {})
    if kind == "steadyhead":
        problem, remedy = context["problem"], context["remedy"]
    elif kind == "missing":
        problem, remedy = "missing.", "Add it."
    elif kind == "extra_forbidden":
        problem, remedy = "is no field here.", "Delete it, or check its spelling."
    elif kind == "literal_error":
        problem, remedy = f"got {str(item['input'])[:60]!r}.", f"Use one of: {context.get('expected')}."
    else:
        problem, remedy = f"got {str(item['input'])[:60]!r}: {item['msg']}.", "Compare it with the manual."
    return Refusal(in_words(path, reading.data), problem, remedy, path=path, line=line)


Find = Callable[[str], SheetFile | None]


def named_sheets(station: Station) -> tuple[str, ...]:
    """Return the references to data sheets in a station file, each once."""
    found = [part.data_sheet for part in station.parts() if isinstance(part, Reducer | ShutOff)]
    return tuple(dict.fromkeys(name for name in found if name))


def with_sheets(station: Station, find: Find) -> tuple[Station, tuple[SheetFile, ...]]:
    """Return the station with what its data sheets state, and the sheets used.

    What the station file states itself stands; a sheet only fills what it leaves out. Every value taken from
    a sheet names it, with the start of its hash, as its source.

    Parameters
    ----------
    station
        As read.
    find
        Gives a sheet by name; None: it is not there.

    Raises
    ------
    InputErrors
        A sheet that is not in the library, has another content than the reference holds it to, or is of
        another kind or size of valve.
    """
    sheets: dict[str, SheetFile] = {}
    refused: list[Refusal] = []
    for reference in named_sheets(station):
        name, _, digits = reference.partition("@")
        found = find(name)
        if found is None:
            remedy = "Put it there with: steadyhead valve SHEET.yaml --keep; or take data_sheet out."
            refused.append(Refusal("data_sheet", f"{name!r} is not in your library of data sheets.", remedy))
        elif digits and not found.sha256.startswith(digits):
            problem = f"asks for {name}@{digits}; your library has {found.reference}."
            refused.append(Refusal("data_sheet", problem, "Get that very sheet, or change the reference."))
        else:
            sheets[reference] = found
    refused += [] if refused else _misfits(station, sheets)
    if refused:
        raise InputErrors(refused)
    if not sheets:
        return station, ()
    line = tuple(_filled(part, sheets) for part in station.line)
    return station.model_copy(update={"line": line}), tuple(sheets.values())


def _misfits(station: Station, sheets: Mapping[str, SheetFile]) -> list[Refusal]:
    found = []
    for part in station.parts():
        if not isinstance(part, Reducer | ShutOff) or part.data_sheet is None:
            continue
        sheet = sheets[part.data_sheet].sheet
        what = "reducer" if isinstance(part, Reducer) else "shut-off"
        if sheet.valve != what:
            problem = f"names {sheet.name!r}, the sheet of a {sheet.valve}; {part.id} is a {what}."
            found.append(Refusal(f"{part.id}: data_sheet", problem, "Name the sheet of such a valve."))
        elif abs(sheet.size.si / part.size.si - 1.0) > 0.06:
            problem = f"names {sheet.name!r} of size {sheet.size.text}; {part.id} is {part.size.text}."
            found.append(Refusal(f"{part.id}: data_sheet", problem, "Name the sheet of this size."))
    return found


def _filled(part: LinePart, sheets: Mapping[str, SheetFile]) -> LinePart:
    if isinstance(part, Parallel):
        branches = tuple(
            Branch.model_copy(b, update={"line": tuple(_filled(inner, sheets) for inner in b.line)})
            for b in part.branches
        )
        return part.model_copy(update={"branches": branches})
    if not isinstance(part, Reducer | ShutOff) or part.data_sheet is None:
        return part
    file = sheets[part.data_sheet]
    sheet = file.sheet
    changes: dict[str, Any] = {}
    if part.kv is None:
        changes["kv"] = _from(sheet.kv, file)
    if isinstance(part, Reducer) and part.cavitation is None and sheet.cavitation is not None:
        said = {"source": f"{sheet.cavitation.source} (data sheet {file.reference})"}
        changes["cavitation"] = sheet.cavitation.model_copy(update=said)
    changes["mechanics"] = _mechanics(part.mechanics, file)
    return part.model_copy(update=changes)


def _mechanics(
    stated: ReducerMechanics | ShutOffMechanics, file: SheetFile
) -> ReducerMechanics | ShutOffMechanics:
    sheet = file.sheet
    offered = {
        "pressure_recovery": sheet.pressure_recovery,
        "incipient_ratio": sheet.incipient_ratio,
        "stroke": sheet.stroke,
    }
    changes: dict[str, Any] = {
        name: _from(value, file)
        for name, value in offered.items()
        if value is not None and getattr(stated, name) is None
    }
    if stated.curve is None and stated.curve_shape is None and (curve := sheet.curve()):
        changes["curve"] = curve
    return stated.model_copy(update=changes) if changes else stated


def _from(value: Value, file: SheetFile) -> Value:
    said = f"{value.source}; {file.words}" if value.source else file.words
    return replace(value, source=said)
