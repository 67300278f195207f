"""The published schema, held against an independent validator and against the door itself."""

from __future__ import annotations

import json

import jsonschema
import pytest

from steadyhead.station.load import load
from steadyhead.station.plain import from_tree
from steadyhead.station.schema import DIALECT, IDENTITY, schema
from steadyhead.station.tree import read_tree
from tests.station.files import EXAMPLES, example, refused


@pytest.fixture(scope="module")
def validator():
    made = schema()
    jsonschema.Draft202012Validator.check_schema(made)
    return jsonschema.Draft202012Validator(made)


@pytest.mark.source(kind="independent", ref="jsonschema, draft 2020-12 validator")
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_is_valid(validator, name):
    assert list(validator.iter_errors(load(example(name)).data)) == []


@pytest.mark.source(kind="independent", ref="jsonschema, draft 2020-12 validator")
@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("typical: 8.6 bar", "typical: 8.6"),
        ("typical: 8.6 bar", "typical: '?'"),
        ("accuracy: 0.6 %", "accuracy: 0.6"),
        ("turns: 24 turns", "turns: 24"),
        ("name: Quillenby Row", f"name: {'x' * 61}"),
        ("typical: 8.6 bar", "typicl: 8.6 bar"),
        ("  typical: 8.6 bar\n", ""),
        ("typical: 8.6 bar", "typical: [8.6 bar]"),
        ("typical: 8.6 bar", "typical: {value: 8.6 bar, sauce: x}"),
        ("typical: 8.6 bar", "typical: {value: 8.6 bar, confidence: sure}"),
        ("  id: QUR-02", "  id: 9 lives"),
        ("kind: utility chamber", "kind: chamber"),
        ("part: strainer", "part: strainr"),
        ("{part: tap, id: T0}", "{id: T0}"),
        ("{part: tap, id: T0}", "tap"),
        ("duty: {pressure: 4.0 bar, flow: 5 L/s}", "duty: 4 bar"),
        ("hazards: [confined space, traffic, flooding]", "hazards: traffic"),
        ("latitude: 0.0", "latitude: north"),
        ("name: Quillenby Row", "name: {a: b}"),
        ("other_feed: yes", "other_feed: perhaps"),
        ("format: steadyhead/station/1", "format: steadyhead/station/2"),
    ],
)
def test_a_file_refused_for_its_structure_is_invalid_too(validator, old, new):
    text = example("quillenby-row", (old, new))
    assert refused(text)
    assert list(validator.iter_errors(from_tree(read_tree(text)).data))


def test_numbers_may_be_numbers_where_no_unit_is_needed(validator):
    data = json.loads(load(example()).canonical)
    data["demand"]["exponent"] = 0.6
    data["station"]["coordinates"] = {"latitude": 1, "longitude": 2.5}
    data["equipment"]["hand_pump"] = True
    assert list(validator.iter_errors(data)) == []


def test_the_schema_names_itself_without_an_address():
    made = schema()
    assert made["$id"] == IDENTITY
    assert made["$schema"] == DIALECT
    assert "http" not in json.dumps({key: value for key, value in made.items() if key != "$schema"})


def test_every_field_of_the_file_says_what_it_is_for():
    silent = [
        f"{owner}.{field}"
        for owner, form in schema()["$defs"].items()
        for field, about in form.get("properties", {}).items()
        if not owner.startswith("quantity_") and "description" not in about and field != "part"
    ]
    assert silent == []


def test_every_quantity_names_its_kind_and_units():
    shared = {name: form for name, form in schema()["$defs"].items() if name.startswith("quantity_")}
    assert all("units:" in form["description"] for name, form in shared.items() if name.endswith("_text"))
    assert shared["quantity_pressure"]["x-quantity"] == "pressure"
