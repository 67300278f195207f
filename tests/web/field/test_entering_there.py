"""What is touched on the device becomes the entry that the same words become on the command line."""

from __future__ import annotations

import hashlib
import json
import random
import shutil
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest

from steadyhead.errors import StationError
from steadyhead.procedure.entry_form import entry_of
from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import KINDS, VERBS, Entry, plain_entry
from steadyhead.services.entering import Book
from steadyhead.services.entering.answers import BESIDE
from steadyhead.services.entering.service import drafts
from steadyhead.services.field.device_words import unit_table
from steadyhead.units import METRIC
from steadyhead.units.table import UNITS
from tests.conftest import SEED
from tests.procedure.walking import Device
from tests.web.field.field_js import RUN, in_node, pack_of, plan_of

pytestmark = [
    pytest.mark.skipif(not shutil.which("node"), reason="no Node"),
    pytest.mark.by_turns(2),
]
STATION = "quillenby-row"
IMPORTS = {
    "entering": "act, answers, begin, choose, corrected, deviation, done, instrument, note, person, "
    "picture, position, sign, voided, Refused",
    "ledger": "Book, gathered",
    "view": "planOf",
}
BODY = """
const plan = planOf(data.pack)
const book = new Book(plan, data.pack.plan.sha256, "run-1", gathered(data.entries))
const table = data.pack.units
const calls = { answers: (...given) => answers(table, book, ...given),
  done: (...given) => done(book, ...given),
  act: (...given) => act(table, book, ...given), choose: (...given) => choose(book, ...given),
  position: (...given) => position(book, ...given), picture: (...given) => picture(book, ...given),
  note: (...given) => note(book, ...given), begin: (...given) => begin(book, ...given),
  person: (...given) => person(book, ...given), instrument: (...given) => instrument(table, book, ...given),
  deviation: (...given) => deviation(book, ...given), sign: (...given) => sign(table, book, ...given),
  corrected: (...given) => corrected(table, book, ...given), voided: (...given) => voided(book, ...given) }
const told = ([name, ...given]) => {
  try { return { drafts: calls[name](...given) } } catch (error) {
    if (error instanceof Refused) return { refused: error.problems.map((one) => one.field) }
    throw error
  }
}
result = { told: data.calls.map(told), things: book.things, instruments: [...book.instruments.keys()] }
"""


def amount(text: str) -> dict[str, str]:
    figure, _, unit = text.partition(" ")
    return {"typed": figure, "unit": unit}


def begun() -> list[Entry]:
    """Return what stands in the file before: a person, gauges, a reading corrected, one void, a note."""
    device = Device("tab-1", RUN)
    tg1 = {
        "name": "TG-1",
        "quantity": "pressure",
        "low": 0.0,
        "high": 1.6e6,
        "class": 0.001,
        "due": "2027-09-30",
    }
    made = [
        device.make("run", {"plan": plan_of(STATION).sha256, "kind": "first"}),
        device.make("person", {"name": "Tam Oduya"}),
        device.make("instrument", tg1),
        device.make("instrument", {"name": "M-1", "quantity": "flow"}),
        device.make(
            "reading",
            {"input": "T1", "quantity": "pressure", "value": 9e5, "typed": "9", "unit": "bar"},
            "B2",
        ),
        device.make("observation", {"input": "clear", "value": True}, "B3"),
        device.make("note", {"text": "a dry pit"}, "B3"),
        device.make(
            "reading",
            {"input": "flow", "quantity": "flow", "value": 4e-4, "typed": "0.4", "unit": "L/s"},
            "F1.SO",
        ),
    ]
    more = {"replaces": made[4].id}
    made.append(
        device.make("correction", {"reason": "typed wrong", "payload": {"value": 8.9e5}}, "B2", **more)
    )
    made.append(device.make("void", {"reason": "twice"}, "B3", replaces=made[5].id))
    return made


def photo(place: Path) -> dict[str, str]:
    return {"name": place.name, "sha256": hashlib.sha256(place.read_bytes()).hexdigest()}


def pairs(place: Path, entries: list[Entry]) -> list[tuple[list[str], list[Any]]]:
    """Return words of the command line, and what is touched on the device to say the same."""
    shot, file = photo(place), f"{place}"
    ids = [one.id for one in entries]
    beside = {
        "with": "TG-1",
        "flow": amount("0.4 L/s"),
        "stood": amount("10 s"),
        "moved": amount("-0.01 bar"),
    }
    swing = {"mean": amount("5.1 bar"), "swings_by": amount("0.2 bar"), "period": amount("3 s")}
    told = "T3=0.9 bar with=TG-1 flow=0.4 L/s stood=10 s moved=-0.01 bar"
    gauge = {
        "name": "TG-7",
        "what": "gauge",
        "low": amount("0 bar"),
        "high": amount("10 bar"),
        "due": "2027-09-30",
    }
    slip = {"about": "H5", "what": "w", "risk": "r", "owner": "o", "due": "2027-09-30", "accepted_by": "a"}
    return [
        (f"B2 {told}".split(), ["answers", "B2", {"T3": amount("0.9 bar")}, beside]),
        (
            ["B2", "T3=95.5", "psi", "tap=T4", "as=as", "found"],
            ["answers", "B2", {"T3": amount("95.5 psi")}, {"tap": "T4", "as": "as found"}],
        ),
        (["A4", "air=yes", "dry=no"], ["answers", "A4", {"air": True, "dry": False}]),
        (["A2", "permits=17, 18", "given=yes"], ["answers", "A2", {"permits": "17, 18", "given": "yes"}]),
        (["G1.SO", "here=12:48:20"], ["answers", "G1.SO", {"here": "12:48:20"}]),
        (["G1.SO", "here=25:48"], ["answers", "G1.SO", {"here": "25:48"}]),
        (["A5", f"photo={file}"], ["answers", "A5", {"photo": shot}]),
        (
            ["D2", "strokes=12", "wall.first=11.5", "°C"],
            ["answers", "D2", {"strokes": {"typed": "12"}, "wall.first": amount("11.5 °C")}],
        ),
        (["B1", "turns=1/4", "turns"], ["answers", "B1", {"turns": {"typed": "1/4", "unit": "turns"}}]),
        (["F1.SO", "flow=0.4", "L/s"], ["answers", "F1.SO", {"flow": amount("0.4 L/s")}]),
        (
            ["F1.SO", "hold=5.1", "bar", "flow=0.4", "L/s"],
            ["answers", "F1.SO", {"hold": amount("5.1 bar"), "flow": amount("0.4 L/s")}],
        ),
        (
            ["F1.SO", "hold=5.1", "bar", "flow=0.4", "L/s"],
            ["answers", "F1.SO", {"hold": amount("5.1 bar")}, {"flow": amount("0.4 L/s")}],
        ),
        (
            ["F2.SO", "T3.watch=5.1", "bar", "flow=0.4", "L/s"],
            ["answers", "F2.SO", {"T3.watch": amount("5.1 bar")}, {"flow": amount("0.4 L/s")}],
        ),
        (
            ["F1.SO", "hold=5.1", "bar", "at_flow=0.5", "L/s", "flow_with=M-1"],
            [
                "answers",
                "F1.SO",
                {"hold": amount("5.1 bar")},
                {"at_flow": amount("0.5 L/s"), "flow_with": "M-1"},
            ],
        ),
        (
            ["F1.SO", "hold=5.1", "bar", "wall=11", "°C", "read_at=-1.2", "m", "corrected_by=0.02", "bar"],
            [
                "answers",
                "F1.SO",
                {"hold": amount("5.1 bar")},
                {"wall": amount("11 °C"), "read_at": amount("-1.2 m"), "corrected_by": amount("0.02 bar")},
            ],
        ),
        (
            ["F1.SO", "hold=5.1", "bar", "mean=5.1", "bar", "swings_by=0.2", "bar", "period=3", "s"],
            ["answers", "F1.SO", {"hold": amount("5.1 bar")}, swing],
        ),
        (
            ["F1.SO", "hold=5.1", "bar", "mean=5.1", "bar"],
            ["answers", "F1.SO", {"hold": amount("5.1 bar")}, {"mean": amount("5.1 bar")}],
        ),
        (
            ["F1.SO", "hold=5.1", "bar", "with=TG-9"],
            ["answers", "F1.SO", {"hold": amount("5.1 bar")}, {"with": "TG-9"}],
        ),
        (
            ["F1.SO", "hold=5.1", "bar", "with=M-1"],
            ["answers", "F1.SO", {"hold": amount("5.1 bar")}, {"with": "M-1"}],
        ),
        (["A4", "air=yes", "stood=3", "s"], ["answers", "A4", {"air": True}, {"stood": amount("3 s")}]),
        (["A4", "air=maybe", "dry=perhaps"], ["answers", "A4", {"air": "maybe", "dry": "perhaps"}]),
        (["B2", "T9=1", "bar"], ["answers", "B2", {"T9": amount("1 bar")}]),
        (
            ["B2", "T3=x", "bar", "T1=1", "L/s"],
            ["answers", "B2", {"T3": amount("x bar"), "T1": amount("1 L/s")}],
        ),
        (["C1", "done"], ["done", "C1"]),
        (
            ["do", "tighten", "nut", "thing=SO.nut", "detail=by", "hand"],
            ["act", "", "tighten nut", {"thing": "SO.nut", "detail": "by hand"}],
        ),
        (
            ["do", "lower", "thing=SO.setting", "amount=1/4", "turn"],
            [
                "act",
                "",
                "lower",
                {"thing": "SO.setting", "amount": {"typed": "1/4", "unit": "turns", "kind": "turns"}},
            ],
        ),
        (
            ["C5", "do", "pump", "amount=2", "L"],
            ["act", "C5", "pump", {"amount": {"typed": "2", "unit": "L", "kind": "volume"}}],
        ),
        (["do", "clean", "thing=SO"], ["act", "", "clean", {"thing": "SO"}]),
        (["do", "clean"], ["act", "", "clean"]),
        (["do", "remove", "thing=outside.ladder"], ["act", "", "remove", {"thing": "outside.ladder"}]),
        (["do", "remove", "thing=outside.SO"], ["act", "", "remove", {"thing": "outside.SO"}]),
        (["do", "remove", "thing=kettle"], ["act", "", "remove", {"thing": "kettle"}]),
        (["do", "wiggle", "thing=SO"], ["act", "", "wiggle", {"thing": "SO"}]),
        (["do", "nothing", "touched", "to=7"], ["act", "", "nothing touched", {"to": ids[6]}]),
        (["do", "nothing", "touched", "to=3"], ["act", "", "nothing touched", {"to": ids[2]}]),
        (["do", "nothing", "touched"], ["act", "", "nothing touched"]),
        (["do", "second", "look", "to=10"], ["act", "", "second look", {"to": ids[9]}]),
        (["E0.SO", "choose", "set"], ["choose", "E0.SO", "set"]),
        (["E0.SO", "choose", "sit"], ["choose", "E0.SO", "sit"]),
        (["J4", "position", "IV1=open", "TD=shut"], ["position", "J4", {"IV1": "open", "TD": "shut"}]),
        (["position", "kettle=open"], ["position", "", {"kettle": "open"}]),
        (["photo", "of=the lid", f"file={file}"], ["picture", "", "the lid", shot]),
        (["B2", "note", "run", "1", "a", "bit", "high"], ["note", "B2", "run 1 a bit high"]),
        (["note"], ["note", "", " "]),
        (["begin", "purpose=renewal"], ["begin", {"purpose": "renewal"}]),
        (
            ["person", "name=Ilse Marrow", "role=engineer", "authorised_until=2027-12-31"],
            ["person", {"name": "Ilse Marrow", "role": "engineer", "authorised_until": "2027-12-31"}],
        ),
        (["person", "role=engineer"], ["person", {"role": "engineer"}]),
        (
            ["person", "name=I", "authorised_until=31.12."],
            ["person", {"name": "I", "authorised_until": "31.12."}],
        ),
        (
            [
                "instrument",
                "name=TG-7",
                "what=gauge",
                "low=0",
                "bar",
                "high=10",
                "bar",
                "class=0.6",
                "%",
                "due=2027-09-30",
            ],
            ["instrument", {**gauge, "class": amount("0.6 %")}],
        ),
        (
            ["instrument", "name=TG-7", "what=gauge", "low=0", "bar", "high=10", "bar", "due=2027-09-30"],
            ["instrument", gauge],
        ),
        (
            ["instrument", "name=SW-1", "what=stopwatch"],
            ["instrument", {"name": "SW-1", "what": "stopwatch"}],
        ),
        (
            ["instrument", "name=M-2", "what=meter", "quantity=flow", "high=20", "L/s", "class=2", "%"],
            [
                "instrument",
                {
                    "name": "M-2",
                    "what": "meter",
                    "quantity": "flow",
                    "high": amount("20 L/s"),
                    "class": amount("2 %"),
                },
            ],
        ),
        (["deviation", *(f"{key}={value}" for key, value in slip.items())], ["deviation", slip]),
        (
            ["deviation", *(f"{key}={value}" for key, value in {**slip, "about": "SO.acts"}.items())],
            ["deviation", {**slip, "about": "SO.acts"}],
        ),
        (
            ["deviation", *(f"{key}={value}" for key, value in {**slip, "about": "kettle"}.items())],
            ["deviation", {**slip, "about": "kettle"}],
        ),
        (["deviation", "about=H5"], ["deviation", {"about": "H5"}]),
        (
            ["sign", "provisional", "statement=as listed", "as_left.SO.trip=5.2 bar"],
            [
                "sign",
                "",
                "provisional",
                {"statement": "as listed", "as_left": {"SO.trip": amount("5.2 bar")}},
            ],
        ),
        (["K1", "sign", "final"], ["sign", "K1", "final"]),
        (["sign", "perhaps"], ["sign", "", "perhaps"]),
        (
            ["correct", "5", "value=8.7", "bar", "with=TG-1", "reason=read again"],
            ["corrected", ids[4], "read again", {"value": amount("8.7 bar"), "with": "TG-1"}],
        ),
        (
            ["correct", "9", "tap=T2", "stood=", "reason=wrong tap"],
            ["corrected", ids[8], "wrong tap", {"tap": "T2", "stood": None}],
        ),
        (["correct", "5", "value=", "reason=x"], ["corrected", ids[4], "x", {"value": None}]),
        (["correct", "5", "with=M-1", "reason=x"], ["corrected", ids[4], "x", {"with": "M-1"}]),
        (["correct", "5", "kind=x", "reason=x"], ["corrected", ids[4], "x", {"kind": "x"}]),
        (["correct", "5", "reason=x"], ["corrected", ids[4], "x", {}]),
        (["correct", "5", "value=8 bar"], ["corrected", ids[4], "", {"value": amount("8 bar")}]),
        (["correct", "6", "value=no", "reason=x"], ["corrected", ids[5], "x", {"value": False}]),
        (
            ["correct", "3", "due=2027-10-30", "class=0.2 %", "reason=x"],
            ["corrected", ids[2], "x", {"due": "2027-10-30", "class": amount("0.2 %")}],
        ),
        (["correct", "7", "text=a wet pit", "reason=x"], ["corrected", ids[6], "x", {"text": "a wet pit"}]),
        (["correct", "1", "kind=yearly", "reason=x"], ["corrected", ids[0], "x", {"kind": "yearly"}]),
        (["void", "7", "reason=twice"], ["voided", ids[6], "twice"]),
        (["void", "7"], ["voided", ids[6], ""]),
    ]


def readings(rng: random.Random) -> list[tuple[list[str], list[Any]]]:
    """Return readings of every unit there is, with any figure a pad can give."""
    found: list[tuple[list[str], list[Any]]] = []
    asked = {
        "pressure": ("B2", "T3"),
        "flow": ("F1.SO", "flow"),
        "leak": ("B2", "leak"),
        "temperature": ("D2", "wall.first"),
    }
    asked |= {"length": ("ES6.SO", "height"), "time": ("F2.SO", "closing"), "turns": ("B1", "turns")}
    for unit in UNITS:
        if unit.kind not in asked or unit.absolute:
            continue
        step, name = asked[unit.kind]
        figure = rng.choice(
            [f"{rng.uniform(-50, 900):.{rng.randrange(4)}f}", f"{rng.random():.3f}", "0", "7"]
        )
        words = [step, f"{name}={figure} {unit.symbol}"]
        found.append((words, ["answers", step, {name: {"typed": figure, "unit": unit.symbol}}]))
    return found


def in_python(book: Book, words: list[str]) -> dict[str, Any]:
    try:
        return {"drafts": [asdict(one) for one in drafts(book, words)]}
    except StationError:
        return {"refused": True}


def test_what_is_touched_says_what_the_same_words_say_and_is_refused_where_they_are(tmp_path: Path):
    place = tmp_path / "plate.jpg"
    place.write_bytes(b"a plate")
    entries = begun()
    plan = plan_of(STATION)
    cases = [*pairs(place, entries), *readings(random.Random(SEED))]
    data = {
        "pack": pack_of(plan, said=False),
        "entries": [plain_entry(one) for one in entries],
        "calls": [call for _, call in cases],
    }
    got = in_node(tmp_path, IMPORTS, BODY, data)
    book = Book.of(plan, dump(entries), "entries")
    device = Device("tab-9", RUN)
    for (words, call), found in zip(cases, got["told"], strict=True):
        wanted = in_python(book, words)
        if "refused" in wanted:
            assert found.get("refused"), (words, found)
            continue
        assert json.loads(json.dumps(wanted["drafts"])) == found.get("drafts"), (words, call, found)
        for one in found["drafts"]:
            made = plain_entry(
                device.make(one["kind"], one["payload"], one["node"], replaces=one["replaces"])
            )
            assert entry_of(json.loads(json.dumps(made))).payload == one["payload"]
    assert got["things"] == list(book.things)
    assert got["instruments"] == list(book.instruments)


def test_keys_acts_and_what_stands_beside_a_reading_are_those_of_python(tmp_path: Path):
    body = "result = { keys: KEYS, verbs: VERBS }"
    got = in_node(tmp_path, {"entering": "KEYS, VERBS"}, body, None)
    assert got["verbs"] == list(VERBS)
    assert {kind: tuple(keys) for kind, keys in got["keys"].items()} == {
        kind: KINDS[kind] for kind in got["keys"]
    }
    assert set(KINDS) - set(got["keys"]) == {"correction", "void", "sign"}
    text = (Path(__file__).parents[3] / "src/steadyhead/web/assets/field/entering.js").read_text("utf-8")
    listed = text.partition("const BESIDE = ")[2].partition("]")[0] + "]"
    assert json.loads(listed) == list(BESIDE)


def test_every_unit_of_the_table_is_offered_but_those_counted_from_vacuum():
    table = unit_table(METRIC)
    offered = {(kind, one["unit"]) for kind, units in table["kinds"].items() for one in units}
    assert offered == {(one.kind, one.symbol) for one in UNITS if not one.absolute and one.kind != "size"}
    assert all(units[0]["unit"] == METRIC.unit(kind) for kind, units in table["kinds"].items())
