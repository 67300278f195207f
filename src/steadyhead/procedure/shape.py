"""What stands in each field of a stored plan; a field of another kind is named, before anything is read."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any, Final, get_args, get_type_hints

from steadyhead.errors import InputError
from steadyhead.records.advice import Screw
from steadyhead.records.procedure import Hazard, Kind
from steadyhead.units import KINDS

Shape = Callable[[Any, str], None]
"""Refuses a value [first] that stands at a place [second] and is not of its kind."""
_AGAIN: Final = "Give the file as it was written."
_BESIDE: Final = ("yes_no", "text", "photo", "time_of_day", "count")
"""Quantities of an input that have no unit."""


def check_plan(data: Any) -> None:
    """Refuse a plan of which a field is missing, or holds something of another kind.

    Raises
    ------
    InputError
        The field by its path, e.g. ``plan.nodes[3].minutes``, what was got and what stands there.
    """
    _PLAN(data, "plan")


def _wrong(where: str, got: Any, wanted: str) -> InputError:
    return InputError(where, f"got {got!r:.60}; there stands {wanted}.", _AGAIN)


def _text(value: Any, where: str) -> None:
    if not isinstance(value, str):
        raise _wrong(where, value, "a text")


def _number(value: Any, where: str) -> None:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or not math.isfinite(value):
        raise _wrong(where, value, "a number")


def _whole(value: Any, where: str) -> None:
    if not isinstance(value, int) or isinstance(value, bool):
        raise _wrong(where, value, "a whole number")


def _flag(value: Any, where: str) -> None:
    if not isinstance(value, bool):
        raise _wrong(where, value, "true or false")


def _expression(value: Any, where: str) -> None:
    if not isinstance(value, dict):
        raise _wrong(where, value, "a map with one operator")


def _one_of(*known: str) -> Shape:
    def shape(value: Any, where: str) -> None:
        if not isinstance(value, str) or value not in known:
            raise _wrong(
                where, value, f"one of {', '.join(known)}" if len(known) < 12 else "a kind known here"
            )

    return shape


def _maybe(inner: Shape) -> Shape:
    def shape(value: Any, where: str) -> None:
        if value is not None:
            inner(value, where)

    return shape


def _many(inner: Shape, least: int = 0) -> Shape:
    def shape(value: Any, where: str) -> None:
        if not isinstance(value, list) or len(value) < least:
            raise _wrong(where, value, f"a list of {least} or more" if least else "a list")
        for index, one in enumerate(value):
            inner(one, f"{where}[{index}]")

    return shape


def _none_or(inner: Shape) -> Shape:
    def shape(value: Any, where: str) -> None:
        if value != []:
            inner(value, where)

    return shape


def _row(*inner: Shape) -> Shape:
    def shape(value: Any, where: str) -> None:
        if not isinstance(value, list) or len(value) != len(inner):
            raise _wrong(where, value, f"a list of {len(inner)}")
        for index, one in enumerate(value):
            inner[index](one, f"{where}[{index}]")

    return shape


def _named(inner: Shape) -> Shape:
    def shape(value: Any, where: str) -> None:
        if not isinstance(value, dict):
            raise _wrong(where, value, "a map")
        for name, one in value.items():
            inner(one, f"{where}.{name}")

    return shape


def _fields(always: Mapping[str, Shape], sometimes: Mapping[str, Shape] | None = None) -> Shape:
    known = {**always, **(sometimes or {})}

    def shape(value: Any, where: str) -> None:
        if not isinstance(value, dict):
            raise _wrong(where, value, "a map")
        for name in always:
            if name not in value:
                raise InputError(f"{where}.{name}", "is missing.", _AGAIN)
        for name, one in value.items():
            if name not in known:
                raise InputError(f"{where}.{name}", "is no field of a plan.", _AGAIN)
            known[name](one, f"{where}.{name}")

    return shape


def _each(shape: Shape, *names: str) -> dict[str, Shape]:
    return dict.fromkeys(names, shape)


def _of(record: type, special: Mapping[str, Shape]) -> dict[str, Shape]:
    """Return a shape for each field of a record whose names are those of the file; the rest are numbers."""
    return {one.name: special.get(one.name, _number) for one in fields(record)}


_AMOUNT = _fields({"kind": _one_of(*KINDS), "si": _number})


def _param(value: Any, where: str) -> None:
    if isinstance(value, dict):
        _AMOUNT(value, where)
    elif not isinstance(value, str | bool):
        _number(value, where)


def _nested(value: Any, where: str) -> None:
    if not isinstance(value, list):
        _number(value, where)
        return
    for index, one in enumerate(value):
        _nested(one, f"{where}[{index}]")


_NUMBERS = _many(_number)
_TEXTS = _many(_text)
_MESSAGE = _fields({"id": _text, "params": _named(_param)})
_MESSAGES = _many(_MESSAGE)
_INPUT = _fields(
    {
        **_each(_text, "name", "tap", "instrument"),
        "quantity": _one_of(*_BESIDE, *KINDS),
        **_each(_number, "stable_for_s", "stable_within_si"),
    },
    {
        "traced": _flag,
        "error_most_si": _number,
        "carries": _TEXTS,
        "unless": _maybe(_expression),
        "worked": _maybe(_expression),
    },
)
_EXPECT = _fields(
    {
        "input": _text,
        **_each(_maybe(_number), "low_si", "high_si", "nominal_si", "probability"),
        "why": _MESSAGE,
        "where": _maybe(_row(_text, _text)),
    }
)
_OTHERWISE = _fields(
    {"when": _expression, **_each(_MESSAGE, "see", "meaning", "then")},
    {"tells": _flag, "instead": _text},
)
_NODE = _fields(
    {
        "id": _text,
        "title": _MESSAGE,
        "needs": _expression,
        "do": _MESSAGES,
        "inputs": _many(_INPUT),
        "expect": _many(_EXPECT),
        "otherwise": _many(_OTHERWISE),
        "back_out": _many(_fields({"state": _text, "do": _MESSAGE})),
        "hazards": _many(
            _fields({"tag": _one_of(*get_args(get_type_hints(Hazard)["tag"])), "caution": _MESSAGE})
        ),
        **_each(_TEXTS, "touches", "proves", "depends_on", "opens", "restores", "raises"),
        **_each(_number, "minutes", "litres"),
    },
    {"refuses": _many(_fields({"when": _expression, "message": _MESSAGE})), "on_top": _number},
)
_CHOICE = _fields(
    {
        "id": _text,
        "question": _MESSAGE,
        "options": _many(_fields({"name": _text, "words": _MESSAGE, "opens": _TEXTS})),
    }
)
_TURN_TABLE = _fields(
    {
        **_each(_text, "valve", "spring"),
        **_each(_number, "per_turn_pa", "limit_pa"),
        "turns": _NUMBERS,
        "readings_pa": _named(_NUMBERS),
        "stop_after": _whole,
    },
    {"start": _one_of("trickle", "lowest")},
)
_RESPONSE = _fields(
    {"axes": _many(_fields({"name": _text, "at": _NUMBERS})), "taps": _TEXTS, "values_pa": _nested}
)
_DRAIN = _fields({**_each(_text, "node", "drain"), **_each(_number, "flow_m3_s", "time_s")}, {"place": _text})
_SCREW = _fields(
    _of(
        Screw,
        {
            "valve": _text,
            "sees": _one_of("gauge", "act"),
            "springs": _many(_row(_number, _number, _number, _number), 1),
            "gaps": _many(_row(_number, _number), 1),
            "slack": _flag,
            "trip": _maybe(_row(_number, _number)),
            "amounts": _many(_number, 1),
        },
    )
)
_AIM = _fields(
    {**_each(_text, "step", "valve", "tap"), **_each(_number, "target", "tolerance")},
    {"climb": _number, "trip": _maybe(_row(_number, _number)), "beside": _maybe(_row(_text, _number))},
)
_SHIELD = _fields(
    {"proof": _text, **_each(_TEXTS, "steps", "asks", "moved_at", "moved")},
    {"still": _TEXTS},
)
_TRIAL = _fields(
    {**_each(_text, "step", "input", "band", "beside"), **_each(_maybe(_number), "edge", "bears")},
    {
        **_each(_maybe(_number), "wide", "by"),
        "above": _text,
        "run": _none_or(_row(_text, _text)),
        "sets": _TEXTS,
        **_each(_flag, "yes", "alone"),
    },
)
_MINDING = _fields(
    {},
    {
        **_each(_TEXTS, "parts", "things", "keeps", "guards", "looked", "called", "may"),
        **_each(_TEXTS, "causes", "stops", "answers"),
        "left": _many(
            _fields(
                {"thing": _text, **_each(_TEXTS, "words", "settled")}, {"never": _flag, "unclear": _TEXTS}
            )
        ),
        "shields": _many(_SHIELD),
        "ranges": _many(_fields({**_each(_text, "step", "input"), **_each(_number, "low", "high")})),
        "instead": _many(_row(_text, _text, _text)),
        "trials": _many(_TRIAL),
        "holds": _many(
            _fields(
                {
                    **_each(_text, "step", "part", "first", "last"),
                    "since": _none_or(_row(_text, _text)),
                    "ends": _flag,
                }
            )
        ),
        "openings": _many(
            _fields(
                {
                    "part": _text,
                    **_each(_maybe(_number), "turns", "share"),
                    **_each(_TEXTS, "asks", "brings", "opens"),
                },
                {"full": _flag},
            )
        ),
    },
)
_PLAN = _fields(
    {
        **_each(_text, "format", "id", "item", "station_id", "station_name", "station_hash"),
        **_each(_text, "baseline_id", "engine_version"),
        "kind": _one_of(*get_args(Kind)),
        "datum_m": _number,
        "nodes": _many(_NODE),
        "choices": _many(_CHOICE),
        **_each(_MESSAGES, "invariants", "stop_rules", "notes"),
        "turn_tables": _many(_TURN_TABLE),
        "response": _maybe(_RESPONSE),
        "drain_budget": _many(_DRAIN),
        "names": _named(_MESSAGE),
        "limits": _named(_number),
        **_each(_TEXTS, "never", "after"),
    },
    {
        "streams": _named(_text),
        "advice": _fields({"screws": _many(_SCREW), "aims": _many(_AIM)}),
        "minding": _MINDING,
        "left": _many(_fields({"part": _text, "state": _MESSAGE})),
    },
)
