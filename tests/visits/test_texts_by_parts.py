"""No text of a plan or of its causes speaks of a part that the station does not have."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from steadyhead.records.parts import Branch, Parallel, Reducer, Relief, ShutOff, Strainer
from steadyhead.records.procedure import Kind, Message
from steadyhead.records.station import Station
from steadyhead.services.field.planned import every_message
from steadyhead.station.examples.shelf import names
from steadyhead.units import METRIC
from steadyhead.visits.several.ways import has_several
from steadyhead.visits.signatures import signatures
from steadyhead.visits.texts import say
from steadyhead.visits.texts.causes import say as say_cause
from tests.visits import plan_stations, stream_stations
from tests.visits.every_plan import plan_of

KINDS: tuple[Kind, ...] = ("first", "yearly", "restart")
TAG = re.compile(r"\b(?:IV|RV|SO|LB|TD|SD|RL|BV|EV|MON|ST|FM|BY)[A-Z0-9]{0,3}[a-z]?\b|\bT[0-4][a-zA-Z]?\b")


def branches(of: Station) -> list[Branch]:
    return [branch for part in of.line if isinstance(part, Parallel) for branch in part.branches]


def lacking(of: Station) -> dict[str, re.Pattern[str]]:
    """Return the words for what a station does not have."""
    parts = of.parts()
    found = {
        "shut-off": any(isinstance(part, ShutOff) for part in parts),
        "relief valve": any(isinstance(part, Relief) for part in parts),
        "strainer": any(isinstance(part, Strainer) for part in parts),
        "bypass": any(branch.role == "manual bypass" for branch in branches(of)),
        "other stream": len(branches(of)) > 1,
        "pilot": any(isinstance(part, ShutOff) or _is_piloted(part) for part in parts),
    }
    return {word: re.compile(rf"\b{word}s?\b", re.IGNORECASE) for word, has in found.items() if not has}


def _is_piloted(part: object) -> bool:
    return isinstance(part, Reducer) and part.kind == "pilot-operated"


def told(name: str) -> Iterator[tuple[str, str]]:
    """Yield every text of the plans and causes of an example, with where it stands."""
    of = plan_stations.station(name)
    for kind in KINDS:
        plan = plan_of(of, kind)
        if plan is None:
            continue
        for message in every_message((plan.nodes, plan.stop_rules, plan.choices)):
            yield f"{kind} {message.id}", say(message, METRIC)
        known = stream_stations.numbers(of, kind, "") if has_several(of) else plan_stations.numbers(of)
        made = signatures(of, kind, numbers=known, procedure=plan, draws=1) if kind == "yearly" else {}
        for step, signature in made.items():
            for cause in signature.causes:
                four: tuple[Message | None, ...] = (cause.name, cause.tell, cause.then, cause.high)
                for one in four:
                    assert one is not None
                    yield f"{kind} {step} {one.id}", say_cause(one)


@pytest.mark.parametrize("name", names())
def test_no_text_names_a_tag_or_a_kind_of_part_that_the_station_lacks(name: str):
    of = plan_stations.station(name)
    tags = {part.id for part in of.parts()} | {gauge.id for gauge in of.gauges}
    absent = lacking(of)
    wrong = set()
    for where, words in told(name):
        wrong |= {(where, tag) for tag in set(TAG.findall(words)) - tags}
        wrong |= {(where, word) for word, pattern in absent.items() if pattern.search(words)}
    assert sorted(wrong) == []


def test_a_stream_speaks_of_a_shut_off_only_where_its_water_passes_it():
    seen = 0
    for name in names():
        of = plan_stations.station(name)
        shut_offs = {branch.id: _shut_offs(branch.line) for branch in branches(of)}
        trunk = _shut_offs(of.line)
        for kind in KINDS:
            plan = plan_of(of, kind)
            for node in plan.nodes if plan is not None else ():
                key = plan.streams.get(node.id, "") if plan is not None else ""
                foreign = {so for other, own in shut_offs.items() if other != key for so in own} - trunk
                if key not in shut_offs or not foreign:
                    continue
                for way in node.back_out:
                    assert not set(re.findall(r"\w+", say(way.do, METRIC))) & foreign, (name, node.id)
                    seen += 1
    assert seen > 20


def _shut_offs(line: tuple[object, ...]) -> set[str]:
    return {part.id for part in line if isinstance(part, ShutOff)}
