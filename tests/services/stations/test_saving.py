"""Saving a station file, and what is kept of it."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import func, select

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.register.tables import audit, revision, station
from steadyhead.services.stations.kept import NotKept, head_file, revision_file, station_row
from steadyhead.services.stations.saving import Conflict, save
from steadyhead.station.canonical import canonical, sha256
from steadyhead.station.examples import read
from tests.services.stations.files import QUILLENBY, changed, named


def test_a_saved_file_is_kept_byte_for_byte_and_told_in_the_chain(both: Register) -> None:
    source = read(QUILLENBY)
    saved = save(both, source, "Ilse Marrow", "the first one")
    head = head_file(both, "QUR-02")
    assert (saved.number, saved.is_new, head.source, head.file_hash) == (1, True, source, sha256(source))
    assert (head.who, head.why) == ("Ilse Marrow", "the first one")
    with both.reading() as connection:
        told = connection.execute(select(audit).where(audit.c.subject == "QUR-02")).one()
        row = connection.execute(select(revision)).one()
    assert (told.act, told.who, json.loads(told.body)["revision"]) == ("station added", "Ilse Marrow", 1)
    plain = both.content(row.canonical)
    assert plain is not None
    assert canonical(json.loads(plain)) == plain


def test_the_same_bytes_make_no_revision(register: Register) -> None:
    save(register, read(QUILLENBY), "a")
    again = save(register, read(QUILLENBY), "b", key="QUR-02", based_on=1)
    assert (again.number, again.is_new, again.who) == (1, False, "a")
    with register.reading() as connection:
        assert connection.execute(select(func.count()).select_from(revision)).scalar() == 1


def test_a_file_of_another_station_is_refused_under_this_one(register: Register) -> None:
    save(register, read(QUILLENBY), "a")
    with pytest.raises(InputError, match=r"station\.id: is 'OTH-1'; this is the station 'QUR-02'"):
        save(register, named("OTH-1", "Other"), "a", key="QUR-02")


@pytest.mark.parametrize("key", ["QUR-02", "qur-02"])
def test_a_key_that_is_taken_makes_no_second_station(both: Register, key: str) -> None:
    save(both, read(QUILLENBY), "a")
    with pytest.raises(InputError, match="is kept here already"):
        save(both, named(key, "Other"), "a")


@pytest.mark.parametrize("key", ["new", "Import"])
def test_a_word_of_the_addresses_is_no_key(register: Register, key: str) -> None:
    with pytest.raises(InputError, match="a word of this app"):
        save(register, named(key, "Other"), "a")


@pytest.mark.parametrize("key", ["con", "COM1", "nul", "Lpt9"])
def test_a_key_that_windows_cannot_write_as_a_file_is_refused_with_a_remedy(
    register: Register, key: str
) -> None:
    with pytest.raises(InputError, match=f"Windows cannot write a file of that name.*{key}-1"):
        save(register, named(key, "Other"), "a")


def test_a_bad_file_leaves_nothing_behind(register: Register) -> None:
    with pytest.raises(InputErrors) as found:
        save(register, changed(("static: {value: 9.6 bar", "static: {value: 9.6 furlongs")), "a")
    assert any("supply.static" in one.field for one in found.value.errors)
    with register.reading() as connection:
        assert connection.execute(select(func.count()).select_from(station)).scalar() == 0


def test_the_second_of_two_people_sees_both_files_and_nothing_is_saved(both: Register) -> None:
    save(both, read(QUILLENBY), "a")
    theirs = changed(("trip: 5.2 bar", "trip: 5.25 bar"))
    mine = changed(("lockup: 4.2 bar", "lockup: 4.25 bar"))
    save(both, theirs, "b", "higher", based_on=1, key="QUR-02")
    with pytest.raises(Conflict) as found:
        save(both, mine, "c", "mine", based_on=1, key="QUR-02")
    conflict = found.value
    assert (conflict.base.number, conflict.theirs.number, conflict.mine) == (1, 2, mine)
    assert (conflict.theirs.source, conflict.theirs.who, conflict.why) == (theirs, "b", "mine")
    assert head_file(both, "QUR-02").source == theirs


def test_what_is_not_kept_says_so(register: Register) -> None:
    with pytest.raises(NotKept):
        head_file(register, "QUR-02")
    save(register, read(QUILLENBY), "a")
    with pytest.raises(NotKept, match="no revision 7"):
        revision_file(register, "QUR-02", 7)
    with register.reading() as connection, pytest.raises(NotKept):
        station_row(connection, "nobody")
    with pytest.raises(NotKept):
        save(register, named("OTH-1", "Other"), "a", key="OTH-1")
