"""Logger data go out with an archive and come back to the bit; what is missing or changed is named."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest
from polars.testing import assert_frame_equal

from steadyhead.errors import InputError
from steadyhead.register import open_register
from steadyhead.register.logs import frames, imports_of, last_profile, logs_folder, undo
from steadyhead.register.logs.staging import sweep
from steadyhead.services.archive.logger import Placing
from steadyhead.services.archive.reading import Damaged
from steadyhead.services.archive.taking_in import import_into
from steadyhead.services.archive.verifying import verify_place
from steadyhead.services.archive.writing import export
from steadyhead.services.logs.importing import read_files
from steadyhead.services.logs.proposing import Given
from steadyhead.services.stations.saving import save
from steadyhead.station.canonical import sha256
from steadyhead.station.examples import read
from tests.register.logs.given import lying
from tests.register.servers import place
from tests.services.archive.test_archive import MOMENT, changed, hashes
from tests.services.logs.files import plain

KEY, WHO = "DMB-01", "Ilse Marrow"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A register with two imports that stand and one that was undone."""
    root = tmp_path_factory.mktemp("logger")
    register = open_register(root / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    logs = logs_folder(register)
    for name, shift in (("kiosk.csv", 0.0), ("k?osk.csv", 0.5), ("other.csv", 1.0)):
        given = Given(KEY, (plain(root, name, shift=shift),), "kiosk", {"zone": "UTC"})
        read_files(register, logs, given, WHO)
    undo(register, logs, 2, WHO, "of another station")
    (root / "all.zip").write_bytes(b"".join(export(register, MOMENT)))
    register.close()
    return root


def test_files_samples_and_ways_of_reading_come_back_to_the_bit(folder, tmp_path):
    import_into(folder / "all.zip", tmp_path / "new")
    mine, theirs = open_register(folder / "register"), open_register(tmp_path / "new")
    try:
        logs, there = logs_folder(mine), logs_folder(theirs)
        assert lying(there) == lying(logs)
        for name in lying(logs):
            assert (there.root / name).read_bytes() == (logs.root / name).read_bytes()
        pairs = zip(frames(mine, logs, KEY), frames(theirs, there, KEY), strict=True)
        for (one, frame), (other, again) in pairs:
            assert one == other
            assert_frame_equal(frame.collect(), again.collect())
        with mine.reading() as old, theirs.reading() as new:
            assert imports_of(old, KEY) == imports_of(new, KEY)
            assert last_profile(old, KEY, "kiosk") == last_profile(new, KEY, "kiosk")
        assert hashes(b"".join(export(theirs, MOMENT))) == hashes((folder / "all.zip").read_bytes())
    finally:
        mine.close()
        theirs.close()
    assert verify_place(str(tmp_path / "new")).is_whole
    assert not list((tmp_path / "new").glob(".import-*"))


def relisted(archive: Path, target: Path, name: str, content: bytes) -> Path:
    """Return a copy with another file, its list written anew."""
    with zipfile.ZipFile(archive) as source:
        lines = [json.loads(line) for line in source.read("contents.jsonl").decode().splitlines()]
        manifest = json.loads(source.read("manifest.json"))
    next(one for one in lines if one["name"] == name).update(sha256=sha256(content), bytes=len(content))
    contents = "".join(json.dumps(line) + "\n" for line in lines).encode()
    told = json.dumps(manifest | {"contents_sha256": sha256(contents)}).encode()
    return changed(archive, target, **{name: content, "contents.jsonl": contents, "manifest.json": told})


def test_files_lie_in_the_archive_under_their_names(folder):
    with zipfile.ZipFile(folder / "all.zip") as source:
        names = [name for name in source.namelist() if "/logger/" in name]
        assert source.read(f"stations/{KEY}/logger/0001/kiosk.csv") == (folder / "kiosk.csv").read_bytes()
    given = [name for name in names if "/samples/" not in name]
    assert len(given) == 3  # the undone import's file, too
    assert any("outlet-pressure" in name and name.endswith(".parquet") for name in names)


def test_a_server_takes_them_into_a_folder_that_is_named_once(folder, tmp_path):
    with place("server", tmp_path) as url:
        with pytest.raises(InputError, match="is not named, and this archive"):
            import_into(folder / "all.zip", url)
        import_into(folder / "all.zip", url, data=str(tmp_path / "logs"))
        assert verify_place(url).is_whole
        register = open_register(url)
        try:
            assert hashes(b"".join(export(register, MOMENT))) == hashes((folder / "all.zip").read_bytes())
        finally:
            register.close()


def test_a_stopped_import_leaves_nothing_beside_an_open_register(folder, tmp_path):
    open_register(tmp_path / "empty").close()
    samples = tmp_path / "empty" / "logs" / "samples"

    def there() -> bool:
        return bool(list(samples.rglob("*.parquet")))

    with pytest.raises(InputError, match="was stopped"):
        import_into(folder / "all.zip", tmp_path / "empty", cancel=there)
    left = [one for one in (tmp_path / "empty" / "logs").rglob("*") if one.is_file()]
    assert [one.name for one in left] == ["serving.lock"]
    import_into(folder / "all.zip", tmp_path / "empty")
    assert verify_place(str(tmp_path / "empty")).is_whole


def test_what_a_killed_import_put_is_cleared_away_by_the_next(folder, tmp_path, monkeypatch):
    place = tmp_path / "empty"
    register = open_register(place)
    logs = logs_folder(register)
    with monkeypatch.context() as killed:
        killed.setattr(Placing, "take_back", lambda self: None)
        killed.setattr(Placing, "end", lambda self: self._held.close())
        with pytest.raises(InputError, match="was stopped"):
            import_into(folder / "all.zip", place, cancel=lambda: bool(list(logs.samples.rglob("*.parquet"))))
    assert any(name.startswith(("raw", "samples")) for name in lying(logs))
    sweep(register, logs)
    register.close()
    assert lying(logs) == set()


def test_a_file_of_another_content_is_refused_with_an_archive(folder, tmp_path):
    name = f"stations/{KEY}/logger/0001/kiosk.csv"
    forged = relisted(folder / "all.zip", tmp_path / "forged.zip", name, b"Time,P\n")
    with pytest.raises(Damaged, match="not the file that its row tells of"):
        import_into(forged, tmp_path / "new")
    assert not (tmp_path / "new").exists()
    assert "REG-15" in {one.code for one in verify_place(str(forged)).troubles}


def test_what_is_gone_or_changed_in_the_folder_is_named(folder, tmp_path):
    import_into(folder / "all.zip", tmp_path / "hurt")
    logs = tmp_path / "hurt" / "logs"
    first, *_ = sorted((logs / "samples").rglob("*.parquet"))
    first.write_bytes(first.read_bytes()[:-1])
    raw = next(one for one in sorted((logs / "raw").rglob("*")) if one.is_file())
    raw.unlink()
    next((logs / "imports").glob("*.json")).write_bytes(b"{}")
    found = verify_place(str(tmp_path / "hurt"))
    assert not found.is_whole
    assert [one.code for one in found.troubles] == ["REG-17"] * 3
    said = " ".join(one.statement for one in found.troubles)
    assert "is not there" in said
    assert "were kept" in said
    assert "the manifest of import" in said
    register = open_register(tmp_path / "hurt")
    with pytest.raises(InputError, match=r"logger data: .* cannot be read"):
        b"".join(export(register, MOMENT))
    register.close()
