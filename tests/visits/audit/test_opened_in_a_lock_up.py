"""A valve opened between the first and the last reading of a lock-up on paper."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.records.entry import Entry
from steadyhead.visits.audit import audit
from steadyhead.visits.audit.sheet import read_sheet
from tests.visits.audit.quernhollow import SHEET, commissioning


def _told(minute: int, thing: str, kind: str = "action", node: str = "") -> list[str]:
    """Return what is said with a valve opened, and shut a minute later, first reading at 13:40."""
    book = commissioning(screw_turned=False, lockup_flow=0.0)
    own = [one for one in book.entries if one.node == "H2"]
    first, last = [one for one in own if one.kind == "reading"]

    def at(one: Entry, clock: int, **changes: object) -> Entry:
        moment = f"{last.t_device[:11]}13:{clock:02d}{last.t_device[16:]}"
        return replace(one, t_device=moment, **changes)  # type: ignore[arg-type]

    how = {"do": "open", "thing": thing} if kind == "action" else {"thing": thing, "is": "open"}
    back = {"do": "shut", "thing": thing} if kind == "action" else {"thing": thing, "is": "shut"}
    new = [
        at(first, 40),
        at(last, minute, id="let-off", kind=kind, payload=how, node=node),
        at(last, minute + 1, id="let-off-2", kind=kind, payload=back, node=node),
    ]
    new.sort(key=lambda one: one.t_device)
    place = book.entries.index(own[0])
    rest = [one for one in own if one is not first]
    book.entries[:] = [one for one in book.entries if one not in own]
    book.entries[place:place] = [*new, *rest]
    found = audit(read_sheet(SHEET), book.entries)
    return [str(one.params["seen"]) for one in found if one.code == "RUN-34"]


@pytest.mark.parametrize("node", ["", "H2"])
@pytest.mark.parametrize("kind", ["action", "position"])
def test_a_drain_opened_while_a_lock_up_is_watched_is_named(kind: str, node: str) -> None:
    assert any("TD stands open between" in seen for seen in _told(45, "TD", kind, node))


def test_opened_and_shut_before_its_first_reading_it_is_the_way_it_is_done() -> None:
    assert not any("stands open between" in seen for seen in _told(35, "TD"))
