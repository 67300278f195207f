"""The words of the drawings, by language; figures and units come from `figures`."""

from __future__ import annotations

from steadyhead.errors import InputError

_ENGLISH: dict[str, str] = {
    "strip": "Station strip",
    "ladder": "Pressure ladder",
    "axis": "{unit} at datum {datum} {length_unit}",
    "at no flow": "at no flow",
    "read": "read",
    "worked out": "worked out",
    "not read": "not read",
    "not worked out": "not worked out",
    "cock shut": "cock shut",
    "shared root": "shared root",
    "to": "to {place}",
    "fault": "fault limit",
    "normal": "normal limit",
    "fault and normal": "fault and normal limit",
    "trip": "trip",
    "alarm": "alarm",
    "duty": "duty",
    "fault_limit": "fault limit",
    "normal_limit": "normal limit",
    "trip_upper": "trip, upper edge",
    "trip_lower": "trip, lower edge",
    "relief": "relief opens",
    "highest_normal": "highest normal",
    "lockup": "lock-up",
    "lowest_normal": "lowest normal",
    "needed": "needed",
    "reset": "reset",
    "worst_case": "Worst case",
    "worst_case note": "tolerances added",
    "root_sum_square": "Root-sum-square",
    "root_sum_square note": "tolerances as independent",
    "open": "OPEN",
    "empty": "EMPTY",
    "open by": "{size} {unit} wide",
    "empty by": "edges cross by {size} {unit}",
    "lowest": "lowest",
    "highest": "highest",
    "peaks": "Peak in each failure",
    "credited": "credited",
    "credited, over": "credited, OVER the limit",
    "not covered": "NOT covered",
    "levels": "Where each limit stands",
    "datum": "station datum",
    "there": "{limit} there, {at_datum} at datum",
    "inlet off scale": "inlet {low} to {high} {unit}, off this scale",
    "off scale": "off this scale",
    "flow is": "flow {flow} {unit}",
    "tripped": "TRIPPED",
    "ready": "ready",
    "shut": "shut",
    "part open": "part open",
    "is open": "open",
    "not known": "not known",
    "window": "trip window {low} to {high} {unit}",
    "per length": "{slope} {unit} per {length_unit} of level",
}
_LANGUAGES = {"en": _ENGLISH}


def words_of(lang: str) -> dict[str, str]:
    """Return the words of one language.

    Raises
    ------
    InputError
        For a language there are no words for.

    Examples
    --------
    >>> words_of("en")["trip"]
    'trip'
    """
    if lang not in _LANGUAGES:
        raise InputError("lang", f"got {lang!r}; drawings speak {', '.join(_LANGUAGES)}.", "Use 'en'.")
    return _LANGUAGES[lang]
