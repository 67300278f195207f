"""A long file is read while it is copied; whoever changes it meanwhile, the copy counts."""

from __future__ import annotations

import hashlib
import os
import time

import pytest
from polars.exceptions import ComputeError

from steadyhead.errors import InputError
from steadyhead.register.logs import staging
from steadyhead.register.logs.copying import copied
from steadyhead.services.logs import proposing
from steadyhead.services.logs.importing import list_imports, period, read_files, take_in, undo_import
from steadyhead.services.logs.proposing import Given, proposed
from steadyhead.watch.reading import propose, straight

KEY, WHO = "DMB-01", "Ilse Marrow"
ROWS = 260_000


@pytest.fixture(autouse=True)
def _short_is_long(monkeypatch):
    monkeypatch.setattr(proposing, "MUCH", 1_000_000)


def _line(at: int) -> str:
    return (
        f"2027-03-{1 + at // 86_400:02} {at // 3600 % 24:02}:{at // 60 % 60:02}:{at % 60:02},"
        f"{8.0 + at % 7 / 100:.2f},{4.0 + at % 5 / 100:.2f}"
    )


def _file(folder, *, name="kiosk.csv", changed=None):
    lines = [_line(at) for at in range(ROWS)]
    if changed is not None:
        lines[changed] = "chamber opened,,"
    path = folder / name
    path.write_text("\n".join(("Time (UTC),P inlet [bar],P outlet [bar]", *lines, "")))
    _old(path)
    return path


def _old(path):
    before = time.time() - 3600.0
    os.utime(path, (before, before))


@pytest.fixture
def seen(monkeypatch):
    """The files that were looked into."""
    found = []
    whole = propose

    def told(files, *others):
        found.extend(files)
        return whole(files, *others)

    monkeypatch.setattr(proposing, "propose", told)
    return found


def _values(register, logs):
    return [lazy.collect()["v"].to_list() for _, lazy in period(register, logs, KEY)]


@pytest.mark.parametrize("changed", [None, 200_000])
def test_a_long_file_is_read_itself_and_its_copy_kept(register, logs, tmp_path, seen, changed):
    path = _file(tmp_path, changed=changed)
    told = read_files(register, logs, Given(KEY, (path,)), WHO)
    assert seen == [path]
    used = ROWS - (changed is not None)
    assert [one.count for one in told.channels] == [used, used]
    assert told.rows.total == ROWS + 1 == told.rows.used + sum(told.rows.left_out.values())
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    assert [one.sha256 for one in list_imports(register, KEY).imports[0].files] == [digest]
    assert logs.raw_file(digest).read_bytes() == path.read_bytes()
    assert {one.source_sha256 for one, _ in period(register, logs, KEY)} == {(digest,)}


def test_the_same_file_again_is_found_before_it_is_read(register, logs, tmp_path, seen):
    path = _file(tmp_path)
    read_files(register, logs, Given(KEY, (path,)), WHO)
    again = read_files(register, logs, Given(KEY, (path,)), WHO)
    assert again.number == 0
    assert len(seen) == 1
    undo_import(register, logs, 1, WHO)
    assert read_files(register, logs, Given(KEY, (path,)), WHO).number == 2


@pytest.mark.parametrize("how", ["grows", "is written anew", "is cut short", "goes"])
def test_a_file_that_changes_while_it_is_read_is_read_as_it_was_copied(
    register, logs, tmp_path, monkeypatch, seen, how
):
    path = _file(tmp_path)
    content = path.read_bytes()
    whole = copied

    def then_changed(source, target, **others):
        told = whole(source, target, **others)
        if how == "grows":
            with source.open("ab") as more:
                more.write((_line(ROWS) + "\n").encode())
        elif how == "is written anew":
            source.write_bytes(content.replace(b",8.0", b",7.0"))
            _old(source)
        elif how == "is cut short":
            os.truncate(source, 5000)
        else:
            source.unlink()
        return told

    monkeypatch.setattr(staging, "copied", then_changed)
    told = read_files(register, logs, Given(KEY, (path,)), WHO)
    assert len(seen) == 2, "the file itself, then its copy"
    assert [one.count for one in told.channels] == [ROWS, ROWS]
    digest = hashlib.sha256(content).hexdigest()
    assert logs.raw_file(digest).read_bytes() == content
    assert {round(one / 1e5, 2) for one in _values(register, logs)[0]} == {8 + at / 100 for at in range(7)}
    assert not [one for one in logs.staged.glob("*") if one.is_dir()]


def test_a_file_written_just_now_is_read_as_it_was_copied(register, logs, tmp_path, seen):
    path = _file(tmp_path)
    os.utime(path)
    told = read_files(register, logs, Given(KEY, (path,)), WHO)
    assert told.number == 1
    assert path not in seen


def test_an_answer_later_reads_the_copy(register, logs, tmp_path, seen):
    path = _file(tmp_path)
    content = path.read_text().replace("P inlet [bar]", "P inlet").replace("Time (UTC)", "Time")
    path.write_text(content)
    _old(path)
    with proposed(register, logs, Given(KEY, (path,))) as one:
        assert seen[0] == path
        path.unlink()
        one.answer({"zone": "UTC"})
        assert seen[-1] != path
        assert one.found is not None


def test_a_file_that_cannot_be_kept_leaves_nothing(register, logs, tmp_path, monkeypatch):
    path = _file(tmp_path)

    def full(source, target, **others):
        raise InputError(str(source), "cannot be read or kept: no room.", "See for room.")

    monkeypatch.setattr(staging, "copied", full)
    with pytest.raises(InputError, match="no room"):
        read_files(register, logs, Given(KEY, (path,)), WHO)
    assert list_imports(register, KEY).imports == ()
    assert not [one for one in logs.staged.glob("*") if one.is_dir()]


def test_what_stops_the_reading_ends_the_copying(register, logs, tmp_path, monkeypatch):
    path = _file(tmp_path)
    monkeypatch.setattr(proposing, "propose", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt()))
    with pytest.raises(KeyboardInterrupt), proposed(register, logs, Given(KEY, (path,))):
        pass
    assert not [one for one in logs.staged.glob("*") if one.is_dir()]


def test_how_far_it_is_read_is_told_and_a_stop_is_heeded(register, logs, tmp_path, monkeypatch):
    monkeypatch.setattr(straight, "BATCH", 20_000)
    path = _file(tmp_path)
    told = []
    read_files(register, logs, Given(KEY, (path,)), WHO, lambda *one: told.append(one))
    shares = [done / total for done, total, what in told if what == "rows read"]
    assert shares == sorted(shares)
    assert len(shares) > 3
    assert shares[-1] > 0.95
    undo_import(register, logs, 1, WHO)
    begun = iter([False, False])
    with pytest.raises(InputError, match="was stopped"):
        read_files(register, logs, Given(KEY, (path,)), WHO, cancel=lambda: next(begun, True))
    assert [one.number for one in list_imports(register, KEY).imports if not one.undone_at] == []
    assert not [one for one in logs.staged.glob("*") if one.is_dir()]


def test_a_file_that_another_process_takes_in_meanwhile_is_kept_once(register, logs, tmp_path):
    path = _file(tmp_path)
    with proposed(register, logs, Given(KEY, (path,))) as late:
        assert read_files(register, logs, Given(KEY, (path,)), WHO).number == 1
        told = take_in(register, late, WHO)
    assert (told.number, [one.number for one in told.known]) == (0, [1])
    assert [one.number for one in list_imports(register, KEY).imports] == [1]
    assert [len(one) for one in _values(register, logs)] == [ROWS, ROWS]
    assert not [one for one in logs.staged.glob("*") if one.is_dir()]


def test_whatever_a_reader_meets_in_a_file_that_changes_its_copy_is_read(
    register, logs, tmp_path, monkeypatch, seen
):
    path = _file(tmp_path)
    whole = propose

    def torn(files, *others):
        if files[0] == path:
            with path.open("r+b") as out:
                out.write(b"x")
            raise ComputeError("a row has no end")
        return whole(files, *others)

    monkeypatch.setattr(proposing, "propose", torn)
    copied_first = staging.Staged.begin
    monkeypatch.setattr(
        staging.Staged, "begin", lambda one, *given, **how: (copied_first(one, *given, **how), one.finish())
    )
    assert [one.count for one in read_files(register, logs, Given(KEY, (path,)), WHO).channels] == [
        ROWS,
        ROWS,
    ]


def test_what_a_reader_meets_in_a_file_that_stays_is_told(register, logs, tmp_path, monkeypatch):
    path = _file(tmp_path)

    def torn(*_):
        raise ComputeError("a row has no end")

    monkeypatch.setattr(proposing, "propose", torn)
    with pytest.raises(ComputeError), proposed(register, logs, Given(KEY, (path,))):
        pass
