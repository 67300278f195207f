"""Tables as JSON: names and rows of values apart, a list of lists under its names, columns by row numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from steadyhead.watch.reading.stamps import stamp

Numbered = list[tuple[int, dict[str, Any]]]
NAMES, ROWS = ("columns", "fields", "headers", "header", "cols"), ("data", "values", "rows")
DEPTH = 5


def of_tables(whole: object, depth: int = 0) -> Numbered | None:
    """Return the records of a table that JSON holds in one of these shapes; None where it holds none."""
    if depth > DEPTH:
        return None
    if isinstance(whole, list):
        if len(whole) > 2 and _is_names(whole[0]) and _is_rows(whole[1:], len(whole[0])):
            return _records(whole[0], whole[1:])
        return of_tables(whole[0], depth + 1) if len(whole) == 1 else None
    if not isinstance(whole, dict):
        return None
    found = _of_times(whole) or _of_numbers(whole) or _apart(whole) or _of_channels(whole)
    if found is not None:
        return found
    inner = [made for one in whole.values() if (made := of_tables(one, depth + 1)) is not None]
    return inner[0] if len(inner) == 1 else None


def _is_names(one: object) -> bool:
    return isinstance(one, list) and len(one) > 1 and all(isinstance(each, str) and each for each in one)


def _is_rows(rows: object, width: int) -> bool:
    if not isinstance(rows, list) or len(rows) < 2:
        return False
    return all(
        isinstance(row, list) and len(row) == width and not any(isinstance(each, dict | list) for each in row)
        for row in rows
    )


def _records(names: Sequence[str], rows: Sequence[Sequence[Any]]) -> Numbered:
    return [(at, dict(zip(names, row, strict=True))) for at, row in enumerate(rows, 1)]


def _apart(whole: Mapping[str, Any]) -> Numbered | None:
    """Return records of names in one list, and of rows in another one beside it."""
    names = next((one for key in NAMES if _is_names(one := whole.get(key))), None)
    rows = next((one for key in ROWS if names and _is_rows(one := whole.get(key), len(names))), None)
    return None if names is None or rows is None else _records(names, rows)


def _of_channels(whole: Mapping[str, Any]) -> Numbered | None:
    """Return records of channels that hold a list of values each, with the times beside them or in each."""
    listed = next((one for one in whole.values() if _is_listed(one)), None)
    if listed is None:
        return None
    shared = next((one for one in whole.values() if _are_times(one)), None)
    every = []
    for one in listed:
        times = next((each for each in one.values() if _are_times(each)), shared)
        values = next((each for each in one.values() if isinstance(each, list) and each is not times), None)
        if times is None or values is None or len(values) != len(times):
            return None
        texts = [str(each) for each in one.values() if isinstance(each, str)]
        every.append((texts, times, values))
    rows = [
        {"time": when, "name": texts[0], "unit": texts[1] if len(texts) > 1 else "", "value": value}
        for texts, times, values in every
        for when, value in zip(times, values, strict=True)
    ]
    return list(enumerate(rows, 1))


def _is_listed(one: object) -> bool:
    """Return whether a value is a list of channels: objects with a name and a list of plain values."""
    return isinstance(one, list) and bool(one) and all(
        isinstance(each, dict)
        and any(isinstance(name, str) for name in each.values())
        and any(_is_plain(values) for values in each.values())
        for each in one
    )  # fmt: skip


def _is_plain(values: object) -> bool:
    return (
        isinstance(values, list) and len(values) > 1 and not any(isinstance(v, dict | list) for v in values)
    )


def _are_times(values: object) -> bool:
    return _is_plain(values) and all(
        isinstance(one, str)
        and (read := stamp(one)) is not None
        and read.parts is not None
        and read.clock is not None
        for one in values[:20]  # type: ignore[index]
    )


def _of_times(whole: Mapping[str, Any]) -> Numbered | None:
    """Return records of an object whose names are times."""
    if len(whole) < 2 or not all(isinstance(one, dict) for one in whole.values()):
        return None
    if any((read := stamp(str(key))) is None or read.parts is None or read.clock is None for key in whole):
        return None
    return [(at, {"time": key, **one}) for at, (key, one) in enumerate(whole.items(), 1)]


def _of_numbers(whole: Mapping[str, Any]) -> Numbered | None:
    """Return records of columns that are objects with a value for each number of a row."""
    columns = {key: one for key, one in whole.items() if isinstance(one, dict)}
    if len(columns) < 2 or len(columns) < len(whole):
        return None
    keys = list(next(iter(columns.values())))
    if len(keys) < 2 or not all(key.isdecimal() for key in keys):
        return None
    if any(list(one) != keys for one in columns.values()):
        return None
    return [(at, {name: one[key] for name, one in columns.items()}) for at, key in enumerate(keys, 1)]
