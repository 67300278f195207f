"""Every step with a band on a reading has causes, and what protects comes first where a reading is high."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import pytest

from steadyhead.records.parts import Branch, Drain, Parallel
from steadyhead.records.procedure import Kind, Procedure
from steadyhead.records.signature import AS_EXPECTED, Signature
from steadyhead.records.station import Station
from steadyhead.station.examples.shelf import names
from steadyhead.visits.several.ways import has_several
from steadyhead.visits.signatures import signatures
from steadyhead.visits.texts.causes import say
from tests.visits import plan_stations, stream_stations
from tests.visits.every_plan import every as every_of
from tests.visits.every_plan import plan_of

KNOWN: tuple[Kind, ...] = ("first", "yearly", "restart")
"""Every other kind of visit has steps of these alone."""


@cache
def told(name: str) -> tuple[tuple[Station, Procedure, dict[str, Signature]], ...]:
    of = plan_stations.station(name)
    found = []
    for kind in KNOWN:
        plan = plan_of(of, kind)
        if plan is not None:
            known = stream_stations.numbers(of, kind, "") if has_several(of) else plan_stations.numbers(of)
            made = signatures(of, kind, numbers=known, procedure=plan, draws=1)
            found.append((of, plan, dict(made)))
    return tuple(found)


def every() -> Iterator[tuple[str, Station, Procedure, dict[str, Signature]]]:
    for name in names():
        for of, plan, made in told(name):
            yield f"{name}, {plan.kind}", of, plan, made


def test_every_step_with_a_band_on_a_reading_has_two_causes_or_more():
    seen = set()
    for where, _, plan, made in every():
        for node in plan.nodes:
            if node.expect:
                assert node.id in made, (where, node.id)
                causes = [one for one in made[node.id].causes if one.id != AS_EXPECTED]
                assert len(causes) >= 2, (where, node.id)
                seen.add(node.id.partition(".")[0])
    assert {"J2", "J3", "Y8", "S4", "S5", "S8", "R7T", "ES3"} <= seen


@pytest.mark.parametrize("name", ["dunmarrow-bottom", "sorrel-flat", "veldany-house"])
def test_other_kinds_of_visit_have_no_banded_step_of_their_own(name: str):
    known = {base for _, plan, _ in told(name) for base in _banded(plan)}
    kinds: tuple[Kind, ...] = ("new_setting", "return_to_service")
    for kind in kinds:
        plan = plan_of(plan_stations.station(name), kind)
        assert plan is not None
        assert _banded(plan) <= known, kind


@pytest.mark.parametrize("name", ["quillenby-row"])
def test_a_plan_after_any_repair_has_no_banded_step_of_its_own_and_causes_at_each(name: str):
    known = {base for _, plan, _ in told(name) for base in _banded(plan)}
    repairs = [(kind, plan) for kind, plan in every_of(name) if kind.startswith("after_repair ")]
    assert len(repairs) > 20
    assert [kind for kind, plan in repairs if not _banded(plan) <= known] == []
    of = plan_stations.station(name)
    for kind, plan in repairs[:: len(repairs) // 3]:
        item = kind.removeprefix("after_repair ")
        numbers = (
            stream_stations.numbers(of, "after_repair", item)
            if has_several(of)
            else plan_stations.numbers(of)
        )
        made = signatures(of, "after_repair", item, numbers=numbers, procedure=plan, draws=1)
        assert [node.id for node in plan.nodes if node.expect and node.id not in made] == [], kind


def _banded(plan: Procedure) -> set[str]:
    return {node.id.partition(".")[0] for node in plan.nodes if node.expect}


def test_every_cause_has_a_safe_next_action_and_protects_first_where_a_reading_is_high():
    for where, of, _, made in every():
        drains = {part.id for part in of.parts() if isinstance(part, Drain)}
        for step, signature in made.items():
            for cause in signature.causes:
                assert say(cause.then), (where, step, cause.id)
                assert cause.high is not None
                assert cause.high.params["td"] in drains, (where, step, cause.id)
                words = say(cause.high)
                assert words.startswith(f"First open {cause.high.params['td']} fully and draw water."), words


@pytest.mark.parametrize("name", names())
def test_no_cause_names_a_part_that_the_station_lacks(name: str):
    for of, plan, made in told(name):
        known = {part.id for part in of.parts()} | {gauge.id for gauge in of.gauges}
        known |= {branch.id for branch in _branches(of)} | {"T0", "T1", "T2", "T2a", "T2b", "T3", "T4"}
        for step, signature in made.items():
            for cause in signature.causes:
                for message in (cause.name, cause.tell, cause.then, cause.high):
                    assert message is not None
                    named = {str(value) for value in message.params.values()}
                    assert named <= known, (plan.kind, step, message.id, named - known)


def _branches(of: Station) -> list[Branch]:
    groups = [part for part in of.line if isinstance(part, Parallel)]
    return [branch for group in groups for branch in group.branches]
