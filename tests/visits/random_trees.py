"""Random stations of streams in parallel, groups inside branches included, as hypothesis strategies."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from tests.visits import stream_stations as ss

ROLES = ("duty", "standby", "low flow")
Data = dict[str, Any]


@st.composite
def trees(draw: st.DrawFn) -> Data:
    """Return the file of a station with streams side by side, one of them perhaps splitting again.

    Branches may lack valves, drains, taps or a shut-off, be locked shut, or end in a check valve; the
    shut-off may stand ahead of the group or on each stream; the common line may have no valves.
    """
    count = draw(st.integers(2, 3))
    common = draw(st.booleans())
    group = [draw(_branches(f"{'abc'[n]}", n, common=common, deep=n == 0)) for n in range(count)]
    ahead = [ss.shut_off("SO", "T3", "5.9 bar"), ss.tap("T2")] if common else []
    data = ss._base(group, *ahead)
    if not common and draw(st.integers(0, 3)) == 3:
        data["line"] = [part for part in data["line"] if part["id"] not in ("IV1", "IV2", "TD", "ST")]
    elif draw(st.integers(0, 5)) == 5:
        lost = draw(st.sampled_from(["IV1", "IV2", "TD", "ST", "T1", "T4"]))
        data["line"] = [part for part in data["line"] if part["id"] != lost]
    if draw(st.booleans()):
        data.pop("alarm")
    data["equipment"]["hand_pump"] = draw(st.sampled_from(["yes", "no"]))
    return data


@st.composite
def _branches(draw: st.DrawFn, name: str, rank: int, *, common: bool, deep: bool) -> Data:
    duty = 4.0 - 0.3 * rank + (0.6 if rank == 2 else 0.0)
    role = "main" if rank == 0 and draw(st.booleans()) else ROLES[rank]
    inner: list[Any]
    if deep and draw(st.integers(0, 2)) == 0:
        parts = [draw(_branches(f"{name}{n}", n, common=common, deep=False)) for n in (0, 1)]
        inner = [{"part": "parallel", "id": f"G{name}", "branches": parts}]
    else:
        inner = draw(_valves(name, duty, rank, common=common))
    ends = draw(st.sampled_from(["both"] * 10 + ["up", "none"]))
    line = [
        *([ss.valve(f"IV1{name}")] if ends in ("both", "up") else []),
        *inner,
        *([ss.valve(f"IV2{name}")] if ends == "both" else []),
    ]
    locked = rank == 1 and draw(st.integers(0, 3)) == 0
    return {"id": name, "role": role, "line": line, **({"locked_shut": "yes"} if locked else {})}


@st.composite
def _valves(draw: st.DrawFn, name: str, duty: float, rank: int, *, common: bool) -> list[Any]:
    own = draw(st.integers(0, 3)) < 3
    tap = f"T3{name}" if own else "T3"
    first = [ss.tap(f"T1{name}")] if own else []
    held = ss.reducer(f"RV{name}", tap, f"{duty:.2f} bar", f"{duty + 0.15:.2f} bar")
    found = [held]
    if not common and draw(st.booleans()):
        trip = ss.shut_off(f"SO{name}", tap, f"{5.2 + 0.3 * rank:.2f} bar")
        trip["resets"] = draw(st.sampled_from(["by hand", "by itself"]))
        found = [trip, *([ss.tap(f"T2{name}")] if own else []), held]
    last = [ss.tap(f"T3{name}")] if own else []
    last += [ss.drain(f"TD{name}")] if draw(st.booleans()) else []
    last += [{"part": "check_valve", "id": f"CV{name}", "size": "DN 100"}] if draw(st.booleans()) else []
    return [*first, *found, *last]
