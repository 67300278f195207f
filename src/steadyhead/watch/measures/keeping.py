"""Days as text, one line each, so that a measure over a year never reads the year's samples again."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from steadyhead.watch.measures.day import Day, Days, Night, Sums
from steadyhead.watch.measures.parts import More, Swing, Top
from steadyhead.watch.measures.rainflow import Counted

FORMAT = "steadyhead/day/2"
"""Of the first line; another one is worked out anew from the samples."""


def one_to_text(one: Day | None) -> str:
    """Return one day as a line; None: a window that holds nothing to measure."""
    if one is None:
        return "null"
    tables = {"cells": one.cells.tolist(), "inlets": one.inlets.tolist()}
    plain = {name: value for name, value in _plain(one).items() if name not in tables}
    return json.dumps({**plain, **tables}, separators=(",", ":"))


def _plain(value: Any) -> Any:
    """Return dataclasses as dicts, however deep in tuples they stand; numbers and the rest as they are."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple) and any(is_dataclass(one) for one in value):
        return [_plain(one) for one in value]
    return value


def one_from_text(line: str) -> Day | None:
    """Return one day from its line."""
    plain = json.loads(line)
    return None if plain is None else _day(plain)


def to_text(days: Days) -> str:
    """Return days as JSON lines: a line with the format, a line a day."""
    lines = [json.dumps({"format": FORMAT})]
    lines += [one_to_text(one) for one in days.days]
    return "\n".join(lines) + "\n"


def from_text(text: str) -> Days:
    """Return days from their lines; raise `ValueError` for those of another format."""
    first, *rest = text.splitlines()
    found = json.loads(first).get("format")
    if found != FORMAT:
        message = f"Days of the format {found!r} cannot be used; {FORMAT} is. Work them out from the samples."
        raise ValueError(message)
    return Days(tuple(_day(json.loads(line)) for line in rest))


def _day(plain: dict[str, Any]) -> Day:
    night, cells = plain["night"], plain["cells"]
    return Day(
        **{
            **plain,
            "cells": np.array(cells, np.int32).reshape(-1, 5),
            "inlets": np.array(plain["inlets"], np.int32).reshape(-1, 3),
            "night": Night(**night) if night is not None else None,
            "steps": Sums(**plain["steps"]),
            "resistance": _tuples(plain["resistance"]),
            "shut_off": _tuples(plain["shut_off"]),
            "more": _more(plain["more"]),
            "channels": tuple(plain["channels"]),
        }
    )


def _more(plain: dict[str, Any]) -> More:
    cycles = [
        Counted(_tuples(one["cycles"]), tuple(one["left"])) if one is not None else None
        for one in plain["cycles"]
    ]
    top = plain["top"]
    return More(
        _tuples(plain["steps"]),
        plain["by_exception"],
        tuple(Swing(s["flow"], s["windows"], tuple(s["outlet"]), tuple(s["inlet"])) for s in plain["swings"]),
        _tuples(plain["scatter"]),
        (cycles[0], cycles[1]),
        _tuples(plain["leaps"]),
        Top(**top) if top is not None else None,
        _tuples(plain["sigma"]),
        plain["flow"],
    )


def _tuples(value: Any) -> Any:
    """Return nested lists as nested tuples."""
    if isinstance(value, Sequence) and not isinstance(value, str):
        return tuple(_tuples(one) for one in value)
    return value
