"""A certificate is issued once: no file written over, another content only as the next revision."""

from __future__ import annotations

import pytest

from steadyhead.procedure.ledger import dump
from tests.cli.test_certifying import certify, folder  # noqa: F401
from tests.procedure.walking import Device
from tests.services.certificates.visits import visit

pytestmark = pytest.mark.by_turns(4)


@pytest.fixture
def corrected(folder):  # noqa: F811
    """Return the folder with a second file of entries: one reading corrected and signed again."""
    entries = visit()
    last = next(one for one in entries if one.node == "H2.RV" and one.payload.get("input") == "last")
    late = Device(start=30 * 3600.0, name="tab-2")
    payload = {"reason": "slip", "payload": {"value": last.payload["value"] - 1000.0}}
    fixed = late.make("correction", payload, "H2.RV", replaces=last.id)
    (folder / "fixed.jsonl").write_bytes(dump([*entries, fixed, late.make("sign", {"asks": "final"})]))
    (folder / "late.jsonl").write_bytes(dump([*entries, fixed]))
    return folder


def test_the_same_certificate_may_be_written_twice_and_is_the_same_bytes(folder, capsys):  # noqa: F811
    assert certify(folder, "final.jsonl", "c.pdf") == 0
    before = (folder / "c.pdf").read_bytes()
    assert certify(folder, "final.jsonl", "c.pdf") == 0
    assert "there already, byte for byte" in capsys.readouterr().err
    assert certify(folder, "final.jsonl", "copy.pdf") == 0
    assert (folder / "copy.pdf").read_bytes() == before


def test_a_reading_corrected_after_the_signature_gets_no_certificate_without_another(corrected, capsys):
    assert certify(corrected, "late.jsonl", "c.pdf") == 1
    told = " ".join(capsys.readouterr().err.split())
    assert "RUN-72" in told
    assert "correction 1" in told
    assert not (corrected / "c.pdf").exists()


def test_another_content_of_a_run_that_was_certified_asks_for_the_next_revision(corrected, capsys):
    assert certify(corrected, "final.jsonl", "c.pdf") == 0
    assert certify(corrected, "fixed.jsonl", "d.pdf") == 1
    assert "RUN-76" in capsys.readouterr().err
    assert not (corrected / "d.pdf").exists()
    assert certify(corrected, "fixed.jsonl", "d.pdf", "--replaces", str(corrected / "c.pdf")) == 0
    assert "revision 2" in capsys.readouterr().err


def test_an_issued_file_is_never_written_over_even_by_its_own_revision(corrected, capsys):
    assert certify(corrected, "final.jsonl", "c.pdf") == 0
    before = (corrected / "c.pdf").read_bytes()
    assert certify(corrected, "fixed.jsonl", "c.pdf", "--replaces", str(corrected / "c.pdf")) == 2
    assert "never written over" in " ".join(capsys.readouterr().err.split())
    assert (corrected / "c.pdf").read_bytes() == before


def test_a_revision_that_is_not_the_newest_cannot_be_replaced(corrected, capsys):
    assert certify(corrected, "final.jsonl", "c.pdf") == 0
    assert certify(corrected, "fixed.jsonl", "d.pdf", "--replaces", str(corrected / "c.pdf")) == 0
    entries = visit()
    late = Device(start=31 * 3600.0, name="tab-3")
    more = [late.make("note", {"text": "desk agreed"}), late.make("sign", {"asks": "final"})]
    (corrected / "other.jsonl").write_bytes(dump([*entries, *more]))
    capsys.readouterr()
    assert certify(corrected, "other.jsonl", "e.pdf", "--replaces", str(corrected / "c.pdf")) == 1
    assert "RUN-77" in capsys.readouterr().err


@pytest.mark.parametrize("what", ["page", "behind"])
def test_a_certificate_whose_page_is_not_proved_cannot_be_replaced(corrected, capsys, what):
    assert certify(corrected, "final.jsonl", "c.pdf") == 0
    content = (corrected / "c.pdf").read_bytes()
    middle = content[:2000] + bytes([content[2000] ^ 1]) + content[2001:]
    (corrected / "bad.pdf").write_bytes(middle if what == "page" else content + b"more")
    capsys.readouterr()
    assert certify(corrected, "fixed.jsonl", "d.pdf", "--replaces", str(corrected / "bad.pdf")) == 1
    told = capsys.readouterr().err
    assert "RUN-75" in told
    assert "page" in told


def test_a_certificate_made_with_and_without_the_proof_differs_and_says_in_what(folder, capsys, monkeypatch):  # noqa: F811
    assert certify(folder, "final.jsonl", "c.pdf", "--without-proof") == 0
    monkeypatch.setattr("steadyhead.services.certificates.design._is_proved", lambda _: True)
    assert certify(folder, "final.jsonl", "d.pdf", "--without-proof") == 1
    assert "RUN-76" in capsys.readouterr().err
    again = ["--without-proof", "--replaces", str(folder / "c.pdf")]
    assert certify(folder, "final.jsonl", "d.pdf", *again) == 0
