"""What a step opens, shuts off or touches is put right: for every example, every layout, every kind."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from steadyhead.records.parts import Drain, IsolatingValve
from steadyhead.records.procedure import Node
from tests.visits import every_plan as ep

STATIONS = sorted(ep.stations())
CAUTION = pytest.mark.source(
    kind="common practice",
    ref="usual practice: drains shut before water is let in, cocks read before people leave",
)


def _between(name: str) -> set[str]:
    """Return the drains that are not the one kept running: ahead of the valves, and between them."""
    of = ep.stations()[name]
    return {part.id for part in of.parts() if isinstance(part, Drain)} - _kept(name)


def _kept(name: str) -> set[str]:
    plans = ep.every(name)
    return {
        str(message.params["td"])
        for _, plan in plans
        for node in plan.nodes
        for message in node.do
        if "td" in message.params
    }


def _inlets(name: str) -> set[str]:
    of = ep.stations()[name]
    valves = [part.id for part in of.parts() if isinstance(part, IsolatingValve)]
    heads = {
        str(m.params["iv1"]) for _, p in ep.every(name) for n in p.nodes for m in n.do if "iv1" in m.params
    }
    return set(valves) & heads


def _open_at_filling(walk: list[Node], drains: set[str], inlets: set[str]) -> Iterator[tuple[str, str]]:
    """Yield (step, what stands open) wherever an inlet valve is opened onto an open drain or vent."""
    standing: dict[str, str] = {}
    for node in walk:
        for message in node.do:
            named: set[str] = set()
            for said in ep.sentences(message):
                named |= {drain for drain in drains if re.search(rf"\b{drain}\b", said)}
                if re.search(r"[Ss]hut it\b", said):
                    standing = {drain: at for drain, at in standing.items() if drain not in named}
                for drain in drains:
                    if re.search(rf"[Oo]pen [^.]*\b{drain}\b", said) and "a little" not in said:
                        standing[drain] = node.id
                    if re.search(
                        rf"(Shut|shut|Bring|Throttle)[^.]*\b{drain}\b|\b{drain}\b[^.]* a little", said
                    ):
                        standing.pop(drain, None)
                if re.match(r"(Vent the inlet section|Open the drain of)", said):
                    standing["inlet vent"] = node.id
                if re.match(r"Shut (the vent at|the drain of)|Refit the spool", said):
                    standing.pop("inlet vent", None)
                lets_in = re.search(r"(?:Crack|Open) (\S+)\b", said)
                if lets_in and lets_in[1] in inlets and not node.id.startswith(("B3", "S8", "S9")):
                    yield from ((node.id, f"{name} of {at}") for name, at in standing.items())


@pytest.mark.share(3)
@CAUTION
@pytest.mark.parametrize("name", STATIONS)
def test_no_water_is_let_in_while_a_drain_or_vent_opened_before_stands_open(name):
    drains, inlets = _between(name), _inlets(name)
    wrong = {
        (kind, *found)
        for kind, plan in ep.every(name)
        for walk in ep.walks(plan)
        for found in _open_at_filling(walk, drains, inlets)
    }
    assert wrong == set()


@pytest.mark.share(3)
@CAUTION
@pytest.mark.parametrize("name", STATIONS)
def test_what_is_opened_to_be_cleaned_blocks_the_end_until_a_second_look(name):
    plan = ep.plan_of(ep.stations()[name], "yearly")
    for walk in ep.walks(plan) if plan is not None else ():
        cleaned = [node for node in walk if node.id.startswith("Y5O.")]
        back = {item for node in walk if node.id.startswith("Y8") for item in node.restores}
        for node in cleaned:
            items = {item for item in node.opens if ".line_open" in item}
            assert items, node.id
            assert items <= back, node.id


@pytest.mark.share(3)
@CAUTION
@pytest.mark.parametrize("name", STATIONS)
def test_every_cock_that_is_shut_is_opened_again_and_blocks_the_end_until_it_is(name):
    for kind, plan in ep.every(name):
        for walk in ep.walks(plan):
            for at, node in enumerate(walk):
                said = [s for m in node.do for s in ep.sentences(m)]
                shut = [s for s in said if re.search(r"\bShut the (root )?cock\b", s)]
                if not shut:
                    continue
                items = set(node.opens)
                assert items, (kind, node.id)
                later = walk[at + 1 :]
                assert any(items & set(other.restores) for other in later), (kind, node.id)
                after = [s for other in walk[at:] for m in other.do for s in ep.sentences(m)]
                assert any(re.search(r"[Oo]pen (again )?.*\bcock\b|cock.*\bopen", s) for s in after), node.id


@pytest.mark.share(3)
@pytest.mark.source(kind="published", ref="design handbook 3.7: what a touch makes stale is done again")
@pytest.mark.parametrize("name", STATIONS)
def test_after_the_last_touch_every_proof_it_makes_stale_is_repeated_or_an_open_item_stands(name):
    first = ep.plan_of(ep.stations()[name], "first")
    if first is None:
        pytest.skip("this station gets no plan")
    wrong = {
        (kind, *found)
        for kind, plan in ep.every(name)
        if not kind.startswith("after_repair")
        for found in ep.unproved(first, plan)
    }
    assert wrong == set()
