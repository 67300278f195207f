"""Each of two like streams is tested as a station of one stream is: the same rows under other names.

The station of one stream is held against design handbook 3.3 in `test_what_rests_on_what`. What the second
stream has otherwise stands here row by row.
"""

from __future__ import annotations

import json
import re
from dataclasses import asdict
from functools import cache
from typing import Any

import pytest

from steadyhead.records.procedure import Kind, Node, Procedure
from tests.visits import stream_stations
from tests.visits.every_plan import plan_of
from tests.visits.plan_stations import UP, made, station

FIELDS = ("proves", "depends_on", "touches", "opens", "restores")
GATES = {"S1": "B6", "S2": "C5", "D2.a": "D2", "D2.A": "D2"}
"""Of several streams the one that is tested is let through alone, and the others are shut in."""
AMOUNT = re.compile(
    r"-?\d{3,}(\.\d+)?(e\+?\d+)?|\d+\.\d{4,}|(?<=\"turns\"\}, )\d+(\.\d+)?|(?<=\"turns\"\}\}, )\d+(\.\d+)?"
)
WORDS = "rf.words_other"
"""Holds the words noted of an alarm against those of its switch: each file has its own, or none."""
ALONE = {
    "B5 needs": {"B2"},
    "D2 otherwise": {"D2.leaks.see"},
    "D2 inputs": {"strokes"},
    "H1 needs": {"G4"},
    "H2 otherwise": {"H2.rises.see"},
    "Y2 opens": {"other_feed"},
    "Y2 inputs": {"strokes"},
    "Y2 otherwise": {"D2.leaks.see", "Y2.falls.see"},
    "Y3 refuses": {"rf.found_touched 1"},
    "Y4 refuses": {"rf.first_touched 1"},
    "Y6 needs": {"Y5L.ST", "Y5O.ST"},
    "Y7 needs": {"Y6H"},
    "Y8 refuses": {"rf.turns_off 0"},
    "Y7 otherwise": {"H2.rises.see"},
    "Y8 restores": {"ST.line_open", "ST.loss_due", "alarm_test", "fire_cover", "gauges_on", "other_feed"},
    "Y8 otherwise": {"served.above.see", "served.fed.see"},
}
"""Rows of the station, its outlet valve (proved once, with the first stream), its pump, strainer, alarm and
heater, and lists of its parts: no stream's. That a stream is filled with that valve shut is each stream's."""


@cache
def plan(name: str, kind: Kind) -> Procedure:
    """Return a plan of the station of one stream, of two twins made by hand, or of an example with two."""
    if name == "one":
        return made(UP, kind=kind)
    if name == "twins":
        return stream_stations.made(stream_stations.twin_streams(), kind=kind)
    found = plan_of(station(name), kind)
    assert found is not None
    return found


def renamed(told: Any, stream: str) -> Any:
    """Return rows of a stream with its names as those of one stream alone."""
    text = json.dumps(told, default=str, sort_keys=True)
    for kind in ("SO", "RV", "TD", "T1", "T2", "T3"):
        text = re.sub(rf"\b{kind}{stream}\b", kind, text)
    for number in "12":
        text = re.sub(rf"\bIV({stream}{number}|{number}{stream})\b", f"IV{number}", text)
    text = re.sub(r"\bTG-\d+\.dial\b", "TG-1.dial", text)
    text = re.sub(rf"@{stream}\b", "", text)
    return json.loads(re.sub(rf'\.{stream}"', '"', text))


def rules(node: Node, stream: str) -> dict[str, dict[str, str]]:
    """Return what a step judges by, field by field, as text; no amounts and no gauges."""

    def shown(told: Any) -> str:
        return AMOUNT.sub("#", json.dumps(renamed(told, stream), sort_keys=True))

    needs = {GATES.get(one, one): "" for one in renamed(_needed(node.needs), stream)}
    asked = {one.name: shown({**asdict(one), "tap": "", "instrument": ""}) for one in node.inputs}
    told: dict[str, dict[str, str]] = {"needs": needs, "inputs": asked}
    told["otherwise"] = {one.see.id: shown(one.when) for one in node.otherwise}
    refused = [one for one in node.refuses if one.message.id != WORDS]
    told["refuses"] = {f"{one.message.id} {n}": shown(one.when) for n, one in enumerate(refused)}
    return told | {name: dict.fromkeys(renamed(getattr(node, name), stream), "") for name in FIELDS}


def _needed(needs: Any) -> list[str]:
    parts = [part for many in needs.values() for part in many]
    return [name for part in parts for name in ([part] if isinstance(part, str) else _needed(part))]


def lost(name: str, kind: Kind, stream: str) -> dict[str, dict[str, Any]]:
    """Return the rows of one stream alone that a stream of a station lacks or has otherwise."""
    mine = {renamed(node.id, stream).removesuffix(f".{stream}"): node for node in plan(name, kind).nodes
            if node.id.endswith(stream)}  # fmt: skip
    found = {}
    for one in plan("one", kind).nodes:
        if one.id in mine:
            here = rules(mine[one.id], stream)
            for field, wanted in rules(one, "-").items():
                apart = {
                    key: (value, here[field].get(key))
                    for key, value in wanted.items()
                    if here[field].get(key) != value and key not in ALONE.get(f"{one.id[:2]} {field}", ())
                }
                if apart:
                    found[f"{mine[one.id].id} {field}"] = apart
    return found


@pytest.mark.parametrize("kind", ["first", "yearly"])
@pytest.mark.parametrize(("name", "stream"), [
    ("twins", "a"), ("twins", "b"), ("veldany-house", "A"), ("veldany-house", "B"),
])  # fmt: skip
def test_each_stream_is_judged_by_all_the_rows_of_a_station_of_one_stream(
    name: str, stream: str, kind: Kind
) -> None:
    assert lost(name, kind, stream) == {}
