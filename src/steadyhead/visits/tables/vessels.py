"""Expansion vessels: the gas charge with the water side empty, and the vessel back on the line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steadyhead.findings import Amount
from steadyhead.records.parts import ExpansionVessel
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.tables import defaults as d
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
        yield desk.node(
            base,
            vessel.id,
            needs=[f"{cut}.{vessel.id}", *needs],
            do=("open", "seal"),
            inputs=yes_no("open"),
            otherwise=(("shut", is_no("open")),),
            out=("trickle",),
            text="CV",
            time="CV",
            over={"ev": vessel.id},
            proves=of(vessel, "stands_open"),
            depends_on=of(vessel, "cock"),
            restores=of(vessel, "cut_off"),
        )


def charge(
    desk: Desk, vessel: ExpansionVessel, *, needs: Sequence[Needs], base: str = "B7", state: str = "isolated"
) -> Node:
    """Return the vessel cut off for the tests, and its gas charge read with the water side empty."""
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
            "stays",
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
