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
    "heated": "highest after one full heating",
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
    "lets off": "lets water off",
    "beside": "beside it {stream}",
    "crack": "starts to lift",
    "crack window": "window of the crack {low} to {high} {unit}",
    "window": "trip window {low} to {high} {unit}",
    "capacity": "Capacity map",
    "capacity of": "{reducer}, pressure at the {place}",
    "capacity axis": "inlet pressure, {axis}",
    "flow axis": "flow, {unit}",
    "holds": "Holds {duty} {unit}",
    "wide open": "Wide open: the outlet sags",
    "wide open, helped": "Wide open: carries its share beside {others}",
    "incipient": "Cavitation begins, {limit}",
    "constant": "Steady cavitation, {limit}",
    "damage": "Damage likely, {limit}",
    "choked": "Choked, {limit}",
    "low flow": "Low flow: doubtful",
    "quiet at best": "Loop check: quiet at best",
    "quiet at worst": "Loop check: quiet at worst",
    "quiet": "loop check: quiet from {low} to {high} {unit}",
    "quiet alike": "loop check: quiet from {low} {unit}",
    "sweep": "Loop check, quick, not calibrated, mains left out: proportional band {bands} ({band_source}), "
    "sensing lag {lags} ({lag_source}). It forbids nothing.",
    "one": "{low} {unit}",
    "range": "{low} to {high} {unit}",
    "too fast": "{limit}",
    "too fast in a fire": "{limit}, fire",
    "from": "from {limit}",
    "margins": "Margins at the design points",
    "to spare": "{size} {unit} to spare over wide open",
    "short of": "{size} {unit} short: the outlet sags",
    "short of, helped": "carries its share beside {others}, {size} {unit} short alone",
    "no edge": "wide open lies outside this map",
    "travel": "{travel} open",
    "index": "σ₁ {sigma}",
    "index next": "σ₁ {sigma}, {degree} from {limit}",
    "no difference": "no difference to lose",
    "gravel not expected": "gravel range not expected",
    "gravel possible": "gravel range possible",
    "gravel expected": "gravel range expected",
    "gravel from": "gravel range possible from {inlet} {unit}",
    "velocity": "{speed} of {limit} {unit} in the bore",
    "in the band": "low flow: doubtful, test it",
    "below it": "low flow: below what such a valve controls",
    "next incipient": "cavitation begins",
    "next constant": "steady cavitation",
    "next damage": "damage",
    "next choked": "choked",
    "zone wide open": "wide open",
    "zone holds": "holds",
    "zone low flow": "low flow",
    "zone incipient": "cavitation begins",
    "zone constant": "steady cavitation",
    "zone damage": "damage likely",
    "zone choked": "choked",
    "elsewhere": "Not named in the map",
    "case": "{flow}, {inlet} inlet",
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
