"""Form of the stories of site work in `stories/`: keys, words, order and references, never their meaning.

The stories are unseen cases for the judge of a run, written from the handbook alone; `stories_truth.json`
says of each what is wrong, where pointing at it is right, and what tempts but is fine.
"""

from __future__ import annotations

import json
import re
from datetime import date, datetime
from pathlib import Path
from typing import Any


def _words(text: str) -> set[str]:
    return set(text.split())


FOLDER = Path(__file__).parent / "stories"
KINDS = _words("""
    first yearly restart
""")
LAYOUTS = _words("""
    R0 LB building SO_downstream irrigation injection fire relief duty_standby self_resetting series
""")
PRESSURES = _words("""
    bar kPa psi mH2O
""")
STATION = _words("""
    name layout unit duty duty_flow trickle_flow trickle_reading lockup_max alarm trip
    trip_repeatability trip_tolerance_up instrument_share_of_tolerance limit_at_datum inlet
    v2_opening_turns iv1_turns stopwatch_window_s shut_off_senses shut_off_kind limit_switch
""")
STATION_MAYBE = _words("""
    relief_crack standby_trip last_as_left
""")
ENTRY = _words("""
    no time node by text
""")
ENTRY_MAYBE = _words("""
    readings did positions expected result
""")
READING = _words("""
    tap value unit instrument flow flow_unit steady_s
""")
READING_MAYBE = _words("""
    pipe_temp_c note hunting as_read height_above_datum_m
""")
VERBS = _words("""
    released identified compared recorded decided test_mode_on test_mode_off opened closed cracked
    vented drained flushed cleaned bled pumped raised lowered adjusted marked locknut_tightened
    locknut_slackened defeated restored injected tripped reset stroked_by_hand jumpered cable_lifted
    cable_restored alarm_received measured sealed seal_broken second_look proved_tight opened_cover
    closed_cover removed corrected deviation_raised impairment_opened impairment_closed
""")
RULE_WORDS = _words("""
    instrument_expired instrument_too_coarse gauge_not_live lockup_with_flow alarm_by_jumper
    restore_missing prediction_mismatch closing_time_outside_window trip_outside_band proof_stale
    as_found_not_first reset_unsafe moved_too_fast fill_too_fast bled_at_pressure
    opened_under_pressure second_look_missing flow_test_incomplete
""")
NODE = re.compile(
    r"(A[1-8]|B[1-6]|C[1-5]|D[1-4]|E0|EF[1-3]|ES[1-6]|DS[0-7]|DS4x|F[1-5]|G[1-5]|H[1-6]|J[1-6]|K[12]|Y[1-8]|R10|R\d)"
)
INVARIANT = re.compile(r"V([1-9]|1[0-2])")
NOT_LISTED = {"logger", "telemetry", "", None}
"""A logger and telemetry may store another unit; none is written where that is what the story tells."""


def read(folder: Path = FOLDER) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Stories and their truth, as they lie in `folder`."""
    stories = json.loads((folder / "stories.json").read_text(encoding="utf-8"))
    truth = json.loads((folder / "stories_truth.json").read_text(encoding="utf-8"))
    return stories, truth


def _keys(found: dict[str, Any], must: set[str], may: set[str], where: str) -> list[str]:
    missing, strange = must - set(found), set(found) - must - may
    return [
        f"{where}: {word} {key}"
        for word, keys in (("lacks", missing), ("strange", strange))
        for key in sorted(keys)
    ]


def _readings(story: dict[str, Any], entry: dict[str, Any], where: str) -> list[str]:
    known = {item["id"]: item for item in story["instruments"]}
    wrong: list[str] = []
    for reading in entry.get("readings", []):
        wrong += _keys(reading, READING, READING_MAYBE, where)
        instrument, value = reading.get("instrument"), reading.get("value")
        if instrument in NOT_LISTED:
            continue
        if reading.get("unit") != story["station"]["unit"]:
            wrong.append(f"{where}: unit {reading.get('unit')}")
        if instrument not in known:
            wrong.append(f"{where}: unknown instrument {instrument}")
        elif not known[instrument]["range"][0] <= value <= known[instrument]["range"][1]:
            wrong.append(f"{where}: {value} is off the scale of {instrument}")
    return wrong


def _entries(story: dict[str, Any]) -> list[str]:
    wrong: list[str] = []
    people = {person["name"] for person in story["people"]}
    before: datetime | None = None
    for number, entry in enumerate(story["entries"], 1):
        where = f"{story['id']} entry {number}"
        wrong += _keys(entry, ENTRY, ENTRY_MAYBE, where)
        now = datetime.fromisoformat(entry["time"])
        if now.tzinfo is None or (before is not None and now < before):
            wrong.append(f"{where}: time {entry['time']}")
        before = now
        if entry["no"] != number:
            wrong.append(f"{where}: number {entry['no']}")
        if not NODE.fullmatch(entry["node"]):
            wrong.append(f"{where}: node {entry['node']}")
        if entry["by"] not in people:
            wrong.append(f"{where}: by {entry['by']}")
        if not entry["text"].strip() or "{" in entry["text"]:
            wrong.append(f"{where}: text {entry['text']!r}")
        for deed in entry.get("did", []):
            if set(deed) != {"verb", "object", "detail"} or deed["verb"] not in VERBS:
                wrong.append(f"{where}: did {deed}")
        wrong += _readings(story, entry, where)
    return wrong


def _head(story: dict[str, Any]) -> list[str]:
    where, station = story["id"], story["station"]
    wrong = _keys(
        story,
        {"id", "kind", "title", "date", "station", "people", "instruments", "entries", "sign_off"},
        set(),
        where,
    )
    wrong += _keys(station, STATION, STATION_MAYBE, where)
    if story["kind"] not in KINDS or station["layout"] not in LAYOUTS or station["unit"] not in PRESSURES:
        wrong.append(f"{where}: kind, layout or unit")
    for item in story["instruments"]:
        if date.fromisoformat(item["calibrated"]) >= date.fromisoformat(item["due"]):
            wrong.append(f"{where}: dates of {item['id']}")
    return wrong + _keys(story["sign_off"], {"asked_for", "statement", "as_left"}, {"as_found"}, where)


def _is_rule(word: str) -> bool:
    return bool(INVARIANT.fullmatch(word) or NODE.fullmatch(word)) or word in RULE_WORDS


def _truth(story: dict[str, Any], truth: dict[str, Any]) -> list[str]:
    where, numbers = story["id"], {entry["no"] for entry in story["entries"]}
    wrong = _keys(truth, {"final_allowed", "breach", "must_not"}, set(), where)
    lists = [note["entries"] for note in truth["must_not"]]
    breach = truth["breach"]
    if breach is None:
        wrong += (
            [f"{where}: clean but final {truth['final_allowed']}"] if truth["final_allowed"] is False else []
        )
    else:
        wrong += _keys(breach, {"rule", "accept_rules", "entries", "node", "must", "why"}, set(), where)
        lists.append(breach["entries"])
        if breach["rule"] not in breach["accept_rules"] or not all(map(_is_rule, breach["accept_rules"])):
            wrong.append(f"{where}: rules {breach['accept_rules']}")
        allowed = {"block": False, "flag_or_block": None}
        if breach["must"] not in allowed or allowed[breach["must"]] != truth["final_allowed"]:
            wrong.append(f"{where}: must {breach['must']} with final {truth['final_allowed']}")
    if not all(found and set(found) <= numbers for found in lists):
        wrong.append(f"{where}: truth names entries that are not there")
    return wrong


def faults(stories: list[dict[str, Any]], truth: dict[str, Any]) -> list[str]:
    """What is wrong with the form, one sentence each; empty when all is well."""
    wrong = [] if [s["id"] for s in stories] == list(truth) else ["stories and truth name different ids"]
    for story in stories:
        wrong += _head(story) + _entries(story)
        if story["id"] in truth:
            wrong += _truth(story, truth[story["id"]])
    return wrong
