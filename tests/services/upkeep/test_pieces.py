"""Pieces: two places at once are refused, and each keeps its own history wherever it goes."""

from __future__ import annotations

import pytest

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.upkeep import doings, pieces
from steadyhead.services.upkeep.of_piece import of_piece, pieces_list
from tests.services.upkeep.times import CLOCK, LONE, PAIR, WHO, row


def put(
    register: Register, place: str = "SO", serial: str = "44-1", on: str = "2020-05-04", key: str = LONE
) -> str:
    return pieces.put_in_new(
        register, key, WHO, place=place, serial=serial, on=on, why="first fitted", clock=CLOCK
    ).id


def move(register: Register, name: str, on: str, key: str = "", place: str = "") -> None:
    pieces.move(register, name, WHO, on=on, why="swapped", key=key, place=place, clock=CLOCK)


def test_a_new_piece_asks_for_a_new_proof_of_its_place(register: Register):
    put(register)
    doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2027-02-01", clock=CLOCK)
    assert row(register, "trip_proof", "SO")["on"] == "2027-08-01"
    old = pieces.standing_at
    with register.reading() as connection:
        name = old(connection, LONE, "SO")
    move(register, name, "2027-05-10")
    put(register, serial="44-2", on="2027-05-10")
    found = row(register, "trip_proof", "SO")
    assert (found["on"], found["body"]["last"]) == ("2027-05-10", "")
    assert found["body"]["because"] == "no proof since shut-off 44-2 was put in"


def test_an_inspection_goes_with_the_piece_and_the_cleaning_stays_with_the_place(register: Register):
    shut_off = put(register)
    strainer = put(register, place="ST", serial="7")
    doings.done(register, LONE, WHO, activity="inside_inspection", place="SO", on="2026-03-01", clock=CLOCK)
    doings.done(register, LONE, WHO, activity="strainer_clean", place="ST", on="2027-03-01", clock=CLOCK)
    move(register, shut_off, "2027-05-10", PAIR, "SOA")
    move(register, strainer, "2027-05-10", PAIR, "ST")
    assert row(register, "inside_inspection", "SOA", PAIR)["body"]["last"] == "2026-03-01"
    assert row(register, "strainer_clean", "ST", PAIR)["body"]["last"] == ""
    assert row(register, "strainer_clean", "ST")["body"]["last"] == "2027-03-01"
    assert row(register, "inside_inspection", "SO")["body"]["piece"] is None
    events = [(one.words, one.station, one.place) for one in of_piece(register, shut_off).events]
    assert events == [
        ("put in", PAIR, "SOA"),
        ("taken out", LONE, "SO"),
        ("inside inspection", LONE, "SO"),
        ("put in", LONE, "SO"),
    ]


def test_a_pilot_is_a_piece_of_its_own(register: Register):
    pilot = put(register, place="SO.pilot", serial="P-1")
    doings.done(register, LONE, WHO, activity="pilot_overhaul", place="SO", on="2026-03-01", clock=CLOCK)
    move(register, pilot, "2027-05-10", PAIR, "RVB.pilot")
    assert row(register, "pilot_overhaul", "RVB", PAIR)["body"]["last"] == "2026-03-01"


def test_two_pieces_in_one_place_and_one_piece_in_two_are_refused(register: Register):
    name = put(register)
    with pytest.raises(InputErrors, match="two pieces cannot stand in one place"):
        put(register, serial="44-2")
    with pytest.raises(InputErrors, match="one piece cannot be in two places"):
        put(register, serial="44-1", place="SOA", key=PAIR)
    with pytest.raises(InputErrors, match="one piece cannot be in two places"):
        put(register, serial=" 44-1 ", place="SOA", key=PAIR)
    with pytest.raises(InputErrors, match="stands in SO already"):
        move(register, name, "2027-05-10", LONE, "SO")
    other = put(register, serial="44-9", place="SOA", key=PAIR)
    with pytest.raises(InputErrors, match="holds shut-off 44-1"):
        move(register, other, "2027-05-10", LONE, "SO")


def test_a_piece_goes_only_where_its_kind_stands_and_not_before_it_came(register: Register):
    name = put(register, on="2024-02-29")
    with pytest.raises(InputErrors, match="takes a reducer; this is a shut-off"):
        move(register, name, "2027-05-10", LONE, "RV")
    with pytest.raises(InputErrors, match="its last line is of 2024-02-29"):
        move(register, name, "2024-02-28")
    with pytest.raises(InputErrors, match="after 2027-06-30"):
        move(register, name, "2027-07-02")
    move(register, name, "2024-02-29")
    with pytest.raises(InputErrors, match="stands nowhere"):
        move(register, name, "2027-05-10")
    with pytest.raises(InputErrors, match="taken out 2024-02-29"):
        put(register, serial="44-2", on="2024-02-28")
    with pytest.raises(NotKept):
        move(register, "none", "2027-05-10")


def test_a_wrong_move_is_struck_out_and_everything_stands_as_before(register: Register):
    name = put(register)
    move(register, name, "2027-05-10", PAIR, "SOA")
    newest = next(one for one in of_piece(register, name).events if one.can_strike)
    first = next(one for one in of_piece(register, name).events if one.on == "2020-05-04")
    with pytest.raises(InputErrors, match="not the last line"):
        pieces.strike_fitting(register, name, WHO, line=first.id, reason="slip", clock=CLOCK)
    pieces.strike_fitting(register, name, WHO, line=newest.id, reason="wrong piece", clock=CLOCK)
    found = of_piece(register, name)
    assert (found.station, found.place, found.since) == (LONE, "SO", "2020-05-04")
    assert row(register, "trip_proof", "SOA", PAIR)["body"]["piece"] is None
    assert row(register, "trip_proof", "SO")["body"]["piece"][0] == name
    assert sum(one.is_struck for one in found.events) == 2


def test_striking_a_move_out_is_refused_once_another_piece_stands_there(register: Register):
    name = put(register)
    move(register, name, "2027-05-10", PAIR, "SOA")
    put(register, serial="44-2", on="2027-05-10")
    newest = next(one for one in of_piece(register, name).events if one.can_strike)
    with pytest.raises(InputError, match="another piece stands in SO"):
        pieces.strike_fitting(register, name, WHO, line=newest.id, reason="slip", clock=CLOCK)


def test_pieces_are_found_by_serial_number_and_kind(register: Register):
    put(register)
    put(register, place="ST", serial="x_7%")
    assert [one.serial for one in pieces_list(register, "shut-off").rows] == ["44-1"]
    assert [one.serial for one in pieces_list(register, "_7%").rows] == ["x_7%"]
    assert pieces_list(register, "nothing").total == 0
    assert (pieces_list(register).rows[0].station, pieces_list(register).rows[0].place) == (LONE, "SO")


def test_a_piece_needs_a_number_and_a_place_that_is_there(register: Register):
    with pytest.raises(InputErrors, match="number on its plate"):
        put(register, serial=" - ")
    with pytest.raises(ValueError, match="Use one of"):
        put(register, place="T3")
