"""Procedure to canonical JSON and back; keys that carry a number end in its unit (agreement A2)."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from steadyhead.errors import InputError
from steadyhead.findings import Amount
from steadyhead.procedure.shape import check_plan
from steadyhead.records.advice import advising_from, plain_advising
from steadyhead.records.minding import minding_from, plain_minding
from steadyhead.records.procedure import (
    FORMAT,
    BackOut,
    Choice,
    DrainUse,
    Expect,
    Hazard,
    Input,
    Message,
    Node,
    Otherwise,
    Procedure,
    Refusal,
    ResponseTable,
    TurnTable,
)
from steadyhead.station.canonical import canonical

DIGITS = 9
"""Significant digits a computed value keeps (agreement A2)."""


def to_json(procedure: Procedure) -> bytes:
    """Return the procedure as canonical JSON (RFC 8785), floats rounded to 9 significant digits."""
    return canonical(plain(procedure))


def node_json(node: Node) -> bytes:
    """Return one step as canonical JSON: two steps are the same where these bytes are."""
    return canonical(_node(node))


def from_json(stored: bytes) -> Procedure:
    """Return the procedure that was stored.

    Raises
    ------
    InputError
        Not JSON, another format, or a field that is missing or of the wrong kind; the field is named.
    """
    try:
        data = json.loads(stored)
    except (ValueError, RecursionError) as problem:
        raise InputError("plan", f"is no JSON: {problem}.", "Give the file as it was written.") from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        got = data.get("format") if isinstance(data, dict) else type(data).__name__
        raise InputError("plan.format", f"got {got!r:.60}.", _other(got))
    try:
        check_plan(data)
        return _read_procedure(data)
    except InputError:
        raise
    except (KeyError, TypeError, ValueError, AttributeError, IndexError, RecursionError) as problem:
        what = f"{type(problem).__name__} {problem}"
        raise InputError("plan", f"cannot be read: {what}.", "Give the file as it was written.") from None


def _other(got: object) -> str:
    family, _, number = str(got).rpartition("/")
    ours, _, here = FORMAT.rpartition("/")
    if family == ours and number.isdigit() and len(number) < 9 and int(number) > int(here):
        return f"It comes from a newer program; this one reads {FORMAT}. Use that program."
    return f"This program reads {FORMAT}. Write it again: steadyhead plan FILE --for VISIT --save NAME.plan"


def plain(procedure: Procedure) -> dict[str, Any]:
    """Return the procedure as maps, lists, text and rounded floats."""
    return {
        "format": procedure.format,
        "id": procedure.id,
        "kind": procedure.kind,
        "item": procedure.item,
        "station_id": procedure.station_id,
        "station_name": procedure.station_name,
        "datum_m": _round(procedure.datum),
        "station_hash": procedure.station_hash,
        "baseline_id": procedure.baseline_id,
        "engine_version": procedure.engine_version,
        "nodes": [_node(node) for node in procedure.nodes],
        "choices": [_choice(choice) for choice in procedure.choices],
        "invariants": [message_data(one) for one in procedure.invariants],
        "stop_rules": [message_data(one) for one in procedure.stop_rules],
        "turn_tables": [_turn_table(one) for one in procedure.turn_tables],
        "response": None if procedure.response is None else _response(procedure.response),
        "drain_budget": [_drain(one) for one in procedure.drain_budget],
        "notes": [message_data(one) for one in procedure.notes],
        "names": {name: message_data(one) for name, one in procedure.names.items()},
        **({"streams": dict(procedure.streams)} if procedure.streams else {}),
        "limits": {name: _round(value) for name, value in procedure.limits.items()},
        "never": sorted(procedure.never),
        "after": list(procedure.after),
        **({"advice": _round(plain_advising(procedure.advice))} if procedure.advice.aims else {}),
        **({"minding": plain_minding(procedure.minding)} if procedure.minding.parts else {}),
        "left": [{"part": name, "state": message_data(one)} for name, one in procedure.left],
    }


def _round(value: Any) -> Any:
    if isinstance(value, bool) or value is None or isinstance(value, str | int):
        return value
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}")
    if isinstance(value, Mapping):
        return {key: _round(inner) for key, inner in value.items()}
    return [_round(inner) for inner in value]


def message_data(message: Message) -> dict[str, Any]:
    """Return a text by id with its parameters as plain data."""
    params = {
        name: {"kind": value.kind, "si": _round(value.si)} if isinstance(value, Amount) else value
        for name, value in message.params.items()
    }
    return {"id": message.id, "params": params}


def _node(node: Node) -> dict[str, Any]:
    return {
        "id": node.id,
        "title": message_data(node.title),
        "needs": _round(node.needs),
        "do": [message_data(one) for one in node.do],
        "inputs": [_input(one) for one in node.inputs],
        "expect": [_expect(one) for one in node.expect],
        "otherwise": [
            {
                "when": _round(o.when),
                "see": message_data(o.see),
                "meaning": message_data(o.meaning),
                "then": message_data(o.then),
                **({"tells": True} if o.tells else {}),
                **({"instead": o.instead} if o.instead else {}),
            }
            for o in node.otherwise
        ],
        "back_out": [{"state": one.state, "do": message_data(one.do)} for one in node.back_out],
        "hazards": [{"tag": one.tag, "caution": message_data(one.caution)} for one in node.hazards],
        "touches": list(node.touches),
        "proves": list(node.proves),
        "depends_on": list(node.depends_on),
        "opens": list(node.opens),
        "restores": list(node.restores),
        "raises": list(node.raises),
        **({"refuses": [_refusal(one) for one in node.refuses]} if node.refuses else {}),
        "minutes": _round(node.minutes),
        **({"on_top": _round(node.on_top)} if node.on_top else {}),
        "litres": _round(node.litres),
    }


def _refusal(one: Refusal) -> dict[str, Any]:
    return {"when": _round(one.when), "message": message_data(one.message)}


def _input(one: Input) -> dict[str, Any]:
    more = {
        "traced": one.traced,
        "error_most_si": _round(one.error_most),
        "carries": list(one.carries),
        "unless": _round(one.unless),
        "worked": _round(one.worked),
    }
    return {
        "name": one.name,
        "quantity": one.quantity,
        "tap": one.tap,
        "instrument": one.instrument,
        "stable_for_s": _round(one.stable_for),
        "stable_within_si": _round(one.stable_within),
        **{key: value for key, value in more.items() if value},
    }


def _expect(one: Expect) -> dict[str, Any]:
    return {
        "input": one.input,
        "low_si": _round(one.low),
        "high_si": _round(one.high),
        "nominal_si": _round(one.nominal),
        "probability": _round(one.probability),
        "why": message_data(one.why),
        "where": None if one.where is None else list(one.where),
    }


def _choice(choice: Choice) -> dict[str, Any]:
    options = [
        {"name": name, "words": message_data(words), "opens": list(ids)}
        for name, words, ids in choice.options
    ]
    return {"id": choice.id, "question": message_data(choice.question), "options": options}


def _turn_table(table: TurnTable) -> dict[str, Any]:
    return {
        "valve": table.valve,
        "spring": table.spring,
        "per_turn_pa": _round(table.per_turn),
        "turns": _round(table.turns),
        "readings_pa": _round(table.readings),
        "stop_after": table.stop_after,
        "limit_pa": _round(table.limit),
        "start": table.start,
    }


def _response(table: ResponseTable) -> dict[str, Any]:
    axes = [{"name": name, "at": _round(at)} for name, at in table.axes]
    return {"axes": axes, "taps": list(table.taps), "values_pa": _round(table.values)}


def _drain(one: DrainUse) -> dict[str, Any]:
    return {
        "node": one.node,
        "drain": one.drain,
        "flow_m3_s": _round(one.flow),
        "time_s": _round(one.seconds),
        "place": one.place,
    }


def _read_procedure(data: Mapping[str, Any]) -> Procedure:
    return Procedure(
        id=data["id"],
        kind=data["kind"],
        item=data["item"],
        station_id=data["station_id"],
        station_name=data["station_name"],
        datum=float(data["datum_m"]),
        station_hash=data["station_hash"],
        baseline_id=data["baseline_id"],
        engine_version=data["engine_version"],
        nodes=tuple(_read_node(one) for one in data["nodes"]),
        choices=tuple(_read_choice(one) for one in data["choices"]),
        invariants=_read_messages(data["invariants"]),
        stop_rules=_read_messages(data["stop_rules"]),
        turn_tables=tuple(_read_turn_table(one) for one in data["turn_tables"]),
        response=None if data["response"] is None else _read_response(data["response"]),
        drain_budget=tuple(
            DrainUse(
                one["node"],
                one["drain"],
                float(one["flow_m3_s"]),
                float(one["time_s"]),
                str(one.get("place", "")),
            )
            for one in data["drain_budget"]
        ),
        notes=_read_messages(data["notes"]),
        names={name: _read_message(one) for name, one in data["names"].items()},
        streams=dict(data.get("streams", {})),
        limits={str(name): float(value) for name, value in data["limits"].items()},
        never=frozenset(data["never"]),
        after=tuple(data["after"]),
        advice=advising_from(data.get("advice", {"screws": (), "aims": ()})),
        minding=minding_from(data.get("minding", {})),
        left=tuple((str(one["part"]), _read_message(one["state"])) for one in data.get("left", ())),
        format=data["format"],
    )


def _read_message(data: Mapping[str, Any]) -> Message:
    params = {
        name: Amount(value["kind"], float(value["si"])) if isinstance(value, Mapping) else value
        for name, value in data["params"].items()
    }
    return Message(data["id"], params)


def _read_messages(data: list[Any]) -> tuple[Message, ...]:
    return tuple(_read_message(one) for one in data)


def _read_node(data: Mapping[str, Any]) -> Node:
    return Node(
        id=data["id"],
        title=_read_message(data["title"]),
        needs=data["needs"],
        do=_read_messages(data["do"]),
        inputs=tuple(_read_input(one) for one in data["inputs"]),
        expect=tuple(_read_expect(one) for one in data["expect"]),
        otherwise=tuple(
            Otherwise(
                o["when"],
                _read_message(o["see"]),
                _read_message(o["meaning"]),
                _read_message(o["then"]),
                bool(o.get("tells", False)),
                o.get("instead", ""),
            )
            for o in data["otherwise"]
        ),
        back_out=tuple(BackOut(one["state"], _read_message(one["do"])) for one in data["back_out"]),
        hazards=tuple(Hazard(one["tag"], _read_message(one["caution"])) for one in data["hazards"]),
        touches=tuple(data["touches"]),
        proves=tuple(data["proves"]),
        depends_on=tuple(data["depends_on"]),
        opens=tuple(data["opens"]),
        restores=tuple(data["restores"]),
        raises=tuple(data["raises"]),
        refuses=tuple(Refusal(one["when"], _read_message(one["message"])) for one in data.get("refuses", ())),
        minutes=float(data["minutes"]),
        on_top=float(data.get("on_top", 0.0)),
        litres=float(data["litres"]),
    )


def _read_input(data: Mapping[str, Any]) -> Input:
    return Input(
        data["name"],
        data["quantity"],
        data["tap"],
        data["instrument"],
        float(data["stable_for_s"]),
        float(data["stable_within_si"]),
        traced=bool(data.get("traced", False)),
        error_most=float(data.get("error_most_si", 0.0)),
        carries=tuple(data.get("carries", ())),
        unless=data.get("unless"),
        worked=data.get("worked"),
    )


def _read_expect(data: Mapping[str, Any]) -> Expect:
    return Expect(
        input=data["input"],
        low=_number(data["low_si"]),
        high=_number(data["high_si"]),
        why=_read_message(data["why"]),
        nominal=_number(data["nominal_si"]),
        probability=_number(data["probability"]),
        where=None if data["where"] is None else (data["where"][0], data["where"][1]),
    )


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


def _read_choice(data: Mapping[str, Any]) -> Choice:
    options = tuple(
        (one["name"], _read_message(one["words"]), tuple(one["opens"])) for one in data["options"]
    )
    return Choice(data["id"], _read_message(data["question"]), options)


def _read_turn_table(data: Mapping[str, Any]) -> TurnTable:
    return TurnTable(
        valve=data["valve"],
        spring=data["spring"],
        per_turn=float(data["per_turn_pa"]),
        turns=tuple(float(one) for one in data["turns"]),
        readings={tap: tuple(float(p) for p in row) for tap, row in data["readings_pa"].items()},
        stop_after=int(data["stop_after"]),
        limit=float(data["limit_pa"]),
        start=data.get("start", "trickle"),
    )


def _read_response(data: Mapping[str, Any]) -> ResponseTable:
    axes = tuple((one["name"], tuple(float(value) for value in one["at"])) for one in data["axes"])
    return ResponseTable(axes, tuple(data["taps"]), _nested(data["values_pa"]))


def _nested(value: Any) -> Any:
    return tuple(_nested(inner) for inner in value) if isinstance(value, list) else float(value)
