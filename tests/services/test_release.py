"""Releases found again by the bytes they hold."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from steadyhead.cli.app import run
from steadyhead.errors import InputError
from steadyhead.records.protection import ProofSheet
from steadyhead.services.judging import judge_file
from steadyhead.services.protection import engine_digest
from steadyhead.services.release import read_name, release_design, released_as, rests_on_of
from steadyhead.station import examples
from steadyhead.station.canonical import canonical, sha256
from tests.services.test_plan_window import proof

SOURCE = examples.read("quillenby-row")
LANE = examples.read("dunmarrow-bottom")


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


def with_proof(**more):
    made = proof(slowest=70.0, **more)
    return judge_file(LANE, proof=made), made


def lane(judged, drawer, made, **more):
    return release_design(
        judged.loaded, LANE, judged.sheet, by="Ilse Marrow", clock=Noon(), shelf=drawer, proof=made, **more
    )


def test_a_release_holds_the_proof_it_rests_on_with_its_hash_and_its_engine():
    (judged, made), drawer = with_proof(), Drawer()
    found = lane(judged, drawer, made)
    held = json.loads(found.content)["protection"]
    assert held["ways"][0]["trip_pa"] == pytest.approx(4.75e5)
    assert held["ways"][0]["window"]["slowest"]["stopwatch_s"] == pytest.approx(70.0)
    assert held["sha256"] == sha256(canonical(held["ways"]))
    assert held["engine_sha256"] == engine_digest()
    assert found.rests_on == rests_on_of(found.content)
    assert (found.rests_on.grounds, found.rests_on.shut_offs) == ("proof", ("SO",))
    assert found.rests_on.engine_version == "0"
    assert found.rests_on.fits


def test_a_release_without_its_proof_says_why(judged):
    assert released(judged, Drawer()).rests_on.grounds == "left out"
    drawer, refused = Drawer(), ProofSheet((), (("", "no trip"),))
    found = lane(judge_file(LANE), drawer, refused)
    assert found.rests_on.grounds == "not proved"
    assert found.rests_on.refused == (("", "no trip"),)
    source = examples.read("orrowby-mill")
    bare = judge_file(source)
    plain = release_design(bare.loaded, source, bare.sheet, by="Ilse Marrow", clock=Noon(), shelf=Drawer())
    assert plain.rests_on.grounds == "nothing to prove"


def test_an_older_release_still_opens_and_is_told_to_hold_no_proof():
    (judged, made), drawer = with_proof(), Drawer()
    name = lane(judged, drawer, made).name
    record = json.loads(drawer.held[name])
    del record["protection"]
    drawer.held[name] = canonical(record)
    found = lane(judged, drawer, made)
    assert (found.is_new, found.is_proof_new) == (False, True)
    assert found.rests_on.grounds == "not recorded"
    assert released_as(judged.loaded, LANE, drawer) == "r1"
    again = lane(judged, drawer, made, again=True)
    assert (again.revision, again.rests_on.grounds) == (2, "proof")
    assert not lane(judged, drawer, made).is_proof_new


def test_another_proof_of_an_unchanged_file_is_told_and_a_changed_figure_is_seen():
    (judged, made), drawer = with_proof(), Drawer()
    name = lane(judged, drawer, made).name
    other, later = with_proof(fastest=2.0)
    assert lane(other, drawer, later).is_proof_new
    record = json.loads(drawer.held[name])
    record["protection"]["ways"][0]["trip_pa"] = 3.0e5
    assert not rests_on_of(canonical(record)).fits
    for spoilt in (b"", b"[]", b'{"protection": 7}', b'{"protection": {"ways": [1]}}'):
        assert rests_on_of(spoilt).grounds == "not recorded"


def test_the_command_says_what_the_release_rests_on(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("STEADYHEAD_PROOF", "no")
    file = tmp_path / "lane.yaml"
    file.write_bytes(LANE)
    assert run(["release", str(file), "--by", "Ilse Marrow"]) == 0
    assert "It rests on no protection proof: that was left out." in capsys.readouterr().out
    assert run(["release", str(file), "--by", "Ilse Marrow", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["rests_on"]["grounds"] == "left out"
    made = proof(slowest=70.0)
    monkeypatch.setattr("steadyhead.cli.commands.proof_for", lambda *_, **__: made)
    assert run(["release", str(file), "--by", "Ilse Marrow"]) == 0
    out = capsys.readouterr().out
    assert "Unchanged since revision 1" in out
    assert "is there for the first time" in out
    assert run(["release", str(file), "--by", "Ilse Marrow", "--again"]) == 0
    assert "It holds the protection proof of SO by engine 0, SHA-256" in capsys.readouterr().out
