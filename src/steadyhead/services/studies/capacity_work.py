"""Capacity maps as a job: made ready for the page, nothing is kept besides."""

from __future__ import annotations

from steadyhead.services.jobs.kinds import Outcome, Work
from steadyhead.services.studies.capacity import prepare
from steadyhead.units import read_units


def work(work: Work) -> Outcome | None:
    """Make the maps of the last revision ready."""
    work.progress(0, 1, "capacity maps")
    if work.cancel():
        return None
    prepare(work.register, work.job.station, read_units(work.spec["units"]))
    return Outcome(content=b"", title="Capacity map", mark="holds", words="ready")
