"""A turn and a reading of two devices of which the clocks leave the order open: the worst case counts."""

from __future__ import annotations

import json
import shutil
import subprocess
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from steadyhead.procedure.advice import advise
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.visits.advising.history import events
from tests.procedure.walking import Device
from tests.visits.test_advice_history import BOTH, FALL, RISE, RV, SO

STEP, DOWN = "ES1.RV", "ES4.SO"


def _pair(do: str, within: float, *, step: str = STEP, valve: str = "RV") -> list[Entry]:
    """Return a reading, and a turn of another device that sorts some seconds before it."""
    one, two = Device("tab-1"), Device("tab-2")
    first = one.make("reading", {"input": "T3", "quantity": "pressure", "tap": "T3", "value": 1.5e5}, step)
    one.wait_until(one.now.replace(hour=12))
    last = one.make("reading", {"input": "T3", "quantity": "pressure", "tap": "T3", "value": 2.0e5}, step)
    act = {"do": do, "thing": f"{valve}.setting", "amount": 0.25, "unit": "turn"}
    two.wait_until(one.now)
    turn = two.make("action", act, step, clock_within=within, clock_offset=-30.0 - two.step)
    return sorted([first, turn, last], key=lambda entry: entry.order)


def _told(entries: list[Entry], *, fall: bool = False) -> list[str]:
    aim, screw = (FALL, SO) if fall else (RISE, RV)
    return [one.what for one in events(BOTH, aim, screw, entries)]


def test_a_raise_whose_clock_is_known_within_hours_counts_after_the_reading() -> None:
    found = events(BOTH, RISE, RV, _pair("raise", 7200.0))
    assert [one.what for one in found] == ["read", "lost", "read", "turn"]
    assert advise(RV, found).status == "read first"


def test_where_the_clocks_tell_the_order_the_reading_counts() -> None:
    found = events(BOTH, RISE, RV, _pair("raise", 1.0))
    assert [one.what for one in found] == ["read", "turn", "read"]
    assert advise(RV, found).status != "read first"


def test_a_lowering_of_the_reducer_leaves_the_setting_unknown_until_it_is_read() -> None:
    assert _told(_pair("lower", 7200.0))[-1] == "lost"
    assert advise(RV, events(BOTH, RISE, RV, _pair("lower", 7200.0))).status == "read first"


def test_of_a_shut_off_what_brings_it_nearer_to_acting_counts_last() -> None:
    assert _told(_pair("lower", 7200.0, step=DOWN, valve="SO"), fall=True)[-2:] == ["turn", "open"]
    moved = _pair("lower", 7200.0, step=DOWN, valve="SO")
    assert [one.what for one in events(BOTH, FALL, SO, moved)] == ["open", "open", "turn", "open"]
    kept = _pair("raise", 7200.0, step=DOWN, valve="SO")
    assert [one.what for one in events(BOTH, FALL, SO, kept)] == ["open", "turn", "open"]


@pytest.mark.parametrize("within", [1.0, 7200.0])
@pytest.mark.parametrize("do", ["raise", "lower"])
def test_the_device_takes_them_in_the_same_order(tmp_path: Path, do: str, within: float) -> None:
    node = shutil.which("node")
    if node is None:
        pytest.skip("no node here")
    for name, package, folder in (
        ("procedure", "steadyhead.procedure", "js"),
        ("field", "steadyhead.web", "assets/field"),
    ):
        (tmp_path / name).mkdir()
        for one in files(package).joinpath(folder).iterdir():
            if one.name.endswith(".js"):
                (tmp_path / name / one.name).write_text(one.read_text("utf-8"), "utf-8")
    (tmp_path / "package.json").write_text('{"type": "module"}', "utf-8")
    entries = _pair(do, within)
    micros = [round(entry.time * 1e6) for entry in entries]
    data = {
        "entries": [{**plain_entry(one), "micros": at} for one, at in zip(entries, micros, strict=True)],
        "aim": {"step": STEP, "valve": "RV", "tap": "T3", "target": 4e5, "tolerance": 5e3},
    }
    (tmp_path / "main.js").write_text(
        'import { events } from "./field/history.js"\n'
        f"const data = {json.dumps(data)}\n"
        "const rest = { clock_within: 0, clock_offset: 0, t_mono: 0 }\n"
        "const entries = data.entries.map((one) => ({ ...rest, ...one }))\n"
        'const screw = { valve: "RV", sees: "gauge", reading: 2000, tell: 0 }\n'
        "const plan = { nodes: [], names: {}, limits: {}, streams: {} }\n"
        "const advising = { aims: [data.aim], screws: [screw] }\n"
        "const found = events(advising, data.aim, screw, entries, plan)\n"
        "console.log(JSON.stringify(found.map((one) => one.what)))\n",
        "utf-8",
    )
    done = subprocess.run([node, "main.js"], cwd=tmp_path, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr[-800:]
    assert json.loads(done.stdout) == _told(entries)


def test_one_device_tells_the_order_by_its_own_numbers() -> None:
    pair = enumerate(_pair("raise", 7200.0))
    entries = [replace(one, device="tab-1", device_seq=at + 1) for at, one in pair]
    assert _told(entries)[-1] == "read"
