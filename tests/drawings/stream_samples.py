"""Invented stations with several streams to draw: every kind of group, and states that must be readable."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.records.pictures import (
    LadderBlock,
    LadderPicture,
    LadderRung,
    SensingLine,
    StripBranch,
    StripLimit,
    StripPart,
    StripPicture,
    StripSpan,
    TapPressure,
)
from steadyhead.units import US
from tests.drawings.samples import (
    BAR,
    DRAIN,
    INLET,
    LIMITS,
    OUTLET,
    STRAINER,
    UPSTREAM,
    WORKED_EXAMPLE,
    read,
    tap,
    worked_out,
)


def valve(name: str, share: float | None = 1.0) -> StripPart:
    return StripPart("isolating", name, name, ("isolating valve",), open_share=share)


def shut_off(name: str, senses: str, *, tripped: bool | None = False) -> StripPart:
    words = ("shut-off", "TRIPPED, shut") if tripped else ("shut-off", "DN 100")
    root = SensingLine(senses, f"root of {name}") if senses else None
    return StripPart("shut_off", name, name, words, tripped=tripped, screw_turns=7.35, sensing=root)


def reducer(name: str, senses: str, travel: float = 0.4, words: str = "reducer") -> StripPart:
    root = SensingLine(senses, f"root of {name}") if senses else None
    return StripPart("reducer", name, name, (words, "DN 100"), travel=travel, screw_turns=2.1, sensing=root)


def direct(name: str) -> StripPart:
    return StripPart(
        "reducer", name, name, ("direct-acting reducer", "DN 25"), travel=0.3, direct_acting=True
    )


def drain(name: str) -> StripPart:
    return StripPart("drain", name, name, ("drain",), cock_open=False)


RELIEF = StripPart("relief", "RL", "RL", ("relief valve", "lifts at 4.90 bar", "to the sump"))
CHECK = StripPart("check_valve", "CV", "CV", ("check valve",))
VESSEL = StripPart("expansion_vessel", "EV", "EV", ("expansion vessel", "80 L"))


def stream(n: str, *, tripped: bool | None = False, share: float | None = 1.0) -> tuple[StripPart, ...]:
    """Return a stream with valves, taps and a drain of its own, shut-off upstream."""
    return (
        valve(f"IV1{n}", share), tap(f"T1{n}"), shut_off(f"SO{n}", "", tripped=tripped), tap(f"T2{n}"),
        reducer(f"RV{n}", f"T3{n}"), tap(f"T3{n}"), drain(f"TD{n}"), valve(f"IV2{n}", share),
    )  # fmt: skip


def readings(n: str, inlet: float, outlet: float | None) -> tuple[TapPressure, ...]:
    return (read(f"T1{n}", inlet), worked_out(f"T2{n}", inlet - 0.1), read(f"T3{n}", outlet))


BYPASS = StripBranch(
    "by", "Manual bypass", "T1", "T3", (valve("BV", 0.0),), ("locked shut",), group="PG"
)  # fmt: skip
STANDBY = StripBranch(
    "b", "Standby stream b", "T1", "T3", stream("b"), ("carries nothing",), group="PG"
)  # fmt: skip
DUTY_AND_STANDBY = replace(
    UPSTREAM,
    name="Fallow Street",
    parts=(tap("T0"), INLET, STRAINER, tap("T1"), *stream("a"), tap("T3"), DRAIN, OUTLET, tap("T4")),
    pressures=(
        read("T0", 8.6, 9.0), read("T1", 8.5, 9.0), *readings("a", 8.5, 4.0), *readings("b", 8.5, 4.0),
        read("T3", 4.0, 4.2), read("T4", 3.99, 4.2),
    ),
    limits=(*LIMITS[:2], StripLimit("trip", 5.1 * BAR, "SOa"), StripLimit("trip", 5.4 * BAR, "SOb"),
            StripLimit("alarm", 4.8 * BAR, "after 60 s")),
    branches=(STANDBY, BYPASS),
    spans=(StripSpan("PG", "Duty stream a", ("carries 7.0 L/s",)),),
)  # fmt: skip
ONE_TRIPPED = replace(
    DUTY_AND_STANDBY,
    parts=tuple(
        replace(p, tripped=True, words=("TRIPPED, shut",)) if p.id == "SOa" else p
        for p in DUTY_AND_STANDBY.parts
    ),
    branches=(
        replace(STANDBY, words=("carries 7.0 L/s",)),
        StripBranch(
            "c", "Standby stream c", "T1", "T3", stream("c", share=0.0), ("isolated",), group="PG",
            inlet_pipe="unknown",
        ),
        BYPASS,
    ),
)  # fmt: skip
LOW_FLOW = replace(
    UPSTREAM,
    name="Sallow Court",
    parts=(
        tap("T0"), INLET, STRAINER, tap("T1"), reducer("RV", "T3"), tap("T3"), RELIEF, CHECK, VESSEL, OUTLET,
        tap("T4"),
    ),
    pressures=(read("T0", 8.6), read("T1", 8.5), read("T3", 4.0), read("T4", 3.99)),
    branches=(
        StripBranch(
            "lb", "Low-flow stream lb", "T1", "T3", (direct("LB"),), ("carries 0.3 L/s",), group="PG"
        ),
    ),
    spans=(StripSpan("PG", "Main stream a", ("carries nothing",)),),
)  # fmt: skip
BUILDING = replace(
    UPSTREAM,
    name="Veldany House",
    parts=(
        tap("T0"), INLET, STRAINER, tap("T1"), direct("RV"), tap("T3"), replace(RELIEF, lifting=True), CHECK,
        VESSEL, OUTLET, tap("T4"),
    ),
    pressures=(read("T0", 8.6), read("T1", 8.5), read("T3", 4.0), read("T4", 3.99)),
    branches=(),
)  # fmt: skip
MONITOR = replace(
    UPSTREAM,
    name="Hartwell Rise",
    parts=(
        tap("T0"), INLET, STRAINER, tap("T1"), reducer("MON", "T3", 1.0, "monitor, stands by open"),
        tap("T2"), reducer("RV", "T3"), tap("T3"), DRAIN, OUTLET, tap("T4"),
    ),
    pressures=(read("T0", 8.6), read("T1", 8.5), read("T2", 8.3), read("T3", 4.0), read("T4", 3.99)),
)  # fmt: skip
NESTED = replace(
    DUTY_AND_STANDBY,
    name="Ottermoor",
    branches=(
        replace(
            STANDBY,
            branches=(
                StripBranch("bl", "Low-flow stream bl", "SOb", "T3b", (direct("LBb"),), (), group="PB"),
            ),
        ),
        StripBranch("al", "Low-flow stream al", "SOa", "T3a", (direct("LBa"), tap("T5")), (), group="PA"),
    ),
    spans=(
        StripSpan("PG", "Duty stream a"), StripSpan("PA", "Main stream aa"),
        StripSpan("PB", "Main stream ba"),
    ),
)  # fmt: skip
SIX = replace(
    UPSTREAM,
    name="Six Ways",
    parts=(tap("T0"), INLET, tap("T1"), *stream("a"), tap("T3"), OUTLET),
    pressures=(read("T0", 8.6), read("T1", 8.5), read("T3", 4.0)),
    branches=tuple(
        StripBranch(n, f"Standby stream {n}", "T1", "T3", stream(n, tripped=n == "d"), (), group="PG")
        for n in "bcdef"
    ),
    spans=(StripSpan("PG", "Duty stream a"),),
    units=US,
)  # fmt: skip
IN_A_ROW = replace(
    UPSTREAM,
    name="Twin Steps",
    parts=(reducer("R1", ""), reducer("R2", "T3"), tap("T3")),
    pressures=(read("T3", 4.0),),
    branches=(
        StripBranch("b", "Low-flow stream b", "", "R2", (direct("L1"), tap("T2")), (), group="P1"),
        StripBranch("d", "Low-flow stream d", "R1", "T3", (direct("L2"),), (), group="P2"),
    ),
    spans=(StripSpan("P1", "Main stream a"), StripSpan("P2", "Main stream c")),
)  # fmt: skip
BARE = replace(DUTY_AND_STANDBY, pressures=(), limits=(), flow=None)

STREAMS: dict[str, StripPicture] = {
    "duty and standby": DUTY_AND_STANDBY, "one tripped": ONE_TRIPPED, "low flow": LOW_FLOW,
    "building": BUILDING, "monitor": MONITOR, "nested": NESTED, "six": SIX, "in a row": IN_A_ROW,
    "bare streams": BARE,
}  # fmt: skip

_WORST = WORKED_EXAMPLE.stackings[0]
_TRIPS = tuple(rung for rung in WORKED_EXAMPLE.rungs if not rung.kind.startswith("trip"))
TWO_TRIPS = replace(
    WORKED_EXAMPLE,
    name="Fallow Street",
    rungs=(
        *_TRIPS,
        LadderRung("trip", 5.1 * BAR, "SOa, duty stream a", "4.75 to 5.45 bar with its tolerance"),
        LadderRung("trip", 5.4 * BAR, "SOb, standby stream b", "5.05 to 5.75 bar with its tolerance"),
        LadderRung("relief", 4.9 * BAR, "RL", "± 0.10 bar"),
        LadderRung("lockup", 4.55 * BAR, "monitor MON"),
    ),
    stackings=(
        replace(_WORST, label="Duty stream a", chosen=5.1 * BAR),
        replace(_WORST, label="Standby stream b", lowest=5.0 * BAR, chosen=5.4 * BAR),
    ),
)
FOUR_TRIPS = replace(
    TWO_TRIPS,
    name="Six Ways",
    stackings=tuple(
        replace(_WORST, label=f"Standby stream {name}", chosen=(5.0 + 0.1 * rank) * BAR)
        for rank, name in enumerate("abcd")
    ),
)
CRACK = replace(
    WORKED_EXAMPLE,
    name="Veldany House",
    rungs=(*_TRIPS, LadderRung("relief", 5.0 * BAR, "RL", "± 0.15 bar")),
    stackings=(
        replace(
            _WORST, lowest=4.95 * BAR, highest=5.3 * BAR, label="Crack of RL", of="crack", chosen=5.0 * BAR,
            above=(LadderBlock("rise", 0.49 * BAR), LadderBlock("tolerance", 0.15 * BAR, both_ways=True)),
        ),
    ),
)  # fmt: skip
EMPTY_CRACK = replace(CRACK, stackings=(replace(CRACK.stackings[0], highest=2.27 * BAR),))

STREAM_LADDERS: dict[str, LadderPicture] = {
    "two trips": TWO_TRIPS, "four trips": FOUR_TRIPS, "crack": CRACK, "empty crack": EMPTY_CRACK,
}  # fmt: skip
