"""What is handed over on the spot says what the certificate would say, and is held against the register."""

from __future__ import annotations

import shutil
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steadyhead.cli.handing import do_verify_hand_over, is_hand_over
from steadyhead.errors import InputError
from steadyhead.procedure.ledger import dump, gathered
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.services.field.statements import (
    check,
    entries_within,
    is_statement,
    read_statement,
    statement_within,
)
from steadyhead.services.running import judge_run
from steadyhead.services.visits_kept.figures_left import settings_of
from steadyhead.services.visits_kept.runs import read_lines
from steadyhead.station.canonical import sha256
from steadyhead.units import METRIC
from steadyhead.visits.certifying import in_words
from tests.procedure.walking import Device, clean_ways, walk
from tests.web.field.field_js import RUN, in_node, pack_of, plan_of

pytestmark = [
    pytest.mark.skipif(not shutil.which("node"), reason="no Node"),
    pytest.mark.by_turns(2),
]
STATIONS = ("quillenby-row", "quernhollow-lane", "fenwarren-gate")
FIGURES = ("duty", "trip", "crack", "lockup")
IMPORTS = {
    "view": "see, planOf",
    "ledger": "gathered",
    "handover": "stated, statement, partsOf, page, hashOf",
    "left": "figuresLeft",
    "pictures/code": "codeOf, mostBytes, outline",
    "saying": "said",
}
BODY = """
result = data.map(({ pack, entries, lines }) => {
  const plan = planOf(pack)
  const view = see(pack, plan, entries, null)
  const told = stated(pack, plan, view, "Ilse <Marrow>", "2027-04-14T17:20:00+01:00")
  const text = statement(told)
  const code = codeOf(text)
  return { text, version: code?.version ?? null, hash: hashOf(view.book.entries),
    left: figuresLeft(plan, view.book, view.judged, pack.units), parts: partsOf(text, 200),
    page: page(told, view, lines, [outline(code)], (entry) => said(pack, entry)) }
})
"""
STATION = {"id": "QUR-02", "name": "Quillenby Row & Co"}


@cache
def walked(name: str) -> tuple[Entry, ...]:
    procedure = plan_of(name).procedure
    return tuple(walk(procedure, list(clean_ways(procedure))[-1], Device("tab-1", RUN)))


def run_of(name: str) -> list[Entry]:
    """Return the entries of a clean visit."""
    return list(walked(name))


def handed(folder: Path, name: str, entries: list[Entry]) -> dict[str, Any]:
    pack = pack_of(plan_of(name)) | {"station": STATION}
    given = {"pack": pack, "entries": [plain_entry(one) for one in entries], "lines": dump(entries).decode()}
    found: dict[str, Any] = in_node(folder, IMPORTS, BODY, [given])[0]
    return found


@pytest.mark.parametrize("name", STATIONS)
def test_the_figures_as_left_are_those_the_certificate_tells(tmp_path: Path, name: str):
    entries = run_of(name)
    found = handed(tmp_path, name, entries)
    plan = pack_of(plan_of(name), said=False)["plan"]["text"].encode()
    run = judge_run(plan, dump(entries))
    expected = {
        one.key: in_words(one.as_left.value, one.quantity, METRIC)
        for one in settings_of(run, METRIC)
        if one.as_left is not None and one.key.rpartition(".")[2] in FIGURES
    }
    assert {one["key"]: one["words"] for one in found["left"]} == expected
    assert len(expected) >= 2


def test_a_statement_fits_one_code_and_says_what_stands(tmp_path: Path):
    entries = run_of("quillenby-row")
    found = handed(tmp_path, "quillenby-row", entries)
    assert found["version"] <= 27
    assert found["hash"] == sha256(dump(gathered(entries).entries))
    told = read_statement(found["text"])
    assert (told.station, told.run, told.count) == ("QUR-02", RUN, len(entries))
    assert told.devices == {"tab-1": entries[-1].device_seq}
    assert told.lines["said"] == "2027-04-14T17:20:00+01:00, Ilse <Marrow>"
    assert "SO trip 5.20 bar at T3; RV duty 4.00 bar at T3, 5.00 L/s" in told.lines["left"]
    assert found["text"].endswith("Judged on the device; the certificate follows from the register.")


def test_a_statement_of_part_of_a_visit_is_found_again_among_more_entries(tmp_path: Path):
    entries = run_of("quillenby-row")
    told = read_statement(handed(tmp_path, "quillenby-row", entries[:60])["text"])
    later = Device("tab-2", RUN, start=20 * 3600.0).make("note", {"text": "a dry pit"})
    ledger = gathered([*entries[:60], later])
    found = check(told, "QUR-02", RUN, ledger)
    assert (found.matches, found.here, found.later) == (True, 60, 1)
    assert "unchanged" in found.words[0]
    few = check(told, "QUR-02", RUN, gathered(entries[:50]))
    assert not few.matches
    assert few.words[0] == "10 of 60 entries are not here yet."
    other = [*entries[:59], Device("tab-1", RUN).make("note", {"text": "otherwise"})]
    swapped = gathered([*other[:-1], other[-1].__class__(**{**as_is(other[-1]), "device_seq": 60})])
    assert not check(told, "QUR-02", RUN, swapped).matches


def as_is(entry: Entry) -> dict[str, Any]:
    return {name: getattr(entry, name) for name in Entry.__slots__}


def test_another_visit_or_station_is_named(tmp_path: Path):
    entries = run_of("quillenby-row")[:30]
    told = read_statement(handed(tmp_path, "quillenby-row", entries)["text"])
    with pytest.raises(InputError, match="another visit"):
        check(told, "QUR-02", "run-2", gathered(entries))
    with pytest.raises(InputError, match="this is QUR-03"):
        check(told, "QUR-03", RUN, gathered(entries))


def test_the_parts_of_several_codes_are_joined_in_any_order_and_a_missing_one_is_named(tmp_path: Path):
    found = handed(tmp_path, "quillenby-row", run_of("quillenby-row")[:80])
    parts = found["parts"]
    assert len(parts) > 2
    assert all(len(one.encode()) <= 200 for one in parts)
    for joined in ("\n".join(reversed(parts)), "".join(parts), "\r\n\n".join(parts)):
        assert read_statement(joined) == read_statement(found["text"])
    with pytest.raises(InputError, match=rf"lacks code 2 of {len(parts)}"):
        read_statement("\n".join([parts[0], *parts[2:]]))


def test_the_page_is_readable_and_the_register_takes_its_entries_from_it(tmp_path: Path):
    entries = run_of("quillenby-row")
    page = handed(tmp_path, "quillenby-row", entries)["page"].encode()
    assert is_statement(page)
    assert entries_within(page) == dump(entries)
    assert read_statement(statement_within(page)).count == len(entries)
    brought = read_lines(page)
    assert ([made.id for _, made in brought.lines], brought.refused) == ([one.id for one in entries], [])
    assert b"<script" not in page
    assert b"Quillenby Row &amp; Co" in page
    assert b"This page is no certificate" in page


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "does not begin"),
        ("steadyhead/hand-over/2\nhash: 0", "does not begin"),
        ("steadyhead/hand-over/1\nstation: Q", "does not say: visit, said, entries, hash"),
        ("steadyhead/hand-over/1\nstation: Q, q\nvisit: k, r\nsaid: x\nentries: ; a 1\nhash: 12", "damaged"),
        (
            f"steadyhead/hand-over/1\nstation: Q, q\nvisit: k, r\nsaid: x\nentries: 1; a\nhash: {'0' * 64}",
            "names no device",
        ),
        ("x" * 50_000, "does not begin"),
    ],
)
def test_what_is_no_statement_is_said_to_be_none(text: str, problem: str):
    with pytest.raises(InputError, match=problem):
        read_statement(text)


def test_the_command_line_holds_a_page_against_itself_and_a_statement_against_entries(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    entries = run_of("quillenby-row")[:50]
    found = handed(tmp_path / "node", "quillenby-row", entries)
    for name, content in (("page.html", found["page"]), ("said.txt", found["text"])):
        (tmp_path / name).write_text(content, "utf-8")
    (tmp_path / "few.jsonl").write_bytes(dump(entries[:49]))
    assert is_hand_over(f"{tmp_path}/said.txt")
    assert not is_hand_over(f"{tmp_path}/few.jsonl")
    assert do_verify_hand_over(f"{tmp_path}/page.html", "", json=False) == 0
    assert "holds the 50 entries" in capsys.readouterr().out
    assert do_verify_hand_over(f"{tmp_path}/said.txt", f"{tmp_path}/few.jsonl", json=True) == 1
    assert '"matches": false' in capsys.readouterr().out
    with pytest.raises(InputError, match="nothing is at hand"):
        do_verify_hand_over(f"{tmp_path}/said.txt", "", json=False)
    altered = (
        found["page"].replace("of the station", "of the Station", 1).replace('"value":', '"value": 1', 1)
    )
    (tmp_path / "page.html").write_text(altered, "utf-8")
    assert do_verify_hand_over(f"{tmp_path}/page.html", "", json=False) == 1
