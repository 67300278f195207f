"""The commissioning of Quernhollow Lane on 14 April 2027 (handbook 10.2) as it was entered."""

from __future__ import annotations

from tests.visits.audit.notebook import Notebook, at

SHEET = """\
format: steadyhead/job/1
name: Quernhollow Lane
kind: first
layout: low-flow stream
unit: bar
senses: T3
shut_off: latching
switch: reaches CLOSED
numbers:
  duty: 4.0 bar
  duty_flow: 5 L/s
  trickle_reading: 4.1 bar
  trickle_flow: 0.4 L/s
  lockup_highest: 4.4 bar
  alarm: 4.8 bar
  trip: 5.1 bar
  repeatability: 0.15 bar
  tolerance_up: 0.21 bar
  instrument_error: 0.0875 bar
  limit: 5.94 bar
  inlet: 11.4 bar
  raising_turns: 2.5
  inlet_turns: 34
stopwatch: [5 s, 8 s]
"""
CURVE = (
    (0.4, 11.40, 11.40, 11.40, 4.20, 4.19),
    (2, 11.38, 11.38, 11.38, 4.17, 4.16),
    (5, 11.33, 11.31, 11.30, 4.03, 4.03),
    (10, 11.24, 11.16, 11.13, 3.99, 3.98),
    (16, 11.10, 10.91, 10.83, 3.95, 3.94),
    (22, 10.92, 10.56, 10.41, 3.90, 3.90),
)
SCREW_TURNED = "run 1 a bit high, gave SO screw ¼ turn out, nut tight, painted"
COCKS = {
    "IV1": "open",
    "IV2": "open",
    "BY": "locked shut",
    "TD": "shut",
    "LB": "in service",
    "reducer sensing cock": "open",
    "shut-off sensing root cock": "open",
    "gauge cocks": "shut, per owner's rule",
}


def commissioning(*, screw_turned: bool = True, lockup_flow: float = 0.35) -> Notebook:
    """The whole day. screw_turned, lockup_flow: its two mistakes."""
    book = Notebook()
    book.tool("TG-07", 10, 0.006)
    book.tool("TG-11", 16, 0.01, due="2027-11-30")
    book.tool("logger", 16, 0.001, what="logger")
    _before(book)
    _filled(book)
    _set_and_proved(book)
    if screw_turned:
        book.row("", SCREW_TURNED, clock="12:55")
    _performance(book, lockup_flow)
    _back(book)
    book.minute = 15 * 60
    book.sign(duty=4.01, trip=5.11, lockup=4.22)
    return book


def _ticked(book: Notebook, *steps: str, clock: str) -> None:
    for step in steps:
        book.row(step, acts=[("tick", "")], clock=clock)


def _before(book: Notebook) -> None:
    _ticked(book, "A1", "A2", "A3", clock="08:00")
    book.row("A4", "O₂ 20.8 %, flammable 0, H₂S 0, CO 0; fan on", clock="08:05")
    book.row("A5", "plates, arrows match; spring ranges: reducer 1.5–7, SO 3–9 bar", clock="08:20")
    book.row(
        "A6",
        "zeros 0.00 / 0.0; both on T4: TG-07 4.05, TG-11 4.0; T0: TG-11 11.5, TG-07 not "
        "connected (range); hand pump tried",
        [at("T4", 4.05, "TG-07", 0), at("T4", 4.0, "TG-11", 0), at("T0", 11.5, "TG-11", 0)],
        clock="08:31",
    )
    book.row("A7", acts=[("tick", "")], clock="08:40")
    book.row("A8", acts=[("alarm to test", "alarm", "17:00")], clock="08:45")
    book.row(
        "B1",
        "Pell Mount open; IV1, IV2 found shut as tagged; T4 4.05",
        [at("T4", 4.05, "TG-07", 0)],
        places={"IV1": "shut", "IV2": "shut"},
        clock="08:52",
    )
    book.row(
        "B2",
        "strainer drain, T2 fitting, TD each opened: T1 0, T2 0, T3 0; all dry after 5 min",
        [at("T1", 0, "TG-11", 0), at("T2", 0, "TG-11", 0), at("T3", 0, "TG-07", 0)],
        clock="09:10",
    )
    book.row(
        "B3",
        "18 L/s (1.02 m/s in DN150) 18 min, then clear; sand, two gasket scraps",
        acts=[("flush", "supply"), ("shut", "IV1", "8 min")],
        clock="09:50",
    )
    book.row(
        "B4",
        "strainer 1.6 mm sound, 80 g debris",
        [at("T1", 0, "TG-11", 0)],
        [("open cover", "strainer"), ("close cover", "strainer")],
        clock="10:05",
    )
    _ticked(book, "B5", "B6", clock="10:08")
    book.row(
        "E0",
        "reducer tag 4.0 ok sealed; LB tag 4.2 ok; SO tag 6.0 ≠ 5.1 → ES for SO, EF for reducer and LB",
        clock="10:12",
    )


def _filled(book: Notebook) -> None:
    book.row(
        "C1",
        "LB isolated; SO setting raised 4 turns to top of range, screw 22 → 16 mm showing; V8 item opened",
        acts=[("isolate", "LB"), ("defeat", "shut-off pilot", "top of range, attended")],
        places={"TD": "cracked", "IV2": "shut"},
        clock="10:20",
    )
    book.row(
        "C2",
        "filled at 0.2 m/s (2.4 bar if stopped dead)",
        acts=[("crack", "IV1")],
        places={"IV1": "cracked"},
        clock="10:30",
    )
    book.row(
        "C3",
        "at T1 3.6 bled 9 points in flow order, covers last",
        [at("T1", 3.6, "TG-11", 0)],
        [("bleed", "lines and covers", "T1 low")],
        clock="10:40",
    )
    book.row(
        "C4",
        "second bleed small",
        [at("T1", 3.6, "TG-11", 4)],
        [("open", "TD", "water seen"), ("bleed", "lines and covers", "T1 low")],
        clock="10:50",
    )
    book.row(
        "C5",
        "IV1 2½ turns; T1 11.4, T3 4.1",
        [at("T1", 11.4, "TG-11"), at("T3", 4.1, "TG-07")],
        [("open", "IV1", "to the V2 opening, 5 min")],
        {"IV1": "V2 opening, 2½ turns", "TD": "trickle"},
        clock="10:55",
    )
    book.row("D1", acts=[("tick", "")], clock="10:58")
    book.row(
        "D2",
        "backwards: TD dry at B2. Forwards: IV1 shut, T1/T2 left at 11.4; T3 pumped to 5.40: "
        "5.40→5.38, T4 4.05→4.05 in 10 min, "
        "wall steady; leak < 1 mL; IV1 back to 2½",
        [
            at("T3", 5.40, "TG-07", 0),
            at("T3", 5.38, "TG-07", 0),
            at("T4", 4.05, "TG-11", 0),
            at("T4", 4.05, "TG-11", 0),
        ],
        [
            ("shut", "IV1", "4 min"),
            ("shut", "TD"),
            ("pump", "section T3", "by hand"),
            ("prove tight", "IV2", "forwards, 10 min"),
            ("open", "IV1", "to the V2 opening, 4 min"),
        ],
        {"IV1": "V2 opening, 2½ turns", "TD": "shut"},
        clock="11:02",
    )
    book.row(
        "D3",
        "water drawn, TD shut: T3 4.12→4.14 in 10 min (lock-up level of the main alone), wall 11.2 °C steady",
        [at("T3", 4.12, "TG-07", 0, wall=11.2), at("T3", 4.14, "TG-07", 0, wall=11.2)],
        [("open", "TD"), ("shut", "TD")],
        clock="11:20",
    )
    book.row(
        "D4",
        "SO by hand: shuts, reopens fully; switch makes and releases",
        acts=[("stroke by hand", "shut-off")],
        clock="11:32",
    )
    book.row(
        "D4",
        "TD opened: water seen, trickle",
        acts=[("open", "TD", "water seen, trickle")],
        places={"TD": "trickle"},
        clock="11:40",
    )


def _set_and_proved(book: Notebook) -> None:
    book.row(
        "EF1",
        "reducer: T3 4.08 at 0.40 L/s (plan: 4.05–4.15), steady; same at 4 L/s",
        [at("T3", 4.08, "TG-07")],
        clock="11:50",
    )
    book.row(
        "ES3",
        "reducer seal cut; T3 held 5.10 ± 0.02 for 2 min, T1 11.3",
        [at("T3", 5.10, "TG-07", steady=120), at("T1", 11.3, "TG-11")],
        [("break seal", "reducer pilot"), ("raise", "reducer pilot", "to 5.10 bar")],
        clock="12:05",
    )
    book.row(
        "ES4",
        "SO setting lowered 5¼ turns in shrinking steps, last ⅛: acts; T2 falls from 11.2 with "
        "T3; trickle stops",
        acts=[("lower", "shut-off pilot", "until it acted")],
        clock="12:14",
    )
    book.row(
        "ES5",
        "reducer to 3.5, T3 drained, reset by hand, refilled; open, switch normal",
        acts=[("lower", "reducer pilot", "below reset"), ("drain", "T3"), ("reset", "shut-off", "by hand")],
        clock="12:20",
    )
    book.row(
        "ES6",
        "SO nut tight, marked, 24 mm; V8 item closed on F",
        acts=[("tighten nut", "shut-off pilot"), ("mark", "shut-off nut")],
        clock="12:21",
    )
    for step, clock, hold, act, peak in (
        ("F1", "12:28", 5.17, 5.22, 5.29),
        ("F3", "12:38", 5.07, 5.12, 5.19),
        ("F3", "12:48", 5.06, 5.11, 5.18),
    ):
        run(book, step, hold, act, peak, clock)
    book.row(
        "F3", "three runs inside the band", acts=[("restore", "shut-off pilot", "proof valid")], clock="12:49"
    )
    book.row(
        "G1",
        "on the third run, shut by its own pilot 12:48:20; desk text “QUERNHOLLOW LN SO REACHED "
        "CLOSED” 12:49:02; G2 clears once on reset",
        seen={"alarm": "QUERNHOLLOW LN SO REACHED CLOSED"},
        clock="12:50",
    )
    _ticked(book, "G2", "G3", clock="12:52")


def run(book: Notebook, step: str, hold: float, act: float, peak: float, clock: str = "") -> str:
    """One rising run with its recovery."""
    return book.row(
        step,
        f"steps 0.05, holds 15 s: acts in {hold:.2f}–{act:.2f}; shut in 5.6 s (T1 "
        "11.3, T2 = T3 at start, 0.40 L/s); flow 0, T3 flat "
        "5 min, TD shut; then TD open, water seen",
        [
            at("T3", hold, "TG-07", steady=15, mark="last hold"),
            at("T3", act, "TG-07", steady=0, mark="trip"),
            at("T1", 11.3, "TG-11", steady=0, mark="at the trip"),
            at("T3", peak, "TG-07", 0, steady=0, mark="peak"),
        ],
        [
            ("raise", "reducer pilot", "in steps of 0.05 bar"),
            ("trip", "shut-off", "rising"),
            ("shut", "TD"),
            ("open", "TD", "water seen, trickle"),
            ("lower", "reducer pilot", "below reset"),
            ("drain", "T3"),
            ("reset", "shut-off", "by hand"),
        ],
        clock=clock,
    )


def _performance(book: Notebook, lockup_flow: float) -> None:
    book.row(
        "G4",
        "high alarm at 4.83 after 60 s",
        [at("T3", 4.83, "TG-07")],
        [("raise", "reducer pilot", "to 4.83 bar")],
        clock="13:12",
    )
    book.row("G5", acts=[("tick", "")], clock="13:15")
    book.row(
        "H1",
        "with water running 3.5 → 4.00 at 5 L/s, nut, re-read 4.01",
        [
            at("T3", 3.5, "TG-07", 5),
            at("T3", 4.0, "TG-07", 5, mark="before nut"),
            at("T3", 4.01, "TG-07", 5, mark="after nut"),
        ],
        [
            ("lower", "reducer pilot", "water running"),
            ("raise", "reducer pilot", "from below"),
            ("tighten nut", "reducer pilot"),
        ],
        clock="13:25",
    )
    book.row(
        "H3", "LB back in service; LB leads, main opens near 3.5 L/s", acts=[("open", "LB")], clock="13:31"
    )
    shut = [] if lockup_flow else [("shut", "TD")]
    flow = f"flow {lockup_flow} L/s" if lockup_flow else "TD shut, meter zero"
    book.row(
        "H2",
        f"“lock-up”: T3 4.18→4.22 in 15 min, {flow}, wall 11.2 °C steady; “pass”",
        [at("T3", 4.18, "TG-07", lockup_flow, wall=11.2), at("T3", 4.22, "TG-07", lockup_flow, wall=11.2)],
        shut,
        clock="13:55",
    )
    reads = []
    for way in (1, -1):
        for flow_, t0, t1, t2, up, down in CURVE[::way]:
            mark = "rising" if way == 1 else "falling"
            reads += [
                at(tap, value, "logger", flow_, mark=mark)
                for tap, value in (("T0", t0), ("T1", t1), ("T2", t2))
            ]
            reads.append(at("T3", up if way == 1 else down, "TG-07", flow_, mark=mark))
    book.row(
        "H4",
        "IV1 opened fully in 8 min, T3 held",
        reads,
        [("open", "IV1", "fully, in stages, 8 min"), ("open", "TD", "water seen")],
        {"IV1": "open"},
        clock="15:05",
    )


def _back(book: Notebook) -> None:
    book.row("J1", acts=[("flush", "station", "clear"), ("shut", "TD")], places={"TD": "shut"}, clock="15:15")
    book.row(
        "J2",
        "T3 and T4 equalised, IV2 opened 34 turns in 20 min; Pell Mount shut; T4 4.02",
        [at("T4", 4.02, "TG-11", 6)],
        [("open", "IV2", "in stages, 20 min")],
        {"IV2": "open"},
        clock="15:40",
    )
    _ticked(book, "J3", clock="15:50")
    book.row("J4", acts=[("seal", "reducer pilot"), ("seal", "shut-off pilot")], places=COCKS, clock="15:52")
    book.row("J4", acts=[("second look", "cock list", "photos")], who="Ilse Marrow", clock="15:55")
    book.row("J5", acts=[("alarm live", "alarm")], clock="16:00")
    book.row("J6", "logger clock +7 s", acts=[("start", "logger")], clock="16:05")
