"""JSON in which samples lie inside lists, or a value has its unit beside it: one record for each time."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from steadyhead.errors import InputError
from steadyhead.watch.reading.json_tables import of_tables

Numbered = list[tuple[int, dict[str, Any]]]
_VALUES, _UNITS = ("value", "val", "v"), ("unit", "units", "uom", "u")


DEEP = 4
"""Lists within lists that are unrolled."""


def unrolled(records: Numbered) -> Numbered:
    """Return records of which a list of samples became one record each, with what stands beside the list."""
    for _ in range(DEEP):
        found = _unrolled(records)
        if len(found) == len(records):
            break
        records = found
    return found


def _unrolled(records: Numbered) -> Numbered:
    out: Numbered = []
    for at, record in records:
        lists = [(key, one) for key, one in record.items() if is_samples(one)]
        if len(lists) != 1:
            out.append((at, record))
            continue
        key, samples = lists[0]
        beside = {name: one for name, one in record.items() if name != key}
        out += [(at, beside | _sample(one)) for one in samples]
    return out


def is_samples(value: object) -> bool:
    """Return whether a value is a list of samples: objects, or pairs of a time and a value."""
    if not isinstance(value, list) or not value:
        return False
    return all(isinstance(one, dict) for one in value) or all(
        isinstance(one, list) and len(one) == 2 and not any(isinstance(each, list | dict) for each in one)
        for one in value
    )


def _sample(one: Any) -> dict[str, Any]:
    return one if isinstance(one, dict) else {"time": one[0], "value": one[1]}


def of_columns(whole: object) -> Numbered | None:
    """Return records of an object whose lists are columns of one length; None where it is none."""
    if (table := of_tables(whole)) is not None:
        return table
    if not isinstance(whole, dict):
        return None
    for inner in whole.values():  # columns may lie a level down, beside what tells of them
        if isinstance(inner, dict) and (found := of_columns(inner)) is not None:
            return found
    columns = {key: one for key, one in whole.items() if _is_column(one)}
    lengths = {len(one) for one in columns.values()}
    if len(columns) < 2 or len(lengths) != 1 or lengths.pop() < 2:
        return None
    rows = zip(*columns.values(), strict=True)
    return [(at, dict(zip(columns, cells, strict=True))) for at, cells in enumerate(rows, 1)]


def _is_column(value: object) -> bool:
    return isinstance(value, list) and not any(isinstance(one, list | dict) for one in value)


def with_units(flat: Numbered) -> Numbered:
    """Return flattened records in which a unit beside a value went into its heading, or into its cells."""
    for names in _beside(dict.fromkeys(key for _, one in flat for key in one)):
        flat = _put(flat, names)
    return flat


def has_units(flat: Mapping[str, object]) -> bool:
    """Return whether a flattened record has a unit beside a value."""
    return any(True for _ in _beside(flat))


def _beside(keys: Mapping[str, object]) -> Iterator[tuple[str, str, str]]:
    """Yield the name of each value with a unit beside it, that of the unit, and what both begin with."""
    for key in keys:
        ahead, _, last = key.rpartition(" ")
        if not ahead or last.casefold() not in _VALUES:
            continue
        if beside := next((f"{ahead} {one}" for one in _UNITS if f"{ahead} {one}" in keys), ""):
            yield key, beside, ahead


def _put(flat: Numbered, names: tuple[str, str, str]) -> Numbered:
    key, beside, ahead = names
    units = {str(one[beside]) for _, one in flat if one.get(beside) is not None}
    out: Numbered = []
    for at, one in flat:
        unit = one.get(beside)
        each: dict[str, Any] = {}
        for name, value in one.items():
            if name == key and len(units) == 1:
                each[f"{ahead} [{next(iter(units))}]"] = value
            elif name == key:
                each[ahead] = value if unit is None or value is None else f"{value} {unit}"
            elif name != beside:
                each[name] = value
        out.append((at, each))
    return out


def refuse_other_json(text: str, where: str) -> None:
    """Refuse JSON of a shape that is not read, which as lines of text would give numbers without a sense.

    Raises
    ------
    InputError
        It is such JSON.
    """
    first = next((one.strip() for one in text.splitlines() if one.strip()), "")
    has_numbers = any(one.isdigit() for one in text)
    if has_numbers and (first in ("{", "[", "[{") or _parses(text)):
        raise InputError(
            where, "is JSON in which no record for each time is found.",
            "Write one object for each time, with the time and the values by their names.",
        )  # fmt: skip


def _parses(text: str) -> bool:
    try:
        json.loads(text)
    except (ValueError, RecursionError):
        return False
    return True


def has_lists(records: Sequence[object]) -> bool:
    """Return whether any of these records holds its samples in a list."""
    return any(isinstance(one, dict) and any(map(is_samples, one.values())) for one in records)
