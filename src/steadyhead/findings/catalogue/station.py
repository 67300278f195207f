"""Findings about the station file itself."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "STN-01",
        "answer no longer fits",
        "The answer by {by} to {to} at {at} fits nothing found now: {answer}",
        "The value it was given for has changed, or the question is no longer raised. It settles nothing.",
        "Delete it, or answer the new question with the value printed there.",
        sources=("architecture: an answer belongs to one code, subject and value",),
    ),
    Entry(
        "STN-02",
        "answer has run out",
        "The answer by {by} to {to} at {at} held until {until}.",
        "It was given for a time, and that time is over, or its day cannot be read. It settles nothing.",
        "Look at the question again and answer it anew, with a day as 2027-06-30, or delete the answer.",
        sources=("architecture: an acceptance has an end",),
    ),
)
