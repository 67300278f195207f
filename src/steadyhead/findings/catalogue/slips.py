"""Findings about the slips."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

ENTRIES: tuple[Entry, ...] = ()
