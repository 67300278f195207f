"""Findings of a plan about those who are cut off by it, and about what it leaves unproved."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

_HB, _OWN = "design handbook", "own reasoning"

ENTRIES = (
    Entry(
        "PLAN-53",
        "outage longer than the consumers' own stock",
        "The station is shut for at least {outage}; what the consumers store lasts {stock}.",
        "Dialysis, livestock and hydrants with a tank of their own hold out only as long as the tank does.",
        "Split the visit, bring water, or agree another day with each of them.",
        equation="Σ time of the steps with the outlet valve shut ≤ stock",
        sources=(f"{_HB} 3.2 A3, B1, 8", "times of the steps: common practice"),
    ),
    Entry(
        "PLAN-54",
        "how long the consumers hold out is not known",
        "The station is shut for at least {outage}, no other feed holds the zone, and the file does not "
        "say how long the consumers' own stock lasts.",
        "Some of them cannot do without water, and nobody knows for how long they need not.",
        "Ask them before the day is fixed, and state it: zone, stock.",
        sources=(f"{_HB} 3.2 A3, B1, 8", _OWN),
    ),
    Entry(
        "PLAN-55",
        "second reducer of a stream is not seen to hold alone",
        "{second} is not seen to hold alone in this visit: {first} is wide open only while {other} is "
        "tested.",
        "If {first} fails open, {second} meets the full inlet.",
        "Once all else is proved, raise {first} with only the stream of {second} open, as {other} was seen; "
        "then set {first} anew. What rests on its setting is proved again.",
        sources=(f"{_HB} 3.6, 3.7", _OWN),
    ),
)
