"""A small procedure about nothing in particular, to show what the graph does."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from steadyhead.findings import Amount
from steadyhead.records.procedure import (
    BackOut,
    Choice,
    DrainUse,
    Expect,
    Hazard,
    Input,
    Message,
    Node,
    Otherwise,
    Procedure,
    ResponseTable,
    TurnTable,
)

NAMES = ("lid", "kettle.screw", "kettle.hot", "kettle.poured", "lid_open", "pot")


def words(text_id: str = "x", **params: Any) -> Message:
    return Message(text_id, params)


def step(node_id: str, *needs: Any, **fields: Any) -> Node:
    """Return a step that needs all of some others."""
    return Node(id=node_id, title=words(), needs={"all": list(needs)}, do=(words(),), **fields)


def tea(*nodes: Node, choices: tuple[Choice, ...] = (), **fields: Any) -> Procedure:
    """Return a procedure of some steps."""
    whole = Procedure("P", "first", "", "S", "Somewhere", 12.5, "", "", "0", nodes, choices)
    return replace(whole, names={name: words(name) for name in NAMES}, **fields)


def sound() -> Procedure:
    """Return a procedure without flaws that uses every field."""
    return tea(
        step("A1", opens=("lid_open",), touches=("lid",)),
        step("Q", "A1", inputs=(Input("strong", "yes_no"),)),
        step(
            "B1",
            "Q",
            inputs=(Input("heat", "temperature", "spout", "thermometer", 60.0, 0.5),),
            expect=(
                Expect("heat", 350.0, 372.123456789, words("why"), 361.0, 0.95, ("Q", "weak")),
                Expect("heat", None, 370.0, words("why")),
            ),
            otherwise=(
                Otherwise(
                    {"gt": [{"value": "heat"}, {"expect": ["heat", "high"]}]}, words(), words(), words()
                ),
            ),
            back_out=(BackOut("hot", words("cool", by=Amount("time", 60.0), n=2)),),
            hazards=(Hazard("pressure", words("steam")),),
            raises=("pot",),
            proves=("kettle.hot",),
            depends_on=("kettle.screw",),
            minutes=4.0,
            litres=0.5,
        ),
        step("B2", "Q", touches=("kettle.screw",)),
        Node("C1", words(), {"all": ["A1", {"any": ["B1", "B2"]}]}, (words(),), restores=("lid_open",)),
        step("D1", "C1", proves=("kettle.poured",), depends_on=("kettle.hot",)),
        choices=(Choice("Q", words("which"), (("weak", words(), ("B1",)), ("strong", words(), ("B2",)))),),
        turn_tables=(TurnTable("K", "plate", 7e4, (0.0, 0.25), {"T3": (1e5, 1.1e5)}, 1, 2e5),),
        response=ResponseTable((("K", (0.0, 1.0)),), ("T3",), ((1e5,), (2e5,))),
        drain_budget=(DrainUse("B1", "sink", 1e-4, 60.0),),
        notes=(words("note"),),
        invariants=(words("V1"),),
        stop_rules=(words("stop"),),
    )
