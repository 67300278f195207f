"""Order alone makes nothing stand: ties, clocks that do not tell, a clock set back by hours."""

from __future__ import annotations

import json
import random
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import gathered
from steadyhead.procedure.plain import plain
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.records.run import Judgement
from tests.procedure.in_js import in_node
from tests.procedure.lane import act, judged, plan, stands, visit
from tests.procedure.test_in_js import close
from tests.procedure.test_judging import PLAN, random_runs

ROW = "quillenby-row"
HOUR, SURE = 3600.0, 5.0


def _codes(entries: list[Entry], about: str = "") -> set[str]:
    blocks = judged("yearly", entries, ROW).blocks
    return {one.remark.code for one in blocks if about in ("", one.remark.about)}


def _pair(out: Entry, back: Entry, by: float, within: float) -> list[Entry]:
    """Return a clean visit with two entries of two tablets, so many seconds apart, in the middle of it."""
    clean = visit("yearly", station=ROW)
    at = clean[len(clean) // 10]
    made = [
        replace(
            one, run=at.run, id=f"pair-{device}", device=device, device_seq=900, t_device=at.t_device,
            t_mono=0.0, clock_offset=10.0 + offset, clock_within=within,
        )
        for one, device, offset in ((out, "tab-2", 0.0), (back, "tab-3", by))
    ]  # fmt: skip
    return [*clean, *made]


PUT_OUT = (
    (act("lock", "SO"), act("unlock", "SO"), "RUN-13", "SO locked"),
    (act("bridge contacts", "SO.switch"), act("remove bridge", "SO.switch"), "RUN-13", "SO.switch bridged"),
)


@pytest.mark.parametrize(("out", "back", "code", "about"), PUT_OUT)
def test_what_was_put_out_is_back_only_where_the_clocks_tell_that_it_was_after(
    out: Entry, back: Entry, code: str, about: str
) -> None:
    assert code not in _codes(_pair(out, back, 60.0, SURE), about)
    assert code in _codes(_pair(out, back, 0.0, 0.0), about), "a tie, decided by the name of a tablet"
    assert code in _codes(_pair(out, back, 60.0, HOUR), about)
    assert code in _codes(_pair(out, back, -60.0, SURE), about)


def test_the_last_word_on_how_a_valve_stands_is_one_that_the_clocks_tell() -> None:
    end = visit("yearly", station=ROW)[-1]
    for by, within, blocks in ((60.0, SURE, False), (0.0, 0.0, True), (60.0, HOUR, True)):
        made = [
            replace(
                stands("TD", how), run=end.run, id=f"td-{device}", device=device, device_seq=900,
                t_device=end.t_device, t_mono=0.0, clock_offset=3 * HOUR + offset, clock_within=within,
            )
            for how, device, offset in (("open", "tab-2", 0.0), ("shut", "tab-3", by))
        ]  # fmt: skip
        found = _codes([*visit("yearly", station=ROW), *made], "TD")
        assert ("RUN-52" in found) is blocks, (by, within)


def _duty() -> Entry:
    clean = visit("yearly", station=ROW)
    return next(one for one in clean if (one.node, one.payload.get("input")) == ("Y7.RV", "duty"))


def _later_by_number(value: float, *, seconds: float, number: int = 5000, kind: str = "") -> Entry:
    """Return an entry that the one tablet made last, its clock set back by hours meanwhile."""
    duty = next(
        e for e in visit("yearly", station=ROW) if (e.node, e.payload.get("input")) == ("Y7.RV", "duty")
    )
    payload = {"text": "the gauge's cock was shut"} if kind == "note" else {**duty.payload, "value": value}
    clock = (datetime.fromisoformat(duty.t_device) - timedelta(seconds=seconds)).isoformat()
    return replace(
        duty, id=f"later-{number}", device_seq=number, kind=kind or duty.kind, payload=payload, t_device=clock
    )


def test_a_reading_outside_its_band_stands_though_its_clock_was_set_back_by_more_than_a_sync() -> None:
    clean = visit("yearly", station=ROW)
    fine = _duty().payload["value"]
    bad = _later_by_number(1.3 * fine, seconds=1200.0)
    assert _codes([*clean, bad], "Y7.RV") == {"RUN-04"}
    assert not _codes([*clean, _later_by_number(fine, seconds=1200.0)], "Y7.RV")
    again = _later_by_number(fine, seconds=1140.0, number=5001)
    assert "RUN-04" not in _codes([*clean, bad, again], "Y7.RV")
    note = _later_by_number(0.0, seconds=1140.0, number=5001, kind="note")
    assert "RUN-04" not in _codes([*clean, bad, note], "Y7.RV")


def _shifted(seed: int, count: int) -> Iterator[list[Entry]]:
    """Yield random records with clocks set, hours given by hand, one id twice and a signature."""
    rng = random.Random(seed)
    for made in random_runs(seed, count):
        jumps = {
            device: [
                (rng.randrange(len(made)), rng.choice((-1, 1)) * rng.choice((60, 300, 600, 601, 7200)))
                for _ in range(rng.randrange(3))
            ]
            for device in sorted({one.device for one in made})
        }
        found = []
        for number, one in enumerate(made):
            by = sum(seconds for at, seconds in jumps[one.device] if number >= at)
            clock = (datetime.fromisoformat(one.t_device) + timedelta(seconds=by)).isoformat()
            more: dict[str, Any] = {"typed_at": one.t_device} if rng.random() < 0.08 else {}
            found.append(replace(one, t_device=clock, more=more, clock_within=rng.choice((0.0, 5.0, 60.0))))
        signed = rng.choice(found)
        payload = {"asks": "final", "statement": ""}
        found.append(replace(signed, id="sign-1", kind="sign", node="K", payload=payload, device_seq=900))
        yield found


def _told(judgement: Judgement) -> Any:
    return json.loads(json.dumps(plain_judgement(judgement)))


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_records_with_clocks_set_are_judged_alike_and_signatures_too(tmp_path: Path) -> None:
    runs = list(_shifted(5, 120))
    wanted = [_told(judge(PLAN, gathered(run))) for run in runs]
    assert sum(not sign["stands"] for one in wanted for sign in one["signs"]) > 50
    row = plan("yearly", ROW)
    acts = [(out, back) for out, back, _, _ in PUT_OUT] + [(stands("BY", "open"), stands("BY", "shut"))]
    pairs = [_pair(*two, by, within) for two in acts for by, within in ((0.0, 0.0), (60.0, HOUR))]
    pairs.append([*visit("yearly", station=ROW), _later_by_number(9e5, seconds=1200.0)])
    wanted += [_told(judge(row, gathered(run))) for run in pairs]
    data = {
        "plans": [plain(PLAN), plain(row)],
        "runs": [[0, [plain_entry(one) for one in run]] for run in runs]
        + [[1, [plain_entry(one) for one in run]] for run in pairs],
    }
    got = in_node(tmp_path, "result = data.runs.map(([n, run]) => judge(data.plans[n], run))", data)
    for number, (found, want) in enumerate(zip(got, wanted, strict=True)):
        close(found, want, str(number))


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_one_id_with_two_contents_moves_no_other_entry(tmp_path: Path) -> None:
    rng, runs = random.Random(7), []
    for run in _shifted(8, 40):
        for one in rng.sample(run, 2):
            clock = (datetime.fromisoformat(one.t_device) - timedelta(seconds=500)).isoformat()
            run.append(replace(one, who=f"not {one.who}", t_device=clock, device_seq=one.device_seq + 1))
        runs.append(run)
    wanted = [[one.id for one in gathered(run).entries] for run in runs]
    body = """
const same = (a, b) => JSON.stringify(a) === JSON.stringify(b)
result = data.map((run) => merge([run], same).entries.map((one) => one.id))
"""
    assert in_node(tmp_path, body, [[plain_entry(one) for one in run] for run in runs]) == wanted


def test_a_signature_does_not_stand_where_either_order_has_something_after_it() -> None:
    """The signature was given before its tablet's clock was set back; the other tablet touched after it."""
    made = random_runs(3, 1)[0]
    first = made[0]
    day = datetime.fromisoformat(first.t_device) + timedelta(days=1)

    def at(one: Entry, minutes: float, device: str, number: int, **more: Any) -> Entry:
        clock = (day + timedelta(minutes=minutes)).isoformat()
        return replace(
            one, id=f"s-{device}-{number}", t_device=clock, device=device, device_seq=number, **more
        )

    sign = at(first, 9.0, "tab-8", 1, kind="sign", node="K", payload={"asks": "provisional", "statement": ""})
    back = at(first, 1.0, "tab-8", 2, kind="note", node="K", payload={"text": "home"})
    touch = at(first, 5.0, "tab-9", 1, kind="action", node="", payload={"do": "knock", "thing": "kettle"})
    found = judge(PLAN, gathered([*made, sign, back, touch])).signs[-1]
    assert touch.id in found.later
    assert not found.stands
