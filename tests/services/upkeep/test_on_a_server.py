"""Upkeep on a PostgreSQL server: the same story as on the embedded database, the same answers."""

from __future__ import annotations

from pathlib import Path

from steadyhead.register import Register
from steadyhead.services.stations.saving import save
from steadyhead.services.upkeep import doings, pieces
from steadyhead.services.upkeep.all_due import all_due, asked
from steadyhead.services.upkeep.calendar import feed
from steadyhead.services.upkeep.of_piece import of_piece, pieces_list
from steadyhead.services.upkeep.of_station import of_station
from steadyhead.services.upkeep.paper import due_paper
from steadyhead.station.examples import read
from tests.register.servers import opened
from tests.services.upkeep.times import CLOCK, DAY, LONE, WHO


def story(register: Register) -> list[object]:
    """Play some upkeep and return what the lists say of it, ids left away."""
    save(register, read("quillenby-row"), WHO, "an example")
    doings.into_service(register, LONE, WHO, on="2020-05-04", clock=CLOCK)
    told = doings.done(register, LONE, WHO, activity="trip_proof", place="SO", on="2026-11-30", clock=CLOCK)
    doings.defer(
        register, LONE, WHO, activity="trip_proof", place="SO", until="2027-08-15", reason="no feed",
        risk="some", measure="watched", approver="R. Tamblyn", clock=CLOCK,
    )  # fmt: skip
    piece = pieces.put_in_new(
        register, LONE, WHO, place="SO", serial="44-1", on="2020-05-04", why="first", clock=CLOCK
    )
    pieces.move(register, piece.id, WHO, on="2027-01-31", why="worn", clock=CLOCK)
    doings.strike(register, LONE, WHO, line=told.id, reason="slip", clock=CLOCK)
    found: list[object] = []
    for by in ("why", "day", "place"):
        for show in ("work", "all", "deferred", "overdue"):
            view = all_due(register, asked("2030-01-01", "quillenby", show, by, DAY), 3, 11)
            found.append(
                [view.total, *((ln.activity, ln.place, ln.state) for g in view.groups for ln in g.lines)]
            )
    found.append([(one.on, one.words) for one in of_piece(register, piece.id).events])
    found.append([(one.kind, one.serial, one.station) for one in pieces_list(register, "44").rows])
    found.append([(one.words, one.is_struck) for one in of_station(register, LONE, DAY).past])
    found.append(feed(register, day=DAY).count(b"BEGIN:VEVENT"))
    found.append(due_paper(register, asked(day=DAY))[:4])
    return found


def test_a_server_gives_the_answers_of_the_embedded_database(tmp_path: Path):
    with opened("server", tmp_path) as server:
        there = story(server)
    with opened("embedded", tmp_path / "register") as embedded:
        assert there == story(embedded)
