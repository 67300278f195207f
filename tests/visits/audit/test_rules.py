"""One breach of each rule in the clean day of Quernhollow Lane, beside its nearest innocent twin."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.findings import Finding, Severity
from steadyhead.visits.audit import audit
from steadyhead.visits.audit.sheet import read_sheet
from tests.visits.audit.editing import Edit, act, drop, note, place, read, say, together, tool
from tests.visits.audit.notebook import BAR, Notebook
from tests.visits.audit.quernhollow import SHEET, commissioning

pytestmark = pytest.mark.source(kind="published", ref="design handbook 3.1 to 3.3, 8.2")


def vented(bar: float) -> Edit:
    """Two gauges on T3 as it is vented at B2, the one that reads the trip showing some bar."""

    def edit(book: Notebook) -> None:
        near = max(k for k, e in enumerate(book.entries) if e.node == "B2" and e.kind == "reading")
        old = book.entries[near]
        book.entries[near] = replace(old, payload={**old.payload, "value": bar * BAR})
        beside = {**old.payload, "value": 0.0, "instrument": "TG-11"}
        book.entries.insert(near + 1, replace(old, id=f"{old.id}z", payload=beside))

    return edit


CASES: tuple[tuple[str, str, Edit, Edit], ...] = (
    (
        "outlet valve not proved before the line is raised",
        "RUN-20",
        drop("D2"),
        note("D2", "IV2 looked at again: dry."),
    ),
    (
        "outlet valve called tight by a backward test",
        "RUN-20",
        together(drop("D2"), note("D1", "TD dry at B2, so IV2 counts as tight backwards.", "D2")),
        say("D2", "wall steady", more=True),
    ),
    ("T4 follows while the outlet is pumped", "RUN-20", read("D2", 3, value=4.31), read("D2", 3, value=4.07)),
    (
        "outlet valve tested lower than the line is raised",
        "RUN-20",
        together(read("D2", 0, value=4.4), read("D2", 1, value=4.39)),
        read("D2", 1, value=5.36),
    ),
    (
        "outlet valve eased open between its proof and the runs",
        "RUN-20",
        note("ES6", "IV2 eased open a turn for the bakery, shut again."),
        note("ES6", "The bakery asked for IV2 to be opened; refused."),
    ),
    (
        "inlet valve far open while the line is raised",
        "RUN-21",
        note("ES6", "Opened IV1 to 8 turns so that T1 would not sag."),
        note("ES6", "Tam wanted IV1 at 8 turns; it stays at 2½."),
    ),
    (
        "outlet valve thrown open",
        "RUN-22",
        together(say("J2", "IV2 thrown open in one go, T4 4.02"), act("J2", "open", detail="20 s")),
        say("J2", "Not thrown open: the handbook forbids it", more=True),
    ),
    (
        "shut-off's nut tightened after its proof",
        "RUN-23",
        note("G5", "Lock nut of the shut-off pilot felt loose, nipped it up."),
        note("G5", "Lock nut of the shut-off pilot looked at: mark in line, not touched."),
    ),
    (
        "closing needle turned after the proof",
        "RUN-23",
        note("H1", "SO closed slowly. Its closing needle ¼ turn out."),
        note("H1", "SO closed slowly? 5.6 s is inside the window, needle left alone."),
    ),
    (
        "shut-off's filter rinsed after the proof",
        "RUN-23",
        note("H3", "Took out the feed filter of the shut-off and rinsed it."),
        note("H3", "Feed filter of the shut-off to be rinsed at the yearly visit."),
    ),
    (
        "reducer's screw trimmed after its reading",
        "RUN-23",
        note("H2", "Outlet a touch low: gave the reducer an eighth in."),
        note("H2", "Outlet a touch low; asked whether the reducer wants an eighth. No."),
    ),
    (
        "no reading after the reducer's nut",
        "RUN-23",
        together(read("H1", 2, **{"as": "before nut"}), say("H1", "3.5 → 4.00 at 5 L/s, nut")),
        read("H1", 2, value=4.02),
    ),
    ("reading not waited for", "RUN-24", read("EF1", 0, steady_for=5.0), read("EF1", 0, steady_for=60.0)),
    (
        "needle swinging and no mean, swing and period",
        "RUN-24",
        say("EF1", "T3 swings and never settled", more=True),
        read("EF1", 0, swing={"mean": 4.08e5, "peak_to_peak": 1e4, "period": 6.0}),
    ),
    (
        "two settings turned at once",
        "RUN-25",
        say("ES4", "SO setting lowered and the reducer screw turned at the same time until it acted"),
        say("ES4", "One screw at a time", more=True),
    ),
    (
        "a gauge cock found half shut",
        "RUN-26",
        note("F3", "TG-07 had its cock half shut during the runs."),
        note("F3", "Cock of TG-07 full open, needle lively."),
    ),
    ("gauges that disagree are both used", "RUN-26", read("A6", 1, value=4.4), read("A6", 1, value=4.15)),
    (
        "a gauge that shows 0.2 bar where the one beside it shows zero",
        "RUN-26",
        vented(0.2),
        vented(0.05),
    ),
    (
        "a zero that is told and lies beyond the class",
        "RUN-26",
        say("A6", "TG-07 zero checked: 0.2 bar", more=True),
        say("A6", "TG-07 zero checked: 0.02 bar", more=True),
    ),
    (
        "a gauge that rests too high, in other words",
        "RUN-26",
        say("B2", "TG-07 rests 0.2 bar high", more=True),
        say("B2", "TG-07 rests 0.2 bar high, set to zero", more=True),
    ),
    (
        "zeros in a list, one of them off",
        "RUN-26",
        say("A6", "Zeros: TG-07 0.3, TG-11 0", more=True),
        say("A6", "Zeros: TG-07 0.00, TG-11 0.0", more=True),
    ),
    (
        "a zero told as an offset",
        "RUN-26",
        say("A6", "Zero offset of TG-07: 0.3 bar. TG-11 put aside for T1", more=True),
        say("A6", "TG-07 zero was 0.3 bar, set back to 0 with its screw", more=True),
    ),
    (
        "vented, a gauge shows psi",
        "RUN-26",
        together(
            say("A6", "Vented, TG-07 showed 4 psi", more=True), note("G5", "Clock corrected; TG-07 read.")
        ),
        say("A6", "TG-07 rests at 0.3 bar. Deducted from all its readings", more=True),
    ),
    (
        "a step that was not run, and runs as a noun",
        "RUN-45",
        note("J2", "The flow test was not run."),
        note("G5", "The shut-off screw was not touched after run 3. Camera was not used at run 2."),
    ),
    (
        "a gauge off in the air and read for the trip",
        "RUN-26",
        say("A6", "In the open TG-07 showed 3 psi in air", more=True),
        say("A6", "The old gauge rests 0.2 bar high. TG-07 not", more=True),
    ),
    (
        "shut-off's setting never restored",
        "RUN-27",
        together(act("F3", "restore"), say("ES6", "SO nut tight, marked, 24 mm")),
        say("F3", "and said so", nth=-1, more=True),
    ),
    (
        "left alone while the shut-off is defeated",
        "RUN-27",
        note("ES3", "Both of us at the van for lunch."),
        note("ES3", "Lunch at the gauge, one of us stays at the valve."),
    ),
    (
        "a root cock left shut",
        "RUN-27",
        place("J4", "shut-off sensing root cock", "shut"),
        place("J4", "gauge cocks", "shut"),
    ),
    ("alarm left on test", "RUN-27", act("J5", "alarm live"), note("J5", "Desk confirmed it.")),
    (
        "duty come down upon",
        "RUN-28",
        together(
            read("H1", 0, value=4.4),
            say("H1", "from above 4.4 down to 4.00 at 5 L/s, nut, re-read 4.01"),
            act("H1", "raise", detail="from above"),
        ),
        read("H1", 0, value=3.6),
    ),
    (
        "a reading without its instrument",
        "RUN-29",
        read("F3", 1, instrument=None),
        read("H4", 0, steady_for=None),
    ),
    (
        "figures written from memory",
        "RUN-29",
        say("F3", "Values written up from memory in the van", more=True),
        say("F3", "Nothing from memory", more=True),
    ),
    (
        "strainer opened with zero seen elsewhere",
        "RUN-30",
        together(read("B4", 0, tap="T3"), drop("B2")),
        read("B4", 0, value=0.02),
    ),
    (
        "a lid that hisses",
        "RUN-30",
        say("B4", "strainer lid slackened, a long hiss, then off"),
        say("B4", "No hiss at the strainer lid", more=True),
    ),
    (
        "a lid undone in words, its own gauge up",
        "RUN-30",
        together(
            read("C3", 0, value=3.9), say("C3", "Undid the lid of the strainer a little, T1 3.9", more=True)
        ),
        together(read("C3", 0, value=3.9), say("C3", "Lid of the strainer looked at, T1 3.9", more=True)),
    ),
    ("no second look", "RUN-31", act("J4", "second look"), note("J4", "Everything as the list.")),
    (
        "a second look told by photographs",
        "RUN-31",
        act("J4", "second look"),
        together(
            note("J4", "All cocks tallied with the morning photographs.", "J4"), act("J4", "second look")
        ),
    ),
    (
        "the end of test mode told in words",
        "RUN-27",
        act("J5", "alarm live"),
        together(note("J5", "Desk withdrew test mode, 16:00.", "J5"), act("J5", "alarm live")),
    ),
    ("gauge overdue by a day", "RUN-32", tool("TG-07", due="2027-04-13"), tool("TG-07", due="2027-04-14")),
    (
        "gauge too coarse for the trip",
        "RUN-33",
        tool("TG-07", **{"class": 0.01}),
        tool("TG-11", **{"class": 0.016}),
    ),
    (
        "drain left trickling in the lock-up",
        "RUN-34",
        say("H2", "TD left trickling so the gauge stays lively, 15 min, wall 11.2 °C"),
        say("H2", "TD shut, not trickling; meter zero; 15 min, wall 11.2 °C"),
    ),
    (
        "lock-up watched for five minutes",
        "RUN-34",
        say("H2", "TD shut, meter zero, 5 min, wall 11.2 °C"),
        say("H2", "TD shut, meter zero, 20 min, wall 11.2 °C"),
    ),
    (
        "alarm made by a bridge",
        "RUN-35",
        say("G1", "Contacts bridged in the box, desk text “QUERNHOLLOW LN SO REACHED CLOSED”"),
        say("G1", "No bridge used", more=True),
    ),
    (
        "another station at the desk",
        "RUN-35",
        say("G1", "third run, own pilot: desk text PELL MOUNT SO REACHED CLOSED"),
        note("G1", "Desk read it back."),
    ),
    (
        "trickle reading far off and on it goes",
        "RUN-36",
        read("EF1", 0, value=4.45),
        read("EF1", 0, value=4.15),
    ),
    (
        "a reading far below duty that is no drained section",
        "RUN-36",
        together(read("EF1", 0, value=1.0), say("EF1", "T3 1.0 at 0.40 L/s, steady; on we go")),
        together(read("EF1", 0, value=1.0), say("EF1", "T3 drained to 1.0, filled again by trickle")),
    ),
    (
        "closing too slow",
        "RUN-37",
        say("F3", "steps 0.05, holds 15 s; shut in 9.4 s; flow 0 for 5 min"),
        say("F3", "steps 0.05, holds 15 s; shut in 7.9 s; flow 0 for 5 min"),
    ),
    (
        "a run outside the band",
        "RUN-38",
        together(read("F3", 0, value=5.25), read("F3", 1, value=5.30)),
        together(read("F3", 0, value=5.18), read("F3", 1, value=5.23)),
    ),
    ("filled at a metre a second", "RUN-41", say("C2", "filled at 1.0 m/s"), say("C2", "filled at 0.3 m/s")),
    (
        "bled at inlet pressure",
        "RUN-42",
        together(read("C3", 0, value=11.4), say("C3", "bled at T1 11.4"), act("C3", "bleed", detail="")),
        read("C3", 0, value=3.9),
    ),
    (
        "two runs only",
        "RUN-44",
        lambda book: book.entries.__setitem__(
            slice(None), [e for e in book.entries if "12:48" not in e.t_device]
        ),
        say("F3", "run 3", more=True),
    ),
    (
        "steps wider than half the repeatability",
        "RUN-44",
        together(read("F3", 0, value=4.95), act("F3", "raise", detail="in steps of 0.2 bar")),
        act("F3", "raise", detail="in steps of 0.075 bar"),
    ),
    (
        "a run averaged away",
        "RUN-44",
        say("F3", "Run 1 left out as stiction, mean of the others", nth=1, more=True),
        say("F3", "No run left out", nth=1, more=True),
    ),
    (
        "raised past the upper edge",
        "RUN-44",
        together(read("F1", 0, value=5.33), read("F1", 1, value=5.38)),
        read("F1", 3, value=5.31),
    ),
    ("lock-up left out", "RUN-45", drop("H2"), drop("H5")),
    (
        "shut-off sticks by hand",
        "RUN-46",
        say("D4", "SO by hand: went half way and stuck; on with it"),
        say("D4", "not stiff anywhere", more=True),
    ),
    (
        "air still coming when the bleeding ends",
        "RUN-46",
        say("C4", "cover still spitting when it was shut", more=True),
        say("C4", "no air left", more=True),
    ),
    (
        "tag does not fit and the factory setting is kept",
        "RUN-46",
        say("E0", "SO tag does not fit the design, near enough: branch EF"),
        say("E0", "tags fit: branch EF"),
    ),
    (
        "signed as-left that nobody read",
        "RUN-47",
        lambda book: book.sign(duty=4.01, trip=5.11, lockup=4.05),
        lambda book: book.sign(duty=4.0),
    ),
)
NAMES = [case[0] for case in CASES]


def audited(edit: Edit) -> tuple[Finding, ...]:
    book = commissioning(screw_turned=False, lockup_flow=0.0)
    edit(book)
    return tuple(f for f in audit(read_sheet(SHEET), book.entries) if f.severity is not Severity.NOTE)


@pytest.mark.parametrize(("name", "code", "breach", "twin"), CASES, ids=NAMES)
def test_a_breach_is_named(name: str, code: str, breach: Edit, twin: Edit):
    assert code in {finding.code for finding in audited(breach)}


@pytest.mark.parametrize(("name", "code", "breach", "twin"), CASES, ids=NAMES)
def test_its_innocent_twin_is_not(name: str, code: str, breach: Edit, twin: Edit):
    assert [(f.code, f.params["seen"]) for f in audited(twin)] == []


def test_a_gauge_off_at_no_pressure_and_read_before_the_runs_too_takes_the_trip():
    found = [f for f in audited(vented(0.3)) if "at no pressure" in str(f.params["seen"])]
    assert [f.severity for f in found] == [Severity.STOP]


def test_a_pressure_read_before_the_tap_is_vented_is_no_zero():
    def edit(book: Notebook) -> None:
        near = max(k for k, e in enumerate(book.entries) if e.node == "B2" and e.kind == "reading")
        old = book.entries[near]
        ahead = replace(old, id=f"{old.id}y", payload={**old.payload, "value": 3.41 * BAR})
        book.entries.insert(near, ahead)

    assert [f.params["seen"] for f in audited(together(vented(0.0), edit))] == []
