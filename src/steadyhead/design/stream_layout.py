"""Findings about the layout of several streams: isolating, reading, draining, roles, back-flow."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design.basis import Basis
from steadyhead.design.report import ASK, HEED, NOTE, finding
from steadyhead.findings import Finding
from steadyhead.records.parts import Branch, CheckValve, Drain, Parallel, Reducer, ShutOff, Tap, flat
from steadyhead.station.layout import ways_of
from steadyhead.station.streams import isolating_valves


def streams_layout(basis: Basis) -> Iterator[Finding]:
    """Yield the findings about the branches of a station with several streams.

    Parameters
    ----------
    basis
        The whole station.
    """
    for group in (part for part in basis.station.parts() if isinstance(part, Parallel)):
        ways = ways_of(group)
        if len(ways) < 2:
            continue
        yield from _roles(basis, group, ways)
        for branch in ways:
            yield from _isolated(basis, branch)
            yield from _own_parts(basis, branch)
            yield from _locked(basis, branch)
            yield from _back_flow(basis, branch)


def _roles(basis: Basis, group: Parallel, ways: list[Branch]) -> Iterator[Finding]:
    roles = [branch.role for branch in ways]
    got = ""
    if roles.count("duty") > 1:
        got = "two branches are duty"
    elif roles.count("main") > 1:
        got = "two branches are main"
    elif "standby" in roles and not {"duty", "main"} & set(roles):
        got = "a standby branch stands without a duty branch"
    elif "low flow" in roles and not {"duty", "main", "standby"} & set(roles):
        got = "a low-flow branch stands without a main branch"
    if got:
        yield finding("LAY-35", basis.part_place(group.id), ASK, group=group.id, got=got)


def _isolated(basis: Basis, branch: Branch) -> Iterator[Finding]:
    ends = zip(("upstream", "downstream"), isolating_valves(basis.station, branch.id), strict=True)
    missing = [end for end, valve in ends if valve is None]
    if missing:
        yield finding(
            "LAY-32", basis.part_place(branch.id), HEED, branch=branch.id, ends=" and ".join(missing)
        )


def _own_parts(basis: Basis, branch: Branch) -> Iterator[Finding]:
    """Yield what a stream needs of its own to be worked on while the other carries the zone."""
    if branch.role not in ("duty", "standby"):
        return
    last = max((i for i, p in enumerate(branch.line) if isinstance(p, Reducer | ShutOff)), default=-1)
    behind = branch.line[last + 1 :]
    missing = [
        word
        for word, kind in (("tap", Tap), ("drain", Drain))
        if not any(isinstance(p, kind) for p in behind)
    ]
    if missing:
        yield finding(
            "LAY-33", basis.part_place(branch.id), HEED, branch=branch.id, missing=" and no ".join(missing)
        )


def _locked(basis: Basis, branch: Branch) -> Iterator[Finding]:
    if branch.locked_shut:
        weight = NOTE if branch.role in ("standby", "low flow") else ASK
        where = basis.part_place(branch.id, "locked_shut")
        yield finding("LAY-34", where, weight, branch=branch.id, role=branch.role)


def _back_flow(basis: Basis, branch: Branch) -> Iterator[Finding]:
    """Yield where water of the common outlet enters a stream whose shut-off has tripped."""
    parts = flat(branch.line)
    shut_offs = [i for i, part in enumerate(parts) if isinstance(part, ShutOff)]
    reducers = [i for i, part in enumerate(parts) if isinstance(part, Reducer)]
    if not shut_offs or not reducers or any(isinstance(part, CheckValve) for part in parts):
        return
    shut_off, reducer = parts[shut_offs[0]], parts[reducers[-1]]
    ahead = shut_offs[0] < reducers[-1]
    yield finding(
        "LAY-36",
        basis.part_place(branch.id),
        NOTE,
        branch=branch.id,
        shut_off=shut_off.id,
        what=f"the section between {shut_off.id} and {reducer.id} fills from the common outlet, backwards "
        f"through {reducer.id}"
        if ahead
        else f"the common outlet stands against {shut_off.id} from behind",
    )
