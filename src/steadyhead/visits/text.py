"""A plan as plain text for the terminal: complete, in the order of the tables, in the reader's units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby
from textwrap import wrap

from steadyhead.findings import Amount
from steadyhead.procedure.graph import covering, needed, on_way
from steadyhead.records.plan_numbers import InletOpening, PlanNumbers
from steadyhead.records.procedure import Expect, Expression, Input, Message, Node, Procedure, TurnTable
from steadyhead.units import METRIC, UnitSet, bare, say_most
from steadyhead.units import say as say_value
from steadyhead.visits.dials import PlanUnits, plan_units
from steadyhead.visits.drains import PlaceUse, by_place
from steadyhead.visits.leaving import label
from steadyhead.visits.rules import rule_number
from steadyhead.visits.tables.defaults import AFTER, BEFORE
from steadyhead.visits.texts import say
from steadyhead.visits.texts.saying import amount, band_words, edges

WIDTH = 92
_GROUPS = {
    "A": "A  Before anything is touched",
    "B": "B  Isolate, flush, clean",
    "C": "C  Fill, bleed, V2 opening",
    "D": "D  Static checks",
    "E": "E  Settings",
    "DS": "DS Settings, shut-off after the reducer",
    "IN": "IN Trip by pump",
    "TS": "TS Second reducer alone",
    "R": "R  Relief valve",
    "RS": "R  Restart after a trip",
    "MN": "MN Monitor",
    "F": "F  Trip",
    "G": "G  Alarm",
    "H": "H  Duty, lock-up, flow",
    "S": "S  Streams, one at a time and together",
    "J": "J  Return to service",
    "K": "K  Record",
    "Y": "Y  Yearly proof",
}


_START = {"trickle": "trickle reading", "lowest": "lowest setting"}


def render(
    procedure: Procedure,
    units: UnitSet = METRIC,
    *,
    width: int = WIDTH,
    numbers: PlanNumbers | None = None,
    dials: Mapping[str, str] | None = None,
) -> str:
    """Return the whole plan as text.

    Parameters
    ----------
    procedure
        A sound plan.
    units
        The reader's units.
    width
        Columns; 80 to 100 read well.
    numbers
        Figures of the plan: with them what a held section sees at each opening of the inlet valve is printed.
    dials
        Unit of the gauge's dial by tap, which stands first where it is read; see `steadyhead.visits.dials`.
    """
    page = _Page(procedure, plan_units(units, dials or {}), width, numbers)
    return "\n".join(line.rstrip() for line in page.lines()) + "\n"


def render_step(procedure: Procedure, step: str, units: UnitSet = METRIC, *, width: int = WIDTH) -> str:
    """Return one step as text, as `render` writes it; parameters likewise."""
    page = _Page(procedure, plan_units(units, {}), width)
    return "\n".join(line.rstrip() for line in page._node(procedure.node(step))).strip() + "\n"


class _Page:
    def __init__(
        self, procedure: Procedure, units: PlanUnits, width: int, numbers: PlanNumbers | None = None
    ) -> None:
        self.procedure, self.by_tap, self.width, self.numbers = procedure, units, width, numbers
        self.units = units.words

    def lines(self) -> Iterator[str]:
        yield from self._head()
        yield from self._listed("Rules for every step", self.procedure.invariants)
        yield from self._listed("Stop and back out when", self.procedure.stop_rules)
        yield from self._choices()
        for stream, numbers in self._alone().items():
            for section, opening in numbers.inlet_opening.items():
                yield from self._openings(section, opening, stream)
        for table in self.procedure.turn_tables:
            yield from self._turns(table)
        yield from self._water()
        downstream = any(group_of(node.id) == "DS" for node in self.procedure.nodes)
        key = {"E": "DS"} if downstream else {}
        streams = self.procedure.streams
        runs = groupby(self.procedure.nodes, key=lambda n: (streams.get(n.id, ""), _heading(n.id, key)))
        for (stream, group), nodes in runs:
            yield ""
            told = f", stream {stream}" if stream else ""
            yield self._rule(f"{_GROUPS.get(group, group)}{told}")
            for node in nodes:
                yield from self._node(node)
        yield from self._left()

    def _left(self) -> Iterator[str]:
        """Yield how each valve, drain and cock is left."""
        if not self.procedure.left:
            return
        yield ""
        yield self._rule("Before leaving: each valve, drain and cock stands so")
        for name, state in self.procedure.left:
            yield from self._par(say(state, self.units), f"{label(name, state):<9} ")

    def _head(self) -> Iterator[str]:
        plan = self.procedure
        yield f"{self._kind()}: {plan.station_name} ({plan.station_id})"
        litres = sum(use.litres for use in plan.drain_budget)
        datum = say_value(plan.datum, "length", self.units)
        water = f", water {amount(Amount('volume', litres / 1e3), self.units)}" if litres else ""
        yield from self._par(
            f"Plan {plan.id}. Datum {datum}. Steps {len(plan.nodes)}, {self._times()}{water}."
        )
        if plan.station_hash:
            yield from self._par(
                f"Station file {plan.station_hash}, worked out by steadyhead {plan.engine_version}."
            )
        yield ""
        for note in plan.notes:
            yield from self._par(say(note, self.units))

    def _times(self) -> str:
        """Return hands-on time of the shortest and the longest way; desk work before and after apart."""
        plan = self.procedure
        times = {
            sum(node.minutes for node in on_way(plan, way) if node.id not in (*BEFORE, *AFTER))
            for way in covering(plan)
        }
        span = _span(times)
        said = [f"hands-on {span} min by the way taken" if len(times) > 1 else f"hands-on {span} min"]
        beyond = {sum(node.on_top for node in on_way(plan, way)) for way in covering(plan)}
        said += [f"on top {_span(beyond)} min of watches and recoveries"] if max(beyond) else []
        for name, steps in (("before travelling", BEFORE), ("afterwards", AFTER)):
            desk = sum(node.minutes for node in plan.nodes if node.id in steps)
            said += [f"{name} {desk:.0f} min"] if desk else []
        return ", ".join(said)

    def _kind(self) -> str:
        plan = self.procedure
        whole = plan.kind == "new_setting" and not plan.item
        return say(Message(f"kind.{plan.kind}{'_all' if whole else ''}", {"item": plan.item}), self.units)

    def _listed(self, title: str, messages: tuple[Message, ...]) -> Iterator[str]:
        yield ""
        yield self._rule(title)
        for message in messages:
            yield from self._par(say(message, self.units), f"{rule_number(message) or '-':<4}")

    def _choices(self) -> Iterator[str]:
        if not self.procedure.choices:
            return
        yield ""
        yield self._rule("Choices on the way")
        for choice in self.procedure.choices:
            yield from self._par(say(choice.question, self.units), f"{choice.id:<8}")
            for name, words, nodes in choice.options:
                opened = f" → {', '.join(nodes)}" if nodes else ""
                said = say(words, self.units).removeprefix(f"{name}: ")
                yield from self._par(f"{name}: {said}{opened}", " " * 8)

    def _turns(self, table: TurnTable) -> Iterator[str]:
        yield ""
        per_turn = say_value(table.per_turn, "pressure_per_turn", self.units)
        rest = f"{per_turn}, stop at {say_most(table.limit, 'pressure', self.units)}"
        head = f"{table.valve} from {_START[table.start]}: {table.spring}"
        fits = len(self._rule(f"{head}, {rest}")) <= self.width
        yield self._rule(f"{head}, {rest}" if fits else head)
        if not fits:
            yield from self._par(f"{rest[:1].upper()}{rest[1:]}.")
        rows = [
            (f"{tap:<3} {one.unit('pressure'):>3}", [bare(value, "pressure", one) for value in readings])
            for tap, readings in table.readings.items()
            for one in self.by_tap.at(tap).each("pressure")
        ]
        first = max(7, *(len(head) for head, _ in rows)) if rows else 7
        yield f"{'turns':<{first}} " + "".join(f"{turn:>7.2f}" for turn in table.turns)
        for head, figures in rows:
            yield f"{head:<{first}} " + "".join(f"{figure:>7}" for figure in figures)
        if table.stop_after < len(table.turns) - 1:
            yield f"Stop after {table.turns[table.stop_after]:.2f} turns."

    def _alone(self) -> Mapping[str, PlanNumbers]:
        """Return the figures of each stream tested alone, or those of the one line under an empty name."""
        if self.numbers is None:
            return {}
        return self.numbers.streams or {"": self.numbers}

    def _openings(self, section: str, opening: InletOpening, stream: str = "") -> Iterator[str]:
        if not opening.rows:
            return
        yield ""
        of = f" of stream {stream}" if stream else ""
        head = f"{section.capitalize()} section{of}, reducers wide open, {opening.drain} fully open"
        yield self._rule(head)
        counted = all(row.turns is not None for row in opening.rows)
        heads = [
            f"{row.turns:.2f}" if row.turns is not None else f"{row.share * 100:.1f}" for row in opening.rows
        ]
        rows = {
            f"{name:<8} {one.unit('pressure')}": [bare(value, "pressure", one) for value in values]
            for name, values in (
                ("expected", [row.expected for row in opening.rows]),
                ("at worst", [row.worst for row in opening.rows]),
            )
            for one in self.units.each("pressure")
        }
        first = max(13, *(len(head) + 1 for head in rows))
        yield f"{'turns' if counted else 'open %':<{first}}" + "".join(f"{head:>7}" for head in heads)
        for head, figures in rows.items():
            yield f"{head:<{first}}" + "".join(f"{figure:>7}" for figure in figures)
        limit = say_most(opening.limit, "pressure", self.units)
        yield f"Limit {limit} at datum. At worst: less drain and more inlet than stated."

    def _water(self) -> Iterator[str]:
        budget = self.procedure.drain_budget
        if not budget:
            return
        yield ""
        yield self._rule("Water let off")
        for use in budget:
            flow = say_value(use.flow, "flow", self.units)
            volume = amount(Amount("volume", use.litres / 1e3), self.units)
            drain = use.drain or "open pipe"
            yield f"{use.node:<6} {drain:<9} {flow:>12} for {use.seconds / 60:>5.0f} min {volume:>12}"
        total = amount(Amount("volume", sum(use.litres for use in budget) / 1e3), self.units)
        yield f"all    {'':<9} {'':>12}     {sum(use.seconds for use in budget) / 60:>5.0f} min {total:>12}"
        for one in by_place(budget):
            yield from self._par(self._place(one))

    def _place(self, one: PlaceUse) -> str:
        """Return what runs to one place all through the visit, and the most of it at one time."""
        drains = " and ".join(drain or "open pipe" for drain in one.drains)
        place = one.place or "place not stated"
        volume = amount(Amount("volume", one.volume), self.units)
        return f"To {place}: {volume} by {drains}, at most {say_value(one.most, 'flow', self.units)}."

    def _node(self, node: Node) -> Iterator[str]:
        yield ""
        spent = f"{node.minutes:.0f} min" + (f" and {node.on_top:.0f}" if node.on_top else "")
        if node.litres:
            spent += f", {amount(Amount('volume', node.litres / 1e3), self.units)}"
        yield from self._par(f"{say(node.title, self.units)}  [{spent}]", f"{node.id:<9} ")
        if needed(node.needs):
            yield from self._par(_needs(node.needs), "  after   ")
        for number, message in enumerate(node.do, 1):
            yield from self._par(say(message, self.units), f"  {number:>5}.  ")
        yield from self._read(node)
        for other in node.otherwise:
            see, meaning, then = (say(one, self.units) for one in (other.see, other.meaning, other.then))
            yield from self._par(f"{see} {meaning} → {then}", "  else    ")
        for hazard in node.hazards:
            yield from self._par(f"{hazard.tag}: {say(hazard.caution, self.units)}", "  heed    ")
        for way in node.back_out:
            state = say(Message(f"state.{way.state.removesuffix('_between')}"), self.units)
            yield from self._par(f"{state}: {say(way.do, self.units)}", "  leave   ")
        yield from self._bookkeeping(node)

    def _read(self, node: Node) -> Iterator[str]:
        numbered = [one for one in node.inputs if _point(one)]
        for point, listed in groupby(numbered, key=_point):
            yield from self._par(", ".join(self._short(node, one) for one in listed), f"  point {point}  ")
        for one in node.inputs:
            if _point(one):
                continue
            label = say(self.procedure.names[f"{node.id}/{one.name}"], self.units)
            yield from self._par(label + self._how(one), "  read    ")
            for expect in (e for e in node.expect if e.input == one.name):
                yield from self._par(self._band(expect, one), "            ")

    def _short(self, node: Node, one: Input) -> str:
        name = one.name.partition(".")[0]
        bands = [e for e in node.expect if e.input == one.name]
        told = [f"{band_words(*self._edges(e, one))}{_where(e)}" for e in bands]
        return f"{one.tap or name} {' or '.join(told)}".strip()

    def _how(self, one: Input) -> str:
        parts = [one.instrument] if one.instrument not in ("", "eye") else []
        if one.stable_for:
            hold = amount(Amount("time", one.stable_for), self.units)
            within = amount(Amount("pressure", one.stable_within), self.by_tap.at(one.tap))
            parts.append(f"still {hold} within ± {within}")
        parts += ["yes or no"] if one.quantity == "yes_no" else []
        return f" ({', '.join(parts)})" if parts else ""

    def _band(self, expect: Expect, one: Input) -> str:
        band = band_words(*self._edges(expect, one))
        likeliest = self._edge(expect.nominal, one)
        middle = f", likeliest {likeliest}" if expect.nominal is not None else ""
        return f"expected{_where(expect)} {band}{middle}: {say(expect.why, self.units)}"

    def _edges(self, expect: Expect, one: Input) -> tuple[str, str]:
        return edges(expect.low, expect.high, one.quantity, self.by_tap.at(one.tap))

    def _edge(self, si: float | None, one: Input) -> str:
        return "any" if si is None else amount(Amount(one.quantity, si), self.by_tap.at(one.tap))

    def _bookkeeping(self, node: Node) -> Iterator[str]:
        for word, names in (
            ("opens", node.opens),
            ("mends", node.restores),
            ("touches", node.touches),
            ("proves", node.proves),
        ):
            if names:
                said = "; ".join(say(self.procedure.names[name], self.units) for name in names)
                yield from self._par(said, f"  {word:<8}")

    def _par(self, text: str, head: str = "") -> list[str]:
        return wrap(
            text,
            self.width,
            initial_indent=head,
            subsequent_indent=" " * len(head),
            break_long_words=False,
            break_on_hyphens=False,
        ) or [head]

    def _rule(self, title: str) -> str:
        return f"── {title} {'─' * max(2, self.width - len(title) - 4)}"


def _span(times: set[float]) -> str:
    return f"{min(times):.0f}" + (f" to {max(times):.0f}" if len(times) > 1 else "")


def group_of(node_id: str) -> str:
    """Return the letters of the table a step stands in."""
    for letters in ("DS", "IN", "TS", "MN"):
        if node_id.startswith(letters):
            return letters
    return "RS" if is_restart(node_id) else node_id[0]


def is_restart(node_id: str) -> bool:
    """Return whether a step belongs to a restart; those of a relief valve name it behind a point.

    Examples
    --------
    >>> is_restart("R3"), is_restart("R7T.low"), is_restart("R3.RL")
    (True, True, False)
    """
    base, point, _ = node_id.partition(".")
    return base[0] == "R" and not (point and base in ("R1", "R2", "R3", "R4"))


def _heading(node_id: str, instead: dict[str, str]) -> str:
    group = group_of(node_id)
    return group if node_id.startswith("E0") else instead.get(group, group)


def _point(one: Input) -> int:
    """Return the number of the flow point an input belongs to; 0 for none."""
    stem, _, number = one.name.rpartition(".")
    return int(number) if number.isdigit() and stem in ("flow", "T0", "T1", "T2", "T3") else 0


def _where(expect: Expect) -> str:
    return f" where {expect.where[0]} took {expect.where[1]}" if expect.where else ""


def _needs(expression: Expression) -> str:
    parts = []
    for operator, listed in expression.items():
        words = [part if isinstance(part, str) else f"({_needs(part)})" for part in listed]
        parts.append((", " if operator == "all" else " or ").join(words))
    return ", ".join(parts)
