"""One sentence that says what a picture shows, for those who cannot see it."""

from __future__ import annotations

from steadyhead.drawings.capacity_facts import capacity_text
from steadyhead.drawings.figures import Figures
from steadyhead.drawings.ladder_facts import resolve_ladder
from steadyhead.drawings.strip_facts import resolve
from steadyhead.drawings.words import words_of
from steadyhead.records.pictures import CapacityPicture, LadderPicture, Stacking, StripPart, StripPicture


def alt_text(picture: StripPicture | LadderPicture | CapacityPicture, lang: str = "en") -> str:
    """Return one sentence with the result of a picture: figures, unit, datum and states.

    Parameters
    ----------
    picture
        A station strip, a pressure ladder or a capacity map.
    lang
        Language of the words.
    """
    if isinstance(picture, StripPicture):
        return strip_text(picture, lang)
    if isinstance(picture, CapacityPicture):
        return capacity_text(picture, lang)
    return ladder_text(picture, lang)


def strip_text(picture: StripPicture, lang: str = "en") -> str:
    """Return the sentence of a station strip."""
    words, figures = words_of(lang), Figures(picture.units)
    facts = resolve(picture, words)
    head = f"{words['strip']}, {picture.name}"
    head += f", {picture.moment}" if picture.moment else ""
    said = []
    for index, tap in () if facts.is_bare else facts.taps:
        name = picture.parts[index].id
        if tap.now is None:
            said.append(f"{name} {tap.why_missing or words[f'not {tap.source}']}")
        else:
            said.append(f"{name} {figures.pressure(tap.now)} ({words[tap.source]})")
    clauses = [f"{', '.join(said)}, {facts.axis_words()}"] if said else []
    if picture.flow is not None:
        clauses.append(words["flow is"].format(flow=figures.flow(picture.flow), unit=figures.flow_unit))
    clauses += [state for state in (_state(part, words) for part in picture.parts) if state]
    clauses += [_named(limit.kind, limit.pressure, limit.label, figures, words) for limit in facts.limits]
    return f"{head}: {'; '.join(clauses)}."


def _named(kind: str, pressure: float, label: str, figures: Figures, words: dict[str, str]) -> str:
    said = f"{words[kind]} {figures.pressure(pressure)}"
    return f"{said}, {label}" if label else said


def _state(part: StripPart, words: dict[str, str]) -> str:
    """Return what must be known of a part, or nothing where it is in order."""
    name = part.name or part.id
    if part.kind == "shut_off":
        key = {True: "tripped", False: "ready", None: "not known"}[part.tripped]
        return f"{name} {words[key]}"
    if part.kind == "isolating" and part.open_share != 1.0:
        if part.open_share is None:
            return f"{name} {words['not known']}"
        return f"{name} {words['shut'] if part.open_share <= 0.0 else words['part open']}"
    if part.kind in ("drain", "vent") and part.cock_open is not False:
        return f"{name} {words['is open'] if part.cock_open else words['not known']}"
    return ""


def ladder_text(picture: LadderPicture, lang: str = "en") -> str:
    """Return the sentence of a pressure ladder."""
    words, figures = words_of(lang), Figures(picture.units)
    facts = resolve_ladder(picture, figures, words)
    head = f"{words['ladder']}, {picture.name}" + (f", {picture.moment}" if picture.moment else "")
    rungs = [_named(rung.kind, rung.pressure, rung.label, figures, words) for rung in facts.rungs]
    clauses = ["; ".join(rungs) + f", {facts.axis_words()}"]
    clauses += [_window(stacking, figures, words) for stacking in picture.stackings]
    clauses += [
        f"{peak.label}: {figures.pressure(peak.pressure)}, "
        f"{words['credited' if peak.credited else 'not covered']}"
        for peak in picture.peaks
    ]
    return f"{head}: {'; '.join(clauses)}."


def _window(stacking: Stacking, figures: Figures, words: dict[str, str]) -> str:
    name, unit = words[stacking.kind].lower(), figures.pressure_unit
    if stacking.lowest > stacking.highest:
        size = figures.difference(stacking.lowest - stacking.highest)
        return f"{name}: {words['empty']}, {words['empty by'].format(size=size, unit=unit)}"
    low, high = figures.pressure(stacking.lowest), figures.pressure(stacking.highest)
    return f"{name}: {words['window'].format(low=low, high=high, unit=unit)}"
