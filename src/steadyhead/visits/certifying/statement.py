"""What a certificate states, and what it does not (handbook 4.2, 8.3)."""

from __future__ import annotations

TESTED = (
    "Tested as listed, under the conditions and with the instruments listed. Not a warranty of the design."
)
DEFERRING = (
    "This record supports planning, calculation and record keeping. It does not authorise work. It replaces "
    "no permit, no risk assessment, no instructions of the equipment supplier and not the judgement of a "
    "competent, locally licensed person.",
    "Limits shown come from the values entered and from defaults marked as common practice. Codes, standards "
    "and the rules of the water undertaker, the fire authority and the authority having jurisdiction take "
    "precedence.",
    "Results of the design must be checked and released by a person entitled to do so where the station "
    "stands.",
)
NOT_PROVED = "Protection is not shown as proved: something it rests on does not stand in this record."
NO_TRIP = "No trip proof belongs to this run: the last certificate that has one says when it was proved."
NO_SHUT_OFF = "No shut-off stands in this station, so no trip is proved."
STANDS_IN = "Shown as proved on {day}: {what}; not a guarantee of future performance."
NO_DEFERRAL = "No deferral of a proof is recorded in this run."
PROVISIONAL = "Provisional: protection is not shown as proved where this record says stale, refused or open."


def statement(
    standing: str,
    proved: str,
    methods: tuple[str, ...] | None,
    deviations: int,
    monitor: tuple[str, str] | None = None,
) -> tuple[str, ...]:
    """Return the sentences of the statement.

    Parameters
    ----------
    standing
        ``final`` or ``provisional``.
    proved
        Day of the trip proof, ISO; empty where the protective function is not proved.
    methods
        How trips were proved; None: no trip belongs to this run.
    deviations
        How many were recorded.
    monitor
        Of a station protected by a second reducer: day it was proved to take over, ISO, empty where it is
        not; and what was proved.
    """
    lines = [TESTED]
    if methods is None and monitor is not None:
        lines.append(NO_SHUT_OFF)
        lines.append(STANDS_IN.format(day=monitor[0], what=monitor[1]) if monitor[0] else NOT_PROVED)
    elif methods is None:
        lines.append(NO_TRIP)
    elif proved:
        by = " and ".join(dict.fromkeys(methods))
        lines.append(
            f"Protection shown as proved on {proved} by {by}; not a guarantee of future performance."
        )
    else:
        lines.append(NOT_PROVED)
    if standing == "provisional":
        lines.append(PROVISIONAL)
    if not deviations:
        lines.append(NO_DEFERRAL)
    return (*lines, *DEFERRING)
