"""Heaters behind the station: off and confirmed before the outlet valve moves, on when all is open."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.records.procedure import Node
from steadyhead.visits.tables.desk import Desk, Needs, is_no, noted, yes_no

HEATERS = "heaters_off"
"""The restore item: heaters stand off."""


def off(desk: Desk, *, needs: Sequence[Needs], base: str = "A9") -> tuple[Node, ...]:
    """Return the heaters switched off and confirmed; nothing where the consumers stay connected.

    Vessel and relief valve stand ahead of the outlet valve, the heaters behind it: with that valve shut the
    water they heat has no room.
    """
    facts = desk.facts
    if not facts.heaters_wait:
        return ()
    ahead = [part.id for part in (*facts.vessels, *facts.layout.reliefs)]
    why = "no_feed" if facts.none_serves else "ahead" if ahead else "nothing"
    step = desk.node(
        base,
        needs=needs,
        do=("switch", why, "stay"),
        inputs=(*yes_no("off"), *noted("by")),
        otherwise=(("runs", is_no("off")),),
        out=("outside",),
        hazards=(("pressure", "heated_shut"),),
        text="HT",
        time="A9",
        over={"ahead": " and ".join(ahead)} if ahead else {},
        opens=(HEATERS,),
    )
    return (step,)


def off_for(desk: Desk, cut: str, *, needs: Sequence[Needs], base: str = "A9") -> Node:
    """Return the heaters switched off while vessels are cut off on a station in service; cut: which."""
    return desk.node(
        base,
        needs=needs,
        do=("switch", "vessel", "stay_vessel"),
        inputs=(*yes_no("off"), *noted("by")),
        otherwise=(("runs_vessel", is_no("off")),),
        out=("outside",),
        hazards=(("pressure", "heated_shut"),),
        text="HT",
        title="title_vessel",
        time="A9",
        over={"cut": cut},
        opens=(HEATERS,),
    )


def needed(desk: Desk, base: str = "A9") -> tuple[str, ...]:
    """Return the id of the step of `off`, where there is one."""
    return (base,) if desk.facts.heaters_wait else ()


def on(desk: Desk) -> tuple[str, ...]:
    """Return the text of the heaters on again, once the outlet valve is open."""
    return ("HT.on",) if desk.facts.heaters_wait else ()


def over(desk: Desk) -> dict[str, str]:
    """Return what must be open before the heaters run."""
    facts = desk.facts
    ids = [part.id for part in (*facts.vessels, *facts.layout.reliefs, facts.outlet_valve)]
    return {"all_open": ", ".join((*facts.served, *ids))}
