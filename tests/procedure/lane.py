"""Plans of the example ``quernhollow-lane`` and clean visits of each, with entries added to them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, read
from steadyhead.procedure.plain import from_json, plain
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.records.run import Judgement
from steadyhead.services.planning import MadePlan, make_plan
from steadyhead.station import examples
from tests.procedure.walking import Device, clean_ways, walk

RETURNS = {"R1": "real", "R6": "to be tested", "R8": "returns"}
PROVED = {"R1": "real", "R6": "to be tested", "R8": "trip proved"}


@cache
def plan(visit: str, station: str = "quernhollow-lane") -> Procedure:
    """Return the plan of a visit as it is read from its file."""
    made = written(visit, station)
    assert made.procedure is not None
    return from_json(json.dumps(plain(made.procedure)).encode())


@cache
def written(visit: str, station: str = "quernhollow-lane") -> MadePlan:
    """Return the plan of a visit as it was made, with its figures."""
    return make_plan(examples.read(station), visit)


def visit(kind: str, way: Mapping[str, str] | None = None, station: str = "quernhollow-lane") -> list[Entry]:
    """Return the entries of a clean visit."""
    taken = way if way is not None else (clean_ways(plan(kind, station)) or [{}])[0]
    return list(_walked(kind, tuple(taken.items()), station))


@cache
def _walked(kind: str, way: tuple[tuple[str, str], ...], station: str) -> tuple[Entry, ...]:
    return tuple(walk(plan(kind, station), dict(way)))


def act(do: str, thing: str = "", node: str = "", **more: Any) -> Entry:
    """Return an act by the other tablet."""
    payload = {"do": do, **({"thing": thing} if thing else {}), **more}
    return Device("tab-2").make("action", payload, node)


def stands(thing: str, how: str, node: str = "") -> Entry:
    """Return a position by the other tablet."""
    return Device("tab-2").make("position", {"thing": thing, "is": how}, node)


def before(entries: Sequence[Entry], step: str, *new: Entry) -> list[Entry]:
    """Return the entries with others half a minute before a step is begun; step "": at the end."""
    first = next((entry for entry in entries if step and entry.node == step), None)
    at = first if first is not None else entries[-1]
    offset = -30.0 if first is not None else 30.0
    made = []
    for number, one in enumerate(new):
        id_ = f"0190aaaa-0000-7000-8000-{len(entries) + number:012d}"
        made.append(
            replace(
                one,
                run=entries[0].run,
                id=id_,
                t_device=at.t_device,
                clock_offset=offset + number,
                t_mono=0.0,
            )
        )
    return [*entries, *made]


def judged(kind: str, entries: Sequence[Entry], station: str = "quernhollow-lane") -> Judgement:
    """Return what the entries amount to under the plan of a visit."""
    return judge(plan(kind, station), read(dump(entries)))


def against(judgement: Judgement) -> set[tuple[str, str]]:
    """Return code and subject of everything that stands against *final*."""
    return {(block.remark.code, block.remark.about) for block in judgement.blocks if not block.accepted}
