"""A small plan without valves for the judge: one choice, proofs that rest on each other, a restore item."""

from __future__ import annotations

from typing import Any

from steadyhead.records.procedure import (
    BackOut,
    Choice,
    Expect,
    Hazard,
    Input,
    Message,
    Node,
    Otherwise,
    Procedure,
    Refusal,
)

NO = Message("x")
NAMES = (
    "scale.spring", "scale.true", "kettle.hot", "kettle.screw", "kettle.burner", "kettle.poured", "cup.glass",
    "lid", "pot",
)  # fmt: skip


RAISING: Any = {"back_out": (BackOut("hot", NO),), "hazards": (Hazard("pressure", NO),)}


def words(text: str) -> Message:
    """Return a text of the plan."""
    return Message(text, {})


def yes_no(name: str) -> Input:
    """Return an input answered by yes or no."""
    return Input(name, "yes_no", "", "eye")


def unless_yes(name: str, text: str) -> Otherwise:
    """Return what is seen where an answer is no."""
    return Otherwise({"eq": [{"value": name}, False]}, words(text), NO, NO)


def _knocked() -> Refusal:
    where = {"all": [{"eq": [{"entry": "do"}, "knock"]}, {"gt": [{"entry": "order"}, {"order": "a"}]}]}
    return Refusal({"gt": [{"count": {"of": ["*", "@action"], "where": where}}, 0.0]}, words("D.knocked"))


def kettle() -> Procedure:
    """Return the plan.

    A paper; Q chooses weak (B1, proves) or strong (B2, turns the screw); P proves the scale; C puts the lid
    back; D proves the pouring; E is ticked; K comes with the signature.
    """
    gauge: Any = {"tap": "T", "instrument": "gauge", "traced": True}
    heat = Input(
        "heat",
        "pressure",
        stable_for=60.0,
        stable_within=500.0,
        error_most=2000.0,
        carries=("flow",),
        **gauge,
    )
    apart = {"gt": [{"abs": {"sub": [{"value": "first"}, {"value": "second"}]}}, {"limit": "apart"}]}
    high = {"gt": [{"value": "heat"}, {"limit": "highest"}]}
    nodes = (
        Node("A", words("A"), {"all": []}, (), (yes_no("ok"),), otherwise=(unless_yes("ok", "A.no"),)),
        Node("Q", words("Q"), {"all": ["A"]}, (), (Input("why", "text"),)),
        Node(
            "P", words("P"), {"all": ["A"]}, (),
            (Input("first", "pressure", **gauge), Input("second", "pressure", **gauge)),
            otherwise=(Otherwise(apart, words("P.apart"), NO, NO),),
            proves=("scale.true",), depends_on=("scale.spring",),
        ),
        Node(
            "B1", words("B1"), {"all": ["Q", "P"]}, (), (heat,),
            expect=(
                Expect("heat", 3.0e5, 4.0e5, NO, 3.5e5),
                Expect("heat", 3.2e5, None, NO, None, None, ("Q", "weak")),
                Expect("heat", None, 1.0e5, NO, None, None, ("Q", "strong")),
            ),
            otherwise=(
                Otherwise(high, words("B1.high"), NO, NO),
                Otherwise({"lt": [{"value": "heat"}, 3.05e5]}, words("B1.cool"), NO, NO, tells=True),
            ),
            touches=("kettle.burner",), proves=("kettle.hot",), depends_on=("kettle.screw", "scale.true"),
            opens=("lid",), raises=("pot",), **RAISING,
        ),
        Node(
            "B2", words("B2"), {"all": ["Q", "P"]}, (), (Input("turns", "turns"),),
            touches=("kettle.screw",), opens=("lid",), raises=("pot",), **RAISING,
        ),
        Node(
            "C", words("C"), {"all": [{"any": ["B1", "B2"]}]}, (), (yes_no("shut"), Input("seen", "text")),
            otherwise=(unless_yes("shut", "C.no"),), restores=("lid",),
        ),
        Node(
            "D", words("D"), {"all": ["C"]}, (),
            (
                Input("a", "length"),
                Input("b", "length"),
                Input("mean", "length", worked={"div": [{"add": [{"value": "a"}, {"value": "b"}]}, 2.0]}),
                Input("extra", "length", unless={"lt": [{"value": "a"}, 2.0]}),
            ),
            expect=(Expect("mean", 1.0, 3.0, NO),),
            otherwise=(Otherwise({"gt": [{"value": "b"}, 8.0]}, words("D.long"), NO, NO, tells=True),),
            refuses=(_knocked(),),
            proves=("kettle.poured",), depends_on=("kettle.hot", "cup.glass"),
        ),
        Node("E", words("E"), {"all": ["D"]}, ()),
        Node("K", words("K"), {"all": ["E"]}, (), (Input("next", "text"),)),
    )  # fmt: skip
    return Procedure(
        id="kettle", kind="visit", item="", station_id="K-1", station_name="Kettle", datum=0.0,
        station_hash="", baseline_id="", engine_version="", nodes=nodes,
        choices=(Choice("Q", words("Q"), (("weak", words("w"), ("B1",)), ("strong", words("s"), ("B2",)))),),
        names={name: words(name) for name in NAMES},
        limits={"apart": 1000.0, "highest": 5.0e5},
        never=frozenset(("kettle.hot",)),
        after=("K",),
    )  # fmt: skip
