"""The ledger: every line is accounted for, and laying ledgers together is a union."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import LONGEST_LINE, Ledger, dump, gathered, merge, read
from steadyhead.records.entry import Entry, clock_micros, plain_entry
from tests.procedure.test_judging import random_runs


def line(**more: Any) -> dict[str, Any]:
    return {
        "id": "e-1", "run": "r", "node": "A", "device": "d", "device_seq": 1, "kind": "note",
        "payload": {"text": "dry"}, "who": "Ilse", "t_device": "2027-04-14T08:05:00+01:00", **more,
    }  # fmt: skip


def written(*lines: Any) -> bytes:
    return b"".join(json.dumps(one).encode() + b"\n" for one in lines)


def _as(data: Any) -> bytes:
    return json.dumps(data).encode()


def problems(ledger: Ledger) -> list[tuple[int, str]]:
    return [(fault.line, fault.problem) for fault in ledger.faults]


def test_what_is_written_is_read_again():
    for made in random_runs(31, 40):
        ledger = gathered(made)
        assert read(dump(ledger.entries)) == ledger
        assert dump(read(dump(ledger.entries)).entries) == dump(ledger.entries)


def test_what_a_newer_program_wrote_beside_is_kept():
    stored = written(line(mood="calm", kind="weather", payload={"sky": [1, {"x": None}]}))
    (entry,) = read(stored).entries
    assert entry.more == {"mood": "calm"}
    assert json.loads(dump([entry]).splitlines()[1]) == plain_entry(entry)
    assert plain_entry(entry)["mood"] == "calm"


def test_entries_stand_in_the_order_of_corrected_time_device_and_number():
    late = line(id="1", device="f", t_device="2027-04-14T08:05:00+01:00", clock_offset=30.0)
    early = line(id="2", device="e", t_device="2027-04-14T07:05:10Z")
    same = [line(id="3", device="c", device_seq=9), line(id="4", device_seq=2), line(id="5", device_seq=10)]
    assert [entry.id for entry in read(written(late, early, *same)).entries] == ["3", "4", "5", "2", "1"]


def test_a_sync_that_moves_the_clock_of_a_device_does_not_turn_its_entries_round():
    stop = line(id="1", device_seq=1, t_device="2027-04-14T08:05:40+01:00")
    record = line(id="2", device_seq=2, t_device="2027-04-14T08:05:50+01:00", clock_offset=-60.0)
    other = line(id="3", device="e", t_device="2027-04-14T08:05:20+01:00")
    assert [entry.id for entry in read(written(record, other, stop)).entries] == ["1", "2", "3"]
    typed = {**stop, "t_device": "2027-04-14T08:09:00+01:00", "typed_at": "2027-04-14T18:00:00+01:00"}
    assert [entry.id for entry in read(written(record, typed, other)).entries] == ["2", "3", "1"]
    old, new = read(written(record, stop)).entries
    assert new.follows(old)
    assert not old.follows(new)


def test_a_clock_that_falls_back_by_hours_takes_nothing_with_it():
    touch = line(id="1", device_seq=1, t_device="2027-04-14T08:05:40+01:00")
    proof = line(id="2", device="e", t_device="2027-04-14T08:05:20+01:00")
    reset = line(id="3", device_seq=2, t_device="2000-01-01T00:00:00Z")
    assert [entry.id for entry in read(written(reset, proof, touch)).entries] == ["3", "2", "1"]


@pytest.mark.source(kind="analytic", ref="2027-04-14T07:05Z is day 20922 of the epoch and 25,500 s")
def test_a_time_with_its_offset_is_microseconds_of_the_epoch():
    assert clock_micros("2027-04-14T08:05:00+01:00") == (20922 * 86400 + 25500) * 1_000_000
    assert clock_micros("2027-04-14T08:05:00.25+01:00") % 1_000_000 == 250_000
    assert clock_micros("2028-02-29T00:00Z") - clock_micros("2028-02-28T00:00Z") == 86_400_000_000


@pytest.mark.parametrize(
    ("bad", "told"),
    [
        pytest.param(b'{"id": "x"', "is no JSON", id="cut off in the middle"),
        pytest.param(b"[1, 2]", "is no entry but list", id="a list"),
        pytest.param(b'{"a": NaN}', "NaN is no number", id="NaN"),
        pytest.param(b'{"a": 1, "a": 2}', "a key stands twice", id="a key twice"),
        pytest.param(b"\xff\xfe{}", "is no UTF-8", id="no UTF-8"),
        pytest.param(b"[" * 100_000, "nested", id="nested without end"),
        pytest.param(b'{"a": "' + b"x" * LONGEST_LINE + b'"}', "bytes; the most is", id="far too long"),
        pytest.param(_as(line(id="\ud800")), "no other program can keep", id="half a character"),
        pytest.param(_as(line(payload={"text": "\udfff"})), "no other program", id="half in a text"),
        pytest.param(_as(line(device_seq=True)), "device_seq", id="a boolean as a number"),
        pytest.param(_as(line(device_seq=1.5)), "no whole number", id="half a number"),
        pytest.param(_as(line(device_seq=-1)), "upwards", id="counting downwards"),
        pytest.param(_as(line(clock_offset=False)), "clock_offset", id="offset as a boolean"),
        pytest.param(_as(line(clock_offset=1e12)), "before 1990 or after 2200", id="far offset"),
        pytest.param(_as(line(clock_within=-1.0)), "half width", id="negative half width"),
        pytest.param(_as(line(t_device="2027-04-14T08:05:00")), "t_device", id="no offset"),
        pytest.param(_as(line(t_device="2027-02-30T08:05:00Z")), "t_device", id="no such day"),
        pytest.param(_as(line(t_device="yesterday")), "t_device", id="no time"),
        pytest.param(_as(line(payload="dry")), "payload", id="payload as text"),
        pytest.param(_as(line(payload={})), "payload.text", id="a note without text"),
        pytest.param(_as(line(who=7)), "who", id="a number as a person"),
        pytest.param(_as(line(kind=7)), "kind: got 7, which is no text", id="a number as a kind"),
        pytest.param(_as({k: v for k, v in line().items() if k != "run"}), "run", id="no run"),
        pytest.param(_as(line(kind="weather", payload={"value": 10**400})), "keep", id="huge"),
        pytest.param(_as(line(payload={"text": "dry", "at": [1e200]})), "the most is", id="huge in a list"),
        pytest.param(
            _as(line(kind="reading", payload={"input": "x", "steady_for": "long"})),
            "payload.steady_for", id="text as a number",
        ),
    ],
)  # fmt: skip
def test_a_bad_line_is_named_by_its_number_and_the_others_are_read(bad: bytes, told: str) -> None:
    good = written(line(id="1"), line(id="2"))
    first, second = good.splitlines(keepends=True)
    ledger = read(first + bad + b"\n" + second, "run.jsonl")
    assert [entry.id for entry in ledger.entries] == ["1", "2"]
    ((number, problem),) = problems(ledger)
    assert number == 2
    assert told in problem
    assert ledger.faults[0].remedy
    assert len(ledger.faults[0].text) <= 60


def test_a_line_is_read_up_to_its_longest():
    bare = _as(line(payload={"text": ""}))
    for more, faults in ((0, 0), (1, 1)):
        whole = _as(line(payload={"text": "x" * (1_000_000 - len(bare) + more)}))
        assert len(whole) == 1_000_000 + more
        assert len(read(whole + b"\n").faults) == faults


def test_a_last_line_that_was_cut_off_is_said_to_be_so():
    ledger = read(written(line()) + b'{"id": "e-2", "ru')
    assert problems(ledger) == [(2, "is cut off: the file does not end with a whole line.")]


def test_blank_lines_line_ends_of_another_system_and_a_mark_at_the_start_count_for_nothing():
    stored = b"\xef\xbb\xbf" + written(line()).replace(b"\n", b"\r\n") + b"\r\n  \n"
    assert [entry.id for entry in read(stored).entries] == ["e-1"]
    assert read(stored).faults == ()
    assert read(b"") == Ledger()


def test_another_format_is_refused_with_a_remedy():
    with pytest.raises(InputError, match="steadyhead/entries/2") as refused:
        read(b'{"format": "steadyhead/entries/2"}\n' + written(line()))
    assert "steadyhead/entries/1" in refused.value.remedy


def test_the_same_entry_twice_is_one_whatever_its_blanks_and_the_order_of_its_keys():
    turned = json.dumps(dict(reversed(line().items())), indent=1).replace("\n", " ").encode()
    ledger = read(written(line(), line(device_seq=1.0)) + turned + b"\n")
    assert len(ledger.entries) == 1
    assert ledger.faults == ()


def test_one_id_with_two_contents_is_judged_in_neither_and_kept_in_both():
    ledger = read(written(line(), line(payload={"text": "wet"}), line(id="e-2")))
    assert [entry.id for entry in ledger.entries] == ["e-2"]
    (clash,) = ledger.clashes
    assert clash.id == "e-1"
    assert {entry.payload["text"] for entry in clash.forms} == {"dry", "wet"}
    assert len(read(dump(ledger.forms)).clashes) == 1


parts = st.integers(0, 10_000).map(lambda seed: _part(seed))


def _part(seed: int) -> Ledger:
    """Return some entries of one long run, now and then one that was changed on the way."""
    rng = random.Random(seed)
    made = [entry for run in random_runs(77, 4) for entry in run]
    kept = [_kept(entry, rng) for entry in rng.sample(made, rng.randrange(len(made)))]
    return merge(gathered(kept), read(written(line(id=str(seed))) + b"{", f"file {seed % 3}"))


def _kept(entry: Entry, rng: random.Random) -> Entry:
    return replace(entry, who="another") if rng.random() < 0.05 else entry


@settings(max_examples=30, deadline=None)
@given(parts, parts, parts)
def test_laying_together_is_a_union(a: Ledger, b: Ledger, c: Ledger) -> None:
    assert merge(a, b) == merge(b, a)
    assert merge(merge(a, b), c) == merge(a, merge(b, c))
    assert merge(a, a) == a
    assert merge(a, Ledger()) == a
    whole = merge(a, b, c)
    assert set(whole.faults) == {*a.faults, *b.faults, *c.faults}
    assert {entry.id for entry in whole.forms} == {entry.id for part in (a, b, c) for entry in part.forms}


def test_a_correction_stands_beside_what_it_corrects():
    fix = line(
        id="e-2",
        device_seq=2,
        kind="correction",
        replaces="e-1",
        payload={"reason": "misread", "payload": {"text": "wet"}},
    )
    ledger = read(written(line(), fix))
    assert [entry.id for entry in ledger.entries] == ["e-1", "e-2"]
    (standing,) = ledger.standing
    assert standing.id == "e-1"
    assert standing.payload == {"text": "wet"}
    assert ledger.entries[0].payload == {"text": "dry"}
