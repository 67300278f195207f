"""A baseline as a file: written, read again, laid into a station file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any

from steadyhead.errors import InputError
from steadyhead.records.baseline import (
    FORMAT,
    Baseline,
    Correlation,
    Fitted,
    LeftOut,
    Undetermined,
)
from steadyhead.station.canonical import canonical
from steadyhead.station.load import Loaded
from steadyhead.station.measured import with_baseline
from steadyhead.units import KINDS

ENDING = ".baseline.json"
BEGINS = b'{"correlations"'
"""First bytes of every baseline file: keys stand in order."""
_AGAIN = "Write it again: steadyhead run fit NAME.plan ENTRIES.jsonl --station FILE --save NAME.baseline.json"


def baseline_file(baseline: Baseline) -> bytes:
    """Return the bytes of a baseline file: one line of canonical JSON."""
    return canonical(baseline_data(baseline)) + b"\n"


def baseline_data(baseline: Baseline) -> dict[str, Any]:
    """Return a baseline as plain data, SI, nine significant digits."""
    data: dict[str, Any] = asdict(baseline)
    return {"format": baseline.format, **{name: value for name, value in data.items() if name != "format"}}


def read_baseline(content: bytes, where: str = "baseline") -> Baseline:
    """Return the baseline of a file.

    Raises
    ------
    InputError
        No baseline file, one of a newer program, or one whose values cannot be read.
    """
    try:
        data = json.loads(content)
    except (ValueError, RecursionError):
        raise InputError(where, "is no baseline file.", _AGAIN) from None
    told = data.get("format") if isinstance(data, dict) else None
    if told != FORMAT:
        raise InputError(f"{where}: format", f"got {told!r:.60}; this program reads {FORMAT}.", _AGAIN)
    try:
        return _baseline(data)
    except (TypeError, ValueError, KeyError, AttributeError) as problem:
        raise InputError(where, f"cannot be read: {problem!r:.80}.", _AGAIN) from None


def with_measured(loaded: Loaded, baseline: Baseline | None) -> Loaded:
    """Return a station file with the values of a baseline in its station; the file itself stays as it is."""
    if baseline is None:
        return loaded
    return replace(loaded, station=with_baseline(loaded.station, baseline), baseline=baseline)


def _baseline(data: Mapping[str, Any]) -> Baseline:
    lists: dict[str, Any] = {
        "fitted": tuple(_fitted(one) for one in data["fitted"]),
        "undetermined": tuple(Undetermined(**one) for one in data["undetermined"]),
        "correlations": tuple(Correlation(**one) for one in data["correlations"]),
        "left_out": tuple(LeftOut(**one) for one in data["left_out"]),
    }
    plain = {name: value for name, value in data.items() if name not in lists}
    wrong = [name for name, value in plain.items() if not isinstance(value, str)]
    if wrong:
        raise ValueError(f"{wrong[0]} is no text")
    return replace(Baseline(**plain), **lists)


def _fitted(data: Mapping[str, Any]) -> Fitted:
    rows = {name: tuple(str(one) for one in data[name]) for name in ("steps", "proofs", "entries")}
    state = {str(name): float(value) for name, value in data["state"].items()}
    numbers = {name: float(data[name]) for name in ("value", "within")}
    one = Fitted(**{**data, **rows, **numbers, "state": state})
    if one.kind not in KINDS or not 0.0 < one.value < 1e15 or not 0.0 <= one.within < 1e15:
        raise ValueError(f"{one.key} is no value")
    return one
