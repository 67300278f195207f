"""The same language and the same judge in a browser and in Node: equal to what Python gives."""

from __future__ import annotations

import json
import random
import shutil
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure import judging, minded, placing, restoring, touching
from steadyhead.procedure.entry_form import entry_of
from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import gathered, merge
from steadyhead.procedure.plain import from_json, plain
from steadyhead.records import entry as words
from steadyhead.records.entry import plain_entry
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from tests.procedure.in_js import MODULES, in_browser, in_node, source
from tests.procedure.test_expression import VECTORS as EXPRESSIONS
from tests.procedure.test_judging import PLAN, random_runs
from tests.procedure.test_judging import VECTORS as JUDGEMENTS
from tests.procedure.walking import clean_ways, walk

LONGEST = 300
RUNNERS = [
    pytest.param(in_browser, id="browser", marks=pytest.mark.browser),
    pytest.param(in_node, id="node", marks=pytest.mark.skipif(not shutil.which("node"), reason="no Node")),
]
Runner = Callable[[Path, str, Any], Any]


def close(got: Any, wanted: Any, where: str = "") -> None:
    """Refuse any difference; numbers may differ by a part in 10⁹."""
    if isinstance(wanted, dict):
        assert isinstance(got, dict), where
        assert set(got) == set(wanted), where
        for key, value in wanted.items():
            close(got[key], value, f"{where}.{key}")
    elif isinstance(wanted, list):
        assert isinstance(got, list), where
        assert len(got) == len(wanted), where
        for index, value in enumerate(wanted):
            close(got[index], value, f"{where}[{index}]")
    elif isinstance(wanted, float) and not isinstance(got, bool):
        assert got == pytest.approx(wanted, rel=1e-9, abs=0.0), where
    else:
        assert got == wanted, where
        assert isinstance(got, bool) == isinstance(wanted, bool), where


@pytest.mark.parametrize("run", RUNNERS)
def test_every_expression_of_the_vectors_has_the_same_value(run: Runner, tmp_path: Path) -> None:
    body = """
const context = { node: data.node, entries: data.entries, bands: data.bands, limits: data.limits,
  instruments: data.instruments }
const refused = ({ expression }) => {
  try { evaluate(expression, context) } catch (problem) { return problem.where ?? null }
  return null
}
const values = data.cases.map((one) => evaluate(one.expression, context))
result = { values, refused: data.refused.map(refused) }
"""
    got = run(tmp_path, body, EXPRESSIONS)
    assert len(EXPRESSIONS["cases"]) >= 500
    for case, value in zip(EXPRESSIONS["cases"], got["values"], strict=True):
        close(value, case["value"], case["name"])
    for case, where in zip(EXPRESSIONS["refused"], got["refused"], strict=True):
        assert where is not None, case["name"]
        assert where.startswith("expression"), case["name"]


@cache
def in_python(now: float) -> tuple[Any, ...]:
    """Return what Python says of every record of the vectors."""
    ledgers = (gathered(entry_of(one) for one in case["entries"]) for case in JUDGEMENTS["cases"])
    return tuple(json.loads(json.dumps(plain_judgement(judge(PLAN, ledger, now)))) for ledger in ledgers)


@pytest.mark.parametrize("now", [1.8e9, 1.9e9], ids=["in time", "past every due date"])
@pytest.mark.parametrize("run", RUNNERS)
def test_every_record_of_the_vectors_is_judged_alike(run: Runner, now: float, tmp_path: Path) -> None:
    body = "result = data.cases.map((one) => judge(data.procedure, one.entries, data.now))"
    got = run(tmp_path, body, {**JUDGEMENTS, "now": now})
    assert len(got) >= 500
    for case, found, wanted in zip(JUDGEMENTS["cases"], got, in_python(now), strict=True):
        close(found, wanted, case["name"])


@cache
def real_visits() -> tuple[list[Any], list[Any]]:
    """Return visits of a real station with entries left out, and what Python says of each."""
    rng = random.Random(9)
    cases, wanted = [], []
    for visit in ("first", "yearly"):
        made = make_plan(examples.read("dunmarrow-bottom"), visit)
        assert made.procedure is not None
        data = plain(made.procedure)
        procedure = from_json(json.dumps(data).encode())
        for way in clean_ways(procedure):
            for share in (0.0, 0.02, 0.1):
                entries = [entry for entry in walk(procedure, way) if rng.random() >= share]
                cases.append({"procedure": data, "entries": [plain_entry(entry) for entry in entries]})
                wanted.append(json.loads(json.dumps(plain_judgement(judge(procedure, gathered(entries))))))
    return cases, wanted


@pytest.mark.parametrize("run", RUNNERS)
def test_visits_of_a_real_station_with_entries_left_out_are_judged_alike(run: Runner, tmp_path: Path) -> None:
    cases, wanted = real_visits()
    got = run(tmp_path, "result = data.map((one) => judge(one.procedure, one.entries))", cases)
    for found, want in zip(got, wanted, strict=True):
        close(found, want)


@pytest.mark.parametrize("run", RUNNERS)
def test_ledgers_of_two_devices_are_laid_together_alike(run: Runner, tmp_path: Path) -> None:
    body = """
const same = (a, b) => JSON.stringify(a, Object.keys(a).sort()) === JSON.stringify(b, Object.keys(b).sort())
result = data.map(([a, b]) => {
  const { entries, clashes } = merge([a, b, a], (one, other) => same(one, other) && one.who === other.who)
  return { entries: entries.map((one) => one.id), standing: standing(entries).map((one) => one.id),
    clashes: clashes.map((one) => one.id), judged: judge(data[0][2], entries, null, clashes.map(
      ({ id, forms }) => ({ id, forms, run: "r" }))) }
})
"""
    data, wanted = [], []
    for number, made in enumerate(random_runs(41, 30)):
        one = [plain_entry(entry) for entry in made[::2]]
        other = [plain_entry(entry) for entry in made[1:]]
        for entry in other[:: 5 + number % 3]:
            entry["who"] = f"changed {number}"
        data.append([one, other, plain(PLAN)])
        ledger = merge(*(gathered(entry_of(each) for each in part) for part in (one, other)))
        wanted.append(
            {
                "entries": [entry.id for entry in ledger.entries],
                "standing": [entry.id for entry in ledger.standing],
                "clashes": sorted(clash.id for clash in ledger.clashes),
                "final": judge(PLAN, ledger).is_final,
                "states": [step.state for step in judge(PLAN, ledger).steps],
            }
        )
    for found, want in zip(run(tmp_path, body, data), wanted, strict=True):
        judged = found.pop("judged")
        found["clashes"] = sorted(found["clashes"])
        assert {
            **found,
            "final": judged["is_final"],
            "states": [one["state"] for one in judged["steps"]],
        } == want


def test_the_words_in_javascript_are_those_of_python():
    text = source("words")
    found: dict[str, Any] = {}
    for part in text.split("export const ")[1:]:
        name, _, value = part.partition(" = ")
        found[name] = json.loads(value.strip().replace(",\n]", "\n]").replace(",\n}", "\n}"))
    assert found == {
        "KINDS": list(words.KINDS),
        "MOVES": list(words.MOVES),
        "TOUCHES": list(words.TOUCHES),
        "NO_TOUCH": list(touching.NO_TOUCH),
        "TELLS": list(words.TELLS),
        "PAPERS": list(judging.PAPERS),
        "LATER": list(judging.LATER),
        "WORKS": dict(touching.WORKS),
        "GUARDS": list(words.GUARDS),
        "LETS_OUT": list(touching.LETS_OUT),
        "TAKES_OFF": list(touching.TAKES_OFF),
        "CARRIED": list(touching.CARRIED),
        "FLOWS": list(touching.FLOWS),
        "VALVE_MOVED": list(placing.VALVE_MOVED),
        "STAYS": list(placing.STAYS),
        "TAKEN": dict(placing.TAKEN),
        "STANDS": dict(touching.STANDS),
        "PAIRS": dict(restoring.PAIRS),
        "OUT": dict(restoring.OUT),
        "HELD": list(restoring.HELD),
        "BACK": dict(touching.BACK),
        "WIRED": list(touching.WIRED),
        "SEALS": dict(placing.SEALS),
        "FITS": {do: list(kinds) for do, kinds in restoring.FITS.items()},
        "UNDOES": dict(restoring.UNDOES),
        "OUT_OF_WAY": {do: list(kinds) for do, kinds in touching.OUT_OF_WAY.items()},
        "MOVED": list(touching.MOVED),
        "BESIDE": list(touching.BESIDE),
        "READY": list(touching.READY),
        "PIECES": dict(placing.PIECES),
        "STROKES": list(placing.STROKES),
        "SAYS_WHICH": list(placing.SAYS_WHICH),
        "CUTS_OFF": list(touching.CUTS_OFF),
        "NAMES_ITS_THING": list(minded.NAMES_ITS_THING),
        "SCREW": list(minded.SCREW),
        "ORDERED": list(minded.ORDERED),
        "NUTS": list(minded.NUTS),
    }


@pytest.mark.parametrize("name", MODULES)
def test_each_module_is_short_and_takes_only_from_its_neighbours(name: str) -> None:
    text = source(name)
    assert len(text.splitlines()) <= LONGEST
    taken = [line.split('from "')[1].rstrip('"') for line in text.splitlines() if ' from "' in line]
    assert all(other in {f"./{each}.js" for each in MODULES} for other in taken)
    for word in ("eval(", "Function(", "fetch(", "Date.now", "Math.random"):
        assert word not in text
