"""Words that a step asks for are chosen: what is offered fits what is asked; nothing is claimed unseen."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.web.field.field_js import in_node, pack_of, plan_of

needs_node = pytest.mark.skipif(not shutil.which("node"), reason="no Node")
BODY = """
result = data.map(({ pack, now }) => {
  const plan = planOf(pack)
  const view = { ...see(pack, plan, [], null), people: ["Tam Oduya"] }
  const clock = newClock(Date.parse(now), 0)
  return plan.nodes.flatMap((node) => node.inputs.filter((one) => one.quantity === "text").map((input) => {
    const step = { id: node.id, do: node.do.map((one) => textOf(pack, one)) }
    return [`${node.id} ${input.name}`, offered({ view: { ...view, step }, pack, now: () => clock }, input)]
  }))
})
"""
IMPORTS = {
    "screens/offering": "offered",
    "view": "see, planOf",
    "saying": "textOf",
    "clock": "newClock",
}
PLANS = (("quernhollow-lane", "first"), ("quernhollow-lane", "restart"), ("dunmarrow-bottom", "yearly"))


@needs_node
def test_every_answer_in_words_offers_what_fits_it(tmp_path: Path):
    packs: list[dict[str, Any]] = [
        {"pack": pack_of(plan_of(*one)), "now": "2027-04-14T14:05:00Z"} for one in PLANS
    ]
    first, restart, yearly = map(dict, in_node(tmp_path, IMPORTS, BODY, packs))
    for told in (first, restart, yearly):
        assert all(words for step, words in told.items() if not step.endswith(" plan")), told
        assert "as written" not in json.dumps(told), "nobody confirms what was not looked at"
    assert first["G1.SO words"][0] == "QUERNHOLLOW LN SO REACHED CLOSED"
    assert first["H4.main swing"][:3] == ["at none of them", "at 0.40 L/s", "at 2.40 L/s"]
    assert first["G1.SO operator"] == ["Tam Oduya"]
    assert len(first["A8 until"]) == 4
    assert first["J4 seals"][0] == "no seals here"
    assert restart["R6B what"] != restart["R6C what"]
    assert yearly["Y5 touched"] == ["nothing"]
    assert first["B6 logged"][0] == "in the log of the place", "beside the label written down"


GAUGE = {"name": "TG-07", "due": "2027-05-27"}
DATED = """
const view = { instruments: { a: data, b: { ...data, name: "TG-08" } }, people: [],
  proofs: [{ name: "SO.trip", words: "trip of SO", state: "stale" }], book: { standing: [] } }
const desk = { pack: {}, now: () => newClock(0, 0), view: { ...view, step: { id: "A6", do: [] } } }
result = ["gauges", "stale"].map((name) => offered(desk, { name }))
"""


@needs_node
def test_days_and_proofs_are_offered_as_they_are_told_everywhere(tmp_path: Path):
    gauges, stale = in_node(tmp_path, IMPORTS, DATED, GAUGE)
    assert gauges == ["TG-07 due 27 May 2027; TG-08 due 27 May 2027"]
    assert stale == ["trip of SO"]
