"""Columns of a text whose cells hold a JSON object each, as gateways put a message beside its time."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from steadyhead.watch.reading.numbers import Cell

Row = tuple[int, list[Cell]]
MOST = 0.9
"""Share of the rows from which on a column is one of objects. Own estimate."""
LOOKED = 20


def with_payloads(rows: Sequence[Row]) -> list[Row] | None:
    """Return rows with a column for each name of the objects, in place of the column that holds them.

    None where no column holds any. The first row names the columns.
    """
    if len(rows) < 3 or not any(isinstance(one, str) and one.startswith("{") for one in rows[1][1]):
        return None
    wide = max(len(cells) for _, cells in rows[:LOOKED])
    for at in range(wide):
        few = [_object(cells, at) for _, cells in rows[1 : 1 + LOOKED]]
        if sum(one is not None for one in few) < MOST * len(few):
            continue
        every = [_object(cells, at) for _, cells in rows[1:]]
        names = list(dict.fromkeys(name for one in every if one is not None for name in one))
        line, heads = rows[0]
        out: list[Row] = [(line, [*heads[:at], *names, *heads[at + 1 :]])]
        for (number, cells), one in zip(rows[1:], every, strict=True):
            made = [_text(one.get(name)) for name in names] if one is not None else [""] * len(names)
            out.append((number, [*cells[:at], *made, *cells[at + 1 :]]))
        return out
    return None


def _object(cells: Sequence[Cell], at: int) -> dict[str, Any] | None:
    cell = cells[at] if at < len(cells) else ""
    if not isinstance(cell, str) or not cell.startswith("{"):
        return None
    try:
        found = json.loads(cell, parse_float=str, parse_int=str)
    except (ValueError, RecursionError):
        return None
    return dict(_flat(found)) if isinstance(found, dict) else None


def _flat(record: dict[str, Any], ahead: str = "") -> list[tuple[str, Any]]:
    out: list[tuple[str, Any]] = []
    for key, value in record.items():
        name = f"{ahead} {key}".strip()
        out += (
            _flat(value, name)
            if isinstance(value, dict)
            else []
            if isinstance(value, list)
            else [(name, value)]
        )
    return out


def _text(value: Any) -> str:
    return "" if value is None else ("1" if value else "0") if isinstance(value, bool) else str(value)
