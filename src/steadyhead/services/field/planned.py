"""What a device takes along of a plan: its words, how each value is typed, cocks in walking order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from steadyhead.procedure.plain import message_data
from steadyhead.records.procedure import Expect, Input, Message, Node, Procedure
from steadyhead.services.field.device_words import NAMED
from steadyhead.station.canonical import canonical
from steadyhead.units import UnitSet, from_si
from steadyhead.units.display import usual_digits
from steadyhead.units.table import KINDS
from steadyhead.visits.texts import say
from steadyhead.visits.texts.saying import edges

RULED = {"m": "mm", "ft": "in"}
"""Units of a rule, by the one lengths are read in: a screw stands a few of them high."""


def texts(procedure: Procedure, units: UnitSet) -> dict[str, str]:
    """Return the words of every message of a plan by its key; the device fills in no template of a plan."""
    return {key_of(one): say(one, units) for one in every_message(procedure)}


def key_of(message: Message) -> str:
    """Return the key of a message among the texts of a pack."""
    return canonical(message_data(message)).decode()


def every_message(value: Any) -> Iterator[Message]:
    """Yield every message in a plan, or in a piece of one."""
    if isinstance(value, Message):
        yield value
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from every_message(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from every_message(inner)
    elif is_dataclass(value):
        for one in fields(value):
            yield from every_message(getattr(value, one.name))


def steps(procedure: Procedure, units: UnitSet) -> dict[str, dict[str, Any]]:
    """Return how the values of each step are typed; steps at which nothing is measured are left out."""
    found = {node.id: {"inputs": _inputs(node, units)} for node in procedure.nodes}
    return {name: told for name, told in found.items() if told["inputs"]}


def _inputs(node: Node, units: UnitSet) -> list[dict[str, Any]]:
    return [
        _typed(one, [each for each in node.expect if each.input == one.name], units)
        for one in node.inputs
        if one.quantity in KINDS and one.quantity not in NAMED
    ]


def _typed(one: Input, bands: Sequence[Expect], units: UnitSet) -> dict[str, Any]:
    """Return unit and decimals of an input, and its band where it has one that hangs on no choice.

    The decimals are those of the band's printed ends, so that a value on its edge can be typed.
    """
    unit = units.first.unit(one.quantity)
    if one.quantity == "length" and one.instrument == "rule":
        unit = RULED.get(unit, unit)
    near = next((b.nominal if b.nominal is not None else b.high for b in bands), None)
    number = from_si(near, one.quantity, unit) if near is not None else 0.0
    digits = max(
        [usual_digits(number, one.quantity, unit)]
        + [
            _decimals(edge, unit)
            for band in bands
            for edge in edges(band.low, band.high, one.quantity, units.first)
        ]
    )
    told: dict[str, Any] = {"name": one.name, "unit": unit, "digits": digits}
    if len(bands) == 1 and bands[0].where is None:
        told |= {"low_si": bands[0].low, "high_si": bands[0].high}
        told["band_words"] = list(edges(bands[0].low, bands[0].high, one.quantity, units))
    return told


def _decimals(edge: str, unit: str) -> int:
    """Return the decimals of a printed end; 0 where it is told in another unit."""
    figure, _, told = edge.partition(" ")
    return len(figure.replace(",", ".").partition(".")[2]) if told == unit else 0


def cocks(procedure: Procedure, units: UnitSet) -> list[dict[str, Any]]:
    """Return valves, drains and cocks in walking order: how each is to stand when people leave."""
    says = {one.thing: list(one.words) for one in procedure.minding.left}
    return [
        {
            "part": thing,
            "words": say(procedure.names[thing], units) if thing in procedure.names else thing,
            "should": say(message, units),
            "says": says.get(thing, []),
        }
        for thing, message in procedure.left
    ]
