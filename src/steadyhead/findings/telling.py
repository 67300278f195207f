"""Turn a finding into sentences in the reader's units."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from steadyhead.findings.catalogue import CATALOGUE
from steadyhead.findings.model import Amount, Finding, Parameter, Severity
from steadyhead.units import METRIC, UnitSet, paired, say, say_apart, say_window

_ENDS_TWICE = re.compile(r"([.?!])\.(?=\s|$)")
_NAMES_CASE = re.compile(r"\{(case|events)\}")
_NOT_FILLED_IN = "…"
_WINDOWS = (("lowest", "highest"), ("worst_lowest", "worst_highest"))
"""Names of the edges of a window: told as it is printed everywhere, with what lies in it or beside it."""
_HELD = ("value", "middle")


@dataclass(frozen=True, slots=True)
class Told:
    """A finding in words: what is so, why it matters, what would cure it."""

    code: str
    severity: Severity
    subject: str
    title: str
    statement: str
    why: str
    cure: str
    case: str
    answer: str = ""


def tell(finding: Finding, units: UnitSet = METRIC) -> Told:
    """Return the words of a finding in the reader's units.

    Raises
    ------
    KeyError
        A code that is not in the catalogue, or a parameter its words need is missing.
    """
    entry = CATALOGUE[finding.code]
    words: dict[str, Parameter] = {"subject": finding.subject, "case": finding.case, **finding.params}
    for name, amount in (("value", finding.value), ("limit", finding.limit), ("margin", finding.margin)):
        if amount is not None:
            words.setdefault(name, amount)
    filled = {key: _say(value, units) for key, value in words.items()}
    filled |= _value_and_limit(finding, words, units) | _windows(words, units)
    statement = _sentences(entry.statement.format_map(filled))
    return Told(
        code=finding.code,
        severity=finding.severity,
        subject=finding.subject,
        title=entry.title,
        statement=statement,
        why=_sentences(entry.why.format_map(filled)),
        cure=_sentences(entry.cure.format_map(filled)),
        case="" if _NAMES_CASE.search(entry.statement) else _left_of_case(finding.case, statement),
        answer=" ".join(
            f"Answered by {i.provenance}: {i.amount}" for i in finding.inputs if i.label == "answer"
        ),
    )


def answer_line(finding: Finding) -> str:
    """Return the line of the station file that answers a finding, with the places to fill in.

    Every value stands in quotes, so that the line is read back as it is written, whatever the subject.

    Examples
    --------
    >>> answer_line(Finding("STN-01", "SO: trip", Severity.ASK))
    '- {to: "STN-01", at: "SO: trip", value: "bcff750dfd9f", answer: "…", by: "…"}'
    """
    entry = CATALOGUE.get(finding.code)
    asks = entry is not None and entry.needs_authority
    decides = entry is not None and bool(entry.stops_on)
    pairs = (
        ("to", finding.code),
        ("at", finding.subject),
        ("value", finding.value_hash),
        ("answer", _NOT_FILLED_IN),
        ("by", _NOT_FILLED_IN),
        *((("authority", _NOT_FILLED_IN), ("decided", _NOT_FILLED_IN)) if asks else ()),
        *((("shut_off", _NOT_FILLED_IN),) if decides else ()),
    )
    return f"- {{{', '.join(f'{name}: {json.dumps(text, ensure_ascii=False)}' for name, text in pairs)}}}"


def _sentences(words: str) -> str:
    """Return words with one mark at the end of each sentence and single spaces, whatever was filled in."""
    return _ENDS_TWICE.sub(r"\1", re.sub(" {2,}", " ", words)).strip()


def _left_of_case(case: str, statement: str) -> str:
    """Return what of a design case the statement does not name itself.

    Examples
    --------
    >>> _left_of_case("night inlet pressure, night flow", "Night flow 0.5 L/s is below 0.67 L/s.")
    'night inlet pressure'
    """
    said = statement.casefold()
    return ", ".join(part for part in case.split(", ") if part.casefold() not in said)


def _value_and_limit(finding: Finding, words: Mapping[str, Parameter], units: UnitSet) -> dict[str, str]:
    """Return value and limit in figures that tell them apart, under every name they have."""
    value, limit = finding.value, finding.limit
    if value is None or limit is None or value.kind != limit.kind:
        return {}
    told = say_apart((value.si, limit.si), value.kind, units)
    return {
        key: figure
        for amount, figure in zip((value, limit), told, strict=True)
        for key, word in words.items()
        if word == amount
    }


def _windows(words: Mapping[str, Parameter], units: UnitSet) -> dict[str, str]:
    """Return the edges of each window, rounded inwards, and what is held against it."""
    filled: dict[str, str] = {}
    for low_name, high_name in _WINDOWS:
        low, high = words.get(low_name), words.get(high_name)
        if not isinstance(low, Amount):
            continue
        held = {name: one for name in _HELD if isinstance(one := words.get(name), Amount)}
        top = high.si if isinstance(high, Amount) else None
        _, *told = say_window(low.si, top, [one.si for one in held.values()], low.kind, units)
        filled |= dict(zip((low_name, high_name, *held), told, strict=True))
        filled |= {high_name: high} if isinstance(high, str) else {}
    return filled


SMALL_VOLUME = 0.1
"""Below this a volume is told in litres where volumes are told in cubic metres. [m³]"""


def _say(value: Parameter, units: UnitSet) -> str:
    if isinstance(value, Amount) and value.kind == "volume" and abs(value.si) < SMALL_VOLUME:
        return paired(lambda one: say(value.si, "volume", _in_litres(one)), units)
    if isinstance(value, Amount):
        return say(value.si, value.kind, units)
    if isinstance(value, float):
        return f"{value:.3g}"
    return str(value)


def _in_litres(units: UnitSet) -> UnitSet:
    """Return units with litres in the place of cubic metres."""
    if units.unit("volume") != "m³":
        return units
    return replace(units, units={**units.units, "volume": "L"}, second=None)
