"""Restart after a trip, yearly proof, return to service: walked on the device from pack to all done.

What a person would touch is put to the device's own modules, step by step as the device picks them; the
register's judge then comes to the same end on the entries that came of it.
"""

from __future__ import annotations

import shutil
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure.entry_form import entry_of
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import gathered
from steadyhead.records.entry import plain_entry
from tests.procedure.walking import GAUGE, SECOND, Device, clean_ways, walk
from tests.web.field.field_js import RUN, in_node, pack_of, plan_of

pytestmark = [
    pytest.mark.skipif(not shutil.which("node"), reason="no Node"),
    pytest.mark.by_turns(8),
]
VISITS = {
    "restart": ("quillenby-row", "dunmarrow-bottom", "quernhollow-lane"),
    "yearly": ("quillenby-row", "fenwarren-gate", "pinnock-yard"),
    "return_to_service": ("quillenby-row", "fenwarren-gate", "pinnock-yard"),
}
"""Examples that are walked, by kind of visit."""
WALKS = [(kind, name) for kind, names in VISITS.items() for name in names]
WHO = "Ilse Marrow"
IMPORTS = {
    "entering": "answers, begin, choose, done, instrument, person, picture, sign",
    "clock": "newClock",
    "making": "made",
    "view": "see, planOf",
    "units": "fromSi, ownUnit, isKind",
    "kept": "openKept",
    "ledger": "Book, gathered",
    "handover": "stated, statement",
}
BODY = """
const { pack, answered, who, gauges } = data
const plan = planOf(pack)
const kept = await openKept({ memory: true })
const table = pack.units
let clock = newClock(Date.parse(data.begins), 0)
let [view, book] = [null, null]
const entries = async () => (await kept.entries(pack.run)).map((one) => one.entry)
const look = async () => {
  view = see(pack, plan, await entries(), null)
  book = view.book
}
const enter = async (drafts) => {
  const by = { run: pack.run, who, clock, zone: 60 }
  await kept.add(pack.run, (last, device) => made(drafts, { ...by, last, device }))
  book = new Book(plan, pack.plan.sha256, pack.run, gathered(await entries()))
}
const amount = (payload) => {
  const kind = payload.quantity
  if (!isKind(table, kind)) return { typed: String(payload.value) }
  const unit = ownUnit(table, kind)
  return { typed: fromSi(table, payload.value, kind, unit).toFixed(9), unit }
}
const drafts = (step, { kind, payload }) => {
  if (kind === "choice") return choose(book, step, payload.option)
  if (kind === "action") return done(book, step)
  if (kind === "observation") return answers(table, book, step, { [payload.input]: payload.value })
  if (kind === "photo") return answers(table, book, step, { [payload.of]: payload })
  const beside = payload.quantity === "pressure" ? { with: payload.instrument, at_flow: payload.flow,
    stood: payload.steady_for, moved: payload.steady_within } : {}
  return answers(table, book, step, { [payload.input]: amount(payload) }, beside)
}
await look()
await enter([...begin(book), ...person(book, { name: who, role: "technician" }),
  ...gauges.flatMap((gauge) => instrument(table, book, gauge))])
await look()
const passed = []
while (view.step !== null && passed.length < 200) {
  const { id } = view.step
  const again = `${id} comes again: ${JSON.stringify(view.step.why)} ${view.step.lacks}`
  if (passed.includes(id)) throw new Error(again)
  passed.push(id)
  if (!(id in answered)) throw new Error(`${id} was not expected after ${passed}`)
  for (const one of answered[id]) {
    clock = newClock(Date.parse(one.t_device), one.t_mono * 1000)
    await enter(drafts(id, one))
  }
  await look()
}
const last = plan.after.filter((id) => id.startsWith("K1"))[0] ?? ""
const against = view.final.because.map((one) => `${one.code} ${one.statement}`)
const isFinal = view.final.is
await enter(sign(table, book, last, "final", {}, view.final.because))
await look()
result = { passed, against, isFinal, signs: view.signs.map((one) => one.stands), waits: view.waits,
  proofs: Object.fromEntries(view.proofs.map((one) => [one.name, one.state])), next: view.next,
  statement: statement(stated(pack, plan, view, who, "2027-04-14T17:20:00+01:00")),
  entries: await entries() }
"""


@cache
def visit(name: str, kind: str) -> dict[str, Any]:
    """Return pack and what is answered at each step, of the first clean way."""
    plan = plan_of(name, kind)
    entries = walk(plan.procedure, clean_ways(plan.procedure)[0], Device("tab-1", RUN))
    answered: dict[str, list[dict[str, Any]]] = {}
    for one in entries:
        if one.node:
            answered.setdefault(one.node, []).append(plain_entry(one))
    begins = entries[0].t_device
    return {
        "pack": pack_of(plan),
        "answered": answered,
        "who": WHO,
        "gauges": [GAUGE, SECOND],
        "begins": begins,
    }


@pytest.mark.parametrize(("kind", "name"), WALKS)
def test_a_visit_of_every_kind_goes_from_its_pack_to_all_done_on_the_device(
    tmp_path: Path, kind: str, name: str
):
    given = visit(name, kind)
    found = in_node(tmp_path, IMPORTS, BODY, given)
    assert found["against"] == []
    assert (found["isFinal"], found["signs"], found["waits"]) == (True, [True], [])
    assert set(found["passed"]) == set(given["answered"])
    assert set(found["proofs"].values()) == {"valid"}
    told = judge(plan_of(name, kind).procedure, gathered(entry_of(one) for one in found["entries"]))
    assert told.is_final
    assert list(told.next) == found["next"]
    words = {
        "restart": "restart after a trip",
        "yearly": "yearly proof",
        "return_to_service": "return to service",
    }
    assert f"visit: {words[kind]}, {RUN}" in found["statement"]
    assert "signed: final, Ilse Marrow" in found["statement"]
