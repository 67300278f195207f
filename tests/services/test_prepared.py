"""What is prepared is made once, and anew when other code would make it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import insert, select

from steadyhead.register import Register, open_register
from steadyhead.register.tables import prepared as table
from steadyhead.register.tables import station
from steadyhead.services import prepared


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    found = open_register(tmp_path)
    with found.caching() as connection:
        connection.execute(insert(station).values(key="a"))
    yield found
    found.close()


def _count(register: Register) -> int:
    with register.reading() as connection:
        return len(connection.execute(select(table.c.key)).all())


def test_it_is_made_once(register):
    made = []

    def make() -> bytes:
        made.append(1)
        return b"x"

    for _ in range(2):
        assert prepared.prepared(register, "a", "k", {"file": "1"}, make) == b"x"
    assert made == [1]
    assert prepared.is_prepared(register, "k", {"file": "1"})
    assert not prepared.is_prepared(register, "k", {"file": "2"})


def test_other_code_makes_it_anew_and_the_old_is_thrown_away(register, monkeypatch):
    prepared.sweep(register)
    prepared.prepared(register, "a", "k", {}, lambda: b"old")
    assert not prepared.sweep(register)
    assert _count(register) == 1
    monkeypatch.setattr(prepared, "code", lambda: "another")
    assert prepared.prepared(register, "a", "k", {}, lambda: b"new") == b"new"
    assert prepared.sweep(register)
    assert _count(register) == 0
