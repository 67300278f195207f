"""Fetch or work out the protection proof before a station file is judged."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from steadyhead.cli.progress import say

if TYPE_CHECKING:
    from steadyhead.records.baseline import Baseline
    from steadyhead.records.protection import ProofSheet

VARIABLE = "STEADYHEAD_PROOF"
"""Environment variable that leaves the proof out of every command, set to ``no``."""


STOPPED = 130


class StoppedByHandError(Exception):
    """The proof was stopped, and what was asked for is nothing without it."""


def proof_for(
    source: bytes,
    shown: str,
    *,
    without: bool,
    keep_quick: bool = True,
    must: bool = False,
    baseline: Baseline | None = None,
) -> ProofSheet | None:
    """Return the proof of a station file; None where it is left out, was stopped, or has nothing to prove.

    Without a proof to work out the plain engine is chosen, as for any quick answer.

    Parameters
    ----------
    source, shown
        Bytes of the file, and its name for messages.
    without
        Leave it out.
    keep_quick
        Whether this command runs on the plain engine where it may choose.
    must
        Whether a proof that was stopped stops the command too.
    baseline
        What a run measured in this station goes first.

    Raises
    ------
    StoppedByHandError
        It was stopped, and it must not be.
    """
    from steadyhead.cli.commands import quick

    if without or os.environ.get(VARIABLE, "").strip().lower() == "no":
        if keep_quick:
            quick()
        return None
    from steadyhead.services.library import completed
    from steadyhead.services.measured import with_measured
    from steadyhead.services.protection import has_something_to_prove, look_up, proof_of
    from steadyhead.station.load import load

    station = with_measured(completed(load(source, shown)), baseline).station
    known = look_up(station)
    if known is not None or not has_something_to_prove(station):
        if keep_quick:
            quick()
        return known
    if _is_plain():
        say("Judged without the protection proof: it needs the compiled engine.")
        return None
    from steadyhead.cli.progress import watched

    with watched() as progress:
        found = proof_of(station, telling=say, progress=progress, cancel=progress.cancel)
    if found is None and must:
        raise StoppedByHandError
    if found is None:
        say("Stopped: judged without the protection proof.")
    return found


def _is_plain() -> bool:
    """Return whether somebody chose the plain engine."""
    from steadyhead.laws import compiling

    return os.environ.get(compiling.ENGINE_VARIABLE, "").strip() == "plain"
