"""Whatever is changed in a register past the program is named; what is whole is said to be whole."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import text

from steadyhead.errors import InputError
from steadyhead.findings import CATALOGUE
from steadyhead.register import Register, open_register, tables
from steadyhead.register.core import row_digest
from steadyhead.register.guards import unguard
from steadyhead.register.reading import looking
from steadyhead.register.verifying import MOST, verify
from steadyhead.reports.attaching import Attached
from steadyhead.services.archive import verifying
from steadyhead.services.archive.verifying import verify_place
from steadyhead.services.archive.writing import export
from tests.register.filled import fill
from tests.register.servers import opened
from tests.services.archive.test_archive import changed

OWN_CODES = sorted(code for code in CATALOGUE if code.startswith("REG-"))


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A filled register, closed."""
    folder = tmp_path_factory.mktemp("whole") / "register"
    register = open_register(folder)
    fill(register)
    register.close()
    return folder


@pytest.fixture
def folder(whole: Path, tmp_path: Path) -> Path:
    """A copy that may be hurt."""
    shutil.copytree(whole, tmp_path / "hurt")
    return tmp_path / "hurt"


def hurt(folder: Path, *statements: str) -> None:
    """Do something to a register past the program, its guards taken away and put back."""
    database = sqlite3.connect(folder / "register.sqlite")
    guards = [sql for (sql,) in database.execute("SELECT sql FROM sqlite_master WHERE type = 'trigger'")]
    names = [one for (one,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]
    for name in names:
        database.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        database.execute(statement)
    for sql in guards:
        database.execute(sql)
    database.commit()
    database.close()


def codes(folder: Path | str) -> dict[str, str]:
    """Return the findings of a register by code: the words of the first of each."""
    found = verify_place(str(folder))
    return {one.code: one.statement for one in reversed(found.troubles)}


HURTS = {
    "REG-02": (["UPDATE audit SET who = 'Mallory' WHERE seq = 5"], "Link 5 .* was changed"),
    "REG-03": (["UPDATE audit SET previous = 'f00' WHERE seq = 7"], "Link 7 .* names f00… as the hash"),
    "REG-04": (["DELETE FROM audit WHERE seq IN (5, 6)"], "Between link 4 and link 7 .*, 2 are missing"),
    "REG-05": (["UPDATE doing SET \"on\" = '2027-04-09'"], "doing d1 was changed after link"),
    "REG-06": (["DELETE FROM entry WHERE seq = 2"], "entry run-1 2 is not there; link"),
    "REG-07": (["INSERT INTO piece (id) VALUES ('p2')"], "piece p2 is there, and no link tells of it"),
    "REG-08": (
        ["UPDATE blob SET bytes = x'00' WHERE hash = (SELECT file FROM revision LIMIT 1)"],
        "have the hash",
    ),
    "REG-09": (["DELETE FROM blob WHERE hash = (SELECT plan FROM run)"], "run run-1 names the bytes"),
    "REG-10": (
        ["UPDATE station SET head = 1 WHERE key = 'DMB-01'"],
        "DMB-01 shows revision 1; the last one kept is 2",
    ),
    "REG-16": (
        ["UPDATE station SET struck = 'x' WHERE key = 'DMB-01'"],
        "DMB-01 is off the list; .* on the list",
    ),
    "REG-12": (["UPDATE alembic_version SET version_num = 'r9999'"], "of step r9999; this version knows"),
    "REG-14": (["UPDATE released SET revision = 2"], "DMB-01 r1: its record holds"),
}


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("DELETE FROM station WHERE key = 'DMB-01'", "station DMB-01 shows revision none"),
        ("UPDATE account SET role = 'administer'", "account Bo was changed after link"),
        ("UPDATE account SET state = 'active'", "account Bo was changed after link"),
        (
            "INSERT INTO account (id, name, role) VALUES ('x', 'Mal', 'administer')",
            "account Mal is there, and",
        ),
        ("UPDATE setting SET value = 'other' WHERE name = 'id'", "the register's own id was changed after"),
        ("DELETE FROM setting WHERE name = 'id'", "the register's own id was changed after"),
        ("UPDATE blob SET size = 1 WHERE hash = (SELECT plan FROM run)", "have the hash"),
        (
            "UPDATE station SET made_by = 'Mallory' WHERE key = 'DMB-01'",
            "station DMB-01 was changed after link",
        ),
        ("UPDATE station SET made_at = '2020-01-01T00:00:00.000Z'", "station DMB-01 was changed after link"),
    ],
)
def test_what_changes_in_the_program_is_held_against_what_was_told_of_it(folder, statement, words):
    hurt(folder, statement)
    assert [one for one in codes(folder).values() if words in one], codes(folder)


@pytest.mark.parametrize("code", sorted(HURTS))
def test_what_is_changed_past_the_program_is_named(folder, code):
    statements, words = HURTS[code]
    hurt(folder, *statements)
    found = codes(folder)
    assert code in found
    assert re.search(words, found[code]), found[code]


def test_every_code_is_raised_by_a_test_and_its_words_can_be_told():
    here = Path(__file__).read_text(encoding="utf-8")
    assert [code for code in OWN_CODES if f'"{code}"' not in here] == []
    for code in OWN_CODES:
        entry = CATALOGUE[code]
        assert entry.sources
        for words in (entry.statement, entry.why, entry.cure):
            assert words.endswith((".", "}"))


def test_a_logger_file_that_is_gone_is_named(folder):
    next(one for one in (folder / "logs" / "raw").rglob("*") if one.is_file()).unlink()
    assert list(codes(folder)) == ["REG-17"]
    assert "a.csv, given with import 1 of DMB-01 is not there" in codes(folder)["REG-17"]


def test_a_guard_that_was_taken_away_is_named_and_forbids_nothing(folder):
    database = sqlite3.connect(folder / "register.sqlite")
    database.execute("DROP TRIGGER kept_doing_delete")
    database.close()
    found = verify_place(str(folder))
    assert [(one.code, one.subject) for one in found.troubles] == [("REG-11", "doing")]
    assert found.is_whole


def test_the_first_broken_link_is_named_first(folder):
    hurt(folder, "UPDATE audit SET body = '{}' WHERE seq IN (9, 4)")
    found = verify_place(str(folder))
    assert found.first_broken == 4
    assert "Link 4 is the first that does not hold" in found.words
    assert found.troubles[0].subject == "link 4"


def test_the_first_link_that_tells_of_something_else_is_named(folder):
    hurt(folder, "UPDATE entry SET line = 'x' WHERE seq > 1", "DELETE FROM fitting")
    words = verify_place(str(folder)).words
    found = re.search(r"than what is there is link (\d+)\.$", words)
    assert found is not None
    number = int(found[1])
    database = sqlite3.connect(folder / "register.sqlite")
    asked = 'SELECT MIN(seq) FROM audit WHERE body LIKE \'%"key":["run-1",2]%\''
    assert number == database.execute(asked).fetchone()[0]
    database.close()


def test_a_link_rewritten_with_its_hash_is_noticed_at_the_next(folder):
    database = sqlite3.connect(folder / "register.sqlite")
    database.row_factory = sqlite3.Row
    row = dict(database.execute("SELECT * FROM audit WHERE seq = 4").fetchone())
    database.close()
    from steadyhead.register.chain import Link

    forged = Link(**(row | {"who": "Mallory"})).worked_out()
    hurt(folder, f"UPDATE audit SET who = 'Mallory', hash = '{forged}' WHERE seq = 4")
    found = verify_place(str(folder))
    assert (found.first_broken, found.troubles[0].code) == (5, "REG-03")


def test_a_chain_that_was_cut_short_leaves_rows_nobody_tells_of_and_breaks_certificates(folder, monkeypatch):
    register = open_register(folder)
    head = register.head()
    row = {
        "id": "c1",
        "station": "DMB-01",
        "kind": "certificate",
        "name": "c.pdf",
        "media": "application/pdf",
    }
    with register.writing("Ilse Marrow") as writing:
        row["content"] = writing.blob(b"%PDF a certificate")
        row["about"] = '{"made_here": true}'
        writing.add(tables.record, row, "certificate kept", "DMB-01")
    register.close()
    named = (head.seq, head.hash)
    monkeypatch.setattr(verifying, "link_named", lambda content: named)
    assert codes(folder) == {}
    hurt(folder, f"DELETE FROM audit WHERE seq >= {head.seq}")
    found = codes(folder)
    assert "the chain ends before it" in found["REG-13"]
    assert "record c1 is there" in found["REG-07"]


def test_the_link_a_certificate_names_is_read_out_of_its_record(monkeypatch):
    assert verifying.link_named(b"%PDF nothing laid in") is None
    for told, named in (({"chain": {"seq": 7, "at": "", "hash": "ab"}}, (7, "ab")), ({}, None)):
        apart = Attached(b"", {"record.json": json.dumps(told).encode()}, True, b"")
        monkeypatch.setattr("steadyhead.reports.attaching.taken_apart", lambda content, apart=apart: apart)
        assert verifying.link_named(b"") == named


def test_verifying_changes_nothing_on_the_disk(folder):
    before = {one: one.read_bytes() for one in folder.rglob("*") if one.is_file()}
    assert verify_place(str(folder)).is_whole
    assert {one: one.read_bytes() for one in folder.rglob("*") if one.is_file()} == before


def test_a_register_that_is_open_or_was_killed_is_verified_with_what_lies_in_its_log(folder, tmp_path):
    register = open_register(folder)
    with register.writing("Bo") as writing:
        writing.tell("looked at", "DMB-01")
    left = tmp_path / "killed"
    shutil.copytree(folder, left)  # as a killed server leaves it: the log is not in the database yet
    for place in (folder, left):
        found = verify_place(str(place))
        assert (found.is_whole, found.links) == (True, register.head().seq)
    register.close()


@pytest.mark.parametrize("start", [0, 0.3, 0.6])
def test_a_damaged_database_is_said_to_be_damaged_and_never_a_fault(folder, start):
    """REG-01 where something cannot be read; what was overwritten and is read still fails its hash."""
    path = folder / "register.sqlite"
    content = bytearray(path.read_bytes())
    at = int(len(content) * start)
    content[at : at + 20_000] = b"\xa5" * 20_000
    path.write_bytes(content)
    found = codes(folder)
    assert "REG-01" in found


def test_a_database_that_was_cut_off_is_said_to_be_damaged(folder):
    path = folder / "register.sqlite"
    path.write_bytes(path.read_bytes()[:30_000])
    assert "REG-01" in codes(folder)


def test_of_many_alike_no_more_are_told_than_are_read(folder):
    rows = ", ".join(f"('x{at}')" for at in range(MOST + 7))
    hurt(folder, f"INSERT INTO piece (id) VALUES {rows}")
    found = verify_place(str(folder))
    assert len(found.troubles) == MOST
    assert found.more == {"REG-07": 7}


def test_an_archive_is_verified_and_its_damaged_files_are_named(whole, tmp_path):
    register = open_register(whole)
    (tmp_path / "all.zip").write_bytes(b"".join(export(register)))
    register.close()
    found = verify_place(str(tmp_path / "all.zip"))
    assert (found.is_whole, found.kind) == (True, "archive")
    name = "stations/DMB-01/revisions/0001.yaml"
    broken = changed(tmp_path / "all.zip", tmp_path / "b.zip", **{name: b"x", "tables/history.csv": b"y"})
    told = verify_place(str(broken))
    assert [(one.code, one.subject) for one in told.troubles] == [
        ("REG-15", name),
        ("REG-15", "tables/history.csv"),
    ]


def test_what_is_no_register_is_unusable(tmp_path):
    with pytest.raises(InputError, match="holds no register"):
        verify_place(str(tmp_path))


def test_a_register_on_a_server_is_verified_as_an_embedded_one_is(tmp_path):
    with opened("server", tmp_path) as register:
        fill(register)
        words = register.engine.url.render_as_string(hide_password=False).replace("+psycopg", "")
        assert verify_place(words).is_whole
        with register.caching() as connection:
            unguard(connection, ("doing", "entry"))
            connection.execute(text("UPDATE doing SET reason = 'other'"))
            connection.execute(text("DELETE FROM entry WHERE seq = 3"))
        found = codes(words)
    assert {"REG-05", "REG-06", "REG-11"} <= set(found)


def test_nothing_can_be_changed_through_the_look(both: Register, folder):
    with looking(folder) as connection, pytest.raises(Exception, match="readonly"):
        connection.execute(text("DELETE FROM station"))
    place = str(both.folder or both.engine.url.render_as_string(hide_password=False).replace("+psycopg", ""))
    with looking(place) as connection:
        assert verify(connection).is_whole
        with pytest.raises(Exception, match=r"read-?only"):
            connection.execute(text("DELETE FROM station"))


def test_a_digest_is_of_the_row_whatever_its_order():
    row = {"b": 1, "a": b"\0", "c": 12.0}
    assert row_digest("t", row) == row_digest("t", dict(reversed(list(row.items()))))
    assert row_digest("t", row) == row_digest("t", json.loads('{"c": 12}') | {"a": b"\0", "b": 1})
