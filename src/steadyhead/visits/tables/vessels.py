"""Expansion vessels: the gas charge with the water side empty, and the vessel back on the line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from steadyhead.findings import Amount
from steadyhead.records.parts import ExpansionVessel
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables import heating
from steadyhead.visits.tables.desk import Desk, Needs, is_no, measured, yes_no
from steadyhead.visits.tables.names import of
from steadyhead.visits.tables.wording import pressure


def charges(desk: Desk) -> Iterator[Node]:
    """Yield B7 of each vessel of a line that is proved here as a whole."""
    if desk.facts.is_whole:
        for vessel in desk.facts.vessels:
            yield charge(desk, vessel, needs=["B2"])


def returned(desk: Desk, needs: Sequence[Needs], *, base: str = "H8", cut: str = "B7") -> Iterator[Node]:
    """Yield H8 of each vessel: back on the line once every test of the stiff section is over."""
    for vessel in desk.facts.vessels if desk.facts.is_whole else ():
        yield back(desk, vessel, [f"{cut}.{vessel.id}", *needs], base=base)


def back(
    desk: Desk, vessel: ExpansionVessel, needs: Sequence[Needs], *, base: str = "H8", state: str = "trickle"
) -> Node:
    """Return one vessel back on the line, its cock open and sealed."""
    return desk.node(
        base,
        vessel.id,
        needs=needs,
        do=("open", "seal"),
        inputs=yes_no("open"),
        otherwise=(("shut", is_no("open")),),
        out=(state,),
        text="CV",
        time="CV",
        over={"ev": vessel.id},
        proves=of(vessel, "stands_open"),
        depends_on=of(vessel, "cock"),
        restores=of(vessel, "cut_off"),
    )


def charge(
    desk: Desk,
    vessel: ExpansionVessel,
    *,
    needs: Sequence[Needs],
    base: str = "B7",
    state: str = "isolated",
    stays: bool = True,
) -> Node:
    """Return the vessel cut off for the tests, and its gas charge read with the water side empty.

    stays: it is cut off until the tests of its section are over.
    """
    stated = vessel.precharge
    words: dict[str, Amount | str | int] = {"ev": vessel.id, "charge_fit": pressure(d.CHARGE_FIT.si)}
    checks: list[tuple[str, Expression]] = [("wet", is_no("gas"))]
    if stated is not None:
        words["precharge"] = pressure(stated.si)
        off = {"abs": {"sub": [{"value": "precharge"}, stated.si]}}
        checks.append(("off", {"gt": [off, d.CHARGE_FIT.si]}))
    return desk.node(
        base,
        vessel.id,
        needs=needs,
        do=(
            "shut",
            "read",
            "stated" if stated is not None else "not_stated",
            *(("stays",) if stays else ()),
        ),
        inputs=(measured("precharge", "pressure", "gas gauge"), *yes_no("gas")),
        otherwise=checks,
        out=(state,),
        hazards=(("pressure", "trapped"), ("pressure", "gas")),
        text="BV",
        time="BV",
        over=words,
        touches=of(vessel, "cock"),
        proves=of(vessel, "charged"),
        depends_on=of(vessel, "gas"),
        opens=of(vessel, "cut_off"),
    )


def in_service(desk: Desk, nodes: tuple[Node, ...]) -> tuple[Node, ...]:
    """Return steps that cut off a vessel while the station feeds its consumers, the heaters off meanwhile.

    Steps of which one cuts the consumers off, or no vessel: as they are.
    """
    ids = {node.id.split(".")[0] for node in nodes}
    cut = [node.id for node in nodes if node.id.split(".")[0] == "B7"]
    if not cut or not desk.facts.is_heated or ids & {"A9", "B1", "S1"}:
        return nodes
    names = ", ".join(name.partition(".")[2] for name in cut)
    last = [node.id for node in nodes if node.id.split(".")[0] == "H8"][-1:]
    found: list[Node] = []
    for node in nodes:
        vessel = next((v for v in desk.facts.vessels if v.id == node.id.partition(".")[2]), None)
        if node.id == cut[0]:
            found.append(heating.off_for(desk, names, needs=[one for one in ("A3", "A7") if one in ids]))
        if vessel is not None and node.id in cut:
            needs = {"all": [*node.needs["all"], "A9"]}
            node = replace(charge(desk, vessel, needs=[], state="in_service", stays=False), needs=needs)
        elif vessel is not None and node.id.split(".")[0] == "H8":
            node = replace(back(desk, vessel, [], state="in_service"), needs=node.needs)
        if node.id in last:
            told = desk.say("HT.on", all_open=names)
            node = replace(node, do=(*node.do, told), restores=(*node.restores, heating.HEATERS))
        found.append(node)
    return tuple(found)
