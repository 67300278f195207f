"""Try a change of a station file without saving it: the same reading, judging and drawing as of a saved file.

Nothing is taken over from the file before the change: a tried file is read and judged as a whole, so that
what is shown now is what `check` says of it once it is saved.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from pydantic import BaseModel, ConfigDict

from steadyhead.design.export import plain
from steadyhead.drawings import alt_text, draw_capacity, draw_ladder, screen
from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.reports.pictures import ladder_picture
from steadyhead.services.capacity import capacity_picture
from steadyhead.services.judging import Judged, judge_loaded
from steadyhead.services.page_words import place_words
from steadyhead.services.stations.fields import ProblemView, at_words, problems_of
from steadyhead.services.stations.judged import FindingView, finding_view, today
from steadyhead.services.stations.kept import revision_file
from steadyhead.services.stations.rungs import RungView, WindowView, rungs_of, windows_of
from steadyhead.services.stations.steps import Step, draft
from steadyhead.station.canonical import sha256
from steadyhead.station.document import Document, dump
from steadyhead.station.load import load_document
from steadyhead.station.plain import from_tree
from steadyhead.station.refusal import Refusal
from steadyhead.units import METRIC, UnitSet

NARROWEST, WIDEST = 300, 1400
"""Widths a ladder is drawn at. [px]"""
AT_HAND = 16
"""Judged drafts kept in this process; each takes about one megabyte. Own estimate."""

_cache: OrderedDict[tuple[str, date], Judged] = OrderedDict()
_alone = threading.Lock()


class TryView(BaseModel):
    """A station file as it would be judged with steps done, and what that changes.

    based_on: revision the steps go on from; file_hash: of the file as it would be saved; problems: what
    cannot be used, so that nothing is judged; svg: the ladder, empty where there is none; says: the ladder in
    a sentence; ladder: its figures, SI, as `check` gives them; came, went: findings that are new, that are
    gone; map_svg: the capacity map, where it was asked for; surge: how many credited failures are covered, in
    the lumped zone.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: str
    based_on: int
    steps: int
    file_hash: str
    problems: tuple[ProblemView, ...] = ()
    is_judged: bool = False
    releasable: bool = False
    svg: str = ""
    says: str = ""
    map_svg: str = ""
    surge: str = ""
    ladder: dict[str, Any] | None = None
    rungs: tuple[RungView, ...] = ()
    windows: tuple[WindowView, ...] = ()
    findings: tuple[FindingView, ...] = ()
    came: tuple[FindingView, ...] = ()
    went: tuple[FindingView, ...] = ()


@dataclass(frozen=True, slots=True)
class Draft:
    """A file on the way: its text with the steps done, its plain data, and what cannot be used.

    judged: None where something cannot be used.
    """

    document: Document
    source: bytes
    data: dict[str, Any]
    problems: tuple[ProblemView, ...]
    judged: Judged | None


def drafted(source: bytes, steps: Sequence[Step], day: date | None = None, *, judging: bool = True) -> Draft:
    """Return a file with steps done, read and judged as a saved one is.

    Raises
    ------
    Refusal
        A step that cannot be done in the text.
    """
    document = draft(source, steps)
    content = dump(document)
    try:
        judged = _judged(document, content, day or today()) if judging else None
    except InputErrors as errors:
        data = from_tree(document.root).data
        data = data if isinstance(data, dict) else {}
        return Draft(document, content, data, problems_of(errors.errors, data), None)
    data = judged.loaded.data if judged else from_tree(document.root).data
    return Draft(document, content, data, (), judged)


def without_proof(source: bytes, day: date) -> Judged:
    """Return a saved file judged without its protection proof, to compare with a draft, which has none.

    Raises
    ------
    InputErrors
        Every bad field of the file.
    """
    document = draft(source, ())
    return _judged(document, source, day)


def _judged(document: Document, source: bytes, day: date) -> Judged:
    key = (sha256(source), day)
    with _alone:
        if (known := _cache.get(key)) is not None:
            _cache.move_to_end(key)
            return known
    judged = judge_loaded(load_document(document), source, day)
    with _alone:
        _cache[key] = judged
        while len(_cache) > AT_HAND:
            _cache.popitem(last=False)
    return judged


def try_steps(
    register: Register,
    key: str,
    based_on: int,
    steps: Sequence[Step],
    *,
    units: UnitSet = METRIC,
    width: int = 1280,
    day: date | None = None,
) -> TryView:
    """Return what a station would be with steps done after a revision; nothing is saved.

    Parameters
    ----------
    based_on
        Number of the revision; 0: the last one.
    width
        Width the ladder is drawn at. [px]

    Raises
    ------
    NotKept
        No such station or revision.
    InputError
        A step that cannot be done.
    """
    base = revision_file(register, key, based_on)
    day = day or today()
    try:
        found = drafted(base.source, steps, day)
    except Refusal as refusal:
        problem = problems_of((refusal,))
        return TryView(
            station=key, based_on=base.number, steps=len(steps), file_hash=base.file_hash, problems=problem
        )
    found = of_station(found, key)
    before = without_proof(base.source, day)
    return view_of(key, base.number, len(steps), found, before, units, width)


def of_station(found: Draft, key: str) -> Draft:
    """Return a draft with a problem told where it has become another station's."""
    if found.judged is None or found.judged.loaded.station.station.id == key:
        return found
    told = ProblemView(
        field="station.id",
        at=at_words(("station", "id")),
        line=0,
        problem=f"is {found.judged.loaded.station.station.id!r}; this is the station {key!r}.",
        remedy=f"Write {key}, or make a new station of this file.",
    )
    return replace(found, problems=(*found.problems, told))


def view_of(
    key: str,
    based_on: int,
    steps: int,
    found: Draft,
    before: Judged,
    units: UnitSet = METRIC,
    width: int = 1280,
    *,
    with_map: bool = False,
) -> TryView:
    """Return a draft as a page shows it, beside the revision it goes on from."""
    digest = sha256(found.source)
    judged = found.judged
    if judged is None:
        return TryView(station=key, based_on=based_on, steps=steps, file_hash=digest, problems=found.problems)
    told, was = _told(judged, units), _told(before, units)
    now_keys, was_keys = {key_ for key_, _ in told}, {key_ for key_, _ in was}
    svg, says = ladder_svg(judged, units, width)
    ladder = judged.sheet.ladder
    return TryView(
        station=key,
        based_on=based_on,
        steps=steps,
        file_hash=digest,
        problems=found.problems,
        is_judged=True,
        releasable=judged.sheet.releasable and not found.problems,
        svg=svg,
        says=says,
        map_svg=map_svg(judged, units, width) if with_map else "",
        surge=surge_words(judged),
        ladder=None if ladder is None else plain(ladder),
        rungs=rungs_of(judged, before, units),
        windows=windows_of(judged, before, units),
        findings=tuple(one for _, one in told),
        came=tuple(one for key_, one in told if key_ not in was_keys),
        went=tuple(one for key_, one in was if key_ not in now_keys),
    )


def _told(judged: Judged, units: UnitSet) -> list[tuple[tuple[str, ...], FindingView]]:
    """Return the findings in words, each with what makes it the same one in another file."""
    return [
        ((one.code, one.subject, one.severity.value, one.case), _placed(finding_view(one, units)))
        for one in judged.sheet.findings
    ]


def _placed(one: FindingView) -> FindingView:
    """Return a finding with its place as a page says it."""
    return one.model_copy(update={"subject": place_words(one.subject)})


def ladder_svg(judged: Judged, units: UnitSet = METRIC, width: int = 1280) -> tuple[str, str]:
    """Return the ladder of a judged file for a page, and in a sentence; both empty where there is none."""
    picture = ladder_picture(judged.loaded.station, judged.sheet, units=units)
    if picture is None:
        return "", ""
    wide = min(max(width, NARROWEST), WIDEST)
    return draw_ladder(picture, screen(), wide), alt_text(picture)


def map_svg(judged: Judged, units: UnitSet = METRIC, width: int = 1280) -> str:
    """Return the capacity map of the first reducer for a page; empty where the station has none yet."""
    try:
        picture = capacity_picture(judged, units=units)
    except InputError:
        return ""
    return draw_capacity(picture, screen(), min(max(width, NARROWEST), WIDEST))


def surge_words(judged: Judged) -> str:
    """Return how many of the credited failures the shut-off covers, in words."""
    alone = [judged.sheet.ladder] if judged.sheet.ladder is not None else []
    ladders = [one.ladder for one in judged.sheet.streams] or alone
    credited = [peak for ladder in ladders for peak in ladder.peaks if peak.credited]
    if not credited:
        return "no failure credited"
    covered = sum(peak.covered is True for peak in credited)
    how = "by the protection proof" if all(peak.proved for peak in credited) else "lumped zone, not proved"
    unknown = sum(peak.covered is None for peak in credited)
    if unknown == len(credited):
        return f"cover of the credited failure{'s' if unknown > 1 else ''} not known, {how}"
    more = f", {unknown} not known" if unknown else ""
    return f"{covered} of {len(credited)} credited failures covered{more}, {how}"
