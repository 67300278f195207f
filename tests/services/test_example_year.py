"""The example year: the same for the same day, in an empty register only."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from sqlalchemy import select

from steadyhead.errors import InputError
from steadyhead.register import Register, open_register
from steadyhead.register.tables import doing, entry, fitting, piece, record, station
from steadyhead.services.example_year import fill, filling, stories
from steadyhead.services.history import history_view

DAY = date(2026, 11, 26)
FEW = (("Pinnock Yard", stories.pinnock_yard), ("Tarnholt Quay", stories.tarnholt_quay))


@pytest.fixture
def register(tmp_path: Path):
    found = open_register(tmp_path / "register")
    yield found
    found.close()


def told(register: Register) -> tuple[list[tuple[str, ...]], set[str], set[str]]:
    """Return stations with their proof, entries, and the papers that follow from them, by hash."""
    with register.reading() as connection:
        c = station.c
        stations = [
            tuple(row) for row in connection.execute(select(c.key, c.proof, c.proof_words).order_by(c.key))
        ]
        lines = set(connection.execute(select(entry.c.line)).scalars())
        kinds = ("plan", "photo", "letter")
        papers = set(connection.execute(select(record.c.content).where(record.c.kind.in_(kinds))).scalars())
        for table in (doing, fitting, piece):
            rows = connection.execute(select(table).order_by(table.c.id))
            stations += [tuple(map(str, row)) for row in rows]
    return stations, lines, papers


def test_a_part_of_the_year_is_the_same_for_the_same_day(register, tmp_path, monkeypatch):
    monkeypatch.setattr(filling, "STORIES", FEW)
    seen: list[tuple[float, str]] = []
    assert fill(register, lambda share, words: seen.append((share, words)), DAY) == 2
    assert seen == [(0.0, "Pinnock Yard"), (0.5, "Tarnholt Quay"), (1.0, "done")]
    stations, lines, papers = told(register)
    assert [(key, state) for key, state, _ in stations[:2]] == [("PNY-1", "due"), ("THQ-F1", "none")]
    assert len(stations) > 2
    assert len(lines) > 100
    assert len(papers) == 3
    other = open_register(tmp_path / "other")
    fill(other, None, DAY)
    assert told(other) == (stations, lines, papers)
    other.close()
    with pytest.raises(InputError) as refused:
        fill(register, None, DAY)
    assert refused.value.field == "--example"


def test_what_is_told_bears_the_day_it_is_told_of(register, monkeypatch):
    monkeypatch.setattr(filling, "STORIES", FEW[1:])
    fill(register, None, DAY)
    days = [one.at[:10] for one in history_view(register, "THQ-F1", day=DAY).lines]
    assert days == sorted(days, reverse=True)
    assert days[-1] == "2026-08-28"


def test_every_story_has_a_station_of_the_shelf_and_a_name():
    names = [name for name, _ in stories.STORIES]
    assert len(names) == len(set(names)) == 11
    assert all(story.__doc__ for _, story in stories.STORIES)


def test_a_year_filled_in_the_small_hours_ends_yesterday_with_nothing_to_come(register, monkeypatch):
    monkeypatch.setattr(filling, "today", lambda: date(2026, 11, 27))
    assert filling.last_day(datetime(2026, 11, 27, 0, 10, tzinfo=UTC)) == date(2026, 11, 26)
    assert filling.last_day(datetime(2026, 11, 27, 5, 13, tzinfo=UTC)) == date(2026, 11, 27)
    monkeypatch.setattr(filling, "STORIES", (("Mesquill Flat 7", stories.mesquill_flat),))
    fill(register)
    with register.reading() as connection:
        kinds = set(connection.execute(select(record.c.kind)).scalars())
    assert "trip" in kinds
