"""Every remark the judge on the device can make has its words there, each filled to the last place."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from steadyhead.findings import CATALOGUE
from steadyhead.procedure.ledger import Ledger
from steadyhead.records.run import Remark
from steadyhead.services.field.device_words import remark_table
from steadyhead.services.running_words import CLOCK, DEVIATION, STRAY, TOOL, UNFIT
from tests.web.field.field_js import PLACES, in_node, pack_of, plan_of

needs_node = pytest.mark.skipif(not shutil.which("node"), reason="no Node")
TOLD = re.compile(r"RUN-\d\d")
HOLES = re.compile(r"\{\w+\}")
NOT_JUDGED = {"when", "who", "mend", "how", "unplaced", "then", "seen", "subject"}
"""Places of a template that are filled by the speaker, not by the remark."""
BODY = """
const speaker = new Speaker(data.pack, planOf(data.pack), [])
result = data.remarks.map((one) => {
  const { statement, why, cure, title } = speaker.finding(one, "stop")
  return [one.code, title, statement, why, cure]
})
"""


def judged_codes() -> set[str]:
    """Return the codes that stand in the judge's scripts and in the view of the device."""
    places = [*PLACES["procedure"].glob("*.js"), PLACES["field"] / "view.js"]
    return {code for path in places for code in TOLD.findall(path.read_text("utf-8"))}


def reasons() -> list[tuple[str, str]]:
    listed = {"RUN-03": CLOCK, "RUN-05": STRAY, "RUN-06": UNFIT, "RUN-16": DEVIATION, "RUN-91": TOOL}
    return [(code, why) for code, words in listed.items() for why in words]


def remark(code: str, why: str = "", about: str = "B2") -> dict[str, Any]:
    """Return a remark with something in every place of its words."""
    told = CATALOGUE[code]
    holes = HOLES.findall(" ".join((told.statement, told.why, told.cure)))
    if why:
        holes += HOLES.findall(str(remark_table()["reasons"][code][why]))
    params: dict[str, Any] = {name.strip("{}"): "word" for name in holes} | ({"why": why} if why else {})
    spoken = NOT_JUDGED - (set() if why else {"how"})
    params = {name: value for name, value in params.items() if name not in spoken}
    message = None
    if "{seen}" in holes:
        node = next(one for one in plan_of("quillenby-row").procedure.nodes if one.id == about)
        see = node.otherwise[0].see
        message = {"id": see.id, "params": {}} if not see.params else None
    return {"code": code, "about": about, "entries": [], "params": params, "message": message}


def test_the_pack_holds_title_and_statement_of_every_code_of_the_judge():
    codes = remark_table()["codes"]
    assert judged_codes() <= set(codes)
    assert "RUN-59" in judged_codes()
    for code in judged_codes():
        assert all(codes[code][part].strip() for part in ("title", "statement")), code


def test_no_two_codes_of_the_judge_are_told_alike():
    codes = remark_table()["codes"]
    told = [(codes[code]["title"], codes[code]["statement"]) for code in sorted(judged_codes())]
    assert len(set(told)) == len(told)
    assert len({title for title, _ in told}) == len(told)


@needs_node
def test_every_remark_is_told_on_the_device_with_no_place_left_empty(tmp_path: Path):
    each = [remark(code) for code in sorted(judged_codes() - {code for code, _ in reasons()})]
    each += [remark(code, why) for code, why in reasons()]
    data = {"pack": pack_of(plan_of("quillenby-row")), "remarks": each}
    found = in_node(tmp_path, {"saying": "Speaker", "view": "planOf"}, BODY, data)
    assert len(found) == len(each)
    for code, *words in found:
        assert all(one.strip() for one in words[:2]), code
        for told in words:
            left = [one for one in HOLES.findall(told) if one not in ("{seen}", "{then}")]
            assert left == [], (code, told)
            assert "undefined" not in told


@needs_node
@pytest.mark.parametrize("about", ["vent", "line"])
def test_a_touch_that_nobody_can_place_is_told_as_the_server_tells_it(tmp_path: Path, about: str):
    from steadyhead.findings import Severity, tell
    from steadyhead.services.running_words import Speaker

    plan = plan_of("quillenby-row")
    params = {"do": "vent"}
    one = Remark("RUN-51", about, (), params)
    said = tell(Speaker(plan.procedure, Ledger((), ())).finding(one, Severity.STOP))
    plain: dict[str, object] = {
        "code": "RUN-51",
        "about": about,
        "entries": [],
        "params": params,
        "message": None,
    }
    data = {"pack": pack_of(plan), "remarks": [plain]}
    ((_, _, statement, _, cure),) = in_node(tmp_path, {"saying": "Speaker", "view": "planOf"}, BODY, data)
    assert statement == said.statement
    assert cure == said.cure
