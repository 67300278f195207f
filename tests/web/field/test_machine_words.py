"""No screen of the field page shows a name that only the plan or the program uses: each is told in words."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from steadyhead.records.entry import plain_entry
from tests.procedure.walking import Device, clean_ways, walk
from tests.web.field.field_js import RUN, in_node, pack_of, plan_of

pytestmark = [pytest.mark.skipif(not shutil.which("node"), reason="no Node"), pytest.mark.by_turns(3)]
EXAMPLES = (("quernhollow-lane", "first"), ("orrowby-mill", "yearly"), ("quillenby-row", "first"))
BODY = (Path(__file__).parent / "machine_words.js").read_text("utf-8")
IMPORTS = {
    "view": "see, planOf",
    "clock": "newClock",
    "screens/step": "step as stepScreen, back, more, rules, steps",
    "screens/different": "causes",
    "screens/again": "again",
    "screens/reading": "answer",
    "screens/listing": "entries as entriesOf, entry, correct",
    "screens/ending": "proofs, final, hand, deviate",
    "screens/looking": "lastLook",
    "screens/morning": "morning, cocksAgain, today",
    "screens/stopped": "stopped",
    "screens/handing": "statedHere",
    "screens/opening": "cocks, before",
    "screens/doing": "doing",
    "screens/against": "againstWords",
    "handover": "stated, page",
    "saying": "saidPlainly, withoutNames",
}
MACHINE = re.compile(r"\S*[A-Za-z]\w*[._@][A-Za-z]\w*\S*|\S*_\S*|(?<!\S)--+\S*|\S+--\S*")
"""A dotted, underscored or dashed name."""


def runs_of(name: str, kind: str) -> list[list[dict[str, Any]]]:
    """Return the entries of a visit at its end, amid it with something amiss, and at its beginning."""
    procedure = plan_of(name, kind).procedure
    entries = list(walk(procedure, list(clean_ways(procedure))[-1], Device("tab-1", RUN)))
    half = entries[: len(entries) // 2]
    late = Device("tab-9", RUN, start=half[-1].t_mono)
    things = [one for one in procedure.names if one.endswith((".setting", ".gate"))][:3]
    touched = [late.make("action", {"do": "turn", "thing": one}, half[-1].node) for one in things]
    said = late.make("note", {"text": "Stop: The gas alarm sounds."}, half[-1].node)
    return [[plain_entry(one) for one in run] for run in (entries, [*half, *touched, said])]


@pytest.mark.parametrize(("name", "kind"), EXAMPLES)
def test_no_screen_shows_a_name_that_only_a_machine_uses(tmp_path: Path, name: str, kind: str):
    plan = plan_of(name, kind)
    ids = [node.id for node in plan.procedure.nodes]
    data = {
        "pack": pack_of(plan) | {"causes": {}},
        "runs": runs_of(name, kind),
        "steps": ids[:: max(1, len(ids) // 12)],
    }
    shown = in_node(tmp_path, IMPORTS, BODY, data)
    assert len(shown) > 100
    # A step is called by its number on the paper plan, e.g. H4.main: that one is meant to be read.
    numbers = re.compile("|".join(re.escape(one) for one in sorted(ids, key=len, reverse=True)))
    amiss: dict[str, str] = {}
    for screen, words in shown:
        for one in MACHINE.findall(numbers.sub("step", words)):
            if not re.search(r"steadyhead/|\.jpg|\d\.\d|^e\.g\.$", one):
                amiss.setdefault(
                    one, f"{screen}: {words[max(0, words.find(one) - 60) : words.find(one) + 60]}"
                )
    assert amiss == {}, "\n".join(f"{one}   in   {words}" for one, words in amiss.items())
