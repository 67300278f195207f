"""What was put out of its place in a run and must be put back before anybody leaves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from steadyhead.procedure.clocks import Doubt, doubts, may_follow
from steadyhead.procedure.naming import folded, names_of
from steadyhead.procedure.record import Record, Row, round_starts
from steadyhead.procedure.steps import Step
from steadyhead.procedure.touching import ALARM, valves
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
FITS = {
    "defeat": ("out_of_way", "cut_off"),
    "alarm to test": ("alarm_test",),
    "break seal": ("seal",),
}
"""Acts that a step orders by the item it opens, and the kinds of such an item."""
UNDOES = {**{back: out for out, back in PAIRS.items()}, "seal": "break seal"}
"""Acts that put back, and what they undo."""
ON_TEST = "alarm_test"
"""The item of a plan whose alarm is put on test: an act that says the same is the same item."""


def items(record: Record, steps: Mapping[str, Step]) -> tuple[ItemState, ...]:
    """Return every restore item with its state: those of the plan in its order, then those made underway.

    A step opens its items each time it is gone through; a step that is done restores them if its last entry
    came after that. An act by which something is put out of action opens the item that its step orders by it,
    at the hour of the act, else an item of its own, until the act that puts it back. Where the clocks of two
    devices do not tell that it came after, it puts nothing back.
    """
    names = dict.fromkeys(name for node in record.procedure.nodes for name in node.opens)
    opened: dict[str, list[Row]] = {}
    restored: dict[str, list[Row]] = {}
    for step in steps.values():
        starts = round_starts(step.rows, step.node)
        for name in step.node.opens if starts else ():
            opened.setdefault(name, []).append(starts[-1])
        if step.first_done is not None and not step.lacks and not step.is_refused:
            last = [row for row in step.rows if row.at <= step.latest]
            for name in step.node.restores if last else ():
                restored.setdefault(name, []).append(last[-1])
    for row in record.rows:
        name = opened_by(record, steps, row)
        if name:
            opened.setdefault(name, []).append(row)
        for name in restored_by(record, row):
            restored.setdefault(name, []).append(row)
    doubt = doubts(row.entry for row in record.rows)
    return tuple(
        _state(name, opened.get(name, ()), restored.get(name, ()), doubt)
        for name in dict.fromkeys((*names, *opened))
    )


def opened_by(record: Record, steps: Mapping[str, Step], row: Row) -> str:
    """Return the item an act opens: the one its step orders it by, else one of its own; empty: none."""
    planned = planned_item(record, steps, row)
    if planned or not is_put_out(record, row) or _by_any_step(record, row):
        return planned
    return item_name(record, row, row.do)


def restored_by(record: Record, row: Row) -> tuple[str, ...]:
    """Return the items an act puts back: one of its own, and those a step orders what it undoes by."""
    out = UNDOES.get(row.do, "")
    own = (item_name(record, row, out),) if out in PAIRS else ()
    if not out or not row.thing or not record.procedure.minding.parts:
        return own
    items = (item for node in record.procedure.nodes for item in node.opens)
    part = _begins(row.thing)
    return (*own, *(item for item in items if fits(item, out) and _begins(item) == part))


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
    by_act = opener is not None and opener.do in PAIRS and not planned_item(record, steps, opener)
    return minds and (by_act or not _opens(record, item.name))


def planned_item(record: Record, steps: Mapping[str, Step], row: Row) -> str:
    """Return the item by which the step an act stands at, on this way, orders it; empty: it orders none."""
    node = record.node.get(row.entry.node)
    if node is None or not record.procedure.minding.parts or steps[node.id].way != "on":
        return ""
    begins = _begins(row.thing or (ALARM if row.do == "alarm to test" else ""))
    fitting = (item for item in node.opens if fits(item, row.do))
    return next((item for item in fitting if not begins or _begins(item) == begins), "")


def fits(item: str, out: str) -> bool:
    """Return whether a step that opens an item orders an act by it.

    Examples
    --------
    >>> fits("SO.out_of_way", "defeat"), fits("SO.out_of_way", "break wire"), fits("alarm_test", "defeat")
    (True, False, False)
    """
    return item.partition("@")[0].rpartition(".")[2] in FITS.get(out, ())


def _by_any_step(record: Record, row: Row) -> bool:
    """Return whether a plan that minds nothing has the act at a step that opens an item, whichever."""
    node = record.node.get(row.entry.node)
    return node is not None and bool(node.opens) and not record.procedure.minding.parts


def _begins(item: str) -> str:
    """Return the part an item belongs to; of ``alarm_test``, the alarm."""
    return item.partition("@")[0].partition(".")[0].partition("_")[0].lower()


def _opens(record: Record, name: str) -> bool:
    return any(name in node.opens for node in record.procedure.nodes)


def _state(name: str, opened: Sequence[Row], restored: Sequence[Row], doubt: Doubt) -> ItemState:
    """Return how an item stands: put back by what surely came after everything that put it out."""
    if not opened:
        return ItemState(name, "not opened")
    last = max(opened, key=lambda row: row.at)
    back = [
        row
        for row in restored
        if row.at >= last.at
        and not any(may_follow(one.entry, row.entry, doubt) for one in opened if one.at != row.at)
    ]
    if not back:
        return ItemState(name, "open", last.entry.id)
    return ItemState(name, "restored", last.entry.id, max(back, key=lambda row: row.at).entry.id)
