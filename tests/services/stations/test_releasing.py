"""Releases of the register: the record a folder gets, refused with findings, taken in unchanged."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from steadyhead.errors import InputError
from steadyhead.services.judging import judge_file
from steadyhead.services.ports import FolderShelf
from steadyhead.services.release import NotReleasable, release_design
from steadyhead.services.stations.head import station_head
from steadyhead.services.stations.releasing import record_of, release, releases, take_in
from steadyhead.services.stations.saving import save
from steadyhead.services.stations.steps import draft, read_steps
from steadyhead.station.document import dump
from steadyhead.station.examples import read

SOURCE = read("quernhollow-lane")
KEY = "QHL-01"
WHO = "Ilse Marrow"


class At:
    """A clock that stands."""

    def now(self):
        return datetime(2027, 3, 10, 9, 0, tzinfo=UTC)


def _changed(*steps):
    return dump(draft(SOURCE, read_steps(list(steps))))


@pytest.fixture
def kept(register):
    save(register, SOURCE, WHO)
    return register


def _release(register, **more):
    return release(register, KEY, WHO, without_proof=True, clock=At(), **more)


def test_the_record_is_that_of_a_folder_byte_for_byte(kept, tmp_path):
    judged = judge_file(SOURCE, day=At().now().date())
    in_folder = release_design(
        judged.loaded, SOURCE, judged.sheet, by=WHO, clock=At(), shelf=FolderShelf(tmp_path)
    )
    found = _release(kept)
    assert found.content == in_folder.content == record_of(kept, KEY, 1)
    assert found.name == in_folder.name == releases(kept, KEY)[0].file_name
    assert releases(kept, KEY)[0].revision == 1
    assert releases(kept, KEY)[0].grounds == "left out"


def test_an_unchanged_file_is_not_released_twice_and_a_changed_one_gets_the_next_number(kept):
    assert _release(kept).is_new
    assert not _release(kept).is_new
    save(kept, _changed({"do": "set", "at": ["station", "zone"], "value": "West"}), WHO, key=KEY)
    assert _release(kept).revision == 2
    assert [(one.number, one.revision) for one in releases(kept, KEY)] == [(2, 2), (1, 1)]
    with kept.reading() as connection:
        assert station_head(connection, kept, KEY).released == "released as r2"


def test_findings_that_forbid_it_come_with_the_refusal_and_nothing_is_kept(kept):
    save(kept, _changed({"do": "set", "at": ["line", 5, "trip"], "value": "7 bar"}), WHO, key=KEY)
    with pytest.raises(NotReleasable) as refused:
        _release(kept)
    assert any(one.severity.value == "stop" for one in refused.value.findings)
    assert releases(kept, KEY) == ()


def test_without_its_proof_it_wants_a_word_and_a_later_revision_refuses(kept):
    with pytest.raises(InputError, match="no protection proof"):
        release(kept, KEY, WHO, clock=At())
    with pytest.raises(InputError, match="the last one is 1"):
        _release(kept, revision_number=2)
    with pytest.raises(InputError, match="no name"):
        _release(kept, by="  ")


def test_a_release_from_elsewhere_is_taken_in_unchanged(kept, tmp_path):
    changed = _changed({"do": "set", "at": ["station", "zone"], "value": "West"})
    judged = judge_file(changed, day=At().now().date())
    record = release_design(
        judged.loaded, changed, judged.sheet, by="Tam Alder", clock=At(), shelf=FolderShelf(tmp_path)
    ).content
    told = json.loads(record) | {"revision": 3}
    record = json.dumps(told).encode()
    found = take_in(kept, KEY, record, WHO)
    assert (found.number, found.revision, found.by) == (3, 0, "Tam Alder")
    assert record_of(kept, KEY, 3) == record
    assert take_in(kept, KEY, record, WHO) == found  # once more changes nothing
    assert _release(kept).revision == 4
    other = json.dumps(told | {"released_by": "Somebody"}).encode()
    with pytest.raises(InputError, match="another one of that number"):
        take_in(kept, KEY, other, WHO)


@pytest.mark.parametrize(
    "content", [b"", b"{}", b"[]", b"\xff", b'{"format": "steadyhead/release/1", "file": 7}', b"[" * 50_000]
)
def test_what_is_no_record_of_a_release_is_refused(kept, content):
    with pytest.raises(InputError):
        take_in(kept, KEY, content, WHO)


def test_a_record_of_another_station_is_refused(kept, tmp_path):
    other = read("mesquill-flat")
    judged = judge_file(other, day=At().now().date())
    record = release_design(
        judged.loaded, other, judged.sheet, by=WHO, clock=At(), shelf=FolderShelf(tmp_path)
    )
    with pytest.raises(InputError, match="is of the station"):
        take_in(kept, KEY, record.content, WHO)
