"""Findings about the sizing."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

ENTRIES: tuple[Entry, ...] = ()
