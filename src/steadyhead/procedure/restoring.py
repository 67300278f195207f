"""What was put out of its place in a run and must be put back before anybody leaves."""

from __future__ import annotations

from collections.abc import Mapping

from steadyhead.procedure.naming import folded, names_of
from steadyhead.procedure.record import Record, Row, round_starts
from steadyhead.procedure.steps import Step
from steadyhead.procedure.touching import valves
from steadyhead.records.run import ItemState

PAIRS = {
    "defeat": "restore",
    "break wire": "join wire",
    "alarm to test": "alarm live",
    "bridge contacts": "remove bridge",
    "lock": "unlock",
    "hold": "release",
}
"""Acts that take something out of action, and what puts it back."""
OUT = {"bridge contacts": "bridged", "lock": "locked", "hold": "held"}
"""Acts by which something is out of action in a way of its own, and the way."""
HELD = ("lock", "hold")
"""Acts that put only what works by itself out of action."""
ALARM = "alarm"
ON_TEST = "alarm_test"
"""The item of a plan whose alarm is put on test: an act that says the same is the same item."""


def items(record: Record, steps: Mapping[str, Step]) -> tuple[ItemState, ...]:
    """Return every restore item with its state: those of the plan in its order, then those made underway.

    A step opens its items each time it is gone through; a step that is done restores them if its last entry
    came after that. An act at a step that opens nothing, by which something was put out of action, is an item
    of its own until the act that puts it back.
    """
    names = dict.fromkeys(name for node in record.procedure.nodes for name in node.opens)
    opened: dict[str, Row] = {}
    restored: dict[str, Row] = {}
    for step in steps.values():
        starts = round_starts(step.rows, step.node)
        for name in step.node.opens if starts else ():
            _later(opened, name, starts[-1])
        if step.first_done is not None and not step.lacks and not step.is_refused:
            last = [row for row in step.rows if row.at <= step.latest]
            for name in step.node.restores if last else ():
                _later(restored, name, last[-1])
    for row in record.rows:
        _by_act(record, steps, row, opened, restored)
    return tuple(
        _state(name, opened.get(name), restored.get(name)) for name in dict.fromkeys((*names, *opened))
    )


def _by_act(
    record: Record, steps: Mapping[str, Step], row: Row, opened: dict[str, Row], restored: dict[str, Row]
) -> None:
    for out, back in PAIRS.items():
        if row.do == out and is_put_out(record, row) and not is_planned(record, steps, row):
            _later(opened, item_name(record, row, out), row)
        elif row.do == back:
            _later(restored, item_name(record, row, out), row)


def item_name(record: Record, row: Row, out: str) -> str:
    """Return the name of the item that an act puts out of action, or back; a bridge has one of its own."""
    written = row.text("thing")
    thing = names_of(record.procedure).known.get(folded(written), written)
    if out == "alarm to test" and _begins(thing or ALARM) == ALARM and _opens(record, ON_TEST):
        return ON_TEST
    if out in OUT:
        return f"{row.thing if out in HELD else thing} {OUT[out]}".strip()
    return thing or out


def is_put_out(record: Record, row: Row) -> bool:
    """Return whether an act puts something out of action; a valve worked by hand may be locked."""
    works = row.thing in (*record.procedure.minding.guards, *valves(record.procedure))
    return row.do in PAIRS and (row.do not in HELD or works)


def is_by_act(record: Record, steps: Mapping[str, Step], item: ItemState) -> bool:
    """Return whether an act beside the plan opened an item; nobody accepts that it stays open."""
    minds = bool(record.procedure.minding.parts)
    opener = next((row for row in record.rows if row.entry.id == item.opened), None)
    by_act = opener is not None and opener.do in PAIRS and not is_planned(record, steps, opener)
    return minds and (by_act or not _opens(record, item.name))


def is_planned(record: Record, steps: Mapping[str, Step], row: Row) -> bool:
    """Return whether the step an act stands at is on this way and opens an item for it."""
    node = record.node.get(row.entry.node)
    if node is not None and record.procedure.minding.parts and steps[node.id].way != "on":
        return False
    if node is None or not node.opens or not record.procedure.minding.parts:
        return node is not None and bool(node.opens)
    thing = row.thing or (ALARM if row.do == "alarm to test" else "")
    begins = thing.partition(".")[0].lower()
    return any(not thing or item == thing or _begins(item) == begins for item in node.opens)


def _begins(item: str) -> str:
    """Return the part an item belongs to; of ``alarm_test``, the alarm."""
    return item.partition("@")[0].partition(".")[0].partition("_")[0].lower()


def _opens(record: Record, name: str) -> bool:
    return any(name in node.opens for node in record.procedure.nodes)


def _later(found: dict[str, Row], name: str, row: Row) -> None:
    if name not in found or found[name].at < row.at:
        found[name] = row


def _state(name: str, opened: Row | None, restored: Row | None) -> ItemState:
    if opened is None:
        return ItemState(name, "not opened")
    if restored is None or restored.at < opened.at:
        return ItemState(name, "open", opened.entry.id)
    return ItemState(name, "restored", opened.entry.id, restored.entry.id)
