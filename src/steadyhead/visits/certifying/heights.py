"""Screw heights as they were left: read by themselves or in words, and not turned since."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from steadyhead.procedure.touching import touches
from steadyhead.records.certificate import Noted
from steadyhead.records.procedure import Node
from steadyhead.units import to_si
from steadyhead.visits.certifying.seen import Seen, base, kept, number

IN_WORDS = ("A7", "Y1")
"""Steps at which the heights of all screws are noted in words."""
_AMOUNT = r"\W{{0,3}}(?:screw|pilot|height|at|is|=|:|\s)*(\d{{1,3}}(?:[.,]\d+)?)\s*(mm|in)\b"


def height(seen: Seen, valve: str) -> Noted | None:
    """Return the screw height a valve was left at; None where none was noted, or it was turned after. [m]

    In words a height counts where the id of the valve stands right before it with its unit: ``SO 24 mm``.
    """
    found = sorted([*_read(seen, valve), *_in_words(seen, valve)], key=lambda one: one[0])
    if not found:
        return None
    at, noted = found[-1]
    turned = max((t.row.at for t in touches(seen.record) if f"{valve}.setting" in t.things), default=-1)
    return noted if at > turned else None


def _read(seen: Seen, valve: str) -> Iterator[tuple[int, Noted]]:
    for step in seen.on_way():
        if "height" in step.chosen and _whose(step.node) == valve:
            noted = seen.noted(step, "height")
            if noted is not None and number(noted) is not None:
                yield step.chosen["height"].newest, noted


def _whose(node: Node) -> str:
    """Return the valve whose screw a step reads: of table DS the shut-off's."""
    if "." in node.id:
        return node.id.rpartition(".")[2]
    if base(node).startswith("DS"):
        return next((str(m.params["so"]) for m in (node.title, *node.do) if "so" in m.params), "")
    valves = {thing.partition(".")[0] for thing in node.touches}
    return valves.pop() if len(valves) == 1 else ""


def _in_words(seen: Seen, valve: str) -> Iterator[tuple[int, Noted]]:
    for step in seen.on_way():
        if base(step.node) not in IN_WORDS or "height" not in step.chosen:
            continue
        noted = seen.noted(step, "height")
        if noted is None or not isinstance(noted.value, str):
            continue
        told = re.search(rf"\b{re.escape(valve)}\b{_AMOUNT.format()}", noted.value, re.IGNORECASE)
        if told is not None:
            si = kept(to_si(float(told[1].replace(",", ".")), "length", told[2].lower()))
            yield (
                step.chosen["height"].newest,
                replace(noted, value=si, quantity="length", typed=f"{told[1]} {told[2]}"),
            )
