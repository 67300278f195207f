"""Any series-parallel tree of streams as a picture, with readings where there may be some."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from steadyhead.records.pictures import (
    SensingLine,
    StripBranch,
    StripLimit,
    StripPart,
    StripPicture,
    StripSpan,
    TapPressure,
)
from steadyhead.units import METRIC, UK, US
from tests.drawings.samples import BAR, UPSTREAM

KINDS = (
    "tap", "isolating", "strainer", "flow_meter", "reducer", "shut_off", "check_valve", "drain", "vent",
    "relief", "expansion_vessel",
)  # fmt: skip
WORDS = ("isolating valve", "direct-acting reducer", "DN 100", "lifts at 4.90 bar", "to the sump", "shut")


def _part(draw: st.DrawFn, count: list[int], kind: str) -> StripPart:
    count[0] += 1
    name = f"{kind[:2].upper()}{count[0]}"
    if kind == "tap":
        return StripPart("tap", name, cock_open=draw(st.sampled_from([True, False, None])))
    words = tuple(draw(st.lists(st.sampled_from(WORDS), max_size=2)))
    return StripPart(
        kind,  # type: ignore[arg-type]
        name,
        name,
        words,
        open_share=draw(st.sampled_from([1.0, 0.4, 0.0, None])),
        tripped=draw(st.sampled_from([True, False, None])),
        travel=draw(st.sampled_from([0.0, 0.4, 1.0, None])),
        direct_acting=kind == "reducer" and draw(st.booleans()),
        lifting=draw(st.sampled_from([True, False])),
        pipe_after=draw(st.sampled_from(["full", "full", "vented", "unknown"])),
    )


def _axis(draw: st.DrawFn, count: list[int], least: int, most: int) -> tuple[StripPart, ...]:
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=least, max_size=most))
    parts = tuple(_part(draw, count, kind) for kind in kinds)
    taps = [part.id for part in parts if part.kind == "tap"]
    return tuple(
        replace(part, sensing=SensingLine(draw(st.sampled_from(taps)), f"root {part.id}"))
        if taps and part.kind in ("reducer", "shut_off") and not part.direct_acting and draw(st.booleans())
        else part
        for part in parts
    )


def _group(
    draw: st.DrawFn, count: list[int], parts: tuple[StripPart, ...], low: int, high: int, depth: int
) -> list[StripBranch]:
    """Return branches of one group in front of part `low` to behind part `high` − 1."""
    count[0] += 1
    group = f"G{count[0]}"
    after = parts[low - 1].id if low else ""
    before = parts[high].id if high < len(parts) else ""
    found = []
    for _ in range(draw(st.integers(1, 5 if depth == 0 else 2))):
        count[0] += 1
        own = _axis(draw, count, 0, 6 if depth == 0 else 3)
        inner = _groups(draw, count, own, depth + 1) if depth < 2 else []
        name = draw(st.sampled_from(["Standby stream", "Low-flow stream", "Manual bypass"]))
        words = draw(st.sampled_from([(), ("carries nothing",), ("isolated", "carries 7.0 L/s")]))
        found.append(
            StripBranch(f"b{count[0]}", f"{name} b{count[0]}", after, before, own, words, group, tuple(inner))
        )
    return found


def _groups(draw: st.DrawFn, count: list[int], parts: tuple[StripPart, ...], depth: int) -> list[StripBranch]:
    """Return groups one behind the other, and sometimes one inside another."""
    found: list[StripBranch] = []
    place = 0
    while place <= len(parts) and len(found) < 8 and draw(st.booleans()):
        low = draw(st.integers(place, len(parts)))
        high = draw(st.integers(low, len(parts)))
        found += _group(draw, count, parts, low, high, depth)
        if high - low >= 2 and draw(st.booleans()):
            found += _group(draw, count, parts, low, high - 1, depth)
        place = high + 1
    return found


def _all(branches: list[StripBranch] | tuple[StripBranch, ...]) -> list[StripBranch]:
    return [each for branch in branches for each in (branch, *_all(branch.branches))]


@st.composite
def streams(draw: st.DrawFn) -> StripPicture:
    """Return any tree; at least one group leaves the main axis."""
    count = [0]
    parts = _axis(draw, count, 2, 11)
    branches = _groups(draw, count, parts, 0) or _group(draw, count, parts, 0, len(parts), 0)
    everything = [*parts, *(part for branch in _all(branches) for part in branch.parts)]
    taps = tuple(
        TapPressure(
            part.id,
            draw(st.none() | st.floats(0.0, 20.0).map(lambda bar: bar * BAR)),
            source=draw(st.sampled_from(["read", "worked out"])),
        )
        for part in everything
        if part.kind == "tap"
    )
    kinds = st.sampled_from(["fault", "normal", "trip", "alarm"])
    limits = st.lists(st.builds(StripLimit, kinds, st.floats(1.0, 12.0).map(lambda p: p * BAR)), max_size=4)
    groups = dict.fromkeys(branch.group for branch in _all(branches))
    return replace(
        UPSTREAM,
        parts=parts,
        pressures=taps,
        limits=tuple(draw(limits)),
        branches=tuple(branches),
        spans=tuple(StripSpan(group, f"Main stream {group}") for group in groups if draw(st.booleans())),
        units=draw(st.sampled_from([METRIC, UK, US])),
    )
