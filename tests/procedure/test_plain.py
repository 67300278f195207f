"""A procedure stored and read again: the same record, the same bytes; what is no plan is refused."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

from steadyhead.errors import InputError
from steadyhead.procedure.plain import from_json, node_json, plain, to_json
from tests.procedure.lane import plan
from tests.procedure.small import sound


def rounded(plan):
    return from_json(to_json(plan))


def test_storing_and_reading_loses_nothing():
    plan = sound()
    again = rounded(plan)
    assert again.nodes[0] == plan.nodes[0]
    assert again.choices == plan.choices
    assert again.turn_tables == plan.turn_tables
    assert again.response == plan.response
    assert again.drain_budget == plan.drain_budget
    assert again.notes == plan.notes
    assert again.names == plan.names
    assert to_json(again) == to_json(plan)


def test_a_plan_without_a_response_table_is_read_too():
    plan = replace(sound(), response=None)
    assert rounded(plan).response is None


@pytest.mark.source(kind="analytic", ref="agreement A2: nine significant digits")
def test_computed_values_keep_nine_digits():
    expect = plain(sound())["nodes"][2]["expect"][0]
    assert expect["high_si"] == 372.123457
    assert expect["where"] == ["Q", "weak"]


def test_keys_with_numbers_end_in_their_unit():
    data = json.loads(to_json(sound()))
    assert data["datum_m"] == 12.5
    assert data["drain_budget"][0] == {
        "node": "B1",
        "drain": "sink",
        "flow_m3_s": 0.0001,
        "time_s": 60,
        "place": "",
    }
    assert data["nodes"][2]["inputs"][0]["stable_for_s"] == 60
    assert data["turn_tables"][0]["readings_pa"] == {"T3": [100000, 110000]}


def test_the_bytes_are_canonical():
    stored = to_json(sound())
    assert stored.startswith(b'{"after":[],"baseline_id":"","choices":[')
    assert b", " not in stored.replace(b'", "', b"")
    assert json.dumps(json.loads(stored), sort_keys=True, separators=(",", ":")).count('"nodes"') == 1


def test_two_steps_are_the_same_where_their_bytes_are():
    first, second = sound().nodes[0], sound().nodes[0]
    assert node_json(first) == node_json(second)
    assert node_json(first) != node_json(replace(second, minutes=1.0))


@pytest.mark.parametrize(
    ("stored", "field"),
    [
        pytest.param(b"{", "plan: is no JSON", id="cut off"),
        pytest.param(b"\xff\xfe", "plan: is no JSON", id="not utf-8"),
        pytest.param(b"[1]", "plan.format: got 'list'", id="a list"),
        pytest.param(b'{"format":"steadyhead/plan/9"}', "plan.format: got 'steadyhead/plan/9'", id="newer"),
        pytest.param(b'{"format":"steadyhead/plan/2"}', "plan.id: is missing.", id="nothing in it"),
    ],
)
def test_what_is_no_plan_is_refused_in_words(stored, field):
    with pytest.raises(InputError) as refused:
        from_json(stored)
    assert str(refused.value).startswith(field)


@pytest.mark.parametrize("key", ["nodes", "choices", "names", "datum_m", "response", "turn_tables", "notes"])
def test_a_plan_with_a_broken_field_is_refused_in_words(key):
    data = json.loads(to_json(sound()))
    data[key] = 3 if key != "datum_m" else "deep"
    with pytest.raises(InputError, match=rf"^plan\.{key}: got (3|'deep'); there stands"):
        from_json(json.dumps(data).encode())


def test_a_screw_without_one_amount_to_turn_it_by_is_refused():
    text = json.dumps(json.loads(to_json(plan("first"))))
    whole = re.search(r'"amounts": \[[^\]]+\]', text)
    assert whole is not None
    assert from_json(text.encode())
    with pytest.raises(InputError, match="amounts"):
        from_json(text.replace(whole[0], '"amounts": []', 1).encode())
