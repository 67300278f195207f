"""Registers of every released version are brought up to date with their data; newer ones are left alone."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

from steadyhead.errors import InputError
from steadyhead.register import open_register
from steadyhead.register.guards import missing_guards
from steadyhead.register.migrating import PLACE, REVISIONS, newest, revision_of
from steadyhead.register.tables import KEPT, METADATA
from steadyhead.services.archive.verifying import VerifiedView, verify_place
from tests.register.filled import fill
from tests.register.servers import KINDS, place

SAMPLES = Path(__file__).parent / "samples"


def test_the_steps_are_those_that_lie_there():
    script = ScriptDirectory(str(PLACE))
    assert tuple(reversed([one.revision for one in script.walk_revisions()])) == REVISIONS
    assert script.get_current_head() == newest()
    assert list(REVISIONS) == sorted(REVISIONS)


@pytest.mark.parametrize("kind", KINDS)
def test_the_steps_make_the_tables_of_today_with_their_guards(kind, tmp_path):
    """Where this fails a step is missing, or tables were changed without one."""
    with place(kind, tmp_path / "new", is_empty=True) as words:
        register = open_register(words)
        with register.reading() as connection:
            context = MigrationContext.configure(connection, opts={"compare_type": True})
            assert compare_metadata(context, METADATA) == []
            assert missing_guards(connection, [table.name for table in KEPT]) == []
            assert revision_of(connection) == newest()
        register.close()


def test_no_row_of_what_only_grows_can_be_changed_or_removed(both):
    fill(both)
    for table in (one.name for one in KEPT):
        acts = [f"DELETE FROM {table}", f"UPDATE {table} SET {_column(table)} = {_column(table)}"]
        acts += [] if both.is_embedded else [f"TRUNCATE {table} CASCADE"]
        for words in acts:
            with (
                pytest.raises(Exception, match="what is kept is never changed"),
                both.caching() as connection,
            ):
                connection.execute(text(words))


def _column(table: str) -> str:
    return next(iter(METADATA.tables[table].columns)).name


def _is_whole_but_for_files(found: VerifiedView) -> bool:
    """Return whether nothing is amiss but files of loggers, which no sample has beside it."""
    amiss = {one.code for one in found.troubles if one.severity == "stop"}
    return found.is_whole or (found.first_broken == 0 and amiss == {"REG-17"})


@pytest.mark.parametrize("sample", sorted(one.name for one in SAMPLES.glob("*.sqlite")))
def test_a_kept_register_of_a_released_version_is_brought_up_to_date_with_its_data(sample, tmp_path):
    (tmp_path / "old").mkdir()
    shutil.copy(SAMPLES / sample, tmp_path / "old" / "register.sqlite")
    found = verify_place(str(tmp_path / "old"))
    assert _is_whole_but_for_files(found)
    register = open_register(tmp_path / "old")
    head = register.head()
    assert (head.seq, head.hash) == (found.links, found.head_sha256)
    with register.reading() as connection:
        assert revision_of(connection) == newest()
        names = connection.execute(text("SELECT name FROM station ORDER BY key")).scalars().all()
    register.close()
    assert names == ["Dunmarrow Bottom", "Fenwarren Gate"]
    assert _is_whole_but_for_files(verify_place(str(tmp_path / "old")))


def test_every_released_step_has_its_sample():
    assert {one.stem for one in SAMPLES.glob("*.sqlite")} == set(REVISIONS)


def test_a_register_of_a_newer_version_is_refused_and_not_changed(tmp_path):
    register = open_register(tmp_path / "new")
    with register.caching() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = 'r9999'"))
    register.close()
    before = {one.name: one.read_bytes() for one in (tmp_path / "new").iterdir()}
    with pytest.raises(InputError, match=r"newer version of steadyhead \(r9999\)"):
        open_register(tmp_path / "new")
    assert {one.name: one.read_bytes() for one in (tmp_path / "new").iterdir()} == before


def test_a_database_of_something_else_is_refused_and_not_changed(tmp_path):
    database = sqlite3.connect(tmp_path / "register.sqlite")
    database.execute("CREATE TABLE theirs (a)")
    database.commit()
    database.close()
    before = (tmp_path / "register.sqlite").read_bytes()
    with pytest.raises(InputError, match="holds other tables"):
        open_register(tmp_path)
    assert (tmp_path / "register.sqlite").read_bytes() == before


def test_a_damaged_database_is_refused_in_words_and_not_changed(tmp_path):
    (tmp_path / "register.sqlite").write_bytes(b"no database" * 1000)
    with pytest.raises(InputError, match="steadyhead verify"):
        open_register(tmp_path)
    assert (tmp_path / "register.sqlite").read_bytes() == b"no database" * 1000
