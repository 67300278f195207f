"""Steps of an entry: done in the text, read strictly, and what was typed becomes steps."""

from __future__ import annotations

import os
import random

import pytest

from steadyhead.errors import InputError, StationError
from steadyhead.services.stations.entry_model import PARTS, blank, fields_of, form_at
from steadyhead.services.stations.fields import at_words, form_of, read_at
from steadyhead.services.stations.steps import MOST_STEPS, draft, read_steps, steps_text
from steadyhead.services.stations.trying import drafted
from steadyhead.services.stations.typing_in import asked_steps, typed_steps
from steadyhead.station.document import dump
from steadyhead.station.examples import read
from steadyhead.station.plain import from_tree

SOURCE = read("quernhollow-lane")
TRIP = ("line", 5, "trip")


def _do(*steps):
    return draft(SOURCE, read_steps(list(steps)))


def _set(at, value):
    return {"do": "set", "at": list(at), "value": value}


def _data(document):
    return from_tree(document.root).data


def test_no_step_gives_the_bytes_as_they_were():
    assert dump(draft(SOURCE, ())) == SOURCE


def test_a_value_is_put_in_its_place_and_every_comment_stays():
    changed = _do(_set(TRIP, "75 psi")).text
    assert changed.replace("trip: 75 psi", "trip: 5.1 bar").encode() == SOURCE


def test_a_value_with_its_source_keeps_it_and_a_source_is_put_beside_a_bare_value():
    data = _data(_do(_set(("supply", "min"), "8 bar"), _set(("supply", "typical", "source"), "logger")))
    assert data["supply"]["min"]["value"] == "8 bar"
    assert data["supply"]["min"]["confidence"] == "measured"
    assert data["supply"]["typical"] == {"value": "10.6 bar", "source": "logger"}


def test_steps_done_together_are_those_done_one_by_one():
    steps = [
        _set(("alarm", "pressure"), "4.6 bar"),
        _set(("alarm", "pressure"), "4.7 bar"),
        {"do": "add", "at": ["line"], "to": 1, "value": {"part": "tap", "id": "T9"}},
        _set(("line", 1, "name"), "new"),
        {"do": "move", "at": ["line", 1], "to": 0},
        {"do": "remove", "at": ["equipment"]},
        _set(("hot_water",), {"volume": "?"}),
    ]
    source = SOURCE
    for step in steps:
        source = dump(draft(source, read_steps([step])))
    assert dump(_do(*steps)) == source


@pytest.mark.parametrize(
    "given",
    [
        None, 7, "no list", "[", [{"do": "burn", "at": ["a"]}], [{"do": "set", "at": []}], [{"at": ["a"]}],
        [_set((True,), "x")], [_set((-1,), "x")], [_set(("a b",), "x")], [_set((1.5,), "x")],
        [_set(("a",), 4.2)], [_set(("a",), "\ud800")], [_set(("a",), "x" * 5000)],
        [_set(("a",), {"b c": "x"})], [_set(("a",), [[[[[[[[[[[[[["x"]]]]]]]]]]]]]])],
        [_set(("a",), ["x"] * 500)], [_set(("a",), "x")] * 501,
        [{**_set(("a",), "x"), "more": 1}], [_set(["a"] * 20, "x")], [_set(("__class__ ",), "x")],
    ],
)  # fmt: skip
def test_what_is_no_step_is_refused_in_words(given):
    with pytest.raises(InputError) as refused:
        read_steps(given)
    assert refused.value.field == "steps"
    assert refused.value.remedy


def test_a_nest_of_brackets_without_end_is_refused():
    with pytest.raises(InputError):
        read_steps("[" * 100_000)


def test_many_steps_of_all_kinds_are_no_strain():
    add = {"do": "add", "at": ["gauges"], "value": {"id": "N", "span": "10 bar", "accuracy": "1 %"}}
    steps = read_steps([add, {"do": "remove", "at": ["gauges", 2]}] * 20)
    assert _data(draft(SOURCE, steps)) == _data(draft(SOURCE, ()))
    assert MOST_STEPS >= 200


def test_random_steps_are_done_or_refused_and_their_form_is_always_made():
    rng = random.Random(int(os.environ["STEADYHEAD_SEED"]))
    keys = ("station", "line", "limits", "supply", "reaches", "alarm", "pressure", "value", "source", "id",
            "part", "branches", "hazards", "mechanics", "answers", "zzz", "pilot", "stacking")  # fmt: skip
    values: tuple[object, ...] = (
              "x", "?", "", {}, [], ["a"], [["0"]], True, {"a": {"b": "c"}}, "- a", "\n", "{", "&a", "*a",
              {"part": "tap"}, [{"part": "tap"}], {"part": ["x"]},
              {"part": "reducer", "pilot": "x"}, "\x01")  # fmt: skip
    for _ in range(25):
        given = []
        for _ in range(rng.randrange(1, 4)):
            at = [rng.choice(keys), *(rng.choice((rng.choice(keys), rng.randrange(14))) for _ in range(3))]
            do = rng.choice(("set", "set", "add", "remove", "move"))
            step = {"do": do, "at": at[: rng.randrange(1, 5)], "value": rng.choice(values)}
            given.append(step | ({"to": rng.randrange(14)} if rng.random() < 0.5 else {}))
        try:
            found = drafted(SOURCE, read_steps(given), judging=rng.random() < 0.3)
        except StationError:
            continue
        form_of(found.data, found.problems)


def test_steps_go_into_a_form_and_come_back():
    steps = read_steps([_set(TRIP, "5.2 bar"), {"do": "move", "at": ["line", 1], "to": 0}])
    assert read_steps(steps_text(steps)) == steps


def test_what_is_typed_as_it_stands_is_no_step():
    data = drafted(SOURCE, (), judging=False).data
    texts, lists = {}, {}

    def collect(groups):
        for group in groups:
            for row in group.rows:
                if row.kind == "several":
                    lists[row.at] = row.values
                else:
                    texts[row.at] = row.value
                texts.update({one.at: one.value for one in row.extras})
            collect(group.groups)

    collect(form_of(data).groups)
    assert len(texts) > 250
    assert typed_steps(data, texts, lists) == ()


def test_what_is_typed_otherwise_becomes_a_step_and_an_emptied_field_goes():
    data = drafted(SOURCE, (), judging=False).data
    steps = typed_steps(
        data,
        {"line.5.trip": "5.2 bar", "station.zone": "", "demand.night": "", "demand.fire": "34 L/s"},
        {"station.hazards": ["noise"]},
    )
    changed = _data(draft(SOURCE, steps))
    assert changed["line"][5]["trip"] == "5.2 bar"
    assert "zone" not in changed["station"]
    assert changed["demand"]["night"]["value"] == "?"  # where it came from is not thrown away with it
    assert changed["station"]["hazards"] == ["noise"]


def test_every_part_can_be_added_with_its_required_fields_to_fill_in():
    data = drafted(SOURCE, (), judging=False).data
    for part in PARTS:
        steps = asked_steps(data, "add:line", {"part:line": part, "to:line": "3"})
        found = drafted(SOURCE, steps)
        assert found.data["line"][3]["part"] == part
        assert found.problems or part == "parallel"
        assert all(one.at.startswith("line.3") for one in found.problems)


def test_blocks_are_added_removed_and_items_moved_by_their_buttons():
    data = drafted(SOURCE, (), judging=False).data
    assert _data(draft(SOURCE, asked_steps(data, "add:hot_water", {})))["hot_water"] == {"volume": "?"}
    assert "alarm" not in _data(draft(SOURCE, asked_steps(data, "remove:alarm", {})))
    assert _data(draft(SOURCE, asked_steps(data, "down:gauges.0", {})))["gauges"][1]["id"] == "TG-07"
    assert asked_steps(data, "up:gauges.0", {}) == ()
    for strange in ("burn:line", "add:", "add:format", "up:line", "up:line.99", "add:line"):
        with pytest.raises(InputError):
            asked_steps(data, strange, {})


def test_places_in_words_come_back():
    for path in (("line", 4, "trip"), ("supply", "min", "value")):
        assert read_at(at_words(path)) == path


def test_the_form_has_every_field_of_the_model():
    from steadyhead.records.station import Station

    for form in fields_of(Station):
        assert form_at((form.name,), {}) == form
        assert form.purpose
    for name, model in PARTS.items():
        assert blank(model, part=name)["part"] == name
        assert {form.name for form in fields_of(model)} == set(model.model_fields)


def test_what_nobody_stated_is_shown_with_its_evidence():
    found = drafted(SOURCE, ())
    assert found.judged is not None
    form = form_of(found.data, (), found.judged.sheet.defaults)
    rows = {row.at: row for group in form.groups for row in group.rows}
    assert rows["zone.elasticity"].provenance.startswith("derived: PVC-U")
    line = next(group for group in form.groups if group.at == "line")
    valve = next(group for group in line.groups if group.at == "line.1")
    kv = next(row for row in valve.rows if row.name == "kv")
    assert kv.value == ""
    assert kv.otherwise.startswith("Kv ")
    assert "own estimate" in kv.provenance
    assert next(row for row in valve.rows if row.name == "tight").value == "yes"


def test_a_problem_stands_beside_its_field_and_counts_in_its_groups():
    found = drafted(SOURCE, read_steps([_set(TRIP, "5 bra"), _set(("station", "name"), "")]))
    form = form_of(found.data, found.problems)
    line = next(group for group in form.groups if group.at == "line")
    assert line.wrong == 1
    rows = next(group for group in line.groups if group.at == "line.5").rows
    problem = next(row for row in rows if row.name == "trip").problems[0]
    assert "bra" in problem.problem
    assert problem.remedy
    assert problem.line > 60
    assert len(form.problems) == 2
