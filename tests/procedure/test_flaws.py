"""What is wrong with a procedure is found; a sound one has no flaws."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.procedure.flaws import validate
from steadyhead.records.procedure import BackOut, Choice, Expect, Hazard, Input, Node, Otherwise
from tests.procedure.small import sound, step, tea, words

WEAK = ("weak", words(), ("B",))
STRONG = ("strong", words(), ("C",))


def choice(*options):
    return (Choice("Q", words(), options),)


def judged(when):
    return (Otherwise(when, words(), words(), words()),)


FLAWED = [
    ("id twice", tea(step("A"), step("A")), "stands 2 times"),
    ("no steps", tea(), "has no steps"),
    ("need unknown", tea(step("A", "Z")), "needs Z, which is no step"),
    ("needs of another shape", tea(Node("A", words(), {"none": ["B"]}, ())), "neither all nor any"),
    ("needs with a number", tea(Node("A", words(), {"all": [3]}, ())), "neither all nor any"),
    ("circle", tea(step("A", "B"), step("B", "A")), "never met"),
    ("choice without its step", tea(step("A"), choices=choice(WEAK, STRONG)), "choice without its step"),
    ("no choice", tea(step("Q"), step("B", "Q"), choices=choice(WEAK)), "leaves no choice"),
    ("option opens nothing known", tea(step("Q"), step("B", "Q"), choices=choice(WEAK, STRONG)), "opens C"),
    (
        "opened step not after its choice",
        tea(step("Q"), step("B"), step("C", "Q"), choices=choice(WEAK, STRONG)),
        "does not come after it",
    ),
    ("input twice", tea(step("A", inputs=(Input("x", "flow"), Input("x", "flow")))), "asks for x 2 times"),
    (
        "band without input",
        tea(step("A", expect=(Expect("x", 0.0, 1.0, words()),))),
        "expects x, which is not read",
    ),
    (
        "empty band",
        tea(step("A", inputs=(Input("x", "flow"),), expect=(Expect("x", 2.0, 1.0, words()),))),
        "empty band",
    ),
    (
        "band of no option",
        tea(
            step(
                "A", inputs=(Input("x", "flow"),), expect=(Expect("x", 0.0, 1.0, words(), where=("Q", "z")),)
            )
        ),
        "no such option",
    ),
    ("predicate outside the grammar", tea(step("A", otherwise=judged({"is": 1}))), "operator 'is'"),
    ("predicate of a reading never taken", tea(step("A", otherwise=judged({"given": "x"}))), "judges x"),
    (
        "predicate of another step",
        tea(step("A", otherwise=judged({"given": ["B", "x"]}))),
        "judges ('B', 'x')",
    ),
    ("name without words", tea(step("A", touches=("spoon",))), "speaks of spoon without words"),
    (
        "raise without a way out",
        tea(step("A", raises=("pot",), hazards=(Hazard("pressure", words()),))),
        "how to leave",
    ),
    (
        "raise without a hazard",
        tea(step("A", raises=("pot",), back_out=(BackOut("hot", words()),))),
        "no hazard",
    ),
    (
        "proof that rests on itself",
        tea(step("A", proves=("kettle.hot",), depends_on=("kettle.hot",))),
        "on itself",
    ),
    ("restored but never opened", tea(step("A", restores=("lid_open",))), "which no step opens"),
    ("opened and never restored", tea(step("A", opens=("lid_open",))), "never restored"),
    (
        "restored too early",
        tea(
            step("A", opens=("lid_open",)),
            step("B", "A", restores=("lid_open",)),
            step("C", "A", opens=("lid_open",)),
        ),
        "before the last step that opens it",
    ),
    (
        "restored on one way only",
        tea(
            step("Q", opens=("lid_open",)),
            step("B", "Q", restores=("lid_open",)),
            step("C", "Q"),
            choices=choice(WEAK, STRONG),
        ),
        "never restored (Q strong)",
    ),
    (
        "need that lies on the other way",
        tea(step("Q"), step("B", "Q"), step("C", "Q"), step("D", "B"), choices=choice(WEAK, STRONG)),
        "not lie on its way (Q strong)",
    ),
    (
        "touched after it was proved",
        tea(
            step("A", proves=("kettle.hot",), depends_on=("kettle.screw",)),
            step("B", "A", touches=("kettle.screw",)),
        ),
        "touches kettle.screw after A rests on it",
    ),
]


@pytest.mark.parametrize(("told", "plan", "what"), FLAWED, ids=[row[0] for row in FLAWED])
def test_a_flaw_is_found_and_named(told, plan, what):
    assert any(what in f"{flaw.where} {flaw.what}" for flaw in validate(plan)), validate(plan)


def test_a_sound_procedure_has_no_flaws():
    assert validate(sound()) == ()


def test_every_flaw_is_told_once():
    plan = replace(sound(), names={})
    flaws = validate(plan)
    assert len(flaws) == len(set(flaws)) > 3
