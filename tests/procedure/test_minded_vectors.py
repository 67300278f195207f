"""What is done beside a plan that minds it is judged as stated by hand, and alike in JavaScript."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure.entry_form import entry_of
from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import gathered
from steadyhead.procedure.plain import from_json
from steadyhead.procedure.record import lay
from steadyhead.procedure.shielding import missing_now
from steadyhead.procedure.steps import look
from steadyhead.records.run import Judgement
from tests.procedure.in_js import in_node
from tests.procedure.minded_vectors import FILE, file
from tests.procedure.test_in_js import close

VECTORS: dict[str, Any] = json.loads(FILE.read_text(encoding="utf-8"))
PLAN = from_json(json.dumps(VECTORS["procedure"]).encode())


def _judged(case: dict[str, Any]) -> Judgement:
    return judge(PLAN, gathered(entry_of(one) for one in case["entries"]))


def _missing(case: dict[str, Any]) -> tuple[str, ...]:
    """Return what B1 would be begun without now."""
    record = lay(PLAN, gathered(entry_of(one) for one in case["entries"]).standing)
    return missing_now(record, look(record), "B1")


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_what_is_done_beside_the_plan_is_judged_as_stated(case: dict[str, Any]):
    found = _judged(case)
    blocks = {f"{one.remark.code} {one.remark.about}" for one in found.blocks if one.remark.code != "RUN-07"}
    told = {f"{one.code} {one.about}" for one in found.told}
    wanted = set(case["wanted"]["blocks"])
    assert wanted <= blocks
    assert wanted or not blocks
    assert set(case["wanted"].get("told", ())) <= told
    assert case["wanted"].get("next", list(found.next)) == list(found.next)
    assert case["wanted"].get("missing", []) == list(_missing(case))


def test_the_file_holds_the_cases_as_written():
    assert json.loads(json.dumps(file())) == VECTORS


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_every_case_beside_the_plan_is_judged_alike_in_javascript(tmp_path: Path):
    body = """
const { missingBefore } = await import("./judge.js")
const { procedure, cases } = data
result = cases.map(({ entries }) => [judge(procedure, entries), missingBefore(procedure, entries, "B1")])
"""
    got = in_node(tmp_path, body, VECTORS)
    for case, (found, missing) in zip(VECTORS["cases"], got, strict=True):
        assert missing == list(_missing(case)), case["name"]
        close(found, json.loads(json.dumps(plain_judgement(_judged(case)))), case["name"])
