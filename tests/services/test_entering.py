"""Entering: what a person says becomes entries, all of it or nothing, and nothing before it changes."""

from __future__ import annotations

import json
import multiprocessing
import os
import tempfile
import uuid
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from steadyhead.errors import InputError, InputErrors, StationError
from steadyhead.procedure.ledger import dump, gathered, read
from steadyhead.records.entry import KINDS, Entry
from steadyhead.records.procedure import Procedure
from steadyhead.services.entering import Book, Entered, Stamp, enter
from steadyhead.services.entering.answers import BESIDE
from steadyhead.services.entering.appending import append
from steadyhead.services.entering.draft import Draft, measured, pairs
from steadyhead.services.entering.making import new_id
from steadyhead.services.entering.service import drafts
from steadyhead.services.plan_files import plan_file, read_plan_file
from steadyhead.services.planning import make_plan
from steadyhead.services.running import judge_run
from steadyhead.station import examples
from tests.procedure.walking import clean_ways, walk

START = "2027-04-14T08:00+01:00"
TAM = Stamp("Tam Oduya", "tab-1", START)
GAUGE = "instrument name=TG-1 what=gauge low=0 bar high=16 bar class=0.1 % due=2027-09-30"
UNITS = {
    "pressure": " Pa",
    "flow": " m³/s",
    "leak": " m³/s",
    "temperature": " K",
    "length": " m",
    "time": " s",
    "turns": " turns",
}
LATER = Stamp("", "tab-1", "08:10")


@cache
def plan(name: str = "quillenby-row", kind: str = "first") -> tuple[Procedure, bytes]:
    made = make_plan(examples.read(name), kind)
    assert made.procedure is not None
    return made.procedure, plan_file(made.procedure)


@cache
def begun() -> bytes:
    """Return a file begun with a person and a gauge."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "begun.jsonl"
        enter(plan()[1], str(place), ["person", "name=Tam Oduya", "role=technician"], TAM)
        enter(plan()[1], str(place), GAUGE.split(), LATER)
        return place.read_bytes()


@pytest.fixture
def put(tmp_path: Path) -> Callable[..., Entered]:
    """Return a hand that enters into one file, begun with a person and a gauge."""
    place = str(tmp_path / "visit.jsonl")

    def entered(words: str | list[str], stamp: Stamp = LATER) -> Entered:
        split = words.split() if isinstance(words, str) else words
        before = Path(place).read_bytes() if Path(place).exists() else b""
        made = enter(plan()[1], place, split, stamp)
        assert Path(place).read_bytes().startswith(before)
        return made

    Path(place).write_bytes(begun())
    entered.place = Path(place)  # type: ignore[attr-defined]
    return entered


def content(put: Callable[..., Entered]) -> bytes:
    data: bytes = put.place.read_bytes()  # type: ignore[attr-defined]
    return data


def refused(put: Callable[..., Entered], words: str, *told: str, stamp: Stamp = LATER) -> None:
    before = content(put)
    with pytest.raises(StationError) as error:
        put(words, stamp)
    text = str(error.value)
    assert [part for part in told if part not in text] == [], text
    assert content(put) == before


def test_the_file_begins_with_its_format_and_the_run(put: Callable[..., Entered]) -> None:
    lines = [json.loads(line) for line in content(put).splitlines()]
    assert lines[0] == {"format": "steadyhead/entries/1"}
    assert [line["kind"] for line in lines[1:]] == ["run", "person", "instrument"]
    assert lines[1]["payload"] == {"plan": read_plan_file(plan()[1]).sha256, "kind": "first"}
    assert [line["device_seq"] for line in lines[1:]] == [1, 2, 3]
    assert len({line["run"] for line in lines[1:]}) == 1


def test_a_value_is_kept_in_si_and_as_it_was_typed(put: Callable[..., Entered]) -> None:
    made = put("A6 first=58 psi second=4,02 bar with=TG-1 stood=60 s moved=0.7 psi flow=0 L/s as=as found")
    first, second = (entry.payload for entry in made.entries)
    assert first["value"] == pytest.approx(58 * 6894.757293168, rel=1e-9)
    assert (first["typed"], first["unit"]) == ("58", "psi")
    assert (second["typed"], second["unit"]) == ("4,02", "bar")
    assert first["instrument"] == "TG-1"
    assert first["tap"] == made.after.procedure.node("A6").inputs[1].tap
    assert (first["flow"], first["steady_for"], first["as"]) == (0.0, 60.0, "as found")
    assert first["steady_within"] == pytest.approx(0.7 * 6894.757293168, rel=1e-9)


@pytest.mark.parametrize(
    ("words", "kind", "says"),
    [
        ("A1 released=yes", "observation", {"input": "released", "value": True}),
        ("A4 air=no", "observation", {"value": False}),
        ("A2 permits=E-114 entry, T-27 road", "observation", {"value": "E-114 entry, T-27 road"}),
        ("A4 done", "action", {"do": "tick"}),
        ("do lower thing=SO.setting amount=1/4 turn detail=by hand", "action",
         {"amount": 0.25, "unit": "turns", "detail": "by hand"}),
        ("ES6.SO do tighten nut thing=SO.nut", "action", {"do": "tighten nut", "thing": "SO.nut"}),
        ("do open thing=IV1 to=1.75 turns", "action", {"do": "open", "to": "1.75 turns"}),
        ("E0.SO choose set", "choice", {"choice": "E0.SO", "option": "set"}),
        ("J4 position IV1=locked open", "position", {"thing": "IV1", "is": "locked open"}),
        ("note run 1 a bit high, dp=0.1", "note", {"text": "run 1 a bit high, dp=0.1"}),
        ("F1.SO note slow", "note", {"text": "slow"}),
        ("person name=Ilse Marrow authorised_until=2027-12-31", "person", {"name": "Ilse Marrow"}),
        ("instrument name=M1 quantity=flow low=0 L/s high=40 L/s class=2 % due=2027-09-30", "instrument",
         {"quantity": "flow", "high": 0.04, "class": 0.02}),
        ("deviation about=A7 what=w risk=r owner=o due=2027-06-01 accepted_by=b", "deviation",
         {"about": "A7", "due": "2027-06-01"}),
        ("sign provisional statement=as far as done", "sign", {"asks": "provisional"}),
    ],
)  # fmt: skip
def test_each_kind_is_entered_without_writing_data(
    put: Callable[..., Entered], words: str, kind: str, says: dict[str, object]
) -> None:
    entry = put(words).entries[-1]
    assert entry.kind == kind
    assert {key: entry.payload.get(key) for key in says} == says
    assert set(entry.payload) <= {*KINDS[kind]}
    assert read(content(put)).faults == ()


def test_a_photo_is_kept_by_its_hash(put: Callable[..., Entered], tmp_path: Path) -> None:
    (tmp_path / "plate.jpg").write_bytes(b"abc")
    entry = put(f"A5 photo={tmp_path / 'plate.jpg'}").entries[-1]
    known = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"  # FIPS 180-4, example "abc"
    assert entry.payload == {"of": "photo", "name": "plate.jpg", "sha256": known}
    refused(put, "A5 photo=none.jpg", "none.jpg is not there")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("A1 relased=yes", ("relased", "Did you mean released?")),
        ("F1.SO T3=5 bar", ("T3", "What is read at T3 is entered as hold or act.")),
        ("F1.S0 hold=5 bar", ("F1.S0", "Did you mean F1.SO")),
        ("A1 released=perhaps", ("Write yes or no",)),
        ("A1", ("got no answer", "released")),
        ("A6 first=4.05", ("first", "bar")),
        ("A6 first=4.05 L/s", ("first",)),
        ("A6 first=5.1 bar abs", ("counted from vacuum",)),
        ("A6 first=4.05 bar with=TG-2", ("TG-2", "not described", "TG-1", "Describe it first")),
        ("A1 released=yes with=TG-1", ("with", "fits none")),
        ("A6 first=4 bar mean=4 bar", ("swings_by, period is missing",)),
        ("E0.SO choose sett", ("Did you mean set",)),
        ("A1 choose set", ("is no choice",)),
        ("do tighten nuts thing=SO.nut", ("Did you mean tighten nut",)),
        ("do tighten nut thing=SO.nt", ("Did you mean SO.nut", "whole valve")),
        ("do tighten nut", ("tighten nut what?",)),
        ("position IV1", ("IV1=shut",)),
        ("deviation about=A7 what=w", ("risk, owner, due, accepted_by",)),
        ("deviation about=A99 what=w risk=r owner=o due=2027-06-01 accepted_by=b", ("A99",)),
        ("deviation about=SO.trip what=w risk=r owner=o due=2027-06-01 accepted_by=b", ("nobody",)),
        ("deviation about=A7 what=w risk=r owner=o due=soon accepted_by=b", ("no day",)),
        ("instrument name=X low=0 bar high=10 bar class=0.6 due=2027-09-30", ("0.6 %",)),
        ("instrument name=X low=0 bar high=10 bar class=0.6 %", ("due",)),
        ("sign", ("sign final or sign provisional",)),
        ("sign final statement=x", ("stand against final", "RUN-07 A1")),
        ("A1 person name=X", ("belongs to no step",)),
        ("correct 99 value=1 bar reason=x", ("holds entries 1 to 3",)),
        ("correct 1 kind=yearly reason=x", ("a run is not corrected",)),
        ("correct 3 due=2027-10-30", ("reason",)),
        ("void 3", ("reason",)),
        ("A1 released=yes released=no", ("given twice",)),
        ("", ("no step of this plan",)),
    ],
)
def test_what_cannot_be_used_is_said_with_its_remedy_and_nothing_is_written(
    put: Callable[..., Entered], words: str, told: tuple[str, ...]
) -> None:
    refused(put, words, *told)


def test_every_wrong_name_is_told_at_once(put: Callable[..., Entered]) -> None:
    with pytest.raises(InputErrors) as error:
        put("A6 frist=4 bar second=4 with=TG-1")
    assert [one.field for one in error.value.errors] == ["frist", "second"]


def test_a_file_that_cannot_be_begun_is_not_left_behind(tmp_path: Path) -> None:
    place = tmp_path / "new.jsonl"
    early = replace(TAM, at="08:10")
    for stamp, words in ((Stamp(), "A1 released=yes"), (TAM, "A1 relased=yes"), (early, "A4 done")):
        with pytest.raises(StationError):
            enter(plan()[1], str(place), words.split(), stamp)
        assert not place.exists()


def test_who_is_said_once_and_must_be_one_of_those_described(put: Callable[..., Entered]) -> None:
    assert put("A1 released=yes").entries[-1].who == "Tam Oduya"
    refused(put, "A1 released=yes", "Tam Odu", "Known are: Tam Oduya", stamp=replace(LATER, who="Tam Odu"))
    put("person name=Ilse Marrow", replace(LATER, who="Tam Oduya"))
    assert put("A1 released=yes", replace(LATER, who="Ilse Marrow")).entries[-1].who == "Ilse Marrow"


def test_a_time_given_by_hand_is_marked_and_one_of_day_falls_on_the_day_of_the_entry_before(
    put: Callable[..., Entered],
) -> None:
    late = put("A1 released=yes", replace(LATER, at="12:55")).entries[-1]
    assert (late.t_device, late.t_mono, late.by_hand) == ("2027-04-14T12:55:00+01:00", 0.0, True)
    now = put("A4 done", replace(LATER, at="")).entries[-1]
    assert not now.by_hand
    assert now.t_device.count(":") == 3
    refused(put, "A4 done", "--at", "12:55", stamp=replace(LATER, at="noon"))


def test_what_is_outside_its_band_is_entered_and_told_with_what_to_do(put: Callable[..., Entered]) -> None:
    made = put("B2 T3=0.9 bar with=TG-1 stood=60 s moved=0.01 bar")
    (band,) = made.bands
    assert not band.is_inside
    assert band.unit == "psi"
    assert [finding.code for finding in made.amiss()] == ["RUN-08"]
    assert not made.is_fine
    assert put("correct 4 value=0.01 bar reason=misread").is_fine


def test_a_touch_says_which_proofs_it_takes_away(put: Callable[..., Entered], tmp_path: Path) -> None:
    procedure, stored = plan()
    place = tmp_path / "walked.jsonl"
    place.write_bytes(dump(walk(procedure, {"E0.SO": "set", "E0.RV": "fits"})))
    words = ["do", "tighten", "nut", "thing=SO.nut"]
    made = enter(stored, str(place), words, Stamp("Tam Oduya", "tab-2", "23:00"))
    assert ("SO.trip", "valid", "stale") in made.proofs
    assert not made.is_fine
    assert "F1.SO" in made.after.judgement.next


def test_a_clean_visit_is_signed_as_final(tmp_path: Path) -> None:
    procedure, stored = plan()
    place = tmp_path / "walked.jsonl"
    place.write_bytes(dump(walk(procedure, {"E0.SO": "set", "E0.RV": "fits"})))
    words = ["sign", "final", "statement=tested as listed", "as_left.SO.trip=5.1 bar"]
    made = enter(stored, str(place), words, Stamp("Ilse Marrow", "tab-1", "23:00"))
    assert made.after.judgement.signs[0].stands
    assert made.entries[-1].payload["as_left"] == {"SO.trip": pytest.approx(510000.0)}


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("quillenby-row", "first"),
        ("quernhollow-lane", "first"),
        ("dunmarrow-bottom", "yearly"),
        ("dunmarrow-bottom", "restart"),
    ],
)
def test_everything_a_plan_asks_can_be_entered_and_the_visit_is_final(name: str, kind: str) -> None:
    stored = plan(name, kind)[1]
    procedure = read_plan_file(stored).procedure
    walked = walk(procedure, clean_ways(procedure)[0])
    book = Book(read_plan_file(stored), tuple(entry for entry in walked if entry.kind == "instrument"))
    made = [entry if entry.kind in ("run", "instrument") else said(book, entry) for entry in walked]
    judged = judge_run(stored, dump(made))
    assert judged.is_final
    before = judge_run(stored, dump(walked)).judgement.told
    assert [(one.code, one.about) for one in judged.judgement.told] == [
        (one.code, one.about) for one in before
    ]


def said(book: Book, entry: Entry) -> Entry:
    """Return an entry as it becomes when a person enters it in words."""
    if entry.kind == "photo":
        return entry
    own = [one for one in drafts(book, _words(entry)) if _names(one) == _names(entry)]
    draft = own[-1]
    assert (draft.kind, draft.node) == (entry.kind, entry.node)
    return replace(entry, payload=draft.payload)


def _names(one: Draft | Entry) -> tuple[str, object]:
    return one.kind, one.payload.get("input")


def _words(entry: Entry) -> list[str]:
    payload = entry.payload
    if entry.kind == "action":
        return [entry.node, "done"]
    if entry.kind == "choice":
        return [entry.node, "choose", *str(payload["option"]).split()]
    if entry.kind == "observation":
        value = {True: "yes", False: "no"}.get(payload["value"], payload["value"])
        return [entry.node, f"{payload['input']}={value}"]
    unit = UNITS.get(payload["quantity"], "")
    words = [entry.node, f"{payload['input']}={payload['value']!r}{unit}"]
    if payload["quantity"] == "pressure":
        words += [f"with={payload['instrument']}"] + (
            [] if payload["input"] == "flow" else [f"at_flow={payload['flow']!r} m³/s"]
        )
        for key, name, of in (("steady_for", "stood", "s"), ("steady_within", "moved", "Pa")):
            words += [f"{name}={payload[key]!r} {of}"] if key in payload else []
    return words


def test_a_name_that_may_stand_beside_answers_is_asked_for_by_no_plan_but_the_flow() -> None:
    for name, kind in (("quernhollow-lane", "first"), ("dunmarrow-bottom", "yearly")):
        asked = {one.name for node in plan(name, kind)[0].nodes for one in node.inputs}
        assert asked & {*BESIDE} <= {"flow"}


def test_corrections_amend_and_voids_take_out_and_both_are_kept(put: Callable[..., Entered]) -> None:
    put("A6 first=4.05 bar with=TG-1 stood=60 s moved=0.01 bar flow=0.4 L/s")
    put("correct 4 value=4.02 bar flow= reason=misread")
    standing = put("correct 5 as=as found reason=forgotten").after.ledger.standing
    reading = standing[-1].payload
    assert (reading["value"], reading["typed"], reading["as"]) == (
        pytest.approx(402000.0),
        "4.02",
        "as found",
    )
    assert "flow" not in reading
    made = put("void 4 reason=another station")
    assert all(entry.kind != "reading" for entry in made.after.ledger.standing)
    refused(put, "correct 4 value=4 bar reason=x", "is void")
    back = put("void 7 reason=it was this one")
    assert any(entry.kind == "reading" for entry in back.after.ledger.standing)
    listed = Book.of(read_plan_file(plan()[1]), content(put), "x").listed()
    assert [(one.corrected, one.voided, one.amends) for one in listed[3:]] == [
        ((5, 6), (7,), 0), ((), (), 4), ((), (), 4), ((), (8,), 4), ((), (), 7),
    ]  # fmt: skip


def test_other_kinds_are_corrected_by_their_own_names(put: Callable[..., Entered]) -> None:
    put("A4 air=yes")
    assert put("correct 4 value=no reason=x").entries[-1].payload["payload"] == {"value": False}
    gauge = put("correct 3 class=0.6 % due=2027-10-30 reason=label").entries[-1].payload["payload"]
    assert gauge == {"class": pytest.approx(0.006), "due": "2027-10-30"}
    assert put("correct 2 role=engineer reason=x").entries[-1].payload["payload"] == {"role": "engineer"}
    refused(put, "correct 4 vlaue=no reason=x", "Did you mean value?")


@pytest.mark.parametrize("torn", [b'{"id":"x","ru', b"\xff\xfe", b'{"id":"x"'])
def test_behind_a_line_that_was_cut_off_nothing_is_added(put: Callable[..., Entered], torn: bytes) -> None:
    put.place.write_bytes(content(put) + torn)  # type: ignore[attr-defined]
    refused(put, "A1 released=yes", "cut off", "take that last line away")


def test_a_whole_line_without_its_end_gets_one(put: Callable[..., Entered]) -> None:
    put.place.write_bytes(content(put).removesuffix(b"\n"))  # type: ignore[attr-defined]
    made = put("A1 released=yes")
    assert made.first == 4
    assert read(content(put)).faults == ()
    assert len(read(content(put)).forms) == 4


def test_what_the_disk_does_not_take_whole_is_taken_back(
    put: Callable[..., Entered], monkeypatch: pytest.MonkeyPatch
) -> None:
    real, calls = os.fsync, []

    def full(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 1:
            raise OSError(28, "No space left on device")
        real(handle)

    monkeypatch.setattr(os, "fsync", full)
    refused(put, "A1 released=yes", "No space left", "Nothing was entered")


def test_a_plan_the_run_was_not_begun_with_is_refused(put: Callable[..., Entered]) -> None:
    other = plan("dunmarrow-bottom")[1]
    with pytest.raises(InputError, match="was begun with the plan"):
        enter(other, str(put.place), ["A1", "released=yes"], LATER)  # type: ignore[attr-defined]


def _many(place: str, name: str, count: int) -> None:
    for number in range(count):

        def line(content: bytes, number: int = number) -> bytes:
            return f"{name} {number} {len(content.splitlines())}\n".encode()

        append(place, line, 10**9)


def test_writers_at_one_time_lose_no_line_and_see_each_other(tmp_path: Path) -> None:
    place = tmp_path / "all.txt"
    place.write_bytes(b'{"format":"steadyhead/entries/1"}\n')
    context = multiprocessing.get_context("spawn")
    hands = [context.Process(target=_many, args=(str(place), f"w{one}", 40)) for one in range(3)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join(60)
    lines = place.read_text().splitlines()[1:]
    wanted = sorted(f"w{hand} {number}" for hand in range(3) for number in range(40))
    assert sorted(line.rsplit(" ", 1)[0] for line in lines) == wanted
    assert [int(line.rsplit(" ", 1)[1]) for line in lines] == list(range(1, 121))


@pytest.mark.source(kind="published", ref="RFC 9562, 5.7: UUID version 7, milliseconds first")
def test_ids_are_of_version_7_and_rise_with_time() -> None:
    for micros in (0, 1_808_000_000_000_000, 4_000_000_000_000_000):
        made = uuid.UUID(new_id(micros))
        assert made.version == 7
        assert made.variant == uuid.RFC_4122
        assert made.int >> 80 == micros // 1000
    assert new_id(1_000_000) < new_id(2_000_000)
    assert len({new_id(0) for _ in range(1000)}) == 1000


def test_words_without_an_equals_sign_belong_to_the_value_before_them() -> None:
    assert pairs(["hold=5.17", "bar", "with=TG-07"]) == ("", {"hold": "5.17 bar", "with": "TG-07"})
    assert pairs(["a = b", "c=d"]) == ("a = b", {"c": "d"})


def test_counts_are_bare_numbers() -> None:
    assert measured("strokes", "12", "count").si == 12.0
    with pytest.raises(InputError, match="no number"):
        measured("strokes", "a dozen", "count")


def test_a_draft_stands_for_no_run() -> None:
    assert gathered(()).standing == ()
    assert Draft("note", {"text": "x"}).node == ""


@pytest.mark.parametrize("what", ["stopwatch", "contact thermometer", "steel rule"])
def test_of_a_stopwatch_a_thermometer_or_a_rule_no_class_and_no_range_is_asked(
    put: Callable[..., Entered], what: str
) -> None:
    made = put(f"instrument name=X-1 what={what}")
    assert made.entries[-1].payload["quantity"] in ("time", "temperature", "length")


def test_a_gauge_without_its_class_is_still_refused(put: Callable[..., Entered]) -> None:
    with pytest.raises(InputError, match="class"):
        put("instrument name=X-1 what=gauge low=0 bar high=10 bar due=2027-09-30")


def test_a_run_is_told_what_it_is_for_and_by_whose_leave(put: Callable[..., Entered]) -> None:
    made = put("begin purpose=change record CR-12, agreed by the owner")
    assert made.entries[-1].kind == "run"
    assert made.entries[-1].payload["purpose"] == "change record CR-12, agreed by the owner"


def _fields(made: Entered) -> dict[str, float]:
    return {str(one.payload["input"]): float(one.payload.get("flow", -1.0)) for one in made.entries}


def test_a_flow_beside_a_reading_after_the_closing_leaves_the_flow_of_the_closing_alone(put):
    step = next(node.id for node in plan()[0].nodes if node.id.startswith("F2."))
    first = put(f"{step} closing=5.1 s T3.start=4.7 bar with=TG-1 flow=0.2 L/s")
    assert "flow" in _fields(first)
    watched = put(f"{step} T3.watch=0.0 bar with=TG-1 flow=0 L/s flow.after=0 L/s")
    assert set(_fields(watched)) == {"T3.watch", "flow.after"}
    assert _fields(watched)["T3.watch"] == 0.0
    again = put(f"{step} T3.start=4.7 bar with=TG-1 flow=0.3 L/s")
    assert "flow" in _fields(again)


def test_of_an_instrument_without_a_range_it_is_said_how_one_that_is_no_gauge_is_described() -> None:
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "begun.jsonl"
        place.write_bytes(begun())
        with pytest.raises(InputError, match=r"what=stopwatch.*quantity=flow"):
            enter(plan()[1], str(place), ["instrument", "name=stopwatch"], LATER)
        enter(plan()[1], str(place), ["instrument", "name=SW-1", "what=stopwatch"], LATER)
