"""One sentence that says what a picture shows, for those who cannot see it."""

from __future__ import annotations

from steadyhead.drawings.capacity_facts import capacity_text
from steadyhead.drawings.figures import Figures
from steadyhead.drawings.ladder_facts import resolve_ladder
from steadyhead.drawings.strip_facts import resolve
from steadyhead.drawings.strip_tree import has_streams
from steadyhead.drawings.surge_facts import surge_text
from steadyhead.drawings.words import words_of
from steadyhead.records.pictures import (
    CapacityPicture,
    LadderPicture,
    Stacking,
    StripBranch,
    StripPart,
    StripPicture,
    SurgePicture,
    TapPressure,
)


def alt_text(picture: StripPicture | LadderPicture | CapacityPicture | SurgePicture, lang: str = "en") -> str:
    """Return one sentence with the result of a picture: figures, unit, datum and states.

    Parameters
    ----------
    picture
        A station strip, a pressure ladder, a capacity map or a surge trace.
    lang
        Language of the words.
    """
    if isinstance(picture, StripPicture):
        return strip_text(picture, lang)
    if isinstance(picture, CapacityPicture):
        return capacity_text(picture, lang)
    if isinstance(picture, SurgePicture):
        return surge_text(picture, lang)
    return ladder_text(picture, lang)


def strip_text(picture: StripPicture, lang: str = "en") -> str:
    """Return the sentence of a station strip."""
    words, figures = words_of(lang), Figures(picture.units)
    facts = resolve(picture, words)
    head = f"{words['strip']}, {picture.name}"
    head += f", {picture.moment}" if picture.moment else ""
    taps = () if facts.is_bare else facts.taps
    said = [_tap(picture.parts[index].id, tap, figures, words) for index, tap in taps]
    clauses = [f"{', '.join(said)}, {facts.axis_words()}"] if said else []
    if picture.flow is not None:
        clauses.append(words["flow is"].format(flow=figures.flow(picture.flow), unit=figures.flow_unit))
    clauses += [state for state in (_state(part, words) for part in picture.parts) if state]
    beyond = next((part for part in picture.parts if part.pipe_after == "unknown"), None)
    if beyond is not None:
        clauses.append(words["beyond not known"].format(part=beyond.name or beyond.id))
    clauses += [_named(limit.kind, limit.pressure, limit.label, figures, words) for limit in facts.limits]
    if has_streams(picture):
        clauses += [", ".join((span.name, *span.words)) for span in picture.spans]
        clauses += [text for branch in picture.branches for text in _streams(branch, picture, figures, words)]
    return f"{head}: {'; '.join(clauses)}."


def _tap(name: str, tap: TapPressure, figures: Figures, words: dict[str, str]) -> str:
    if tap.now is None:
        return f"{name} {tap.why_missing or words[f'not {tap.source}']}"
    return f"{name} {figures.key(tap.now)} ({words[tap.source]})"


def _streams(
    branch: StripBranch, picture: StripPicture, figures: Figures, words: dict[str, str]
) -> list[str]:
    """Return a clause for a branch, and one for each that leaves it in turn."""
    readings = {tap.tap: tap for tap in picture.pressures if tap.now is not None}
    parts = [part for part in branch.parts if part.kind == "tap" and part.id in readings]
    said = [_tap(part.id, readings[part.id], figures, words) for part in parts]
    said += [state for state in (_state(part, words) for part in branch.parts) if state]
    own = words["beside"].format(stream=", ".join((branch.name, *branch.words)))
    inner = [text for each in branch.branches for text in _streams(each, picture, figures, words)]
    return [f"{own}: {', '.join(said)}" if said else own, *inner]


def _named(kind: str, pressure: float, label: str, figures: Figures, words: dict[str, str]) -> str:
    said = f"{words[kind]} {figures.key(pressure)}"
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
    if part.kind == "relief" and part.lifting is not False:
        return f"{name} {words['lets off'] if part.lifting else words['not known']}"
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
        f"{peak.label}: {figures.key(peak.pressure)}, {words['credited' if peak.credited else 'not covered']}"
        for peak in picture.peaks
    ]
    return f"{head}: {'; '.join(clauses)}."


def _window(stacking: Stacking, figures: Figures, words: dict[str, str]) -> str:
    name, unit = words[stacking.kind].lower(), figures.pressure_unit
    name = f"{stacking.label}, {name}" if stacking.label else name
    if stacking.lowest > stacking.highest:
        size = figures.difference(stacking.lowest - stacking.highest)
        return f"{name}: {words['empty']}, {words['empty by'].format(size=size, unit=unit)}"
    low, high = figures.window(stacking.lowest, stacking.highest)
    window = words["window" if stacking.of == "trip" else "crack window"]
    return f"{name}: {window.format(low=low, high=high, unit=unit)}"
