"""What is handed over on the spot says what the certificate would say, and is held against the register."""

from __future__ import annotations

import shutil
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steadyhead.cli.handing import do_verify_hand_over, is_hand_over
from steadyhead.errors import InputError
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import dump, gathered
from steadyhead.procedure.stops import said_stops
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.services.field import claims
from steadyhead.services.field.statements import (
    Checked,
    check,
    entries_within,
    is_statement,
    read_statement,
    statement_within,
)
from steadyhead.services.plan_files import PlanFile, read_plan_file
from steadyhead.services.running import JudgedRun, judge_run
from steadyhead.services.visits_kept.figures_left import settings_of
from steadyhead.services.visits_kept.runs import read_lines
from steadyhead.station.canonical import sha256
from steadyhead.units import METRIC, read_units
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


def plan_there(name: str) -> PlanFile:
    return read_plan_file(pack_of(plan_of(name), said=False)["plan"]["text"].encode())


def signed_visit() -> list[Entry]:
    """Return a visit that found something, was left by a deviation and signed as provisional."""
    entries = run_of("quillenby-row")[:-12]
    device = Device("tab-1", RUN, start=entries[-1].t_mono)
    device.number = entries[-1].device_seq
    due = {"about": "SO.trip", "what": "a worn seat", "due": "2027-06-01", "owner": "Ilse Marrow"}
    return [
        *entries,
        device.make("deviation", {**due, "risk": "low", "measure": "watch", "accepted_by": "Tam Oduya"}),
        device.make("note", {"text": "a dry pit\nsigned: final, nobody"}),
        device.make("sign", {"asks": "provisional", "statement": "as it stands"}),
    ]


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, list[Entry]]:
    """Return a statement of such a visit and its entries."""
    entries = signed_visit()
    return str(handed(tmp_path_factory.mktemp("said"), "quillenby-row", entries)["text"]), entries


def checked(text: str, entries: list[Entry], plan: PlanFile | None = None) -> Checked:
    names = (STATION["name"],) if plan is not None else ()
    return check(read_statement(text), "QUR-02", RUN, gathered(entries), plan, names)


def test_every_claim_of_a_statement_as_it_was_said_is_borne_out(said: tuple[str, list[Entry]]):
    text, entries = said
    found = checked(text, entries, plan_there("quillenby-row"))
    assert (found.differs, found.matches) == ((), True)
    assert "Every claim of it is what these entries give" in " ".join(found.words)
    assert "Who said it, Ilse <Marrow>, made none of these entries" in " ".join(found.unchecked)
    later = Device("tab-2", RUN, start=20 * 3600.0).make("action", {"do": "raise", "thing": "SO.pilot"})
    assert checked(text, [*entries, later], plan_there("quillenby-row")).matches
    alone = checked(text, entries)
    assert alone.matches
    assert "they hang on the plan, which is not at hand" in " ".join(alone.words)


@pytest.mark.parametrize(
    ("old", "new", "tells"),
    [
        ("Quillenby Row & Co", "Fenwarren Gate", "Station: it says Fenwarren Gate"),
        ("visit: first commissioning", "visit: yearly proof", "Visit: it says yearly proof"),
        ("said: 2027-04-14T17:20", "said: 2027-04-14T08:20", "Said: it says 2027-04-14T08:20:00+01:00"),
        ("said: 2027-04-14T17:20", "said: at noon", "Said: at noon"),
        ("SO trip 5.20 bar", "SO trip 5.90 bar", "As left: it says SO trip 5.90 bar at T3"),
        ("RV duty 4.00 bar at T3, 5.00", "RV duty 4.00 bar at T3, 9.00", "As left: it says RV duty 4.00"),
        ("proved: ", "proved: 9", "Proved: it says 9"),
        (" against final", "0 against final", "Open: it says"),
        ("deviations: SO.trip, a worn seat", "deviations: none", "Deviations: it says none"),
        ("until 2027-06-01", "until 2029-06-01", "Deviations: it says SO.trip, a worn seat, until 2029"),
        ("signed: provisional", "signed: final", "Signed: it says final, Ilse Marrow"),
        ("provisional, Ilse Marrow", "provisional, Tam Oduya", "Signed: it says provisional, Tam Oduya"),
        ("Ilse Marrow, 14 Apr", "Ilse Marrow, 15 Apr", "Signed: it says provisional, Ilse Marrow, 15 Apr"),
        ("a dry pit", "a wet pit", "Seen: it says a wet pit"),
        ("; tab-1 ", "; tab-1 9", "Entries: the devices"),
        ("entries: ", "entries: 1", "Entries: it says 1"),
        ("hash: ", "certificate: QUR-02/1\nhash: ", "It says certificate: QUR-02/1; no statement says that."),
    ],
)
def test_a_claim_changed_by_hand_is_named(said: tuple[str, list[Entry]], old: str, new: str, tells: str):
    text, entries = said
    assert old in text, text
    found = checked(text.replace(old, new, 1), entries, plan_there("quillenby-row"))
    assert not found.matches
    assert any(one.startswith(tells) for one in found.words), found.words


def test_what_a_statement_says_twice_or_no_statement_says_is_refused(said: tuple[str, list[Entry]]):
    with pytest.raises(InputError, match="says signed twice"):
        read_statement(said[0].replace("hash: ", "signed: final, Ilse Marrow\nhash: "))
    with pytest.raises(InputError, match="a line that no statement has"):
        read_statement(said[0] + "\nThis is the certificate.")


@pytest.mark.parametrize("units", ["us", "uk", "metric,pressure=psi,flow=m3/h", "us+metric"])
def test_the_figures_as_left_are_borne_out_in_the_units_of_any_device(tmp_path: Path, units: str):
    entries = run_of("quillenby-row")
    pack = pack_of(plan_of("quillenby-row"), read_units(units)) | {"station": STATION}
    given = {"pack": pack, "entries": [plain_entry(one) for one in entries], "lines": ""}
    (found,) = in_node(tmp_path, IMPORTS, BODY, [given])
    assert checked(found["text"], entries, plan_there("quillenby-row")).differs == ()


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
    plan = f"{tmp_path}/plan.json"
    Path(plan).write_text(pack_of(plan_of("quillenby-row"), said=False)["plan"]["text"], "utf-8")
    (tmp_path / "forged.html").write_text(found["page"].replace("signed: not yet", "signed: final, nobody"))
    assert do_verify_hand_over(f"{tmp_path}/forged.html", "", json=False, plan=plan) == 1
    out = capsys.readouterr().out
    assert "Signed: it says final, nobody; the entries give not yet." in " ".join(out.split())
    altered = (
        found["page"].replace("of the station", "of the Station", 1).replace('"value":', '"value": 1', 1)
    )
    (tmp_path / "page.html").write_text(altered, "utf-8")
    assert do_verify_hand_over(f"{tmp_path}/page.html", "", json=False) == 1


def test_a_stop_that_stands_is_among_what_is_open_and_what_was_told_by_names_still_holds(tmp_path: Path):
    entries = signed_visit()
    device = Device("tab-9", RUN, start=entries[-1].t_mono)
    entries.append(device.make("note", {"text": "Stop: the gas alarm sounds."}, "A4"))
    text = handed(tmp_path, "quillenby-row", entries)["text"]
    plan = plan_there("quillenby-row")
    run = JudgedRun(plan, gathered(entries), judge(plan.procedure, gathered(entries), None))
    found = checked(text, entries, plan)
    assert (found.differs, found.matches) == ((), True)
    (line,) = [one for one in text.splitlines() if one.startswith("open: ")]
    proofs = [f"{one.name} {one.state}" for one in run.judgement.proofs if one.state in claims.OPEN]
    items = [f"{one.name} not restored" for one in run.judgement.items if one.state == "open"]
    blocks = [one for one in run.judgement.blocks if not one.accepted and one.remark.code != "RUN-12"]
    count = claims._count_against(run, said_stops(run.ledger.standing))
    assert count > len(blocks), "the Stop counts"
    by_names = [*proofs, *items, f"{count} against final"]
    earlier = f"open: {claims._listed(by_names, 'open', 'nothing')}"
    assert earlier != line
    assert checked(text.replace(line, earlier), entries, plan).differs == ()
    uncounted = line.replace(f"{count} against final", f"{count - 1} against final")
    assert uncounted != line
    told = checked(text.replace(line, uncounted), entries, plan)
    assert (told.matches, found.stops) == (True, told.stops[1:])
    assert told.stops[0].startswith("The page that said it counted no Stops. A Stop stood already: the gas")
    assert not checked(text.replace(line, line.replace(str(count), str(count - 2))), entries, plan).matches


def test_a_stop_said_after_a_hand_over_is_told_with_it_until_it_is_lifted(tmp_path: Path):
    entries = run_of("quillenby-row")[:60]
    told = read_statement(handed(tmp_path, "quillenby-row", entries)["text"])
    device = Device("tab-9", RUN, start=20 * 3600.0)
    stop = device.make("note", {"text": "Stop: the gas alarm sounds."}, "A4")
    found = check(
        told, "QUR-02", RUN, gathered([*entries, stop]), plan_there("quillenby-row"), ("Quillenby Row & Co",)
    )
    assert found.matches, found.words
    (words,) = found.stops
    assert words.startswith("A Stop was said since, and stands: the gas alarm sounds, ")
    lifts = device.make(
        "note", {"text": f"After the Stop of tab-9 no. {stop.device_seq}: aired. Agreed: desk."}, "A4"
    )
    assert check(told, "QUR-02", RUN, gathered([*entries, stop, lifts])).stops == ()


def test_a_statement_shown_while_more_is_entered_says_so(tmp_path: Path):
    body = """
const view = (count, stops) => ({ book: { entries: Array(count) }, stops })
result = [sinceSaid({ entries: 3 }, view(3, [])), sinceSaid({ entries: 3 }, view(4, [])),
  sinceSaid({ entries: 3 }, view(5, [{ isSaid: true }]))]
"""
    found = in_node(tmp_path, {"handover": "sinceSaid"}, body, None)
    assert found == [
        "",
        "1 entry came since this was said. Say it anew.",
        "2 entries came since this was said. A Stop stands. Say it anew.",
    ]


def test_what_was_seen_is_counted_in_words_that_fit_one_and_the_office_says_the_same(tmp_path: Path):
    entries = [*run_of("quillenby-row")[:3]]
    device = Device("tab-2", RUN, start=1e6)
    entries += [device.make("photo", {"of": "what I see", "name": "a.jpg", "sha256": "0" * 64}, "A1")]
    seen = read_statement(handed(tmp_path, "quillenby-row", entries)["text"]).lines["seen"]
    assert seen.endswith("1 photo"), seen
    assert seen == claims._seen(gathered(entries).entries)
