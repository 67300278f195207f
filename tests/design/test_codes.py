from __future__ import annotations

import json
import re
from functools import cache

import pytest

from steadyhead.design.sheet import judge, to_json
from steadyhead.findings import CATALOGUE, tell
from steadyhead.units import METRIC, US
from tests.design.code_cases import CASES, DAY
from tests.design.stations import EXAMPLES, station_of

ROOMS = ("LAY-", "LAD-", "SIZ-")
CLOSING = "SUR-54"
"""Asked by the room of design too: pressures of a closing time that contradict each other."""
OWN_CODES = sorted(code for code in CATALOGUE if code.startswith(ROOMS) or code == CLOSING)


@cache
def _sheet(code):
    name, edits = CASES[code]
    return judge(station_of(name, *edits), DAY)


def test_every_code_of_the_design_room_has_a_station_that_raises_it():
    assert sorted(CASES) == OWN_CODES


@pytest.mark.parametrize("code", OWN_CODES)
def test_the_station_meant_for_a_code_raises_it_and_it_can_be_told(code):
    sheet = _sheet(code)
    raised = [one for one in sheet.findings if one.code == code]
    assert raised, sorted({one.code for one in sheet.findings})
    for one in raised:
        for units in (METRIC, US):
            told = tell(one, units)
            for words in (told.statement, told.why, told.cure):
                assert "{" not in words
                assert re.search(r"\w", words)


@pytest.mark.parametrize("code", [code for code in OWN_CODES if code != CLOSING])
def test_what_forbids_a_release_passes_its_limit_and_its_margin_says_so(code):
    for one in _sheet(code).findings:
        if one.code == code and one.severity.value in ("stop", "ask") and one.margin is not None:
            assert one.margin.si <= 0.0


@pytest.mark.parametrize("code", OWN_CODES)
def test_the_sheet_of_every_case_is_plain_json_with_finite_numbers(code):
    text = json.dumps(to_json(_sheet(code)), allow_nan=False, sort_keys=True)
    assert json.loads(text)["format"] == "steadyhead/design-sheet/1"


@pytest.mark.parametrize("code", OWN_CODES)
def test_every_entry_names_its_sources_and_ends_its_sentences(code):
    entry = CATALOGUE[code]
    assert entry.sources
    for words in (entry.statement, entry.why, entry.cure):
        assert words.endswith((".", "}"))
        assert "!" not in words


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_shipped_example_is_free_of_stops_and_questions(name):
    sheet = judge(station_of(name))
    assert sheet.releasable, [
        tell(one).statement for one in sheet.findings if one.severity.value in ("stop", "ask")
    ]


@pytest.mark.parametrize(("code", "acts"), [("LAD-65", True), ("LAD-66", False)])
def test_the_margin_of_a_shut_off_behind_the_inter_stage_pressure_is_negative_where_it_does_not_act(
    code, acts
):
    found = [one for one in _sheet(code).findings if one.code == code]
    assert found
    assert all((one.margin.si > 0.0) is acts for one in found)
