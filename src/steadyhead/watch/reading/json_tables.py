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
    found = _of_times(whole) or _of_numbers(whole) or _apart(whole)
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
