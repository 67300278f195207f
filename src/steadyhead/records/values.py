"""A value as somebody typed it: text, SI number, and where it came from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from steadyhead.findings.manual import as_found


class Origin(StrEnum):
    """Where a value of the twin comes from."""

    STATED = "stated"
    DEFAULT = "default"
    DERIVED = "derived"
    MEASURED = "measured"


class Evidence(StrEnum):
    """How good the evidence for a number is."""

    PUBLISHED = "published"
    ANALYTIC = "analytic"
    INDEPENDENT = "independent code"
    MEASURED = "measured"
    PRACTICE = "common practice"
    ESTIMATE = "own estimate"
    PINNED = "pinned"
    STATED = "stated in the station file"


@dataclass(frozen=True, slots=True)
class Value:
    """One quantity with its provenance.

    Parameters
    ----------
    si
        SI value; pressures gauge at their own place. [SI unit of `kind`]
    kind
        Kind of quantity, a key of `steadyhead.units.KINDS`.
    text
        As typed, or as a default prints; this is the evidence, `si` is derived from it.
    origin
        Stated, default, derived or measured.
    evidence
        For defaults: how good the number is.
    source, date, confidence
        As stated with the value, or the source of the default.
    spread
        Half-width of the band the value may lie in, where known. [SI unit of `kind`]
    """

    si: float
    kind: str
    text: str
    origin: Origin = Origin.STATED
    evidence: Evidence = Evidence.STATED
    source: str = ""
    date: str = ""
    confidence: str = ""
    spread: float | None = None

    @property
    def provenance(self) -> str:
        """One phrase: where this value comes from."""
        head = self.origin.value if self.origin is not Origin.DEFAULT else f"default, {self.evidence.value}"
        tail = ", ".join(part for part in (self.source, self.date, self.confidence) if part)
        return f"{head}: {tail}" if tail else head

    def with_si(self, si: float, text: str) -> Value:
        """Return the same value with another number, for what-if runs."""
        return replace(self, si=si, text=text)


@dataclass(frozen=True, slots=True)
class Default:
    """An engineering default: value, kind and evidence; collected into the manual's table.

    Parameters
    ----------
    name
        What it is called in the table.
    si
        SI value.
    kind
        Kind of quantity.
    text
        As printed.
    evidence
        How good the number is.
    source
        Where it comes from; says so when it is from memory. A number of our own basis becomes the page of
        the manual that tells it.
    spread
        Usual half-width, or None.
    """

    name: str
    si: float
    kind: str
    text: str
    evidence: Evidence
    source: str
    spread: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "source", as_found(self.source))

    def value(self) -> Value:
        """Return the default as a value of the twin that says it is one."""
        return Value(
            self.si, self.kind, self.text, Origin.DEFAULT, self.evidence, self.source, spread=self.spread
        )
