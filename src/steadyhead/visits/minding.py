"""What a plan minds beside its steps: parts, how they are left, and that no consumer sees a test (V1)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from steadyhead.procedure.graph import before_each
from steadyhead.records.minding import Instead, Leaving, Minding, Shield
from steadyhead.records.parts import IsolatingValve, Reducer, Relief, ShutOff, Strainer, Tap, Vent
from steadyhead.records.procedure import Message, Node, Procedure
from steadyhead.records.station import Station
from steadyhead.visits.leaving import left
from steadyhead.visits.plausible import ranges
from steadyhead.visits.standing import holds, openings
from steadyhead.visits.tables.names import SHARED_SENSING, of
from steadyhead.visits.trying import CAUSES, answers, stops, trials

OUTLET_SHUT = "outlet_shut"
FOUND = ".as_found"
OPENED = ("J2", "Y8", "R8B")
"""Steps by which isolating valves come to stand as they are left."""
STREAMS = ("S3", "H3")
"""Steps by which those of a stream do."""
LISTED = ("J4",)
"""Steps at which drains and cocks are read against the list as well."""
THROUGH = ("R8I", "R7R", "F2R", "ES5", "DS5")
"""Steps after which a shut-off is open again, or is meant to be shut."""
SHUT_OFF = ("setting", "nut", "pilot", "spring", "diaphragm", "feed", "needle", "exhaust")
SWITCHED = ("switch", "cable", "alarm_text")
RELIEF = ("setting", "spring", "seat")
TRANSMITTER = "alarm.transmitter"
REDUCER = ("setting", "nut", "pilot", "needles", "filter", "diaphragm", "seat")
DIRECT = ("setting", "nut", "spring", "diaphragm", "seat")
OPEN = ("open", "fully open", "wide open", "open fully")
SHUT = ("shut", "closed", "fully shut", "shut and locked", "locked shut")
SERVES = ("in service", "back in service", "in place", "restored")
HOLDS = ("tight", "fitted", "sealed", "locked", "live", "as left")
RESTS = (
    "dry", "seated", "seated and dry", "seated, dry", "sealed", "as left", "cock open", "cock fully open",
    "cock open and sealed", "shut and seated", "shut, seated", "seated, shut", "shut and dry", "shut, dry",
    "closed and seated", "closed and dry",
)  # fmt: skip
"""How a relief valve stands whose cock is open."""
UNCLEAR = ("shut", "closed")
"""What may be said of a relief valve that is seated, and of one whose cock is shut."""
DRY = ("shut", "closed", "dry", "seated", *HOLDS)
"""How a relief valve stands that has no cock."""
PLUGGED = ("shut and plugged", "shut, plugged", "plugged", "shut and capped", "capped")
GAUGE = ("removed", "off", "away", "on", "fitted")
Working = ShutOff | Reducer | Relief
"""Parts that work by themselves: whatever of them is touched is to be proved."""
ALARM_TEST = "alarm_test"
RELIEF_WORD = "relief"
CALLED = (
    "shut off", "shutoff", "shut offs", "trip", "trips", "tripped", "slam", "protection", "pilot", "pilots",
    "override", "switch", "contact", "contacts", RELIEF_WORD, "alarm", "alarms", "jumper", "bridge",
    "bridged", "wedge", "wedged", "bypass", "by pass", "bypasses", "bypassed",
)  # fmt: skip
"""What people call what protects or leads round it, and what they do to it; a pilot may be a shut-off's."""


def minding(procedure: Procedure, station: Station) -> Minding:
    """Return what the judge of a run holds against a plan beside its steps.

    Holds for the layouts of `steadyhead.station.layout.COVERED`.

    Parameters
    ----------
    procedure
        The plan, its steps complete.
    station
        What it was written from.
    """
    valves = [part for part in station.parts() if isinstance(part, Working)]
    named = _named(procedure)
    things = dict.fromkeys(name for valve in valves for name in _things(valve, named))
    if station.alarm is not None:
        things[TRANSMITTER] = None
    shields = tuple(_shields(procedure, station))
    return Minding(
        parts=_parts(station),
        things=tuple(things),
        left=tuple(_left(procedure, station, valves, named)),
        shields=shields,
        keeps=_kept(procedure),
        guards=_guards(station),
        looked=_steps(procedure, (*LISTED, *OPENED)),
        ranges=tuple(ranges(procedure, station)),
        instead=tuple(_instead(procedure)),
        called=CALLED if any(isinstance(one, Relief) for one in valves) else _without_relief(),
        may=_gauges(station),
        trials=tuple(trials(procedure, station)),
        holds=tuple(holds(procedure, shields)),
        openings=tuple(openings(procedure, shields)),
        causes=CAUSES,
        stops=stops(procedure),
        answers=answers(procedure),
    )


def _without_relief() -> tuple[str, ...]:
    """Return what people call what protects where no relief valve does: one they speak of lies outside."""
    return tuple(word for word in CALLED if word != RELIEF_WORD)


def _kept(procedure: Procedure) -> tuple[str, ...]:
    """Return the proofs of how something was found: they keep their time, and are gained only once."""
    proofs = (name for node in procedure.nodes for name in node.proves)
    return tuple(dict.fromkeys(name for name in proofs if name.partition("@")[0].endswith(FOUND)))


def _instead(procedure: Procedure) -> Iterator[Instead]:
    """Yield what is chosen where a step of how something was found lost a proof: it is gone through once."""
    gives = {node.id: frozenset(node.proves) for node in procedure.nodes}
    kept = frozenset(_kept(procedure))
    for node in procedure.nodes:
        again = gives[node.id] - kept
        if not again or again == gives[node.id]:
            continue
        for choice in procedure.choices:
            for option, _, opened in choice.options:
                if any(again & gives[name] for name in opened if name in gives and name != node.id):
                    yield Instead(node.id, choice.id, option)


def _guards(station: Station) -> tuple[str, ...]:
    """Return the parts that protect; the alarm too."""
    return (*(part.id for part in station.parts() if isinstance(part, ShutOff | Relief)), "alarm")


def _left(
    procedure: Procedure, station: Station, valves: list[Working], named: frozenset[str]
) -> Iterator[Leaving]:
    """Yield how each thing is left: what the end list says, then what works so and not otherwise."""
    found = {one.thing: one for one in _valves_left(procedure, station)}
    for valve in (one for one in valves if isinstance(one, Relief) and one.id in found):
        own = found[valve.id]
        words = tuple(dict.fromkeys((*own.words, *SERVES, *RESTS)))
        found[valve.id] = replace(own, words=words, unclear=UNCLEAR)
    for one in (*_lines_left(procedure, valves, named), *_parts_left(procedure, station, valves, named)):
        found.setdefault(one.thing, one)
    yield from found.values()


def _parts_left(
    procedure: Procedure, station: Station, valves: list[Working], named: frozenset[str]
) -> Iterator[Leaving]:
    """Yield the parts of which the end list says nothing: valves and their parts, taps, strainers, gauges."""
    looked = _steps(procedure, (*LISTED, *OPENED))
    for valve in valves:
        if isinstance(valve, Relief):
            rests, unclear = ((), ()) if valve.cock == "no" else (RESTS, UNCLEAR)
            words = dict.fromkeys((*SERVES, *OPEN, *DRY, *rests))
            yield Leaving(valve.id, tuple(words), looked, unclear=unclear)
        else:
            yield Leaving(valve.id, (*SERVES, *OPEN))
        for thing in _things(valve, named):
            yield Leaving(thing, (*SERVES, *OPEN, *HOLDS))
    for part in station.parts():
        if isinstance(part, Tap):
            yield Leaving(part.id, (*OPEN, *SERVES, *PLUGGED), looked)
        elif isinstance(part, Strainer):
            yield Leaving(part.id, SERVES, looked)
            yield Leaving(f"{part.id}.drain", (*SHUT, *PLUGGED), looked)
        elif isinstance(part, Vent):
            yield Leaving(part.id, (*SHUT, *PLUGGED), looked)
    for gauge in _gauges(station):
        yield Leaving(gauge, (*SERVES, *GAUGE), looked)
    live = tuple(node.id for node in procedure.nodes if ALARM_TEST in node.restores)
    yield Leaving("alarm", ("live", "on", *SERVES), live)


def _gauges(station: Station) -> tuple[str, ...]:
    """Return what may be away on leaving, accepted by who answers for it: no pressure rests on it."""
    return (*(gauge.id for gauge in station.gauges), "gauges", "logger", "clocks")


def _named(procedure: Procedure) -> frozenset[str]:
    return frozenset(name for node in procedure.nodes for name in (*node.touches, *node.depends_on))


def _parts(station: Station) -> tuple[str, ...]:
    found = [part.id for part in station.parts()]
    found += [gauge.id for gauge in station.gauges]
    return tuple(dict.fromkeys((*found, "alarm", "line", "gauges", "logger", "clocks")))


def _things(valve: Working, named: frozenset[str]) -> Iterator[str]:
    """Yield what the proofs of a valve rest on (design handbook 3.3)."""
    if isinstance(valve, Relief):
        own = (name for name in sorted(named) if name.partition("@")[0].startswith(f"{valve.id}."))
        told = of(valve, "flow_switch") if valve.tells == "flow switch" else ()
        yield from (*of(valve, *RELIEF), *told, *own)
        return
    if isinstance(valve, ShutOff):
        yield from of(valve, *SHUT_OFF, *(SWITCHED if valve.limit_switch is not None else ()))
    elif valve.kind == "direct-acting":
        yield from of(valve, *DIRECT)
        return
    else:
        yield from of(valve, *REDUCER)
    yield from _sensing(valve, named)


def _sensing(valve: ShutOff | Reducer, named: frozenset[str]) -> tuple[str, ...]:
    own = of(valve, "sensing")
    shared = tuple(sorted(name for name in named if name.partition("@")[0] == SHARED_SENSING))
    return shared if shared and own[0] not in named else own


def _steps(procedure: Procedure, bases: Iterable[str]) -> tuple[str, ...]:
    wanted = set(bases)
    return tuple(node.id for node in procedure.nodes if _base(node) in wanted)


def _valves_left(procedure: Procedure, station: Station) -> Iterator[Leaving]:
    gates = {part.id for part in station.parts() if isinstance(part, IsolatingValve)}
    trunk = {part.id for part in station.line if isinstance(part, IsolatingValve)}
    whole = _steps(procedure, OPENED)
    streams = _steps(procedure, (*OPENED, *STREAMS))
    for name, message in left(station):
        words = _words(message)
        settled = streams if name in gates else _steps(procedure, (*OPENED, *STREAMS, *LISTED))
        if words:
            yield Leaving(name, words, whole if whole and name in trunk else settled)


def _words(message: Message) -> tuple[str, ...]:
    """Return what may be said of a thing that is left so; nothing where no state is asked."""
    if message.id == "left.open_turns":
        turns = str(message.params["turns"])
        return (f"open {turns}", turns, f"{turns} open", turns.split()[0], *OPEN)
    if message.id in ("left.open", "left.cock"):
        return OPEN
    return SHUT if message.id in ("left.drain", "left.locked") else ()


def _lines_left(procedure: Procedure, valves: list[Working], named: frozenset[str]) -> Iterator[Leaving]:
    """Yield the lines and cocks of the valves, open, and each shut-off itself."""
    found: dict[str, Leaving] = {}
    for valve in (one for one in valves if not isinstance(one, Relief)):
        lines = _sensing(valve, named)
        if isinstance(valve, ShutOff):
            lines = (*lines, *of(valve, "feed", "exhaust"))
            found[valve.id] = Leaving(valve.id, (*OPEN, *SERVES), _steps(procedure, (*OPENED, *THROUGH)))
        for line in lines:
            again = tuple(n.id for n in procedure.nodes if f"{valve.id}.root_shut" in n.restores)
            found.setdefault(line, Leaving(line, OPEN, again if line in _sensing(valve, named) else (), True))
    yield from found.values()


def _shields(procedure: Procedure, station: Station) -> Iterator[Shield]:
    """Yield the tightness of each outlet valve with the steps that raise the outlet behind it (V1, D2)."""
    gates = {part.id for part in station.parts() if isinstance(part, IsolatingValve)}
    before = before_each(procedure.nodes)
    proofs = {name for node in procedure.nodes for name in node.proves}
    tight = [name for name in sorted(proofs) if name.partition("@")[0].removesuffix(".tight") in gates]
    for proof in tight:
        steps = tuple(node.id for node in procedure.nodes if proof in node.proves)
        asks = tuple(
            node.id
            for node in procedure.nodes
            if node.id not in steps
            and (proof in node.depends_on or ("outlet" in _sections(node) and before[node.id] & set(steps)))
            and (len(tight) == 1 or _stream(procedure, node.id) in {_stream(procedure, s) for s in steps})
        )
        moved_at = tuple(
            node.id
            for node in procedure.nodes
            if node.id not in steps
            and any(item.partition("@")[0] == OUTLET_SHUT for item in (*node.opens, *node.restores))
        )
        moved = (proof.partition("@")[0].removesuffix(".tight"),)
        yield Shield(proof, steps, asks, moved_at, moved, SHUT)


def _sections(node: Node) -> set[str]:
    return {section.partition("@")[0] for section in node.raises}


def _stream(procedure: Procedure, step: str) -> str:
    return procedure.streams.get(step, "")


def _base(node: Node) -> str:
    return node.id.partition(".")[0].partition("@")[0]
