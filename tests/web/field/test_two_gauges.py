"""Where two gauges are compared the page asks for another one for the second, and goes on with the first."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from steadyhead.records.entry import Entry, plain_entry
from tests.procedure.walking import GAUGE, SECOND, clean_ways, walk
from tests.web.field.field_js import in_node, pack_of, plan_of

pytestmark = pytest.mark.skipif(not shutil.which("node"), reason="no Node")
BODY = """
const { pack, entries, tools } = data
const plan = planOf(pack)
result = entries.map((made, number) => {
  const view = see(pack, plan, made, null)
  const step = view.step?.id === "A6" ? view.step : see(pack, plan, made, null, "A6").step
  const desk = { way: { tools: tools[number] }, view: { ...view, step } }
  return step.inputs.filter((one) => one.kind === "pressure")
    .map((one) => [one.name, one.notWith, toolFor(desk, one), placeOf(desk, one)])
})
"""


def _told(names: list[str]) -> list[Entry]:
    """Return a visit up to the comparison, of which some readings are there."""
    plan = plan_of("quillenby-row", "first")
    entries = walk(plan.procedure, clean_ways(plan.procedure)[0])
    before = next(at for at, one in enumerate(entries) if one.node == "A6")
    read = [one for one in entries if one.node == "A6" and one.payload.get("input") in names]
    return [*entries[:before], *read]


def test_the_second_gauge_is_another_and_the_first_goes_on(tmp_path: Path):
    first, second = str(GAUGE["name"]), str(SECOND["name"])
    own = {"pressure": first, "pressure T3": first}
    cases: list[tuple[list[str], dict[str, str]]] = [
        ([], {}), (["first"], own), (["first"], own | {"pressure T3 second": second}),
        (["first", "second"], own | {"pressure T3 second": second}),
    ]  # fmt: skip
    data = {
        "pack": pack_of(plan_of("quillenby-row", "first")),
        "entries": [[plain_entry(one) for one in _told(names)] for names, _ in cases],
        "tools": [tools for _, tools in cases],
    }
    imports = {"view": "see, planOf", "screens/asking": "toolFor, placeOf"}
    got = in_node(tmp_path, imports, BODY, data)
    assert got == [
        [["first", [], "", "pressure T3"], ["second", [], "", "pressure T3"]],
        [["first", [], first, "pressure T3"], ["second", [first], "", "pressure T3 second"]],
        [["first", [], first, "pressure T3"], ["second", [first], second, "pressure T3 second"]],
        [["first", [second], first, "pressure T3"], ["second", [first], second, "pressure T3 second"]],
    ]
