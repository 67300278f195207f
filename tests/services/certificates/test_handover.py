"""The handover pack, and the card with as-left values."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from datetime import date
from functools import cache

import pytest

from steadyhead.errors import InputError
from steadyhead.reports.card_left import as_left
from steadyhead.services.certificates.handover import MANIFEST, checked, pack, unlike
from steadyhead.services.certificates.making import read_record
from steadyhead.services.certificates.verifying import verify
from steadyhead.services.judging import judge_file
from steadyhead.services.papers import card_data, card_paper
from steadyhead.station.canonical import sha256
from steadyhead.units import METRIC
from tests.services.certificates.visits import KEY, OTHER, certified, station, text_of


@cache
def made() -> bytes:
    pdf = certified().pdf
    return pack(pdf, verify(pdf, KEY.public), judge_file(station()[1]))


def inside(name: str) -> bytes:
    with zipfile.ZipFile(io.BytesIO(made())) as source:
        return source.read(name)


def test_the_pack_holds_papers_and_open_data_and_a_manifest_of_all():
    manifest = json.loads(inside(MANIFEST))
    names = {one["name"] for one in manifest["files"]}
    assert {
        "1-handover-notes.pdf", "2-certificate.pdf", "2-certificate.pdf.sig", "3-design-sheet.pdf",
        "4-station-card.pdf", "data/record.json", "data/plan.plan", "data/entries.jsonl", "data/readings.csv",
        "data/station.yaml", "data/strip.svg",
    } <= names  # fmt: skip
    assert all(one["sha256"] == sha256(inside(one["name"])) for one in manifest["files"])
    assert checked(made()) == []


def test_the_certificate_in_the_pack_is_the_one_that_was_signed_byte_for_byte():
    assert inside("2-certificate.pdf") == certified().pdf
    assert inside("2-certificate.pdf.sig") == certified().signature


def test_a_pack_that_was_changed_is_named_file_by_file():
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(made())) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            if name == "data/strip.svg":
                continue
            new.writestr(name, b"x" if name == "data/readings.csv" else old.read(name))
        new.writestr("more.txt", b"")
    assert checked(out.getvalue()) == [
        "data/strip.svg: gone", "more.txt: not in the manifest", "data/readings.csv: changed",
    ]  # fmt: skip


def rewritten(name: str, content: bytes, **manifest: object) -> bytes:
    """Return the pack with a file of another content, and the manifest written anew to fit it."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(made())) as old, zipfile.ZipFile(out, "w") as new:
        files = {one: old.read(one) for one in old.namelist()} | {name: content}
        told = json.loads(files.pop(MANIFEST)) | manifest
        rows = [{"name": n, "bytes": len(c), "sha256": sha256(c)} for n, c in files.items()]
        new.writestr(MANIFEST, json.dumps({**told, "files": rows}))
        for one, own in files.items():
            new.writestr(one, own)
    return out.getvalue()


@pytest.mark.parametrize(
    "name",
    ["data/entries.jsonl", "data/record.json", "data/plan.plan", "data/readings.csv", "data/station.yaml",
     "data/station.json", "data/signature.json", "2-certificate.pdf.sig"],
)  # fmt: skip
def test_a_signed_file_changed_together_with_the_manifest_is_held_against_the_certificate(name: str):
    changed = rewritten(name, inside(name) + b" ")
    assert checked(changed) == []
    assert unlike(changed, verify(certified().pdf, KEY.public)) == [f"{name}: not as the certificate has it"]


def test_a_manifest_that_names_another_certificate_is_named_and_a_sound_pack_is_not():
    found = verify(certified().pdf, KEY.public)
    assert unlike(made(), found) == []
    other = rewritten("data/strip.svg", inside("data/strip.svg"), certificate="QUR-02/C-1")
    assert unlike(other, found) == [f"{MANIFEST}: not as the certificate has it"]


def test_a_file_of_a_pack_that_is_there_twice_or_unreadable_is_named():
    out = io.BytesIO(made())
    with zipfile.ZipFile(out, "a") as new, pytest.warns(UserWarning, match="Duplicate name"):
        new.writestr("4-station-card.pdf", inside("4-station-card.pdf"))
    assert checked(out.getvalue()) == ["4-station-card.pdf: there twice"]
    with zipfile.ZipFile(io.BytesIO(made())) as source:
        sheet = source.getinfo("3-design-sheet.pdf")
    for behind in range(100, 1000, 90):
        at = sheet.header_offset + behind
        bad = made()[:at] + bytes([made()[at] ^ 85]) + made()[at + 1 :]
        assert checked(bad) == ["3-design-sheet.pdf: changed"]


def test_no_pack_is_refused():
    with pytest.raises(InputError):
        checked(b"PK")


def test_the_same_certificate_gives_the_same_pack():
    pdf = certified().pdf
    assert pack(pdf, verify(pdf, KEY.public), judge_file(station()[1])) == made()


@pytest.mark.parametrize("public", [None, OTHER.public])
def test_a_certificate_that_is_not_proved_gets_no_pack(public):
    pdf = certified().pdf
    with pytest.raises(InputError, match="is not proved"):
        pack(pdf, verify(pdf, public), judge_file(station()[1]))


def test_a_certificate_of_another_station_gets_no_pack():
    pdf = certified().pdf
    with pytest.raises(InputError, match="belongs to"):
        pack(pdf, verify(pdf, KEY.public), judge_file(station("dunmarrow-bottom")[1]))


def test_the_notes_say_in_plain_words_what_to_do_who_loses_water_and_whom_to_call():
    told = text_of(inside("1-handover-notes.pdf"))
    for words in (
        "SO is the shut-off. It stands open.", "Do not reset yet.", "Isolation plan",
        "24 turns, shuts clockwise",
        "Another feed can hold it", "Spares", "spring 3.00 bar to 9.00 bar", "Tarrin desk",
        "K-4471", "Data dictionary", "Stop and back out when",
    ):  # fmt: skip
        assert words in told, words


def test_readings_are_a_table_any_program_reads_and_no_formula():
    rows = list(csv.DictReader(io.StringIO(inside("data/readings.csv").decode())))
    run = next(row for row in rows if (row["step"], row["input"]) == ("F1.SO", "act"))
    assert run["quantity"] == "pressure"
    assert float(run["value"]) > 5e5
    assert run["instrument"] == "TG-1"
    assert not any(cell[:1] in "=+@" for row in rows for cell in row.values() if cell)


def test_the_card_takes_as_left_values_and_screw_heights_from_the_certificate():
    left = as_left(read_record(certified().stored), METRIC)
    judged = judge_file(station()[1])
    rows = {row["key"]: row for row in card_data(judged, METRIC, left)["settings"]}
    assert rows["SO.trip"]["left"] == "5.20 bar"
    assert rows["SO.trip"]["height"] == "24"
    assert rows["RV.duty"]["left"] == "4.00 bar at 5.00 L/s"
    assert rows["RV.duty"]["height"] == "18"
    assert rows["RV.duty"]["turn"] == "0.72 bar/turn"
    assert rows["alarm.high"]["left"] == "4.75 bar"
    told = text_of(card_paper(judged, METRIC, date(2027, 4, 15), "", left))
    number = certified().record.number
    words = f"belongs to certificate {number}, record r1, of 14 April 2027"
    assert words.replace(" ", "") in told.replace(" ", "")


def test_what_is_not_proved_stays_a_blank_on_the_card():
    left = as_left(read_record(certified(way="touched").stored), METRIC)
    assert "SO.trip" not in left.values
    assert left.values["RV.lockup"] == "4.18 bar"
    assert left.certificate.endswith("r1, provisional")


def test_a_card_without_a_certificate_has_blanks_as_before():
    rows = card_data(judge_file(station()[1]), METRIC)["settings"]
    assert all(row["left"] == "" for row in rows)


def test_a_value_read_at_another_tap_than_the_card_names_says_at_which():
    record = read_record(certified().stored)
    for one in record["settings"]:
        if one["key"] == "RV.duty":
            one["as_left"]["tap"] = "T4"
    rows = {
        row["key"]: row for row in card_data(judge_file(station()[1]), METRIC, as_left(record))["settings"]
    }
    assert rows["RV.duty"]["left"].endswith("read at T4")
    assert "read at" not in rows["SO.trip"]["left"]
