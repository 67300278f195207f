"""One source for what is known of a gauge: of station file and earlier visits, whichever runs out later."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from steadyhead.records.procedure import Message, Procedure
from steadyhead.records.station import Gauge
from steadyhead.services.field.planned import every_message, key_of
from steadyhead.units import UnitSet
from steadyhead.visits.texts import say

DUE, PAST = "gauges_due", "past_due"
"""Parameters of the messages that list gauges: with the day each is due, and those past it."""
NOT_STATED = "not stated"
NONE_PAST = "No gauge is past its date today."


def agreed(
    gauges: Sequence[Gauge], described: Sequence[Mapping[str, Any]]
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return the gauges of a station file, and those described at visits, each the same in both.

    A calibration only moves its day forward, so the description that runs out later is the newer one; its
    range counts as well.

    Returns
    -------
    tuple
        ``name``, ``high`` [Pa] and ``due`` of those of the file; the descriptions, SI.
    """
    known = {str(one.get("name")): one for one in described}
    files, told = [], {name: dict(one) for name, one in known.items()}
    for gauge in gauges:
        row: dict[str, Any] = {"name": gauge.id, "high": gauge.span.si, "due": gauge.due}
        one = known.get(gauge.id)
        if one is not None and str(one.get("due") or "") >= gauge.due:
            row |= {"due": str(one.get("due") or "")}
            row |= {"high": float(one["high"])} if isinstance(one.get("high"), int | float) else {}
        elif one is not None:
            told[gauge.id] |= {"due": gauge.due, "high": gauge.span.si}
        files.append(row)
    return files, list(told.values())


def proposed(gauges: Sequence[Gauge], described: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the gauges of a station file that no visit has described, as they would be described, SI.

    ``of_file`` says so: whoever takes one compares its label first. One without a date is none.
    """
    known = {str(one.get("name")) for one in described}
    return [
        {
            "name": one.id,
            "what": "test gauge",
            "quantity": "pressure",
            "low": 0.0,
            "high": one.span.si,
            "class": one.accuracy.si,
            "due": one.due,
            "of_file": True,
        }
        for one in gauges
        if one.due and one.id not in known
    ]


def dated(
    procedure: Procedure, files: Iterable[Mapping[str, Any]], units: UnitSet, today: date
) -> dict[str, str]:
    """Return the words of those messages of a plan that list gauges, with the days that are known now."""
    due = {str(one["name"]): str(one["due"]) for one in files}
    found = {}
    for message in every_message(procedure):
        if DUE in message.params:
            names = _names(str(message.params[DUE]), ";")
            told = "; ".join(f"{name} {_due(due[name])}" for name in names if name in due)
            found[key_of(message)] = say(_with(message, DUE, told or str(message.params[DUE])), units)
        elif PAST in message.params:
            listed = _names(str(message.params[PAST]), ",")
            late = [name for name in due if due[name] and due[name] < today.isoformat()]
            late += [name for name in listed if name not in due]
            words = say(_with(message, PAST, ", ".join(late)), units) if late else NONE_PAST
            found[key_of(message)] = words
    return found


def _due(day: str) -> str:
    return f"due {day}" if day else f"due: {NOT_STATED}"


def _names(listed: str, between: str) -> list[str]:
    """Return the gauges of a list, each without what is said of it.

    >>> _names("TG-07 due 2027-09-30; TG-11 due: not stated", ";")
    ['TG-07', 'TG-11']
    """
    return [one.split(" due")[0].strip() for one in listed.split(between) if one.strip()]


def _with(message: Message, name: str, words: str) -> Message:
    return replace(message, params={**message.params, name: words})
