"""The writing desk of the tables: turns short lists of text ids into full steps for one station."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Literal, cast

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import (
    BackOut,
    Expect,
    Expression,
    Hazard,
    Input,
    Message,
    Node,
    Otherwise,
    Refusal,
)
from steadyhead.visits.defaults import HOLD_BAND, HOLD_TIME
from steadyhead.visits.facts import Facts
from steadyhead.visits.tables.defaults import FOLLOWS, NO_PRESSURE, minutes, on_top
from steadyhead.visits.tables.wording import Words, pilot_words, station_words
from steadyhead.visits.texts import fields, is_known, refers

Tag = Literal[
    "pressure",
    "surge",
    "confined space",
    "traffic",
    "electric",
    "water quality",
    "fire",
    "consumers",
    "lifting",
]
Needs = str | Mapping[str, Any]
Band = str | Mapping[tuple[str, str], str]
SETTING_GAUGE, GAUGE = "setting gauge", "gauge"
FITS, SET = "fits", "set"
INLET_SHUT = ("D2", "Y2")
"""Steps at which the setting gauge is read with the inlet valve shut: a pump raises the outlet."""


@dataclass(frozen=True)
class Desk:
    """What the tables write with: facts of the station, numbers of the twin, words for both.

    Parameters
    ----------
    facts, numbers
        The station and its figures.
    past_due
        Gauges whose calibration has run out on the day of the visit.
    labels
        Words of every input written so far, by ``step/input``.
    """

    facts: Facts
    numbers: PlanNumbers
    past_due: tuple[str, ...] = ()
    labels: dict[str, Message] = field(default_factory=dict)

    @cached_property
    def words(self) -> Words:
        """Every parameter a text of this station may ask for."""
        return {**station_words(self.facts, self.numbers), "past_due": ", ".join(self.past_due)}

    def say(self, text_id: str, **more: Amount | str | int) -> Message:
        """Return a message that carries just the parameters its words ask for.

        Raises
        ------
        KeyError
            A parameter the words ask for is not known for this station.
        """
        table = {**self.words, **more}
        wanted: dict[str, Amount | str | int] = {}
        open_ids = [text_id]
        while open_ids:
            for name in sorted(fields(open_ids.pop())):
                value = wanted[name] = table[name]
                if isinstance(value, str) and refers(value):
                    open_ids.append(value[1:])
        return Message(text_id, {name: wanted[name] for name in sorted(wanted)})

    def pilot(self, valve: Reducer | ShutOff) -> dict[str, Amount | str | int]:
        """Return the parameters that speak of one valve and its pilot."""
        return dict(pilot_words(self.facts, self.numbers, valve))

    def read(self, role: str, name: str = "", *, instrument: str = GAUGE, still: bool = True) -> Input:
        """Return a pressure to be read at a tap, by role."""
        return Input(
            name or role,
            "pressure",
            self.facts.taps.get(role, ""),
            instrument,
            HOLD_TIME.si if still else 0.0,
            HOLD_BAND.si if still else 0.0,
        )

    def reads(self, *roles: str, suffix: str = "", instrument: str = GAUGE) -> tuple[Input, ...]:
        """Return pressures to be read at the taps of the list that there are; T2: all between the valves."""
        roles = tuple(one for role in roles for one in (self.facts.inner if role == "T2" else (role,)))
        named = [(role, f"{role}.{suffix}" if suffix else role) for role in roles if self.facts.has_tap(role)]
        return tuple(self.read(role, name, instrument=instrument) for role, name in named)

    def expect(self, name: str, key: str | Mapping[tuple[str, str], str]) -> tuple[Expect, ...]:
        """Return the band of a question for an input; nothing where the twin gave none.

        A map gives one question for each (choice, option); the band holds where that option was taken.
        """
        if not isinstance(key, str):
            return tuple(
                replace(e, where=where) for where, own in key.items() for e in self.expect(name, own)
            )
        band = self.numbers.bands.get(key)
        if band is None:
            return ()
        why = self.say(band.why or f"why.{key.split('.')[0]}")
        return (Expect(name, band.low, band.high, why, band.nominal, band.probability),)

    def node(
        self,
        base: str,
        valve: str = "",
        *,
        needs: Sequence[Needs] = (),
        do: Iterable[str | tuple[str, Mapping[str, Amount | str | int]]] = (),
        inputs: Iterable[Input] = (),
        bands: Mapping[str, Band] | None = None,
        otherwise: Iterable[tuple[str, Expression]] = (),
        out: Iterable[str] = (),
        hazards: Iterable[tuple[Tag, str]] = (),
        text: str = "",
        title: str = "title",
        time: str = "",
        over: Mapping[str, Amount | str | int] | None = None,
        refuses: Iterable[Refusal] = (),
        **sets: Iterable[str],
    ) -> Node:
        """Return one step.

        Parameters
        ----------
        base, valve
            Position in the tables and part id; together the id of the step.
        needs
            Steps, or nested ``any``; all of them.
        do
            Names of texts ``base.name``, or pairs of name and own parameters; with a point: a full id.
        bands
            Question by input, or question by option of a choice.
        otherwise
            Names of text groups ``base.name.see/means/then`` with their predicates.
        out
            States to leave the step from; ``base.out.state`` where there is such a text, else ``out.state``.
        hazards
            Tag and name of the caution.
        text, title, time
            Base of the texts, name of the title, base of the minutes, where they are not the usual ones.
        over
            Parameters that hold for this step alone.
        refuses
            Why it does not count although all was noted.
        sets
            touches, proves, depends_on, opens, restores, raises.
        """
        words = dict(over or {})
        node_id = f"{base}.{valve}" if valve else base
        prefix = text or base
        listed = tuple(inputs)
        self.labels.update({f"{node_id}/{one.name}": self._label(prefix, one.name, words) for one in listed})
        return Node(
            id=node_id,
            title=self.say(f"{prefix}.{title}", **words),
            needs={"all": list(needs)},
            do=tuple(self._do(prefix, one, words) for one in do),
            inputs=listed,
            expect=self._expected(listed, bands or {}),
            otherwise=tuple(self._otherwise(prefix, name, when, words) for name, when in otherwise),
            back_out=tuple(BackOut(one, self._out(prefix, one, words)) for one in _ways(out, bands or {})),
            hazards=(
                *(Hazard(tag, self.say(f"hz.{name}", **words)) for tag, name in hazards),
                *self.short_gauge(base, listed),
            ),
            minutes=minutes(time or base),
            on_top=on_top(time or base),
            refuses=tuple(refuses),
            **cast(Any, {name: tuple(values) for name, values in sets.items()}),
        )

    def short_gauge(self, base: str, listed: tuple[Input, ...]) -> tuple[Hazard, ...]:
        """Return the caution where the setting gauge is read and does not bear the inlet."""
        read = any(one.instrument == SETTING_GAUGE for one in listed)
        if not read or base in INLET_SHUT:
            return ()
        return tuple(
            Hazard("pressure", self.say("hz.short_gauge", **short)) for short in short_gauges(self.facts)
        )

    def _expected(self, listed: tuple[Input, ...], bands: Mapping[str, Band]) -> tuple[Expect, ...]:
        """Return the bands of the inputs that are read; one of T2 is one for every tap between the valves."""
        between = self._between(bands)
        return tuple(e for name, key in between.items() for e in self._banded(listed, name, key))

    def _between(self, bands: Mapping[str, Band]) -> dict[str, Band]:
        """Return the questions, one of T2 asked of every tap between the valves."""
        found: dict[str, Band] = {}
        for name, key in bands.items():
            if name == "T2" and isinstance(key, str):
                situation = key.rpartition(".")[0]
                found |= {role: f"{situation}.{role}" for role in self.facts.inner}
            else:
                found[name] = key
        return found

    def _label(self, prefix: str, name: str, words: Mapping[str, Any]) -> Message:
        own = f"{prefix}.in.{name}"
        if is_known(own):
            return self.say(own, **words)
        if is_known(f"in.{name}"):
            return self.say(f"in.{name}", **words)
        stem, _, number = name.rpartition(".")
        return self.say("in.numbered", name=f"@in.{stem}", number=int(number), **words)

    def _do(
        self, prefix: str, one: str | tuple[str, Mapping[str, Amount | str | int]], words: Mapping[str, Any]
    ) -> Message:
        name, own = (one, {}) if isinstance(one, str) else one
        return self.say(name if "." in name else f"{prefix}.{name}", **{**words, **own})

    def _banded(self, inputs: tuple[Input, ...], name: str, key: Band) -> tuple[Expect, ...]:
        return self.expect(name, key) if any(one.name == name for one in inputs) else ()

    def other(self, group: str, when: Expression, words: Mapping[str, Any]) -> Otherwise:
        """Return what else may be seen, by the full id of its texts."""
        return self._otherwise("", group, when, words)

    def _otherwise(self, prefix: str, name: str, when: Expression, words: Mapping[str, Any]) -> Otherwise:
        group = name if "." in name else f"{prefix}.{name}"
        see, means, then = (self.say(f"{group}.{part}", **words) for part in ("see", "means", "then"))
        return Otherwise(when, see, means, then)

    def _out(self, prefix: str, state: str, words: Mapping[str, Any]) -> Message:
        own = f"{prefix}.out.{state}"
        return self.say(own if is_known(own) else f"out.{state}", **words)


def _ways(out: Iterable[str], bands: Mapping[str, Band]) -> Iterable[str]:
    """Return the states to leave a step from; where a lock-up is read, the drain may stand shut."""
    states = tuple(out)
    asked = [key for own in bands.values() for key in ((own,) if isinstance(own, str) else own.values())]
    shut = any(key.startswith(("lockup", "lowest")) for key in asked)
    return (*states, "lockup") if shut and "trickle" in states else states


def short_gauges(facts: Facts) -> list[dict[str, Amount | str | int]]:
    """Return each gauge for setting that does not bear the highest inlet pressure, as texts ask for it."""
    static = facts.station.supply.static.si
    return [
        {
            "gauge": gauge.id,
            "span": Amount("pressure", gauge.span.si),
            "static": Amount("pressure", static),
        }
        for gauge in facts.station.gauges
        if gauge.for_setting and gauge.span.si < static
    ]


def yes_no(*names: str) -> tuple[Input, ...]:
    """Return questions answered yes or no."""
    return tuple(Input(name, "yes_no", instrument="eye") for name in names)


def noted(*names: str) -> tuple[Input, ...]:
    """Return things written down in words."""
    return tuple(Input(name, "text") for name in names)


def words_seen(answer: str = "right") -> tuple[Input, ...]:
    """Return the words on the desk's screen and who read them: to be noted where they were not right.

    Where they were (`answer` is yes), both may be noted and stand on the certificate.
    """
    right: Expression = {"eq": [{"value": answer}, True]}
    return tuple(Input(name, "text", unless=right) for name in ("words", "operator"))


def told_there() -> tuple[Input, ...]:
    """Return what is asked of the desk at a run that is told there by the movement itself."""
    return (*yes_no("right"), measured("told_at", "time_of_day", "telephone"), *words_seen())


def measured(name: str, quantity: str, instrument: str) -> Input:
    """Return a quantity read with an instrument that is no gauge."""
    return Input(name, quantity, "", instrument)


def above(name: str) -> Expression:
    """Return the predicate: the input stands above its band."""
    return {"gt": [{"value": name}, {"expect": [name, "high"]}]}


def below(name: str) -> Expression:
    """Return the predicate: the input stands below its band."""
    return {"lt": [{"value": name}, {"expect": [name, "low"]}]}


def outside(name: str) -> Expression:
    """Return the predicate: the input stands outside its band."""
    return {"any": [below(name), above(name)]}


def stops_below(name: str, *, ended_by: str) -> Expression:
    """Return the predicate: the input stands below its band once the answer that ends the step was given."""
    return {"all": [below(name), {"eq": [{"value": ended_by}, True]}]}


def is_no(name: str) -> Expression:
    """Return the predicate: the answer is no."""
    return {"eq": [{"value": name}, False]}


def zone_held(*, fed: bool) -> tuple[Input, ...]:
    """Return what is asked of the zone; where nothing else feeds it, the outage that was agreed."""
    asked = yes_no("zone")
    return asked if fed else (*asked, Input("outage", "text", unless={"not": is_no("zone")}))


def zone_falls(*, fed: bool) -> Expression:
    """Return the predicate: the zone does not hold, and no agreed outage was noted."""
    return is_no("zone") if fed else {"all": [is_no("zone"), {"not": {"given": "outage"}}]}


def zone_gone() -> Expression:
    """Return the predicate: the zone is said to hold, and the consumers' side fell to no pressure."""
    none = NO_PRESSURE.si
    fell: list[Expression] = [{"ge": [{"value": "T4.first"}, none]}, {"lt": [{"value": "T4.last"}, none]}]
    return {"all": [is_yes("zone"), *fell]}


def is_yes(name: str) -> Expression:
    """Return the predicate: the answer is yes."""
    return {"eq": [{"value": name}, True]}


def rises(first: str, last: str, by: float) -> Expression:
    """Return the predicate: the last reading stands above the first by more than an amount."""
    return {"gt": [{"sub": [{"value": last}, {"value": first}]}, by]}


def falls(first: str, last: str, by: float) -> Expression:
    """Return the predicate: the last reading stands below the first by more than an amount."""
    return rises(last, first, by)


def follows(name: str, reducer: Reducer) -> Expression:
    """Return the predicate: an outlet stands well above duty and close to the inlet."""
    near = {"sub": [{"value": "T1"}, FOLLOWS.si]}
    return {"gt": [{"value": name}, {"max": [near, reducer.duty.pressure.si + FOLLOWS.si]}]}


def by_choice(valve_id: str, *, fits: str, must_be_set: str) -> Band:
    """Return two questions of one input: pilot left as it stands, and pilot set today."""
    return {(f"E0.{valve_id}", FITS): fits, (f"E0.{valve_id}", SET): must_be_set}


def one_of(*nodes: Needs) -> Needs:
    """Return a need that any of some steps fulfils."""
    return nodes[0] if len(nodes) == 1 else {"any": list(nodes)}
