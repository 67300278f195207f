"""All findings about the sanity of one station file."""

from __future__ import annotations

from collections.abc import Mapping

from steadyhead.findings import Finding
from steadyhead.records.station import Station
from steadyhead.station.sense.contradictions import contradictions
from steadyhead.station.sense.gallons import gallons
from steadyhead.station.sense.missing import missing
from steadyhead.station.sense.places import Places
from steadyhead.station.sense.unusual import flattering


def file_findings(station: Station, data: Mapping[str, object] | None = None) -> tuple[Finding, ...]:
    """Return what the file itself tells: contradictions, figures beyond their size, facts left out.

    Compares typed values only; it works nothing out. Answers are not looked at, see
    `steadyhead.station.answers.answered`.

    Parameters
    ----------
    station
        The station as read.
    data
        Its plain data, to name fields by the ids in the file; taken from the station where left out.

    Returns
    -------
    tuple of Finding
        Codes STN-03 to STN-11.
    """
    names = data if data is not None else station.model_dump(mode="json", exclude_unset=True)
    at = Places(station, names)
    return (*contradictions(at), *flattering(at), *missing(at), *gallons(at))
