"""Causes are weighed alike in Python, in Node and in the browser; and as the arithmetic on paper says."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
from dataclasses import asdict
from math import exp, nan, pi, sqrt
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure.causes import FAR, weigh
from steadyhead.records.procedure import Message
from steadyhead.records.signature import Axis, Cause, Curve, Grade, Reads, Signature
from steadyhead.visits.signatures.packing import signature_from
from tests.conftest import BROWSERS
from tests.procedure.causes_vectors import FILE
from tests.procedure.in_js import BROKEN, FLAGS, source
from tests.procedure.test_in_js import close

VECTORS = json.loads(FILE.read_text("utf-8"))
BODY = """
result = data.cases.map((one) => weigh(data.steps[one.step], one.readings, one.flow, one.chosen))
"""
LONGEST = 300


def in_node(folder: Path) -> Any:
    """Weigh every case of the vectors in Node."""
    (folder / "causes.js").write_text(source("causes"), "utf-8")
    (folder / "package.json").write_text('{"type": "module"}', "utf-8")
    (folder / "data.json").write_text(json.dumps(VECTORS), "utf-8")
    (folder / "main.js").write_text(
        'import { readFileSync, writeFileSync } from "node:fs"\nimport { weigh } from "./causes.js"\n'
        'const data = JSON.parse(readFileSync("data.json", "utf-8"))\nlet result = null\n'
        f'{BODY}\nwriteFileSync("result.json", JSON.stringify(result))\n',
        "utf-8",
    )
    node = shutil.which("node")
    assert node is not None
    done = subprocess.run([node, "main.js"], cwd=folder, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads((folder / "result.json").read_text("utf-8"))


def in_browser(folder: Path) -> Any:
    """Weigh every case of the vectors in the browser; nothing is fetched."""
    held = {"module": json.dumps(source("causes")), "data": json.dumps(VECTORS)}
    scripts = "".join(
        f'<script type="application/json" id="{name}">{text.replace("</", BROKEN)}</script>'
        for name, text in held.items()
    )
    loader = """
const text = JSON.parse(document.getElementById("module").textContent)
const { weigh } = await import(URL.createObjectURL(new Blob([text], { type: "text/javascript" })))
const data = JSON.parse(document.getElementById("data").textContent)
let result = null
"""
    page = (
        f'<!doctype html><meta charset="utf-8"><body>{scripts}<pre id="out"></pre>'
        f'<script type="module">{loader}\n{BODY}\n'
        'document.getElementById("out").textContent = JSON.stringify(result)</script>'
    )
    file = folder / "page.html"
    file.write_text(page, "utf-8")
    program = next(path for path in map(shutil.which, BROWSERS) if path)
    command = [program, *FLAGS, f"--user-data-dir={folder / 'profile'}", "--dump-dom", file.as_uri()]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=120)
    found = re.search(r'<pre id="out">(.*?)</pre>', done.stdout, re.DOTALL)
    assert found is not None, done.stderr[-2000:]
    assert found.group(1), done.stderr[-2000:]
    return json.loads(html.unescape(found.group(1)))


@pytest.mark.parametrize(
    "run",
    [
        pytest.param(in_browser, id="browser", marks=pytest.mark.browser),
        pytest.param(
            in_node, id="node", marks=pytest.mark.skipif(not shutil.which("node"), reason="no Node")
        ),
    ],
)
def test_every_case_of_the_vectors_is_weighed_alike(run: Any, tmp_path: Path) -> None:
    got = run(tmp_path)
    assert len(got) == len(VECTORS["cases"]) >= 500
    for number, (case, found) in enumerate(zip(VECTORS["cases"], got, strict=True)):
        near(found, case["weighed"], f"case {number} {case['step']}")


def near(found: Any, wanted: Any, where: str) -> None:
    """Refuse differences; what is nothing but the noise of an exact fit may differ by it."""
    assert len(found) == len(wanted), where
    for one, other in zip(found, wanted, strict=True):
        if abs(other["misfit"]) < 1e-6:
            one = {**one, "misfit": other["misfit"] if abs(one["misfit"]) < 1e-6 else one["misfit"]}
        close(one, other, where)


def test_python_still_weighs_the_vectors_as_it_did():
    known = {name: signature_from(one) for name, one in VECTORS["steps"].items()}
    for number, case in enumerate(VECTORS["cases"]):
        readings = {name: (value[0], value[1]) for name, value in case["readings"].items()}
        found = weigh(known[case["step"]], readings, case["flow"], case["chosen"])
        near([asdict(one) for one in found], case["weighed"], f"case {number} {case['step']}")


def test_the_vectors_hold_every_kind_of_answer():
    words = {one["word"] for case in VECTORS["cases"] for one in case["weighed"]}
    assert words == {"as expected", "likely", "possible", "less likely", "none fits"}
    assert any(not case["weighed"] for case in VECTORS["cases"])
    assert any(one["input"] for case in VECTORS["cases"] for one in case["weighed"])
    assert any(one["further"] > 0 for case in VECTORS["cases"] for one in case["weighed"])
    assert {type(case["flow"]) for case in VECTORS["cases"]} == {type(None), float, dict}


def test_the_module_is_short_and_takes_from_none():
    text = source("causes")
    assert len(text.splitlines()) <= LONGEST
    assert "import " not in text
    assert not any(word in text for word in ("eval(", "fetch(", "Date.now", "Math.random", "document"))


# On paper.


def flat(value: float, half: float = 1e4, supply: float = 0.0) -> Curve:
    return Curve((value,), (supply,), (0.0,), (half,))


def cause(name: str, prior: float, *grades: Grade, on: str = "") -> Cause:
    spans = tuple((i, i + 1) for i in range(len(grades) - 1)) or ((0, 0),)
    return Cause(name, int(name.split(".")[0]), prior, grades, spans, *(Message(""),) * 3, on=on)


def step(*causes: Cause, healthy: float = 4e5, supply: float = 0.0) -> Signature:
    reads = (Reads("T3", "s", "T3"), Reads("T1", "s", "T1"))
    curves = {"s/T3": flat(healthy), "s/T1": flat(9e5, supply=supply)}
    return Signature("X", (Axis("s", ()),), reads, curves, (cause("0", 1.0, Grade()), *causes))


def test_two_point_causes_stand_as_prior_times_likelihood():
    made = step(cause("5", 0.5, Grade({"s/T3": flat(4.4e5, 2e4)})))
    healthy, other = exp(-0.5 * 2.0**2) / 1e4, 0.5 * exp(-0.5 * 1.0**2) / 2e4
    found = {one.id: one.share for one in weigh(made, {"T3": (4.2e5, 0.0)})}
    assert found["5"] == pytest.approx(other / (healthy + other), rel=1e-12)


def test_a_tolerance_counts_as_a_bound_over_root_three():
    made = step(cause("5", 1.0, Grade({"s/T3": flat(5e5)})))
    found = {one.id: one for one in weigh(made, {"T3": (4.3e5, 3e4)})}
    assert found["0"].misfit == pytest.approx(0.3e5 / sqrt(1e4**2 + 3e4**2 / 3), rel=1e-12)


def test_a_free_severity_costs_the_share_of_it_that_fits():
    free = cause("25", 1.0, Grade({"s/T3": flat(4e5)}), Grade({"s/T3": flat(6e5)}))
    made = step(free, healthy=5e5)
    width = sqrt(1e4**2 + (0.08 * 2e5) ** 2)
    fits = sqrt(2 * pi) * width / 2e5
    found = {one.id: one.share for one in weigh(made, {"T3": (5e5, 0.0)})}
    assert found["25"] / found["0"] == pytest.approx(fits * 1e4 / width, rel=1e-9)


def test_what_moves_with_the_days_supply_is_no_fault():
    made = step(supply=1e5)
    (only,) = weigh(made, {"T1": (10.5e5, 0.0)})
    assert only.id == "0"
    assert only.misfit < 2.0
    assert weigh(step(), {"T1": (10.5e5, 0.0)})[0].word == "none fits"


def test_none_fits_beyond_three_half_widths_of_every_cause():
    made = step(cause("5", 1.0, Grade({"s/T3": flat(6e5)})))
    assert weigh(made, {"T3": (6e5 + (FAR - 0.01) * 1e4, 0.0)})[0].id == "5"
    found = weigh(made, {"T3": (6e5 + (FAR + 0.01) * 1e4, 0.0)})
    assert [one.id for one in found] == [""]
    assert found[0].misfit == pytest.approx(FAR + 0.01, rel=1e-9)


def test_no_more_than_five_are_listed_and_the_rest_is_counted():
    same = [cause(f"{row}", 1.0, Grade({"s/T3": flat(8e5)})) for row in range(1, 9)]
    found = weigh(step(*same), {"T3": (8e5, 0.0)})
    assert [one.id for one in found] == ["1", "2", "3", "4", "5"]
    assert {one.further for one in found} == {3}
    assert {one.word for one in found} == {"less likely"}


def test_a_unit_slip_is_found_at_the_one_reading_it_is_in():
    slip = cause("27.psi", 1.0, Grade(factor=14.503773773), on="each")
    found = weigh(step(slip), {"T3": (4e5 * 14.503773773, 0.0), "T1": (9e5, 0.0)})
    assert (found[0].id, found[0].input, found[0].word) == ("27.psi", "T3", "likely")


def test_without_a_reading_nothing_is_said():
    assert weigh(step(), {}) == ()
    assert weigh(step(), {"T9": (1.0, 0.0)}) == ()
    assert weigh(step(), {"T3": (nan, 0.0)}) == ()
    assert weigh(step(), {"T3": (4e5, 0.0)}, nan) == weigh(step(), {"T3": (4e5, 0.0)})


def test_more_flow_than_can_pass_rules_a_cause_out():
    axis = Axis("s", (1e-3, 2e-3))
    reads = (Reads("T3", "s", "T3", "flow", 1e-3),)
    healthy = {"s/T3": Curve((4e5, 4e5), (0.0, 0.0), (0.0, 0.0), (1e4, 1e4))}
    low = Curve((2e5, 2e5), (0.0, 0.0), (0.0, 0.0), (1e4, 1e4))
    made = Signature(
        "X", (axis,), reads, healthy,
        (
            cause("0", 1.0, Grade()),
            cause("3", 1.0, Grade({"s/T3": low}, {"s": 1e-4})),
            cause("32", 1.0, Grade({"s/T3": low})),
        ),
    )  # fmt: skip
    assert [one.id for one in weigh(made, {"T3": (2e5, 0.0)}, {"flow": 1e-3})] == ["32"]
    assert {one.id for one in weigh(made, {"T3": (2e5, 0.0)}, {"flow": 1e-4})} == {"3", "32"}
