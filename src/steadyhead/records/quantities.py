"""Field types of the station file: one annotated type per kind of quantity, with limits.

A field reads text with a unit, or a mapping ``{value, source, date, confidence, plus_minus}``.
Bare numbers are refused: a number without a unit is a guess. Only pure ratios have none.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from steadyhead.records.checking import bad, when
from steadyhead.records.values import Value
from steadyhead.units import Parsed, UnitError, parse, to_si, units_of
from steadyhead.units.parse import LONGEST_TEXT, example
from steadyhead.units.table import find

_BARE = re.compile(r"^\s*[+\-\u2212]?[\d\s.,/\u00a0\u2009\u202f]*\d[\d\s.,/]*(?:[eE][+\-]?\d+)?\s*$")
CONFIDENCE = ("measured", "stated", "estimated", "assumed")
_KEYS = {"value", "source", "date", "confidence", "plus_minus"}
STANDARD_ATMOSPHERE_PA = 101325.0
LIKELY_PRESSURE = 40e5
"""Up to here another reading of a far too high pressure is offered. [Pa] Own estimate."""


@dataclass(frozen=True)
class Quantity:
    """Annotation for a quantity field.

    Parameters
    ----------
    kind
        Kind of quantity.
    low, high
        Inclusive limits as text with a unit; beyond them the value is physically unusable here.
    such
        How a value of this field is written, for remedies; that of the kind where left out.
    per_cent
        Whether a ratio must be written in per cent, as 0.6 and 60 % are easily mistaken.
    """

    kind: str
    low: str = ""
    high: str = ""
    such: str = ""
    per_cent: bool = False

    @property
    def example(self) -> str:
        """How a value of this field is written, for remedies."""
        return self.such or example(self.kind)

    @property
    def name(self) -> str:
        """What this quantity is called in the schema."""
        return "share" if self.per_cent else self.kind

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(
            self.read,
            serialization=core_schema.plain_serializer_function_ser_schema(as_typed),
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        text = self._text_schema()
        return {
            "anyOf": [
                text,
                {
                    "type": "object",
                    "additionalProperties": False,
                    "required": ["value"],
                    "properties": {
                        "value": text,
                        "source": {"type": "string", "description": "Where the value comes from."},
                        "date": {"type": "string", "description": "When it was found, as 2026-03-02."},
                        "confidence": {"enum": list(CONFIDENCE), "description": "How sure it is."},
                        "plus_minus": {**text, "description": "Half-width of the band it may lie in."},
                    },
                },
            ],
            "x-quantity": self.name,
            **({"x-low": self.low} if self.low else {}),
            **({"x-high": self.high} if self.high else {}),
        }

    def _text_schema(self) -> JsonSchemaValue:
        words = f"Number and unit, {example(self.kind)}; units: {', '.join(units_of(self.kind))}."
        if self.per_cent:
            return {"type": "string", "pattern": r"\d.*[^\d\s.,]", "description": words}
        if self.kind == "ratio":
            return {"type": ["string", "number"], "pattern": r"\d", "description": words}
        return {"type": "string", "pattern": r"^\s*[A-Za-z].*\d|\d.*[^\d\s.,]", "description": words}

    def read(self, raw: object, info: ValidationInfo) -> Value:
        """Read one field; `info.context["atmosphere_pa"]` turns absolute pressures into gauge."""
        if isinstance(raw, Value):
            return raw
        fields: Mapping[str, object] = raw if isinstance(raw, Mapping) else {"value": raw}
        unknown = sorted(str(key) for key in fields if key not in _KEYS)
        if unknown or "value" not in fields:
            raise bad(
                f"got the keys {', '.join(sorted(map(str, fields)))}.",
                "Write a text with a unit, or value with source, date, confidence, plus_minus.",
            )
        text = self._text(fields["value"])
        for key in ("source", "date", "confidence"):
            if not isinstance(fields.get(key, ""), str):
                raise bad(f"got no text for {key}.", "Write text.")
        found = when(str(fields.get("date", "")))
        context = info.context if isinstance(info.context, Mapping) else {}
        si = self._si(text, float(context.get("atmosphere_pa", STANDARD_ATMOSPHERE_PA)))
        confidence = str(fields.get("confidence", ""))
        if confidence and confidence not in CONFIDENCE:
            raise bad(f"got confidence {confidence!r}.", f"Use one of: {', '.join(CONFIDENCE)}.")
        return Value(
            si,
            self.kind,
            " ".join(text.split()),
            source=str(fields.get("source", "")),
            date=found,
            confidence=confidence,
            spread=self._spread(fields.get("plus_minus")),
        )

    def _text(self, raw: object) -> str:
        if isinstance(raw, bool) or not isinstance(raw, str | int | float):
            remedy = f"Write a number and a unit, {self.example}."
            raise bad("got no text where a quantity belongs.", remedy)
        text = raw if isinstance(raw, str) else repr(raw)
        if len(text) <= LONGEST_TEXT and _BARE.match(text) and (self.kind != "ratio" or self.per_cent):
            raise self._without_unit(raw, text)
        return text

    def _without_unit(self, raw: object, text: str) -> PydanticCustomError:
        number = _number(text)
        if not self.per_cent or number is None:
            return bad(f"got {raw!r} without a unit.", f"Write the unit too, {self.example}.")
        other = f", or '{number * 100:g} %' if that is meant" if 0 < number <= 1 else ""
        return bad(f"got {raw!r} without the per cent.", f"Write '{number:g} %'{other}.")

    def _si(self, text: str, atmosphere_pa: float) -> float:
        try:
            parsed = parse(text, self.kind)
        except UnitError as error:
            raise bad(error.problem, error.remedy.replace(example(self.kind), self.example)) from None
        si = parsed.si - atmosphere_pa if parsed.absolute else parsed.si
        for limit, below in ((self.low, True), (self.high, False)):
            if not limit:
                continue
            edge = parse(limit, self.kind).si
            slack = 1e-9 * max(1.0, abs(edge))
            if (below and si < edge - slack) or (not below and si > edge + slack):
                word = "below the lowest" if below else "above the highest"
                raise bad(f"got {text!r}, {word} usable value {limit}.", self._cure(parsed, si, edge))
        return si

    def _cure(self, parsed: Parsed, si: float, edge: float) -> str:
        """Return what to look at where a value is beyond its limits."""
        if self.kind != "pressure":
            return "Check the number and the unit."
        if parsed.absolute and si < 0:
            return "It is absolute and below the air: a vacuum. Write it without the a if it is gauge."
        if si < 0:
            return (
                "Pressures are gauge: 0 bar is the air. Delete the minus sign; mark an absolute one as bar a."
            )
        return f"{self._likely(parsed, edge)}Check the number, the unit and gauge or absolute."

    def _likely(self, parsed: Parsed, edge: float) -> str:
        """Return a question about the unit where a far too high pressure would be usual in another one."""
        if self.kind != "pressure" or parsed.unit != "bar" or edge <= 0:
            return ""
        for symbol in ("kPa", "psi"):
            si = to_si(parsed.number, self.kind, symbol)
            if 0 < si <= LIKELY_PRESSURE:
                return f"Is it {parsed.number:g} {symbol}, which is {si / 1e5:.3g} bar? "
        return ""

    def _spread(self, raw: object) -> float | None:
        if raw is None:
            return None
        if not isinstance(raw, str):
            raise bad(f"got plus_minus {raw!r} without a unit.", "Write the unit too.")
        try:
            spread = parse(raw, self.kind)
        except UnitError as error:
            raise bad(error.problem, error.remedy) from None
        unit = find(self.kind, spread.unit)
        size = spread.number * (unit.factor if unit else math.nan)
        if not math.isfinite(size) or size < 0:
            raise bad(f"got plus_minus {raw!r}.", "Write a half-width of zero or more.")
        return size


def _number(text: str) -> float | None:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        return None


def as_typed(value: Value) -> object:
    """Return a value as the file writes it: text alone, or a mapping with its provenance."""
    stated = (("source", value.source), ("date", value.date), ("confidence", value.confidence))
    extras = {key: got for key, got in stated if got}
    if value.spread is not None:
        unit = find(value.kind, parse(value.text, value.kind).unit)
        if unit is not None:
            extras["plus_minus"] = f"{value.spread / unit.factor:.12g} {unit.symbol}".rstrip()
    return {"value": value.text, **extras} if extras else value.text


GaugePressure = Annotated[Value, Quantity("pressure", low="-1 bar", high="400 bar")]
PositivePressure = Annotated[Value, Quantity("pressure", low="0 bar", high="400 bar")]
PressureStep = Annotated[
    Value, Quantity("pressure", low="0 bar", high="100 bar", such="for example '0.3 bar' or '4 psi'")
]
Flow = Annotated[Value, Quantity("flow", low="0 m³/s", high="20 m³/s")]
RunningFlow = Annotated[Value, Quantity("flow", low="1 mL/min", high="20 m³/s")]
Leak = Annotated[Value, Quantity("leak", low="0 L/s", high="100 L/s")]
Level = Annotated[Value, Quantity("length", low="-5000 m", high="9000 m")]
Height = Annotated[
    Value, Quantity("length", low="-200 m", high="200 m", such="for example '0.8 m' or '2.6 ft'")
]
Length = Annotated[
    Value, Quantity("length", low="0 m", high="500 km", such="for example '620 m' or '2030 ft'")
]
Bore = Annotated[Value, Quantity("length", low="4 mm", high="4 m", such="for example '152 mm' or '6 in'")]
Thickness = Annotated[
    Value, Quantity("length", low="0 mm", high="500 mm", such="for example '6.1 mm' or '0.24 in'")
]
Roughness = Annotated[
    Value, Quantity("length", low="0 mm", high="5 mm", such="for example '0.1 mm' or '0.004 in'")
]
Stroke = Annotated[Value, Quantity("length", low="0 m", high="4 m", such="for example '25 mm' or '1 in'")]
Size = Annotated[Value, Quantity("size", low="DN 8", high="DN 2000")]
Temperature = Annotated[Value, Quantity("temperature", low="0 °C", high="80 °C")]
FlowCoefficient = Annotated[Value, Quantity("flow_coefficient", low="Kv 0.001", high="Kv 100000")]
Duration = Annotated[Value, Quantity("time", low="0 s", high="60 years")]
ClosingDuration = Annotated[Value, Quantity("time", low="0.2 s", high="1 h")]
DriftDuration = Annotated[
    Value, Quantity("time", low="0.1 s", high="1 d", such="for example '2 min' or '30 s'")
]
Volume = Annotated[Value, Quantity("volume", low="0 L", high="10000000 m³")]
Ratio = Annotated[Value, Quantity("ratio", low="0", high="1000", such="for example '0.6'")]
Floor = Annotated[Value, Quantity("ratio", low="0", high="1", such="for example '0.00001'")]
Exponent = Annotated[Value, Quantity("ratio", low="0", high="2.5", such="for example '0.6'")]
Share = Annotated[Value, Quantity("ratio", low="0 %", high="100 %", per_cent=True)]
GaugeClass = Annotated[
    Value, Quantity("ratio", low="0 %", high="10 %", such="for example '0.6 %'", per_cent=True)
]
Turns = Annotated[Value, Quantity("turns", low="0 turns", high="2000 turns")]
SpindleTurns = Annotated[Value, Quantity("turns", low="0.1 turns", high="2000 turns")]
TurnRate = Annotated[Value, Quantity("pressure_per_turn", low="0.01 bar/turn", high="50 bar/turn")]
WaveSpeed = Annotated[Value, Quantity("velocity", low="50 m/s", high="1500 m/s")]
Velocity = Annotated[Value, Quantity("velocity", low="0 m/s", high="100 m/s")]
Compressibility = Annotated[Value, Quantity("compressibility", low="1e-10 1/Pa", high="1e-4 1/Pa")]
Area = Annotated[Value, Quantity("area", low="0.01 cm²", high="10 m²")]
