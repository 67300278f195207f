"""Streams that were isolated back in service, and what they show together."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.records.plan_numbers import Together
from steadyhead.records.procedure import Node
from steadyhead.visits.several.naming import Built
from steadyhead.visits.several.together import covered
from steadyhead.visits.several.ways import Beside, Way
from steadyhead.visits.tables import streams as table
from steadyhead.visits.tables.desk import Desk, Needs
from steadyhead.visits.tables.streams import Stream


def isolated(streams: tuple[Stream, ...]) -> tuple[Beside, ...]:
    """Return every branch that some stream had isolated beside it, in the order of the streams."""
    found: dict[str, Beside] = {}
    for stream in streams:
        for beside in stream.way.beside:
            found.setdefault(beside.branch, beside)
    order = [branch for stream in streams for branch in stream.way.view.branches.values()]
    return tuple(
        sorted(found.values(), key=lambda b: order.index(b.branch) if b.branch in order else len(order))
    )


def together_steps(
    streams: tuple[Stream, ...],
    everyone: tuple[Stream, ...],
    together: Together,
    ends: list[Needs],
    lockup: list[Node],
    built: Built,
) -> tuple[list[Node], list[Needs]]:
    """Return S3 to S9 with the lock-up of the station, and what stands before the return to service."""
    out = streams[0].way.mode == "station out"
    desk = streams[0].desk
    last_tested = streams[-1].way.branch
    found = [
        table.back(desk, beside, together, ends, stands=beside.branch == last_tested)
        for beside in (isolated(streams) if out else ())
    ]
    last: list[Needs] = [node.id for node in found] or ends
    if len(together.alive) > 1:
        more: list[Node] = [table.leads(everyone, together, last, served=not out)]
        if out:
            more.append(table.changeover(everyone, together, [more[-1].id]))
        more.append(table.steady(everyone, together, [more[-1].id], served=not out))
        found += more
        last = [more[-1].id]
    for node in lockup:
        found.append(_of_station(node, last, desk))
        last = [node.id]
    side = [_staggered(everyone, pair, ends, built) for pair in table.pairs(tuple(s.way for s in everyone))]
    found += side
    after, last = _proved_together(everyone, together, last, out=out)
    return [*found, *after], [*last, *(node.id for node in side)]


def _proved_together(
    everyone: tuple[Stream, ...], together: Together, last: list[Needs], *, out: bool
) -> tuple[list[Node], list[Needs]]:
    """Return S8 and S9: one stream tripped while the other holds, then check valves tight backwards."""
    found: list[Node] = []
    for way in covered(tuple(s.way for s in everyone)):
        stream = next(s for s in everyone if s.way is way)
        other = table.cover(stream, everyone)
        if other.way.is_low_flow:
            continue
        found.append(table.one_out(stream, other, together, last, served=not out))
        last = [found[-1].id]
    if out and len(together.alive) > 1:
        for stream in (s for s in everyone if s.way.check_valve and not s.way.locked_shut):
            found.append(table.backwards(stream, together, last))
            last = [found[-1].id]
    return found, last


def _staggered(everyone: tuple[Stream, ...], pair: tuple[Way, Way], ends: list[Needs], built: Built) -> Node:
    runs = {}
    for stream in everyone:
        shut_off = stream.way.shut_off
        if shut_off is not None:
            step = f"{'F1' if stream.desk.facts.is_live else 'IN3'}.{shut_off.id}"
            runs[shut_off.id] = step if step in built.ids else ""
    accepted = [f"F5.{way.shut_off.id}" for way in pair if way.shut_off is not None]
    proved: list[Needs] = [name for name in accepted if name in built.ids]
    return table.staggered(everyone, pair, proved or ends, runs)


def _of_station(node: Node, needs: list[Needs], desk: Desk) -> Node:
    """Return the lock-up of the station: all streams as they stand in service, the leading one judged."""
    band = desk.numbers.bands.get("together.lockup.T3")
    expect = node.expect
    if band is not None:
        expect = tuple(replace(e, low=band.low, high=band.high, nominal=band.nominal) for e in node.expect)
    own = [part for part in node.needs["all"] if part not in needs]
    return replace(node, needs={"all": [*needs, *own]}, do=(desk.say("S.all_in"), *node.do), expect=expect)
