"""Releases found again by the bytes they hold."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from steadyhead.errors import InputError
from steadyhead.services.judging import judge_file
from steadyhead.services.release import read_name, release_design, released_as
from steadyhead.station import examples

SOURCE = examples.read("quillenby-row")


class Drawer:
    """A shelf in memory."""

    def __init__(self) -> None:
        self.held: dict[str, bytes] = {}

    def names(self) -> tuple[str, ...]:
        return tuple(self.held)

    def read(self, name: str) -> bytes:
        return self.held[name]

    def keep(self, name: str, content: bytes) -> str:
        if name in self.held:
            raise FileExistsError(name)
        self.held[name] = content
        return name


class Noon:
    def now(self) -> datetime:
        return datetime(2026, 9, 14, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def judged():
    return judge_file(SOURCE)


def released(judged, drawer, **more):
    return release_design(
        judged.loaded, SOURCE, judged.sheet, by="Ilse Marrow", clock=Noon(), shelf=drawer, **more
    )


def test_an_unchanged_file_is_frozen_once(judged):
    drawer = Drawer()
    first, second = released(judged, drawer), released(judged, drawer)
    assert (first.is_new, second.is_new) == (True, False)
    assert (second.revision, second.sha256) == (1, first.sha256)
    assert released(judged, drawer, again=True).revision == 2
    assert released_as(judged.loaded, SOURCE, drawer) == "r2"


def test_only_the_very_bytes_are_released(judged):
    drawer = Drawer()
    released(judged, drawer)
    assert released_as(judged.loaded, SOURCE + b"\n", drawer) == ""


@pytest.mark.parametrize("spoil", ["content", "sha256", "not json", "a list", "revision", "format"])
def test_a_record_that_does_not_fit_itself_releases_nothing(judged, spoil):
    drawer = Drawer()
    name = released(judged, drawer).name
    record = json.loads(drawer.held[name])
    if spoil in ("content", "sha256"):
        record["file"][spoil] = "0" * 64
    elif spoil in ("revision", "format"):
        record[spoil] = 7
    bytes_of = {"not json": b"\xff{", "a list": b"[]"}
    drawer.held[name] = bytes_of.get(spoil, json.dumps(record).encode())
    assert released_as(judged.loaded, SOURCE, drawer) == ""
    assert released(judged, drawer).revision == 2


@pytest.mark.parametrize(
    "name", ["", "  ", "…", "?", "a\x00b", "a\x1b[31mb", "a\u2028b", "a\u200fb", "x" * 121]
)
def test_what_is_no_name_is_refused(name):
    with pytest.raises(InputError, match="--by"):
        read_name(name)


@pytest.mark.parametrize("name", ["Ilse Marrow", "Ó Dálaigh, Aoife", "王小明", "می\u200cرو", "J.-P. 2"])
def test_a_name_of_any_script_is_kept(name):
    assert read_name(f"  {name} ") == name
