"""certify, verify, handover, key and card --certificate as a person meets them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from steadyhead.cli.app import run
from steadyhead.procedure.ledger import dump
from steadyhead.station import examples
from tests.services.certificates.visits import TOUCHED, plan, visit

pytestmark = pytest.mark.by_turns(4)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder with plan, station file and entries, for a person with a data folder of their own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("STEADYHEAD_PROOF", "no")
    (tmp_path / "station.yaml").write_bytes(examples.read("quillenby-row"))
    (tmp_path / "first.plan").write_bytes(plan()[1])
    (tmp_path / "final.jsonl").write_bytes(dump(visit()))
    (tmp_path / "stale.jsonl").write_bytes(dump(visit(more=TOUCHED)))
    return tmp_path


def certify(folder: Path, entries: str, out: str, *more: str) -> int:
    words = ["run", "certify", str(folder / "first.plan"), str(folder / entries), "--pdf", str(folder / out)]
    return run([*words, "--station", str(folder / "station.yaml"), *more])


def test_from_entries_to_a_verified_certificate_a_pack_and_a_card(folder, capsys):
    assert certify(folder, "final.jsonl", "c.pdf") == 0
    told = capsys.readouterr().err
    assert "A signing key was made" in told
    assert "Certificate, final" in told
    assert (folder / "c.pdf.sig").exists()
    assert run(["verify", str(folder / "c.pdf")]) == 0
    assert "Record and page are proved." in capsys.readouterr().out
    station = ["--station", str(folder / "station.yaml")]
    assert run(["run", "handover", str(folder / "c.pdf"), "--zip", str(folder / "h.zip"), *station]) == 0
    capsys.readouterr()
    assert run(["verify", str(folder / "h.zip")]) == 0
    assert "Pack: every file is as its manifest says." in capsys.readouterr().out
    card = ["card", str(folder / "station.yaml"), "--json", "--certificate", str(folder / "c.pdf")]
    assert run(card) == 0
    assert json.loads(capsys.readouterr().out)["certificate"].endswith(" r1")


def test_entries_changed_behind_a_proved_record_are_named_in_the_last_line(folder, capsys):
    assert certify(folder, "final.jsonl", "c.pdf") == 0
    whole = (folder / "c.pdf").read_bytes()
    at = whole.rfind(b'"value":') + len(b'"value":')
    (folder / "t.pdf").write_bytes(
        whole[:at] + (b"8" if whole[at : at + 1] != b"8" else b"9") + whole[at + 1 :]
    )
    capsys.readouterr()
    assert run(["verify", str(folder / "t.pdf")]) == 1
    assert capsys.readouterr().out.splitlines()[-1] == "Not proved: entries."


def test_a_blocked_run_writes_nothing_and_lists_what_blocks(folder, capsys):
    assert certify(folder, "stale.jsonl", "c.pdf") == 1
    told = capsys.readouterr().err
    assert "No certificate, because:" in told
    assert "RUN-71" in told
    assert "RUN-12" in told
    assert not (folder / "c.pdf").exists()
    assert not (folder / "home").exists()


def test_verify_says_which_of_the_two_is_proved(folder, capsys):
    assert certify(folder, "final.jsonl", "c.pdf") == 0
    content = (folder / "c.pdf").read_bytes()
    (folder / "page.pdf").write_bytes(content[:2000] + bytes([content[2000] ^ 1]) + content[2001:])
    (folder / "more.pdf").write_bytes(content + b"more")
    capsys.readouterr()
    for name in ("page.pdf", "more.pdf"):
        assert run(["verify", str(folder / name)]) == 1
        assert "The record is proved. The page is not." in capsys.readouterr().out


def test_what_cannot_be_verified_is_told_by_its_name(folder, capsys):
    (folder / "big.pem").write_bytes(b"x" * 30_000)
    (folder / "none.pdf").write_bytes(b"")
    (folder / "some.pdf").write_bytes(b"%PDF-1.7\n")
    for words, told in (
        (["none.pdf"], "none.pdf: is empty."),
        (["station.yaml"], "station.yaml: is no PDF."),
        (["some.pdf", "--key", str(folder / "big.pem")], "big.pem: is larger than 20 kB."),
    ):
        assert run(["verify", str(folder / words[0]), *words[1:]]) == 2
        assert told in " ".join(capsys.readouterr().err.split())


def test_a_stranger_without_a_key_is_told_how_to_get_it_and_with_it_proves_all(folder, capsys, monkeypatch):
    assert certify(folder, "final.jsonl", "c.pdf") == 0
    assert run(["key", "--public", str(folder / "owner.pem")]) == 0
    monkeypatch.setenv("XDG_DATA_HOME", str(folder / "stranger"))
    capsys.readouterr()
    assert run(["verify", str(folder / "c.pdf")]) == 1
    assert "name it with --key" in " ".join(capsys.readouterr().out.split())
    assert run(["verify", str(folder / "c.pdf"), "--key", str(folder / "owner.pem")]) == 0
    assert run(["key", "--make"]) == 0
    capsys.readouterr()
    assert run(["verify", str(folder / "c.pdf")]) == 1
    assert "This is NOT the key of this installation" in " ".join(capsys.readouterr().out.split())


def test_a_changed_certificate_cannot_be_replaced_or_handed_over(folder, capsys):
    assert certify(folder, "final.jsonl", "c.pdf") == 0
    content = (folder / "c.pdf").read_bytes()
    (folder / "bad.pdf").write_bytes(
        content.replace(b'"standing":"final","statement"', b'"standing":"Final","statement"')
    )
    assert certify(folder, "final.jsonl", "d.pdf", "--replaces", str(folder / "bad.pdf")) == 1
    assert "RUN-75" in capsys.readouterr().err
    words = ["run", "handover", str(folder / "bad.pdf"), "--zip", str(folder / "h.zip")]
    assert run([*words, "--station", str(folder / "station.yaml")]) == 2
    card = ["card", str(folder / "station.yaml"), "--json", "--certificate", str(folder / "bad.pdf")]
    assert run(card) == 2


def test_the_record_alone_is_printed_as_data_and_needs_no_key(folder, capsys):
    words = ["run", "certify", str(folder / "first.plan"), str(folder / "final.jsonl"), "--json"]
    assert run(words) == 0
    assert json.loads(capsys.readouterr().out)["format"] == "steadyhead/certificate/1"
    assert not (folder / "home").exists()


def test_without_a_place_there_is_no_certificate(folder, capsys):
    assert run(["run", "certify", str(folder / "first.plan"), str(folder / "final.jsonl")]) == 2
    assert "--pdf" in capsys.readouterr().err


def test_key_says_where_it_would_lie_before_there_is_one(folder, capsys):
    assert run(["key"]) == 1
    assert "There is no signing key yet" in capsys.readouterr().out
