"""How each valve, drain and cock of a station stands when people leave: the end list of every plan."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from steadyhead.records.parts import (
    Branch,
    Drain,
    ExpansionVessel,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    Relief,
    ShutOff,
    Strainer,
    Tap,
    Vent,
)
from steadyhead.records.procedure import Message, Procedure
from steadyhead.records.station import Station

Left = tuple[tuple[str, Message], ...]


def left(station: Station) -> Left:
    """Return each isolating valve, drain and cock of the whole station with its state in service.

    In walking order. Valves of a branch that is locked shut, or that a person opens by hand, stand shut and
    locked; every other isolating valve stands fully open, every drain shut, every cock of a relief valve or
    an expansion vessel open.
    """
    return tuple(_states(station.line, kept=""))


def listed(station: Station, things: Collection[str]) -> Left:
    """Return the end list of a plan: what `left` says, and each pilot cock, gauge cock and contact.

    In walking order: the root cock of a pilot stands at the tap it senses, its other cocks at its valve. The
    list is read when people come as well as when they leave.

    Parameters
    ----------
    station
        The whole station.
    things
        Names a run of the plan may speak of; a cock that has none is not listed.

    Examples
    --------
    >>> from steadyhead.station.examples import read
    >>> from steadyhead.station.load import load
    >>> station = load(read("quillenby-row")).station
    >>> [name for name, _ in listed(station, ("RV.sensing", "RV.pilot", "alarm"))][-5:]
    ['T3', 'TD', 'IV2', 'T4', 'alarm']
    """
    known = dict(left(station))
    found: dict[str, Message] = {}
    for name, message in _walked(station.line, _roots(station, things)):
        if name in known or name in things or "." not in name:
            found.setdefault(name, known.get(name, message))
    missing = {name: message for name, message in known.items() if name not in found}
    if station.alarm is not None:
        missing["alarm"] = Message("left.alarm")
    return tuple({**found, **missing}.items())


def names_of(cocks: Left) -> dict[str, Message]:
    """Return the words of each cock and contact that is a piece of a part."""
    pieces = (name.rpartition(".") for name, _ in cocks)
    found = {f"{part}.{what}": Message(f"name.{what}", {"part": part}) for part, _, what in pieces if part}
    found.pop("shared.sensing", None)
    return found | {name: Message("name.alarm") for name, _ in cocks if name == "alarm"}


def label(name: str, state: Message) -> str:
    """Return what stands in front of a line of the end list: the part, not the name of its piece."""
    return str(state.params.get("tap" if state.id == "left.sensing_shared" else "part", name))


def _roots(station: Station, things: Collection[str]) -> dict[str, list[tuple[str, Message]]]:
    """Return the root cocks of pilots by the tap they stand at."""
    found: dict[str, list[tuple[str, Message]]] = {}
    shared = sorted(name for name in things if name.partition("@")[0] == "shared.sensing")
    for part in station.parts():
        if isinstance(part, ShutOff) or (isinstance(part, Reducer) and part.kind == "pilot-operated"):
            rows = found.setdefault(part.senses, [])
            if f"{part.id}.sensing" in things:
                words = {"part": part.id, "tap": part.senses}
                rows.append((f"{part.id}.sensing", Message("left.sensing", words)))
            else:
                rows += [(name, Message("left.sensing_shared", {"tap": part.senses})) for name in shared]
    return found


def _walked(
    line: tuple[LinePart, ...], roots: dict[str, list[tuple[str, Message]]]
) -> Iterator[tuple[str, Message]]:
    """Yield everything on the way that a hand may turn; how a valve of the line stands, `left` says."""
    for place, part in enumerate(line):
        if isinstance(part, Parallel):
            for branch in part.branches:
                yield from _walked(branch.line, roots)
                if branch.role == "manual bypass" and not any(
                    isinstance(one, IsolatingValve) for one in branch.line
                ):
                    yield branch.id, Message("left.locked")
        elif isinstance(part, Tap):
            yield from roots.get(part.id, ())
            yield part.id, Message("left.gauge_cock")
        elif isinstance(part, Strainer):
            if not any(isinstance(one, Drain) for one in line[max(place - 1, 0) : place + 2]):
                yield f"{part.id}.drain", Message("left.strainer_drain", {"part": part.id})
        elif isinstance(part, Vent):
            yield part.id, Message("left.drain")
        elif isinstance(part, Reducer | ShutOff | Relief):
            yield from _cocks_of(part)
        else:
            yield from _states((part,), kept="")


def _cocks_of(part: Reducer | ShutOff | Relief) -> Iterator[tuple[str, Message]]:
    """Yield the cocks and contacts at a valve."""
    words = {"part": part.id}
    if isinstance(part, Relief):
        yield from _states((part,), kept="")
        if part.tells == "flow switch":
            yield f"{part.id}.flow_switch", Message("left.flow_switch", words)
        return
    yield f"{part.id}.pilot", Message("left.pilot", words)
    if isinstance(part, ShutOff):
        yield f"{part.id}.feed", Message("left.feed", words)
        yield f"{part.id}.exhaust", Message("left.exhaust", words)
        if part.limit_switch is not None:
            yield f"{part.id}.switch", Message("left.switch", words)


def _states(line: Iterable[LinePart], *, kept: str) -> Iterator[tuple[str, Message]]:
    for part in line:
        if isinstance(part, Parallel):
            for branch in part.branches:
                yield from _branch(branch, kept)
        elif isinstance(part, IsolatingValve):
            yield part.id, _gate(part, kept)
        elif isinstance(part, Drain):
            yield part.id, Message("left.drain")
        elif isinstance(part, ExpansionVessel) or (isinstance(part, Relief) and part.cock == "yes"):
            yield part.id, Message("left.cock")
        elif isinstance(part, Relief):
            yield part.id, Message("left.relief")


def _branch(branch: Branch, kept: str) -> Iterator[tuple[str, Message]]:
    """Yield the states of one branch; a bypass that names no valve of its own is listed by its own name."""
    shut = kept or ("left.locked" if branch.locked_shut or branch.role == "manual bypass" else "")
    found = list(_states(branch.line, kept=shut))
    if shut and not found:
        found = [(branch.id, Message(shut))]
    yield from found


def _gate(valve: IsolatingValve, kept: str) -> Message:
    if kept:
        return Message(kept)
    if valve.turns is None:
        return Message("left.open")
    return Message("left.open_turns", {"turns": valve.turns.text})


def unlisted(procedure: Procedure, names: Iterable[str]) -> tuple[str, ...]:
    """Return those of some part ids that a step speaks of and the end list does not hold.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> step = SimpleNamespace(do=(Message("B1.outlet", {"iv2": "IV2"}),), otherwise=(), back_out=())
    >>> unlisted(SimpleNamespace(nodes=(step,), left=(("IV1", Message("left.open")),)), ("IV1", "IV2"))
    ('IV2',)
    """
    held = {name for name, _ in procedure.left}
    said = {word for node in procedure.nodes for word in _words(node)}
    return tuple(name for name in names if name in said and name not in held)


def _words(node: object) -> Iterator[str]:
    messages = [*getattr(node, "do", ())]
    messages += [other.then for other in getattr(node, "otherwise", ())]
    messages += [way.do for way in getattr(node, "back_out", ())]
    for message in messages:
        for value in message.params.values():
            if isinstance(value, str):
                yield from value.replace(",", " ").replace(";", " ").split()
