"""Clean visits with one entry changed or added, and what the judge says of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.records.run import Judgement
from tests.procedure.walking import Device, walk

SET = {"E0.SO": "set", "E0.RV": "set"}
FITS = {"E0.SO": "fits", "E0.RV": "fits"}
Change = Callable[[list[Entry]], list[Entry]]


def judged(plan: Procedure, way: Mapping[str, str], *changes: Change) -> Judgement:
    """Return the judgement of a clean visit with changes."""
    entries = walk(plan, way)
    for change in changes:
        entries = change(entries)
    return judge(plan, read(dump(entries)))


def reads(node: str, name: str, value: Any) -> Change:
    """Return a change that answers an input otherwise."""

    def change(entries: list[Entry]) -> list[Entry]:
        hits = [e for e in entries if e.node == node and e.payload.get("input") == name]
        assert hits, (node, name)
        return [replace(e, payload={**e.payload, "value": value}) if e in hits else e for e in entries]

    return change


def shifted(node: str, name: str, by: float) -> Change:
    """Return a change that moves a reading."""

    def change(entries: list[Entry]) -> list[Entry]:
        hits = [e for e in entries if e.node == node and e.payload.get("input") == name]
        assert hits, (node, name)
        moved = {e.id: e.payload["value"] + by for e in hits}
        return [
            replace(e, payload={**e.payload, "value": moved[e.id]}) if e.id in moved else e for e in entries
        ]

    return change


def acts(do: str, thing: str = "", *, after: tuple[str, str] | None = None, node: str = "") -> Change:
    """Return a change that adds an act: half a minute after an entry, or at the end of the day."""

    def change(entries: list[Entry]) -> list[Entry]:
        at = entries[-1]
        if after is not None:
            at = next(e for e in entries if e.node == after[0] and e.payload.get("input") == after[1])
        payload = {"do": do, **({"thing": thing} if thing else {})}
        made = Device("tab-2").make("action", payload, node)
        return [*entries, replace(made, t_device=at.t_device, clock_offset=30.0)]

    return change


def before(do: str, thing: str, node: str, name: str) -> Change:
    """Return a change that adds an act half a minute before an entry."""

    def change(entries: list[Entry]) -> list[Entry]:
        at = next(e for e in entries if e.node == node and e.payload.get("input") == name)
        made = Device("tab-2").make("action", {"do": do, "thing": thing})
        return [*entries, replace(made, t_device=at.t_device, clock_offset=-30.0)]

    return change


def sooner(node: str, name: str, by: float) -> Change:
    """Return a change that takes a reading some seconds sooner."""

    def change(entries: list[Entry]) -> list[Entry]:
        hits = [e.id for e in entries if e.node == node and e.payload.get("input") == name]
        return [replace(e, clock_offset=-by) if e.id in hits else e for e in entries]

    return change


def against(judgement: Judgement) -> set[tuple[str, str, str]]:
    """Return code, step or proof, and text of everything that stands against *final*."""
    return {
        (b.remark.code, b.remark.about, b.remark.message.id if b.remark.message else "")
        for b in judgement.blocks
    }


def told(judgement: Judgement) -> set[str]:
    """Return the texts of what is worth knowing."""
    return {remark.message.id for remark in judgement.told if remark.message is not None}
