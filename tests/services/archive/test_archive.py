"""Everything out in one file and back: nothing lost, readable without the program, nothing half taken in."""

from __future__ import annotations

import csv
import io
import json
import os
import sqlite3
import time
import zipfile
from pathlib import Path

import polars
import pytest
from sqlalchemy import func, select
from sqlalchemy.exc import OperationalError

from steadyhead.errors import InputError
from steadyhead.register import open_register, tables
from steadyhead.services import library, sheets_kept
from steadyhead.services.archive.keeping import export_to
from steadyhead.services.archive.taking_in import (
    LEFT_AFTER,
    Stopped,
    _put_in_place,
    _settle,
    import_into,
    take_in_stream,
)
from steadyhead.services.archive.writing import export
from steadyhead.services.stations.saving import save
from steadyhead.station.canonical import sha256
from steadyhead.station.examples import read
from tests.register.filled import PDF, fill
from tests.register.servers import KINDS, place

pytestmark = pytest.mark.by_turns(2)

WHO = "Ilse Marrow"
SHEET = b"""format: steadyhead/valve/1
name: hallow-100
valve: reducer
source: Hallow Works (invented), sheet 12 of 2025
size: DN 100
kv: Kv 160
"""

MOMENT = "2027-05-01T00:00:00.000Z"


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive of a filled embedded register."""
    folder = tmp_path_factory.mktemp("archive")
    register = open_register(folder / "register")
    fill(register)
    (folder / "all.zip").write_bytes(b"".join(export(register, MOMENT)))
    register.close()
    return folder / "all.zip"


def hashes(content: bytes) -> dict[str, str]:
    """Return name and hash of every file in an archive, manifest and list left out."""
    with zipfile.ZipFile(io.BytesIO(content)) as source:
        return {name: sha256(source.read(name)) for name in source.namelist()}


@pytest.mark.parametrize("kind", KINDS)
def test_an_archive_goes_through_an_empty_register_and_comes_out_the_same(archive, kind, tmp_path):
    with place(kind, tmp_path / "new") as words:
        data = "" if kind == "embedded" else str(tmp_path / "logs")
        found = import_into(archive, words, data=data)
        assert (found.stations, found.revisions, found.entries) == (2, 4, 3)
        register = open_register(words)
        again = b"".join(export(register, MOMENT))
        head = register.head()
        register.close()
    assert hashes(again) == hashes(archive.read_bytes())
    assert (head.seq, head.hash) == (found.links, found.head)


def test_an_imported_register_goes_on_with_its_chain_and_keeps_its_guards(archive, tmp_path):
    import_into(archive, tmp_path / "new")
    register = open_register(tmp_path / "new")
    before = register.head()
    with register.writing("Bo") as writing:
        writing.tell("looked at", "DMB-01")
    assert register.head().previous == before.hash
    with pytest.raises(Exception, match="what is kept is never changed"), register.caching() as connection:
        connection.execute(tables.audit.delete())
    register.close()


def test_an_archive_is_read_without_the_program(archive):
    with zipfile.ZipFile(archive) as source:
        names = source.namelist()
        assert names[0] == "README.txt"
        assert b"history/chain.jsonl" in source.read("README.txt")
        assert source.read("stations/DMB-01/revisions/0001.yaml") == read("dunmarrow-bottom")
        assert source.read("stations/DMB-01/records/certificate.pdf") == PDF + b"0"
        assert source.read("stations/DMB-01/records/Certificate (2).pdf") == PDF + b"1"
        assert json.loads(source.read("stations/DMB-01/releases/r1.release.json"))["revision"] == 1
        assert len(source.read("stations/DMB-01/runs/run-1.entries.jsonl").splitlines()) == 3
        places = json.loads(source.read("stations.geojson"))["features"]
        rows = list(csv.reader(io.StringIO(source.read("tables/records.csv").decode())))
        frame = polars.read_parquet(io.BytesIO(source.read("tables/records.parquet")))
    assert [one["geometry"] for one in places] == [{"type": "Point", "coordinates": [0.0, 0.0]}, None]
    assert not [name for name in names if ".." in name or ":" in name or name.startswith("/")]
    column = rows[0].index("title")
    assert [row[column] for row in rows[1:3]] == ["'=1+0", "'=1+1"]
    assert frame["title"].to_list()[:2] == ["=1+0", "=1+1"]


def test_no_secret_leaves_with_an_archive(archive):
    with zipfile.ZipFile(archive) as source:
        everything = b"".join(source.read(name) for name in source.namelist())
    assert b"argon2 secret" not in everything
    assert b"very secret" not in everything


def test_a_register_that_holds_something_takes_no_archive_and_is_not_changed(archive, tmp_path):
    import_into(archive, tmp_path / "new")
    before = (tmp_path / "new" / "register.sqlite").read_bytes()
    with pytest.raises(InputError, match="is not empty"):
        import_into(archive, tmp_path / "new")
    assert (tmp_path / "new" / "register.sqlite").read_bytes() == before


def test_an_empty_register_that_is_open_takes_an_archive(archive, both, tmp_path):
    with archive.open("rb") as source:
        take_in_stream(source, "all.zip", both, data=str(tmp_path / "logs"))
    with both.reading() as connection:
        assert connection.execute(select(func.count()).select_from(tables.record)).scalar() == 5


def test_an_import_that_is_stopped_leaves_nothing(archive, tmp_path):
    steps = iter(range(10))
    with pytest.raises(Stopped):
        import_into(archive, tmp_path / "new", cancel=lambda: next(steps) == 6)
    assert not (tmp_path / "new").exists()


def test_what_a_killed_import_left_is_cleared_away_by_a_later_one(archive, tmp_path):
    for name, age in ((".import-old", 2 * LEFT_AFTER), (".import-young", 60.0)):
        (tmp_path / "new" / name).mkdir(parents=True)
        (tmp_path / "new" / name / "register.sqlite-wal").write_bytes(b"half")
        os.utime(tmp_path / "new" / name, (time.time() - age,) * 2)
    import_into(archive, tmp_path / "new")
    left = sorted(one.name for one in (tmp_path / "new").iterdir())
    assert left == [".import-young", "logs", "register.sqlite"]


def test_a_database_whose_log_still_holds_a_part_of_it_is_not_put_in_place(tmp_path):
    """Where the disk was full, the log could not be brought in; moving the file alone would lose it."""
    (tmp_path / "staged").write_bytes(b"half of it")
    (tmp_path / "staged-wal").write_bytes(b"the other half")
    with pytest.raises(InputError, match="still holds a part"):
        _put_in_place(tmp_path / "staged", tmp_path / "register.sqlite")
    assert not (tmp_path / "register.sqlite").exists()


def test_an_import_without_room_for_the_whole_is_refused(archive, tmp_path, monkeypatch):
    def full(register):
        def connect():
            raise OperationalError("", {}, sqlite3.OperationalError("database or disk is full"))

        monkeypatch.setattr(register.engine, "connect", connect)
        _settle(register)

    monkeypatch.setattr("steadyhead.services.archive.taking_in._settle", full)
    with pytest.raises(InputError, match="cannot hold the register"):
        import_into(archive, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_the_data_sheets_that_files_name_go_along_and_come_into_an_empty_library(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "here"))
    sheets_kept.keep(SHEET)
    own = (
        b"            kv: {value: Kv 150, source: supplier's sheet of the piece fitted, confidence: stated}\n"
    )
    named = read("quernhollow-lane").replace(own, b"            data_sheet: hallow-100\n")
    register = open_register(tmp_path / "old")
    for number in (None, 1):
        source = named + (b"# again\n" if number else b"")
        save(register, source, WHO, based_on=number, key="QHL-01" if number else None)
    register.close()
    export_to(str(tmp_path / "old"), str(tmp_path / "all.zip"))
    with zipfile.ZipFile(tmp_path / "all.zip") as found:
        assert found.read("stations/QHL-01/records/hallow-100.yaml") == SHEET
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "elsewhere"))
    import_into(tmp_path / "all.zip", tmp_path / "new")
    sheet = library.find("hallow-100")
    assert sheet is not None
    assert sheet.source == SHEET


def test_an_export_to_a_name_that_is_taken_leaves_that_file(archive, tmp_path):
    (tmp_path / "there.zip").write_bytes(b"mine")
    with pytest.raises(InputError, match="which is there"):
        export_to(str(archive.parent / "register"), str(tmp_path / "there.zip"))
    assert (tmp_path / "there.zip").read_bytes() == b"mine"
    made = export_to(str(archive.parent / "register"), str(tmp_path / "new.zip"))
    assert made.size == (tmp_path / "new.zip").stat().st_size


# What no archive of ours holds ----------------------------------------------------------------------------


def changed(archive: Path, place: Path, **files: bytes | None) -> Path:
    """Return a copy with files replaced, left out (None) or added, its list as it was."""
    with zipfile.ZipFile(archive) as source, zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            content = files.pop(name, source.read(name))
            if content is not None:
                target.writestr(name, content)
        for name, content in files.items():
            if content is not None:
                target.writestr(name, content)
    return place


FILE = "stations/DMB-01/revisions/0002.yaml"


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ({FILE: b"other"}, f"{FILE}: in .* is damaged"),
        ({FILE: None}, f"{FILE}: is missing"),
        ({"README.txt": b"other"}, "README.txt: in .* is damaged"),
        ({"tables/stations.csv": b"other"}, "tables/stations.csv: in .* is damaged"),
        ({"stations.geojson": b"{}"}, "stations.geojson: in .* is damaged"),
        ({"more.txt": b"x"}, "more.txt: in .* is not in its list"),
        ({"history/chain.jsonl": b"{}\n"}, "chain.jsonl: in .* is damaged"),
        ({"contents.jsonl": b'{"name":1}\n'}, "contents.jsonl: .* cannot be read"),
        ({"manifest.json": b'{"format":"steadyhead/archive/2"}'}, "Read it with a newer steadyhead"),
        ({"manifest.json": b'{"format":"other"}'}, "is no archive"),
        ({"manifest.json": b"[" * 100_000}, "manifest.json: .* cannot be read"),
        ({"../escape": b"x"}, "leads out of its folder"),
        ({"/etc/passwd": b"x"}, "leads out of its folder"),
        ({"a\\b": b"x"}, "leads out of its folder"),
        ({"c:/x": b"x"}, "leads out of its folder"),
        ({"bomb": bytes(60_000_000)}, "unpacks to .* times its size"),
    ],
)  # fmt: skip
def test_an_archive_that_is_not_as_written_is_refused_in_words(archive, tmp_path, files, words):
    broken = changed(archive, tmp_path / "broken.zip", **files)
    with pytest.raises(InputError, match=words):
        import_into(broken, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_an_archive_that_unpacks_to_far_more_than_it_is_is_refused(archive, tmp_path, monkeypatch):
    monkeypatch.setattr("steadyhead.services.archive.reading.SMALL_ALL", 1_000_000)
    bomb = changed(archive, tmp_path / "bomb.zip", **{"a.jsonl": bytes(40_000_000)})
    with pytest.raises(InputError, match=r"unpacks to .* times its size"):
        import_into(bomb, tmp_path / "new")


def test_links_doubles_and_shared_bytes_are_refused(archive, tmp_path):
    content = archive.read_bytes()
    for name, words in (("link", "a link to another file"), (FILE, "and that twice")):
        place = tmp_path / "more.zip"
        place.write_bytes(content)
        with zipfile.ZipFile(place, "a") as target:
            head = zipfile.ZipInfo(name)
            head.external_attr = 0o120777 << 16 if name == "link" else 0
            if name == "link":
                target.writestr(head, "/etc/passwd")
            else:
                with pytest.warns(UserWarning, match="Duplicate name"):
                    target.writestr(head, "twice")
        with pytest.raises(InputError, match=words):
            import_into(place, tmp_path / "new")
    (tmp_path / "cut.zip").write_bytes(content[: len(content) // 2])
    with pytest.raises(InputError, match="its end is missing"):
        import_into(tmp_path / "cut.zip", tmp_path / "new")


def test_an_archive_of_newer_tables_is_refused(archive, tmp_path):
    with zipfile.ZipFile(archive) as source:
        manifest = json.loads(source.read("manifest.json"))
    manifest["tables"] = "r9999"
    newer = changed(archive, tmp_path / "newer.zip", **{"manifest.json": json.dumps(manifest).encode()})
    with pytest.raises(InputError, match="newer version"):
        import_into(newer, tmp_path / "new")


def test_an_archive_whose_rows_were_changed_together_with_its_list_is_refused(archive, tmp_path):
    with zipfile.ZipFile(archive) as source:
        rows = source.read("rebuild/doing.jsonl").replace(b"2027-04-03", b"2027-04-04")
        listed = source.read("contents.jsonl").decode().splitlines()
        manifest = json.loads(source.read("manifest.json"))
    lines = [json.loads(line) for line in listed]
    for line in lines:
        if line["name"] == "rebuild/doing.jsonl":
            line |= {"sha256": sha256(rows), "bytes": len(rows)}
    contents = "".join(json.dumps(line) + "\n" for line in lines).encode()
    manifest["contents_sha256"] = sha256(contents)
    told = json.dumps(manifest).encode()
    files = {"rebuild/doing.jsonl": rows, "contents.jsonl": contents, "manifest.json": told}
    forged = changed(archive, tmp_path / "forged.zip", **files)
    with pytest.raises(InputError, match="doing d1 was changed after link"):
        import_into(forged, tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(("made_with", "is_taken"), [("r0001", True), ("r0002", False)])
def test_an_archive_from_before_logger_data_is_taken_in(tmp_path, monkeypatch, made_with, is_taken):
    monkeypatch.setattr("tests.register.filled._logger", lambda _: None)
    register = open_register(tmp_path / "register")
    fill(register)
    (tmp_path / "now.zip").write_bytes(b"".join(export(register, MOMENT)))
    register.close()
    with zipfile.ZipFile(tmp_path / "now.zip") as source:
        listed = [json.loads(line) for line in source.read("contents.jsonl").decode().splitlines()]
        manifest = json.loads(source.read("manifest.json"))
    new = [one["name"] for one in listed if one["name"].startswith("rebuild/logger_")]
    assert len(new) == 4
    kept = [one for one in listed if one["name"] not in new]
    contents = "".join(json.dumps(one) + "\n" for one in kept).encode()
    manifest |= {"tables": made_with, "contents_sha256": sha256(contents)}
    manifest["rows"] = {name: count for name, count in manifest["rows"].items() if "logger" not in name}
    files = dict.fromkeys(new) | {
        "contents.jsonl": contents,
        "manifest.json": json.dumps(manifest).encode(),
    }
    older = changed(tmp_path / "now.zip", tmp_path / "older.zip", **files)
    if is_taken:
        assert import_into(older, tmp_path / "back").stations == 2
    else:
        with pytest.raises(InputError, match="logger_"):
            import_into(older, tmp_path / "back")
