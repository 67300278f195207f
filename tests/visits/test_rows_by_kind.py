"""What steps work, open, put back, prove and judge by, kind by kind, in plans of every layout.

What proofs rest on is design handbook 3.3. The tables of `few_plans` are pinned: they were read once
against the words of each text, and keep any of it from being lost unseen.
"""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from steadyhead.findings import Amount
from steadyhead.records.procedure import Kind, Node, Procedure
from tests.visits import stream_stations
from tests.visits.few_plans import (
    FEW,
    NEEDS,
    READS,
    STEPS,
    TEXTS,
    TOLD,
    needs_row,
    plan,
    read,
    reads_rows,
    step_row,
    texts_row,
    told_rows,
)
from tests.visits.test_what_rests_on_what import DESIGN, SHUT_OFF, SWITCH

few = pytest.mark.parametrize(("name", "kind"), FEW, ids=[f"{name} {kind}" for name, kind in FEW])
PILOT = {f"*.{part}" for part in ("pilot", "nut", "setting", "needles", "filter", "sensing")}
BODY = {"*.diaphragm", "*.seat"}
SPRUNG = {"*.setting", "*.spring", "*.seat"}
"""Parts of a relief valve."""
WIRED = {"*.transmitter"}
OWN = {one.replace("SO.", "*.") for one in SHUT_OFF}
WIRES = {one.replace("SO.", "*.") for one in SWITCH}
TRIP = OWN | {"RV.reach", "IV.gate", "IV.tight", "gauge.dial", "line.bled", "line.covers"}
RESTS = {
    "acts": TRIP, "closing": TRIP, "trip": TRIP, "told": OWN | WIRES, "cleared": WIRES, "fails_loud": WIRES,
    "accepted": DESIGN | {"*.trip"}, "released": DESIGN, "compared": {"gauges.fixed"},
    "bled": {"line.covers"},
    "duty": PILOT | BODY, "lockup": PILOT | BODY | {"IV.gate", "IV.tight", "TD.gate"}, "tight": BODY,
    "holds": (PILOT | BODY) - {"*.setting", "*.nut"}, "crack": {"*.seat", "*.spring"},
    "reseat": {"*.seat", "*.spring"}, "flow_told": {"*.seat", "*.spring", "*.flow_switch"},
    "stands_open": {"*.cock"}, "high_alarm": {"alarm.transmitter"}, "logger": {"alarm.transmitter"},
}  # fmt: skip
"""What a proof rests on at least, by the last word of its name (handbook 3.3)."""
STILL = 5e3
FIXED = {STILL, 5e4, 2e4, 570.0, 285.0, 855.0, 120.0, 2e-4, 8e-4}
"""Bands, waits and flows that are the same for every station. [SI]"""
UNPRINTED = {
    "A6.differ.see", "C5.follows.see", "DS1.fails.see", "DS2.jumps.see", "EF1.follows.see", "ES1.jumps.see",
    "F3.scatter.see", "H1.shifts.see", "J3.critical_low.see", "RS6.a.see", "RS6.c.see", "RS6.c_nothing.see",
    "rf.flow_point", "rf.screw_few",
}  # fmt: skip
"""Texts told by an amount that they do not name."""
ALWAYS = (
    "acts", "closing", "trip", "accepted", "told", "duty", "holds", "stands_in", "crack", "reseat",
    "flow_told", "released", "compared", "covered", "out_of_way", "cut_off", "alarm_test", "fire_cover",
)  # fmt: skip
"""Proofs and items, by their last word, of which nobody accepts that they are lacking."""

ALIKE = {
    "open": ("open", "fully open", "wide open", "open fully"),
    "shut": ("shut", "closed", "fully shut"),
    "in": ("in service", "back in service", "in place", "restored"),
}
"""What may be said of a thing that is left so, by the first word of it."""


def last(name: str) -> str:
    return name.partition("@")[0].rpartition(".")[2]


@few
def test_each_kind_of_step_works_opens_puts_back_and_proves_what_it_is_there_for(
    name: str, kind: Kind
) -> None:
    known = read(STEPS)
    rows = {node.id: step_row(node) for node in plan(name, kind).nodes}
    assert {step: row for step, (at, row) in rows.items() if row not in known[at]} == {}


@few
def test_each_kind_of_step_comes_after_what_it_needs(name: str, kind: Kind) -> None:
    known = read(NEEDS)
    rows = {node.id: needs_row(node) for node in plan(name, kind).nodes}
    assert {step: row for step, row in rows.items() if row not in known[step.partition(".")[0]]} == {}


@few
def test_each_reading_is_asked_for_as_well_as_it_must_be_taken(name: str, kind: Kind) -> None:
    known = read(READS)
    for node in plan(name, kind).nodes:
        for key, asked in reads_rows(node):
            assert asked in known[key], (node.id, key)


@few
def test_each_kind_of_step_has_its_texts_and_its_readings(name: str, kind: Kind) -> None:
    known = read(TEXTS)
    rows = {node.id: texts_row(node) for node in plan(name, kind).nodes}
    assert {step: row for step, row in rows.items() if row not in known[step.partition(".")[0]]} == {}


@few
def test_each_text_is_told_when_its_words_say(name: str, kind: Kind) -> None:
    known = read(TOLD)
    for node in plan(name, kind).nodes:
        for text, when, _, _ in told_rows(node):
            assert when in known[text], (node.id, text)


@few
def test_amounts_by_which_a_text_is_told_are_those_the_step_prints(name: str, kind: Kind) -> None:
    procedure = plan(name, kind)
    for node in procedure.nodes:
        printed = {*_amounts(node), *procedure.limits.values()}
        allowed = {*FIXED, *printed, *(one + STILL for one in printed), *(2.0 * one for one in printed)}
        for text, _, amounts, _ in told_rows(node):
            for amount in amounts if text not in UNPRINTED else ():
                assert any(abs(one - abs(amount)) <= 1e-5 * one for one in allowed), (node.id, text, amount)


def _amounts(node: Node) -> Iterable[float]:
    texts = [node.title, *node.do, *(one.message for one in node.refuses), *(one.why for one in node.expect)]
    texts += [text for one in node.otherwise for text in (one.see, one.meaning, one.then)]
    for text in texts:
        yield from (value.si for value in text.params.values() if isinstance(value, Amount))
    for band in node.expect:
        yield from (edge for edge in (band.low, band.high, band.nominal) if edge is not None)


@few
def test_what_a_text_prints_under_the_name_of_a_limit_is_that_limit(name: str, kind: Kind) -> None:
    procedure = plan(name, kind)
    for node in procedure.nodes:
        of = f"@{procedure.streams[node.id]}" if procedure.streams.get(node.id) else ""
        for key, value in _named_amounts(node):
            limit = procedure.limits.get(f"{key}{of}")
            assert limit is None or abs(limit - value) <= 1e-6 * abs(value), (node.id, key)


def _named_amounts(node: Node) -> Iterable[tuple[str, float]]:
    texts = [node.title, *node.do, *(one.message for one in node.refuses)]
    texts += [text for one in node.otherwise for text in (one.see, one.meaning, one.then)]
    for text in texts:
        yield from ((key, one.si) for key, one in text.params.items() if isinstance(one, Amount))


@pytest.mark.source(kind="independent", ref="design handbook 3.3 (ours)")
@few
def test_every_proof_rests_at_least_on_what_the_handbook_names(name: str, kind: Kind) -> None:
    procedure = plan(name, kind)
    bare = {}
    for node in procedure.nodes:
        for proof in node.proves:
            if last(proof) in RESTS and not _is_other(proof, node):
                lacking = _at_least(proof, procedure) - {*node.depends_on}
                lacking -= {_short(one, proof) for one in node.depends_on}
                if lacking:
                    bare[f"{node.id} {proof}"] = lacking
    assert bare == {}


def _is_other(proof: str, node: Node) -> bool:
    """Return whether a proof rests otherwise at this step.

    What is told where a trip is read as found rests on the wires alone, the tightness of an isolating valve
    on its gate. A yearly trip that is accepted at once stands beside a design nobody may touch in that run.
    """
    given = {last(one) for one in node.proves}
    if last(proof) == "tight":
        return proof.startswith("IV")
    return (last(proof) == "told" and "as_found" in given) or (last(proof) == "accepted" and "trip" in given)


def _at_least(proof: str, procedure: Procedure) -> set[str]:
    """A shared sensing line is the reducer's; a reducer that acts by itself has neither pilot nor needles."""
    named = {one for node in procedure.nodes for one in node.depends_on}
    asked = RESTS[last(proof)]
    if "shared.sensing" in named:
        asked = {"shared.sensing" if one == "*.sensing" and "*.seat" in asked else one for one in asked}
    return asked


def _short(thing: str, proof: str) -> str:
    owner, _, part = thing.partition("@")[0].partition(".")
    if owner == proof.partition(".")[0]:
        return f"*.{part}"
    roles = (("IV", "IV"), ("TD", "TD"), ("TG", "gauge"), ("RV", "RV"), ("LB", "RV"))
    return f"{next((to for start, to in roles if owner.startswith(start)), owner)}.{part}"


@few
def test_nobody_accepts_that_what_protects_is_not_proved_or_not_put_back(name: str, kind: Kind) -> None:
    procedure = plan(name, kind)
    names = {one for node in procedure.nodes for one in (*node.proves, *node.opens)}
    tight = {one for one in names if one.startswith("IV") and one.endswith(".tight")}
    asked = {one for one in names if last(one) in ALWAYS} | tight
    steps = {node.id for node in procedure.nodes} & {"A4", "R8"}
    assert (asked | steps) - set(procedure.never) == set()
    assert {one for one in procedure.never if one in names} == asked


@few
def test_every_pressure_that_nothing_is_expected_of_lies_between_vacuum_and_what_its_place_can_have(
    name: str, kind: Kind
) -> None:
    procedure = plan(name, kind)
    ranges = {(one.step, one.input): one for one in procedure.minding.ranges}
    tops: dict[tuple[str, str], set[float]] = {}
    for node in procedure.nodes:
        banded = {one.input for one in node.expect}
        for one in node.inputs:
            if one.quantity == "pressure" and (node.id, one.name) in ranges and one.tap:
                tops.setdefault((one.tap, one.name.partition(".")[0]), set()).add(
                    ranges[node.id, one.name].high
                )
            if one.quantity == "pressure" and one.name not in banded and one.tap and "peak" not in one.name:
                assert (node.id, one.name) in ranges, (node.id, one.name)
    assert {one.low for one in ranges.values()} == {-101325.0}
    assert {at for at, highs in tops.items() if len(highs) > 1 and at[1] != "T4"} == set()


@few
def test_what_raises_the_outlet_is_shielded_by_the_tightness_of_its_valve(name: str, kind: Kind) -> None:
    procedure = plan(name, kind)
    by_id = {node.id: node for node in procedure.nodes}
    asked = {step for shield in procedure.minding.shields for step in shield.asks}
    for shield in procedure.minding.shields:
        rests = {node.id for node in procedure.nodes if shield.proof in node.depends_on}
        assert rests <= set(shield.asks), shield.proof
        assert all("outlet" in by_id[step].raises for step in set(shield.asks) - rests), shield.proof
        assert set(shield.steps) == {node.id for node in procedure.nodes if shield.proof in node.proves}
        assert shield.moved == (shield.proof.removesuffix(".tight"),)
        assert {"shut", "closed", "fully shut"} <= set(shield.still)
        moves = {node.id for node in procedure.nodes if _moves(node)}
        assert moves - set(shield.steps) <= set(shield.moved_at), shield.proof
    if asked:
        raised = {node.id for node in procedure.nodes if "outlet" in node.raises}
        assert raised - asked <= {"D2", "Y2", "R7R"} | {node.id for node in procedure.nodes if _gives(node)}


def _moves(node: Node) -> bool:
    return any(item.partition("@")[0] == "outlet_shut" for item in (*node.opens, *node.restores))


def _gives(node: Node) -> bool:
    return any(one.startswith("IV") and one.endswith(".tight") for one in node.proves)


@few
def test_every_part_of_a_valve_that_works_by_itself_is_minded_and_kept_as_found(
    name: str, kind: Kind
) -> None:
    procedure = plan(name, kind)
    minding = procedure.minding
    owners = {one.partition(".")[0] for one in minding.things} - {"shared"}
    for owner in owners:
        parts = {one.replace(f"{owner}.", "*.") for one in minding.things if one.startswith(f"{owner}.")}
        if f"{owner}.pilot" not in minding.things:
            assert parts >= (WIRED if owner == "alarm" else SPRUNG), owner
            continue
        asked = OWN | WIRES if f"{owner}.exhaust" in minding.things else (PILOT | BODY)
        assert asked - parts <= {"*.sensing"} - (
            {"*.sensing"} if f"{owner}.exhaust" in minding.things else set()
        )
    assert set(minding.keeps) == {
        one for node in procedure.nodes for one in node.proves if last(one) == "as_found"
    }
    left = {one.thing: one for one in minding.left}
    assert (owners | set(minding.things)) - {"alarm.transmitter"} <= set(left)
    assert all(left[one].never for one in minding.things if last(one) in ("sensing", "feed", "exhaust"))
    for thing in minding.left:
        for first, alike in ALIKE.items():
            assert thing.words[0].split()[0] != first or set(alike) <= set(thing.words), thing.thing
    for one in left.keys() & set(minding.things):
        words = {"open", "fully open", "wide open"}
        if last(one) not in ("sensing", "feed", "exhaust"):
            words |= {"in service", "restored", "in place", "tight", "fitted", "sealed", "as left"}
        assert words <= set(left[one].words), one


def test_a_repair_of_one_stream_opens_what_cuts_it_off_and_puts_it_back() -> None:
    for name in "ab":
        item = f"stream {name} shut-off spring"
        made = stream_stations.made(stream_stations.twin_streams(), kind="after_repair", item=item)
        assert made.node(f"B1.{name}").opens == ("outlet_shut", "inlet_down")
        assert made.node(f"J2.{name}").restores == ("outlet_shut", "inlet_down")


@pytest.mark.parametrize("name", ["quillenby-row", "quernhollow-lane"])
def test_the_error_of_a_setting_gauge_has_a_limit_at_every_reading_of_a_restart(name: str) -> None:
    inputs = [one for node in plan(name, "restart").nodes for one in node.inputs]
    assert {one.error_most for one in inputs if one.instrument == "setting gauge"} == {1e4}
    assert {one.error_most for one in inputs if one.instrument != "setting gauge"} == {0.0}


@pytest.mark.parametrize(("name", "kind"), [("veldany-house", "first"), ("mesquill-flat", "yearly")])
def test_the_cock_of_a_relief_valve_may_be_named_by_an_act(name: str, kind: Kind) -> None:
    minding = plan(name, kind).minding
    assert "RL.cock" in minding.things
    assert "open" in next(one.words for one in minding.left if one.thing == "RL.cock")
