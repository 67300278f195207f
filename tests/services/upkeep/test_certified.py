"""A final certificate counts as done on its day; a provisional, struck out or unproved one does not."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from steadyhead.register import Register
from steadyhead.register.tables import record
from steadyhead.services.certificates.making import plain_record
from steadyhead.services.stations.gist import renew
from steadyhead.services.upkeep.certified import counted
from steadyhead.services.upkeep.renew import put_standing
from tests.services.certificates.visits import certified
from tests.services.upkeep.times import DAY, LONE, WHO, row


@pytest.fixture(scope="module")
def signed() -> dict[str, Any]:
    """The record of a final yearly visit of 14 April 2027."""
    plain: dict[str, Any] = json.loads(json.dumps(plain_record(certified("yearly").record)))
    return plain


def keep(
    register: Register, plain: dict[str, Any], name: str = "c-1", kind: str = "certificate", **about: Any
) -> None:
    number, revision = plain.get("number", name), plain.get("revision", 1)
    whole = {"record": plain, "proved": True, "number": number, "revision": revision, **about}
    told = whole if kind == "certificate" else about
    with register.writing(WHO) as writing:
        content = writing.blob(json.dumps(plain).encode())
        row_ = {"id": name, "station": LONE, "kind": kind, "content": content, "at": writing.at, "who": WHO,
                "about": json.dumps(told)}  # fmt: skip
        writing.add(record, row_, f"{kind} kept", LONE)
        renew(writing, register, LONE, DAY)


def test_a_final_yearly_visit_counts_for_all_it_proved_on_its_day(signed: dict[str, Any]):
    found = {(one.activity, one.place): one.done for one in counted([("c-1", signed)])}
    assert signed["standing"] == "final"
    assert {
        ("trip_proof", "SO"),
        ("alarm_check", ""),
        ("functional_check", "RV"),
        ("isolating_travel", "IV2"),
    } <= set(found)
    proof = found["trip_proof", "SO"]
    assert (proof.on, proof.by, proof.name) == (date(2027, 4, 14), "certificate", signed["number"])
    assert proof.moved is None


def test_the_register_takes_it_as_the_trip_proof_done_that_day(register: Register, signed: dict[str, Any]):
    keep(register, signed)
    found = row(register, "trip_proof", "SO")
    assert (found["body"]["last"], found["on"]) == ("2027-04-14", "2027-10-14")
    assert found["body"]["source"] == f"certificate {signed['number']}"


def test_a_provisional_one_counts_for_nothing(register: Register, signed: dict[str, Any]):
    keep(register, {**signed, "standing": "provisional"})
    assert row(register, "trip_proof", "SO")["body"]["last"] == ""


def test_one_whose_signature_is_not_proved_counts_for_nothing(register: Register, signed: dict[str, Any]):
    keep(register, signed, proved=False)
    assert row(register, "trip_proof", "SO")["body"]["last"] == ""


def test_one_struck_out_counts_for_nothing(register: Register, signed: dict[str, Any]):
    keep(register, signed)
    keep(register, {}, "s-1", "strike", strikes="c-1")
    assert row(register, "trip_proof", "SO")["body"]["last"] == ""


def test_a_revision_takes_the_place_of_the_one_before(register: Register, signed: dict[str, Any]):
    keep(register, signed)
    keep(register, {**signed, "standing": "provisional", "revision": 2}, "c-2")
    assert row(register, "trip_proof", "SO")["body"]["last"] == ""


def test_a_proof_that_does_not_stand_counts_for_nothing(signed: dict[str, Any]):
    stale = json.loads(json.dumps(signed))
    stale["trips"][0]["state"] = "stale"
    found = {one.activity for one in counted([("c-1", stale)])}
    assert "trip_proof" not in found


def test_drift_is_held_against_what_was_left_the_time_before(signed: dict[str, Any]):
    later = json.loads(json.dumps(signed))
    later["day"], later["number"] = "2027-10-12", "another"
    for trip in later["trips"]:
        trip["at"] = "2027-10-12T09:00:00+01:00"
    left = next(one for one in signed["settings"] if one["key"] == "SO.trip")["as_left"]["value"]
    now = next(one for one in later["settings"] if one["key"] == "SO.trip")
    trip = later["trips"][0]
    now["as_found"]["value"] = left + 0.6 * (trip["high"] - trip["low"]) / 2
    found = [one for one in counted([("a", signed), ("b", later)]) if one.activity == "trip_proof"]
    assert found[1].done.moved == pytest.approx(0.6)


def test_what_is_no_certificate_is_no_harm(register: Register):
    keep(register, {"anything": 1})
    assert row(register, "trip_proof", "SO")["body"]["last"] == ""
    assert counted([("a", {"day": "not a day"}), ("b", {})]) == ()


class Stands:
    """How the proofs of a station stand, as the gist hands it on."""

    def __init__(self, state: str, words: str, since: str = "") -> None:
        self.state, self.words, self.since = state, words, since


def test_a_stale_proof_is_due_since_the_last_change_on_record(register: Register, signed: dict[str, Any]):
    keep(register, signed)
    with register.caching() as connection:
        put_standing(connection, LONE, Stands("stands", "proved"), DAY)
    assert row(register, "trip_proof", "SO")["on"] == "2027-10-14"
    with register.caching() as connection:
        put_standing(connection, LONE, Stands("stale", "proof stale, because the trip changed"), DAY)
    found = row(register, "trip_proof", "SO")
    assert found["on"] == found["body"]["was"] < "2027-10-14"
    assert found["body"]["because"] == "proof stale, because the trip changed"
    with register.caching() as connection:
        put_standing(connection, LONE, Stands("stale", "proof stale", "2026-04-20"), DAY)
    assert row(register, "trip_proof", "SO")["on"] == "2026-04-20"
    assert row(register, "look")["body"]["because"] == ""
