"""What an entry means at once is told on the device as `run enter` tells it: bands, slips, proofs."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from steadyhead.findings import tell
from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.services.entering.meaning import Entered
from steadyhead.services.running import judge_run
from steadyhead.visits.texts.saying import edges
from tests.procedure.walking import Device, clean_ways, walk
from tests.web.field.field_js import RUN, in_node, pack_of, plan_of

pytestmark = [
    pytest.mark.skipif(not shutil.which("node"), reason="no Node"),
    pytest.mark.by_turns(4),
]
STATION = "quillenby-row"
BODY = """
const plan = planOf(data.pack)
const words = (one) => [one.code, one.subject, one.statement]
result = data.cases.map(({ before, fresh }) => {
  const was = see(data.pack, plan, before, null)
  const now = see(data.pack, plan, [...before, ...fresh], null, { step: fresh[0].node })
  const found = meant(was, now, fresh.map((one) => one.id))
  const band = ({ name, verdict, band }) => [name, verdict.where, verdict.otherUnit, ...band.words]
  return { bands: found.bands.map(band),
    amiss: found.amiss.map(words), told: found.told.map(words),
    proofs: found.proofs.map((one) => [one.name, one.before, one.now]),
    isStopped: now.step?.isStopped ?? false }
})
"""


def reading(
    step: str, name: str, bar: float, unit: str = "bar", **more: Any
) -> tuple[str, dict[str, Any], str]:
    tap = {"tap": "T3", "instrument": "TG-1", "flow": 4e-4, "steady_for": 60.0, "steady_within": 500.0}
    payload = {
        "input": name,
        "quantity": "pressure",
        "value": bar * 1e5,
        "typed": "1",
        "unit": unit,
        **tap,
        **more,
    }
    return "reading", payload, step


CASES: tuple[tuple[str, tuple[str, dict[str, Any], str]], ...] = (
    ("B2", reading("B2", "T3", 0.9)),
    ("B2", reading("B2", "T3", 0.06, instrument="TG-9")),
    ("ES1.RV", reading("ES1.RV", "reading", 6.0)),
    ("ES1.RV", reading("ES1.RV", "reading", 2.0)),
    ("F1.SO", reading("F1.SO", "hold", 58.0, "bar")),
    ("F1.SO", reading("F1.SO", "hold", 2.0)),
    ("F5.SO", ("action", {"do": "lower", "thing": "SO.setting", "amount": 0.25, "unit": "turns"}, "")),
    ("H1.RV", ("action", {"do": "tighten nut", "thing": "SO.nut"}, "")),
    ("J4", ("position", {"thing": "IV2", "is": "shut"}, "")),
    ("B3", ("observation", {"input": "clear", "value": False}, "B3")),
    ("A4", ("observation", {"input": "air", "value": False}, "A4")),
    ("E0.RV", ("choice", {"choice": "E0.RV", "option": "set"}, "E0.RV")),
)
"""Up to which step a clean visit went, and what is entered then."""


def cases() -> list[tuple[list[Entry], list[Entry]]]:
    plan = plan_of(STATION).procedure
    whole = walk(plan, clean_ways(plan)[-1], Device("tab-1", RUN))
    found = []
    for step, (kind, payload, node) in CASES:
        at = next((index for index, one in enumerate(whole) if one.node == step), len(whole))
        before = whole[:at]
        last = before[-1]
        device = Device("tab-1", RUN, start=last.t_mono)
        device.number = last.device_seq
        found.append((before, [device.make(kind, payload, node)]))
    return found


def in_python(before: list[Entry], fresh: list[Entry]) -> dict[str, Any]:
    plan = plan_of(STATION)
    file = pack_of(plan, said=False)["plan"]["text"].encode()
    was, now = judge_run(file, dump(before)), judge_run(file, dump([*before, *fresh]))
    entered = Entered(len(before) + 1, tuple(fresh), was, now)
    bands = [
        [
            one.input,
            "inside" if one.is_inside else "on the way" if one.is_on_way else "outside",
            one.unit,
            *edges(one.low, one.high, one.quantity),
        ]
        for one in entered.bands
    ]
    notes = now.words  # what only the notes tell is not known on the device
    worth = [one for one in entered.worth_knowing() if one not in notes]
    return {
        "bands": bands,
        "amiss": [list(_words(one)) for one in entered.amiss() if one not in notes],
        "told": [list(_words(one)) for one in worth],
        "proofs": [list(one) for one in entered.proofs if "not on this way" not in one],
    }


def _words(finding: Any) -> tuple[str, str, str]:
    told = tell(finding)
    return told.code, told.subject, told.statement


def test_what_an_entry_means_is_told_alike(tmp_path: Path):
    listed = cases()
    data = {
        "pack": pack_of(plan_of(STATION)),
        "cases": [
            {"before": [plain_entry(one) for one in before], "fresh": [plain_entry(one) for one in fresh]}
            for before, fresh in listed
        ],
    }
    got = in_node(tmp_path, {"view": "see, planOf, meant"}, BODY, data)
    wheres = set()
    for (before, fresh), found in zip(listed, got, strict=True):
        is_stopped = found.pop("isStopped")
        found["proofs"] = [one for one in found["proofs"] if "not on this way" not in one]
        assert found == in_python(before, fresh), fresh[0]
        wheres |= {one[1] for one in found["bands"]}
        assert is_stopped or all(where != "outside" for _, where, *_ in found["bands"])
        if [one[1] for one in found["bands"]] == ["on the way"] and not found["amiss"]:
            assert not is_stopped
    assert wheres == {"inside", "outside", "on the way"}
