"""What the screen shows: next step, words, advice, entries are those of the services in Python."""

from __future__ import annotations

import json
import random
import shutil
from dataclasses import asdict, replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steadyhead.cli.advise_text import advised_text
from steadyhead.findings import tell
from steadyhead.procedure.entry_form import entry_of
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import gathered
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.services.advising import Advised, advise_run
from steadyhead.services.entering.saying import said
from steadyhead.services.field.verdicts import digest_of_ids, verdict_of
from steadyhead.services.plan_files import PlanFile
from steadyhead.services.running import JudgedRun, against_final, worth_knowing
from steadyhead.services.visits_kept.judged import clock_words
from steadyhead.units import UnitSet, read_units
from steadyhead.visits.advising.readings import feeds
from tests.conftest import SEED
from tests.procedure.test_in_js import close
from tests.procedure.test_judging import PLAN
from tests.procedure.test_judging import VECTORS as JUDGEMENTS
from tests.procedure.walking import Device, clean_ways, walk
from tests.web.field.field_js import RUN, bare_plan, in_node, pack_of, plan_of

pytestmark = [
    pytest.mark.skipif(not shutil.which("node"), reason="no Node"),
    pytest.mark.by_turns(4),
]
STATION = "quillenby-row"
RECORDS = 10
"""Records of a real visit, each spoilt in another way. [1]"""
UNITS = ("metric", "us+metric")
NOW = 1.9e9
LOOKED = 240
"""Records of the vectors that are looked at. [1]"""


def test_the_next_step_of_every_record_of_the_vectors_is_that_of_the_judge(tmp_path: Path):
    body = """
const plan = planOf(data.pack)
result = data.cases.map((entries) => {
  const { next, judged, step } = see(data.pack, plan, entries, null)
  return { next, final: judged.is_final, step: step?.id ?? null, lacks: step?.lacks ?? [] }
})
"""
    drawn = random.Random(SEED).sample(JUDGEMENTS["cases"], LOOKED)
    cases = [[{**one, "run": RUN} for one in case["entries"]] for case in drawn]
    pack = pack_of(bare_plan(PLAN), said=False)
    got = in_node(tmp_path, {"view": "see, planOf"}, body, {"pack": pack, "cases": cases})
    for case, found in zip(cases, got, strict=True):
        judged = judge(PLAN, gathered(entry_of(one) for one in case))
        first = judged.next[0] if judged.next else None
        assert found == {
            "next": list(judged.next),
            "final": judged.is_final,
            "step": first,
            "lacks": list(judged.step(first).lacks) if first else [],
        }


def spoilt(rng: random.Random, entries: list[Entry]) -> list[Entry]:
    """Return a clean visit as careless people with two tablets would have left it."""
    kept = entries[: rng.randrange(4, len(entries))]
    made = [one for one in kept if one.kind in ("run", "instrument") or rng.random() > 0.04]
    other = Device("tab-2", RUN, start=20 * 3600.0)
    for index, one in enumerate(made):
        if one.kind == "reading" and rng.random() < 0.05:
            value = one.payload["value"] * rng.choice([0.2, 1.3, -1.0]) + rng.choice([0.0, 3e4])
            made[index] = replace(one, payload={**one.payload, "value": value, "typed": "7", "unit": "psi"})
        elif one.kind == "reading" and rng.random() < 0.05:
            without = rng.choice(["tap", "instrument", "flow", "value"])
            made[index] = replace(one, payload={k: v for k, v in one.payload.items() if k != without})
    readings = [one for one in made if one.kind == "reading"]
    for act in rng.sample(["turn", "lower", "tighten nut", "defeat", "break seal", "open"], 3):
        made.append(
            other.make("action", {"do": act, "thing": rng.choice(["SO.setting", "SO", "RV.nut", "IV2"])})
        )
    made.append(other.make("note", {"text": "a dry pit"}, rng.choice(made).node))
    about = rng.choice(["H5", "SO.acts", "F1.SO"])
    made.append(other.make("deviation", {"about": about, "owner": "Tam", "due": "2026-01-01", "what": "w"}))
    made.append(other.make("sign", {"asks": rng.choice(["final", "maybe"])}, "K1"))
    if readings:
        one = rng.choice(readings)
        fresh = {"payload": {"value": 1e5, "flow": None}, "reason": "wrong"}
        made.append(other.make(rng.choice(["correction", "void"]), fresh, one.node, replaces=one.id))
        made.append(replace(rng.choice(readings), who="Somebody Else"))
        moved: dict[str, Any] = {
            "clock_offset": rng.choice([-7200.0, 30.0]),
            "device": "tab-3",
            "id": "moved",
        }
        made.append(replace(rng.choice(readings), **moved))
    return made


@cache
def records() -> tuple[PlanFile, tuple[tuple[Entry, ...], ...]]:
    rng = random.Random(SEED)
    plan = plan_of(STATION)
    ways = [walk(plan.procedure, way, Device("tab-1", RUN)) for way in clean_ways(plan.procedure)]
    made = [spoilt(rng, rng.choice(ways)) for _ in range(RECORDS)]
    return plan, tuple(map(tuple, (*made, *turning(plan, ways[-1]))))


def turning(plan: PlanFile, entries: list[Entry]) -> list[list[Entry]]:
    """Return a clean visit up to each step that turns a screw, read there, then turned and read again."""
    found = []
    for aim in plan.procedure.advice.aims:
        at = next((index for index, one in enumerate(entries) if one.node == aim.step), 0)
        device = Device("tab-1", RUN, start=entries[at].t_mono)
        device.number = entries[at].device_seq
        name = next(iter(feeds(aim.step)), "shown")
        beside = {"quantity": "pressure", "tap": aim.tap, "instrument": "TG-1", "flow": 4e-4}
        act = {"do": "raise", "thing": f"{aim.valve}.setting", "amount": 0.25, "unit": "turns"}
        made = entries[:at]
        for share in (0.8, 0.85):
            value = {"input": name, "value": share * aim.target}
            made = [*made, device.make("reading", {**beside, **value}, aim.step)]
            found.append(made)
            made = [*made, device.make("action", act, aim.step)]
    return [one for one in found if one]


def findings(run: JudgedRun, units: UnitSet) -> list[list[str]]:
    """Return what the device tells too: blocks of the judgement but stale proofs, then what is told."""
    both = zip(run.judgement.blocks, against_final(run, units), strict=False)
    found = [finding for block, (finding, by) in both if not by and block.remark.code != "RUN-12"]
    told = worth_knowing(run, units)[: len(run.judgement.told)]
    words = [tell(one, units) for one in (*found, *told)]
    return [[one.code, one.subject, one.title, one.statement, one.why, one.cure] for one in words]


BODY = """
const plan = planOf(data.packs.metric)
const words = (one) => [one.code, one.subject, one.title, one.statement, one.why, one.cure]
const inUnits = (pack, entries) => {
  const { against, told, book } = see(pack, plan, entries, data.now)
  const stale = against.filter((one) => one.code === "RUN-12")
  return { told: [...against.filter((one) => one.code !== "RUN-12"), ...told].map(words),
    said: book.forms.map((one) => [said(pack, one, "it"), clockWords(one)]),
    stale: stale.flatMap((one) => one.again) }
}
const reckoned = (entries) => {
  const book = new Book(plan, data.packs.metric.plan.sha256, "run-1", gathered(entries))
  const judged = judge(plan, book.entries, null, book.clashes)
  const { standing, clashes } = book
  const advised = adviseRun({ plan, judged, entries: book.entries, standing, clashes })
  const lines = (one) => Object.entries(data.packs).map(([, pack]) => adviceLines(pack, one).join(" "))
  return { verdict: verdictOf(judged, book.entries.map((one) => one.id), []), lines: advised.map(lines),
    advised: advised.map(({ step, isNow, waits, feeds, advice }) => ({ step, isNow, waits, feeds, advice })) }
}
const each = (entries) =>
  Object.fromEntries(Object.entries(data.packs).map(([name, pack]) => [name, inUnits(pack, entries)]))
result = { told: data.records.slice(0, data.count).map(each), reckoned: data.records.map(reckoned) }
"""
IMPORTS = {
    "view": "see, planOf",
    "saying": "said, clockWords, adviceLines",
    "advising": "adviseRun",
    "outbox": "verdictOf",
    "ledger": "Book, gathered",
    "../procedure/judge": "judge",
}


@pytest.fixture(scope="module")
def there(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What the device says of every record, in each set of units."""
    plan, every = records()
    data = {
        "packs": {name: pack_of(plan, read_units(name)) for name in UNITS},
        "now": NOW,
        "count": RECORDS,
        "records": [[plain_entry(one) for one in made] for made in every],
    }
    found: dict[str, Any] = in_node(tmp_path_factory.mktemp("there"), IMPORTS, BODY, data)
    return found


@pytest.mark.parametrize("name", UNITS)
def test_everything_told_of_spoilt_visits_is_told_in_the_same_words(there: dict[str, Any], name: str):
    units = read_units(name)
    plan, every = records()
    for made, found in zip(every[:RECORDS], there["told"], strict=True):
        ledger = gathered(made)
        run = JudgedRun(plan, ledger, judge(plan.procedure, ledger, NOW))
        assert found[name]["told"] == findings(run, units)
        assert found[name]["said"] == [[said_of(one, units), clock_words(one)] for one in ledger.forms]
        lost = [
            one.remark for one in run.judgement.blocks if one.remark.code == "RUN-12" and not one.accepted
        ]
        assert set(found[name]["stale"]) == {str(one.params["step"]) for one in lost}


def said_of(entry: Entry, units: UnitSet) -> str:
    return (
        said(entry, units, 1).replace(" of 1", " of it", 1)
        if entry.kind in ("correction", "void")
        else said(entry, units)
    )


def words_of(one: Advised, units: UnitSet) -> str:
    """Return what the command tells of one screw, without its head, on one line."""
    return " ".join(advised_text((one,), units).partition("\n")[2].split())


def test_the_next_turn_is_that_of_the_service_and_the_verdict_is_one_digest(there: dict[str, Any]):
    statuses: set[str] = set()
    plan, every = records()
    for made, found in zip(every, there["reckoned"], strict=True):
        ledger = gathered(made)
        run = JudgedRun(plan, ledger, judge(plan.procedure, ledger))
        wanted = [
            {
                "step": one.aim.step,
                "isNow": one.is_now,
                "waits": list(one.waits),
                "feeds": list(one.feeds),
                "advice": None if one.advice is None else asdict(one.advice),
            }
            for one in advise_run(run)
        ]
        close(found["advised"], wanted)
        assert found["lines"] == [
            [words_of(one, read_units(name)) for name in UNITS] for one in advise_run(run)
        ]
        statuses |= {one["advice"]["status"] for one in found["advised"] if one["advice"]}
        verdict = verdict_of(run.judgement)
        assert found["verdict"]["gist"] == json.loads(json.dumps(verdict.gist))
        if not ledger.clashes:
            assert found["verdict"]["verdict"] == verdict.digest
        assert found["verdict"]["entries"] == digest_of_ids(one.id for one in ledger.entries)
    assert statuses >= {"turn", "needs first"}
