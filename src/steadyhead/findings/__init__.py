"""The one shape of a verdict, and the one place where its words stand."""

from steadyhead.findings.catalogue import CATALOGUE, Entry
from steadyhead.findings.model import (
    Amount,
    Finding,
    Input,
    Severity,
    forbids_release,
    most_serious,
    what_forbids,
)
from steadyhead.findings.telling import Told, tell

__all__ = [
    "CATALOGUE",
    "Amount",
    "Entry",
    "Finding",
    "Input",
    "Severity",
    "Told",
    "forbids_release",
    "most_serious",
    "tell",
    "what_forbids",
]
