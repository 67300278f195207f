"""A signature as the data a device takes along, and back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steadyhead.findings import Amount
from steadyhead.records.procedure import Message
from steadyhead.records.signature import (
    Axis,
    Cause,
    Grade,
    Reads,
    Signature,
    curve_data,
    curve_from,
)
from steadyhead.visits.texts.causes import say

PARTS = ("name", "tell", "then", "high")


def plain_signature(signature: Signature, language: str = "en") -> dict[str, Any]:
    """Return a signature as maps, lists, short numbers and the words themselves.

    ``none`` holds the words for *none of these fits*; ``absent`` the rows of the fault matrix this step does
    not tell, by reason.
    """
    absent: dict[str, list[int]] = {}
    for row, reason in signature.absent:
        absent.setdefault(reason, []).append(row)
    valves = {"td": "the drain", "iv1": "the inlet valve", "iv2": "the outlet valve", "t3": "the outlet"}
    for cause in signature.causes:
        valves |= {name: str(told) for name, told in _params(cause).items() if name in valves and told}
    none = [say(Message(f"cause.none.{part}", valves), language) for part in PARTS]
    return {
        "step": signature.step,
        "axes": [{"state": axis.state, "flows": [_short(q) for q in axis.flows]} for axis in signature.axes],
        "reads": [_reads(one) for one in signature.reads],
        "healthy": {key: curve_data(curve) for key, curve in signature.healthy.items()},
        "causes": [_cause(one, language) for one in signature.causes],
        "none": dict(zip(PARTS, none, strict=True)),
        "absent": [
            {"why": say(Message(f"absent.{reason}"), language), "rows": rows}
            for reason, rows in absent.items()
        ],
    }


def _short(number: float) -> float:
    return float(f"{number:.6g}")


def _reads(one: Reads) -> dict[str, Any]:
    choice = None if one.choice is None else list(one.choice)
    return {
        "input": one.input, "state": one.state, "place": one.place, "flow": one.flow,
        "usual": _short(one.usual), "choice": choice,
    }  # fmt: skip


def _cause(one: Cause, language: str) -> dict[str, Any]:
    return {
        "id": one.id,
        "row": one.row,
        "prior": one.prior,
        "on": one.on,
        "spans": [list(pair) for pair in one.spans],
        "grades": [_grade(grade) for grade in one.grades],
        "name": say(one.name, language),
        "tell": say(one.tell, language),
        "then": say(one.then, language),
        "high": say(one.then if one.high is None else one.high, language),
    }


def _params(one: Cause) -> Mapping[str, Amount | str | int]:
    return one.high.params if one.high is not None else one.then.params


def _grade(one: Grade) -> dict[str, Any]:
    return {
        "curves": {key: curve_data(curve) for key, curve in one.curves.items()},
        "most": {state: _short(bound) for state, bound in one.most.items()},
        "factor": _short(one.factor),
        "offset": _short(one.offset),
    }


def signature_from(data: Mapping[str, Any]) -> Signature:
    """Return the signature of packed data; words and what is absent are not brought back."""
    empty = Message("")
    causes = tuple(
        Cause(
            one["id"],
            one["row"],
            one["prior"],
            tuple(
                Grade(
                    {key: curve_from(rows) for key, rows in grade["curves"].items()},
                    dict(grade["most"]),
                    grade["factor"],
                    grade["offset"],
                )
                for grade in one["grades"]
            ),
            tuple((first, second) for first, second in one["spans"]),
            empty,
            empty,
            empty,
            one["on"],
        )
        for one in data["causes"]
    )
    reads = tuple(
        Reads(
            one["input"],
            one["state"],
            one["place"],
            one["flow"],
            one["usual"],
            None if one["choice"] is None else (one["choice"][0], one["choice"][1]),
        )
        for one in data["reads"]
    )
    return Signature(
        data["step"],
        tuple(Axis(one["state"], tuple(one["flows"])) for one in data["axes"]),
        reads,
        {key: curve_from(rows) for key, rows in data["healthy"].items()},
        causes,
    )
