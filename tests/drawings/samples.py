"""Invented stations and ladders to draw; one for each layout and each state that must be readable."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.records.pictures import (
    ComponentLimit,
    FailurePeak,
    LadderBlock,
    LadderPicture,
    LadderRung,
    SensingLine,
    Stacking,
    StackingKind,
    StripBranch,
    StripLimit,
    StripPart,
    StripPicture,
    TapPressure,
)
from steadyhead.units import METRIC, UK, US, UnitSet

BAR = 1e5


def tap(name: str, *, is_open: bool | None = True) -> StripPart:
    return StripPart("tap", name, cock_open=is_open)


def read(name: str, now: float | None, at_no_flow: float | None = None, off: float = 0.05) -> TapPressure:
    value = None if now is None else now * BAR
    rest = None if at_no_flow is None else at_no_flow * BAR
    return TapPressure(name, value, off * BAR, "read", rest)


def worked_out(name: str, now: float | None, at_no_flow: float | None = None) -> TapPressure:
    return replace(read(name, now, at_no_flow), source="worked out", tolerance=None)


INLET = StripPart("isolating", "IV1", "Inlet isolating", ("open", "34 of 34 turns"))
STRAINER = StripPart("strainer", "ST", "Strainer", ("0.36 bar lost", "k 7.4·10⁻⁴"), fouling=1.3)
SHUT_OFF = StripPart(
    "shut_off", "SO", "Shut-off", ("open, ready", "screw 7.35 turns"), screw_turns=7.35,
    sensing=SensingLine("T3", "root of SO"),
)  # fmt: skip
REDUCER = StripPart(
    "reducer", "RV", "Reducer DN 100", ("42 % open", "screw 6.12 turns"), travel=0.42, screw_turns=6.12,
    sensing=SensingLine("T3", "root of RV"),
)  # fmt: skip
DRAIN = StripPart("drain", "TD", "Drain", ("shut",), cock_open=False)
OUTLET = StripPart("isolating", "IV2", "Outlet isolating", ("open", "34 of 34 turns"))
BYPASS = StripBranch(
    "BY", "Manual bypass", "IV1", "IV2", (StripPart("isolating", "BV", open_share=0.0),), ("shut, locked",)
)
LIMITS = (
    StripLimit("fault", 5.94 * BAR, "old spur"),
    StripLimit("normal", 5.94 * BAR, "old spur"),
    StripLimit("trip", 5.1 * BAR),
    StripLimit("alarm", 4.8 * BAR, "after 60 s"),
)
UPSTREAM = StripPicture(
    "Quernhollow Lane",
    142.0,
    (tap("T0"), INLET, STRAINER, tap("T1"), SHUT_OFF, tap("T2"), REDUCER, tap("T3"), DRAIN, OUTLET,
     tap("T4")),
    (read("T0", 10.92, 11.8), read("T1", 10.56, 11.8), read("T2", 10.41, 11.8), read("T3", 3.9, 4.4),
     read("T4", 3.86, 4.4)),
    0.022,
    LIMITS,
    outlet_name="Ostrevale East",
    moment="as left, 14 April 2027 14:58",
)  # fmt: skip
TRIPPED = replace(
    UPSTREAM,
    parts=tuple(
        replace(part, tripped=True, words=("TRIPPED, shut",)) if part.id == "SO" else part
        for part in UPSTREAM.parts
    ),
    pressures=(read("T0", 11.42), read("T1", 11.42), read("T2", 0.72), read("T3", 0.7), read("T4", 0.7)),
    flow=0.0,
)
DOWNSTREAM = replace(
    UPSTREAM,
    parts=(
        tap("T0"), INLET, STRAINER, tap("T1"), replace(REDUCER, sensing=SensingLine("T2", "root of RV")),
        tap("T2"), StripPart("drain", "TD2", "Drain TD2", ("shut",), cock_open=False), SHUT_OFF, tap("T3"),
        DRAIN, OUTLET, tap("T4"),
    ),
    pressures=(read("T0", 10.92, 11.8), read("T1", 10.56, 11.8), read("T2", 4.05, 4.4), read("T3", 3.9, 4.4),
               read("T4", 3.86, 4.4)),
    limits=(*LIMITS, StripLimit("fault", 16 * BAR, "section between the valves", after="RV", before="SO")),
)  # fmt: skip
GRAVITY = replace(
    UPSTREAM,
    name="Tarn Bank tank feed",
    parts=(tap("T0"), INLET, STRAINER, tap("T1"), REDUCER, tap("T3"), DRAIN, OUTLET, tap("T4")),
    pressures=(worked_out("T0", 2.1, 2.4), worked_out("T1", 2.05, 2.4), worked_out("T3", 1.2, 1.4),
               worked_out("T4", 1.19, 1.4)),
    limits=(StripLimit("normal", 1.9 * BAR, "draw-off"), StripLimit("fault", 2.3 * BAR, "tank feed")),
    flow=0.0021,
    branches=(BYPASS,),
    units=UnitSet("kilopascal", {"pressure": "kPa"}),
)  # fmt: skip
SERIES = replace(
    UPSTREAM,
    name="Mesquill Flat 7",
    datum_m=979.6,
    parts=(
        tap("T0"), INLET, STRAINER, StripPart("flow_meter", "FM", "Flow meter"), tap("T1"),
        replace(SHUT_OFF, sensing=SensingLine("T3", "shared")), tap("T2a"),
        replace(REDUCER, id="RV1", name="First reducer", sensing=SensingLine("T2b", "root of RV1")),
        tap("T2b"), StripPart("drain", "TD2", "Drain TD2", ("shut",), cock_open=False),
        replace(REDUCER, id="RV2", name="Second reducer", travel=0.61, sensing=SensingLine("T3", "shared")),
        tap("T3"), DRAIN, StripPart("vent", "AV", "Vent", ("shut",), cock_open=False), OUTLET, tap("T4"),
    ),
    pressures=(read("T0", 13.1, 14.5), read("T1", 12.9, 14.5), read("T2a", 12.7, 14.5),
               read("T2b", 7.58, 7.9), read("T3", 4.48, 5.0), read("T4", 4.4, 5.0)),
    limits=(StripLimit("fault", 8.62 * BAR, "PVC main"), StripLimit("trip", 6.76 * BAR),
            StripLimit("alarm", 5.52 * BAR)),
    flow=0.039,
    branches=(BYPASS,),
    units=US,
)  # fmt: skip
UNREAD = replace(
    UPSTREAM,
    name="Lathe Row",
    parts=(
        tap("T0"), replace(INLET, open_share=0.35, words=("12 of 34 turns",)), STRAINER,
        tap("T1", is_open=None), replace(SHUT_OFF, tripped=None), tap("T2", is_open=False), REDUCER,
        tap("T3"), replace(DRAIN, cock_open=True, words=("running",)),
        replace(OUTLET, open_share=0.0, words=("shut",), pipe_after="vented"), tap("T4"),
    ),
    pressures=(read("T0", 10.92, 11.8), replace(read("T1", None), why_missing="no gauge"),
               worked_out("T2", 10.41), read("T3", 4.1, 4.4, off=0.4), read("T4", None)),
    units=UK,
)  # fmt: skip
MINE = replace(
    DOWNSTREAM,
    name="Pell Shaft",
    pressures=(read("T0", 38, 41), read("T1", 37, 41), read("T2", 24.1, 25), read("T3", 24, 25),
               read("T4", 23.9, 25)),
    limits=(StripLimit("fault", 27.5 * BAR, "shaft pipe"), StripLimit("normal", 26 * BAR, "shaft pipe"),
            StripLimit("trip", 26.3 * BAR), StripLimit("alarm", 25.6 * BAR)),
)  # fmt: skip
BARE = replace(UPSTREAM, pressures=(), limits=(), flow=None, branches=(BYPASS,))

STRIPS: dict[str, StripPicture] = {
    "upstream": UPSTREAM, "tripped": TRIPPED, "downstream": DOWNSTREAM, "gravity": GRAVITY, "series": SERIES,
    "unread": UNREAD, "mine": MINE, "bare": BARE,
}  # fmt: skip


def stacking(kind: StackingKind, low: tuple[float, ...], up: tuple[float, ...]) -> Stacking:
    """Return the stacking of the handbook's worked example, part 2.5, with these tolerances."""
    names = ("repeatability", "drift", "gauge") if len(up) > 1 else ("trip tolerance",)
    below = tuple(LadderBlock(n, size * BAR, both_ways=True) for n, size in zip(names, low, strict=False))
    above = tuple(LadderBlock(n, size * BAR, both_ways=True) for n, size in zip(names, up, strict=True))
    return Stacking(
        kind,
        4.65 * BAR,
        5.94 * BAR,
        (LadderBlock("gap", 0.15 * BAR), *below),
        (LadderBlock("overshoot", 0.57 * BAR), *above),
        (4.65 + 0.15 + sum(low)) * BAR,
        (5.94 - 0.57 - sum(up)) * BAR,
    )


WORKED_EXAMPLE = LadderPicture(
    "Quernhollow Lane",
    142.0,
    (
        LadderRung("fault_limit", 5.94 * BAR, "old spur, Tannery Row"),
        LadderRung("normal_limit", 5.94 * BAR, "old spur, Tannery Row"),
        LadderRung("trip_upper", 5.31 * BAR),
        LadderRung("trip", 5.1 * BAR),
        LadderRung("trip_lower", 4.89 * BAR),
        LadderRung("alarm", 4.8 * BAR, note="± 0.10, after 60 s"),
        LadderRung("highest_normal", 4.65 * BAR),
        LadderRung("lockup", 4.4 * BAR, "low-flow stream"),
        LadderRung("duty", 4.0 * BAR, "main reducer at 5.0 L/s"),
        LadderRung("lowest_normal", 3.55 * BAR, note="droop 0.25, repeat 0.10, drift 0.10"),
        LadderRung("needed", 2.95 * BAR, "critical point, 151 m"),
    ),
    (
        stacking("worst_case", (0.15, 0.10), (0.15, 0.10, 0.10)),
        stacking("root_sum_square", (0.18,), (0.21,)),
    ),
    (LadderBlock("repeatability", 0.1 * BAR), LadderBlock("drift", 0.15 * BAR)),
    (
        FailurePeak("reducer drifts open in 2 min, at night", 5.88 * BAR, True),
        FailurePeak("reducer bursts open in 2 s, at night", 6.45 * BAR, False),
    ),
    "trip at 5.10, shut-off closing in 5.6 s",
    (
        ComponentLimit("old spur, Tannery Row", 8 * BAR, 121.0, 5.94 * BAR, "both"),
        ComponentLimit("PVC-U main", 8.2 * BAR, 122.7, 6.31 * BAR),
    ),
    8.4 * BAR,
    11.8 * BAR,
)


def moved(
    picture: LadderPicture, name: str, shift: float, factor: float, units: UnitSet = METRIC
) -> LadderPicture:
    """Return a ladder with every pressure stretched by `factor` and shifted by `shift` bar."""

    def at(pressure: float) -> float:
        return pressure * factor + shift * BAR

    def blocks(pile: tuple[LadderBlock, ...]) -> tuple[LadderBlock, ...]:
        return tuple(replace(block, size=block.size * factor) for block in pile)

    return replace(
        picture,
        name=name,
        rungs=tuple(replace(rung, pressure=at(rung.pressure)) for rung in picture.rungs),
        stackings=tuple(
            replace(
                pile, base=at(pile.base), roof=at(pile.roof), lowest=at(pile.lowest),
                highest=at(pile.highest), below=blocks(pile.below), above=blocks(pile.above),
            )
            for pile in picture.stackings
        ),
        build_up=blocks(picture.build_up),
        peaks=tuple(replace(peak, pressure=at(peak.pressure)) for peak in picture.peaks),
        components=tuple(
            replace(item, limit=at(item.limit), at_datum=at(item.at_datum)) for item in picture.components
        ),
        units=units,
    )  # fmt: skip


_SHAFT = moved(WORKED_EXAMPLE, "Pell Shaft", 20.0, 1.0)
LADDERS: dict[str, LadderPicture] = {
    "worked example": WORKED_EXAMPLE,
    "building": moved(WORKED_EXAMPLE, "Veldany House", 0.0, 0.35),
    "shaft": replace(
        _SHAFT,
        rungs=tuple(replace(r, pressure=8 * BAR) if r.kind == "needed" else r for r in _SHAFT.rungs),
        peaks=(*_SHAFT.peaks, FailurePeak("bypass opened by hand", 40 * BAR, False)),
    ),
    "irrigation": moved(WORKED_EXAMPLE, "Mesquill Flat 7", 0.0, 1.3, US),
    "crowded": moved(WORKED_EXAMPLE, "Hob Lane", 4.0, 0.12),
    "reducer alone": replace(WORKED_EXAMPLE, stackings=(), peaks=(), rungs=WORKED_EXAMPLE.rungs[6:]),
    "many peaks": replace(
        WORKED_EXAMPLE,
        peaks=tuple(
            FailurePeak(f"reducer opens in {2 * rank} s, at night", (6.6 - 0.1 * rank) * BAR, rank == 5)
            for rank in range(1, 9)
        ),
    ),
}
