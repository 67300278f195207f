"""What both forms of the station strip need to know about a picture before they draw it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import isfinite

from steadyhead.drawings.canvas import Content
from steadyhead.drawings.figures import Figures
from steadyhead.drawings.grade_line import Stretch, line_at_no_flow, line_now
from steadyhead.drawings.tokens import Role
from steadyhead.errors import InputError
from steadyhead.records.pictures import StripBranch, StripLimit, StripPart, StripPicture, TapPressure

SAME_PRESSURE = 1.0
"""Two limits nearer than this are drawn as one. [Pa]"""
LEAST_TOP = 1e4
"""A drained station has a scale too. [Pa]"""

LIMIT_PENS = {
    "fault": "limit", "normal": "limit normal", "fault and normal": "limit", "trip": "trip",
    "alarm": "alarm", "duty": "twin", "at no flow": "no flow",
}  # fmt: skip
LIMIT_TONES: dict[str, Role] = {
    "fault": "halt", "normal": "halt", "fault and normal": "halt", "trip": "halt", "alarm": "heed",
    "duty": "twin", "at no flow": "grade",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit ready to be drawn: what is said of it, and from which part to which it runs."""

    kind: str
    pressure: float
    label: str
    after: int
    before: int

    @property
    def is_wall(self) -> bool:
        """True for what may not be passed; drawn with hatching."""
        return self.kind in ("fault", "fault and normal")


@dataclass(frozen=True, slots=True)
class StripFacts:
    """One picture, resolved.

    Parameters
    ----------
    picture, figures, words
        What is drawn, how figures are written, the words of the language.
    now, no_flow
        The line of the pressures now and at zero flow.
    limits
        Lines over the strip, from the highest down.
    taps
        Part number and pressure of each tap.
    """

    picture: StripPicture
    figures: Figures
    words: dict[str, str]
    now: tuple[Stretch, ...]
    no_flow: tuple[Stretch, ...]
    limits: tuple[LimitLine, ...]
    taps: tuple[tuple[int, TapPressure], ...]

    @property
    def highest(self) -> float:
        """Highest pressure that must find room. [Pa]"""
        found = max((*self._drawn(), *(limit.pressure for limit in self.limits)), default=1e5)
        return max(found, LEAST_TOP)

    @property
    def lowest(self) -> float:
        """Lowest pressure that must find room, zero at most. [Pa]"""
        return min((*self._drawn(), 0.0))

    def _drawn(self) -> tuple[float, ...]:
        readings = (tap for _, tap in self.taps if tap.now is not None)
        bars = ((tap.now or 0.0) + side * (tap.tolerance or 0.0) for tap in readings for side in (-1, 1))
        lines = (point.pressure for stretch in (*self.now, *self.no_flow) for point in stretch)
        return (*bars, *lines)

    @property
    def is_bare(self) -> bool:
        """True where there is no pressure to show: the strip is then hardware with the tags of its taps."""
        return not self.now and not self.no_flow and not self.limits

    @property
    def no_flow_at_inlet(self) -> Stretch | None:
        """The first length of the line at no flow, where it lies before the consumer side."""
        if not self.no_flow or self.no_flow[0][0].part >= _last_acting(self.picture.parts):
            return None
        return self.no_flow[0]

    @property
    def is_end_unknown(self) -> bool:
        """True where nobody knows what is in the pipe that leads on to the consumers."""
        return self.picture.parts[-1].pipe_after == "unknown"

    @property
    def one_source(self) -> bool:
        """True where every figure is worked out, so that it need not be said at each."""
        return all(tap.source == "worked out" for _, tap in self.taps if tap.now is not None)

    def axis_words(self) -> str:
        """Return the line that names unit and datum, once."""
        text = self.words["axis"].format(
            unit=self.figures.pressure_heading,
            datum=self.figures.length(self.picture.datum_m),
            length_unit=self.figures.length_unit,
        )
        has_figures = any(tap.now is not None for _, tap in self.taps)
        return f"{text}, {self.words['worked out']}" if self.one_source and has_figures else text

    def tap_words(self, part: StripPart, tap: TapPressure) -> str:
        """Return what stands under the figure of a tap."""
        said = [part.id]
        if tap.now is not None and self.figures.beside(tap.now):
            said.append(self.figures.beside(tap.now))
        if tap.now is None and not self.is_bare:
            said.append(tap.why_missing or self.words[f"not {tap.source}"])
        elif not self.one_source and tap.source == "worked out":
            said.append(self.words["worked out"])
        if part.cock_open is False:
            said.append(self.words["cock shut"])
        return ", ".join(said)

    def limit_words(self, limit: LimitLine) -> Content:
        """Return value, kind and owner of a limit as runs of text."""
        figure = self.figures.key(limit.pressure)
        kind = self.words[limit.kind]
        return ((figure, True), (f" {kind}: {limit.label}" if limit.label else f" {kind}", False))


def resolve(picture: StripPicture, words: dict[str, str]) -> StripFacts:
    """Work out what a strip shows before any place on the page is decided.

    Raises
    ------
    InputError
        Where the picture names a part or tap it does not hold, or holds no part.
    """
    if not picture.parts:
        raise InputError("parts", "got none; a strip shows at least one.", "Give the parts in order of flow.")
    order = {part.id: index for index, part in enumerate(picture.parts)}
    picture = replace(picture, pressures=tuple(_finite(pressure) for pressure in picture.pressures))
    pressures = {pressure.tap: pressure for pressure in picture.pressures}
    _all_known(picture, order, pressures)
    taps = tuple(
        (index, pressures.get(part.id, TapPressure(part.id, None, source="read")))
        for index, part in enumerate(picture.parts)
        if part.kind == "tap"
    )
    no_flow = line_at_no_flow(picture)
    limits = _limit_lines(picture.limits, picture.parts, order)
    consumer = _last_acting(picture.parts)
    if no_flow and no_flow[-1][-1].part > consumer:
        pressure = no_flow[-1][-1].pressure
        limits.append(LimitLine("at no flow", pressure, "", consumer, len(picture.parts)))
    limits.sort(key=lambda limit: -limit.pressure)
    return StripFacts(picture, Figures(picture.units), words, line_now(picture), no_flow, tuple(limits), taps)


def _finite(tap: TapPressure) -> TapPressure:
    """Return the pressure of a tap with None in place of what is no number."""
    now = tap.now if tap.now is not None and isfinite(tap.now) else None
    at_no_flow = tap.at_no_flow if tap.at_no_flow is not None and isfinite(tap.at_no_flow) else None
    return replace(tap, now=now, at_no_flow=at_no_flow)


def _all_known(picture: StripPicture, order: dict[str, int], pressures: dict[str, TapPressure]) -> None:
    taps = {part.id for part in picture.parts if part.kind == "tap"}
    beside = {part.id for branch in picture.branches for part in all_parts(branch) if part.kind == "tap"}
    for tap in pressures:
        if tap not in taps | beside:
            raise InputError("pressures", f"got one at {tap!r}, which is no tap here.", "Add the tap.")
    for part in picture.parts:
        if part.sensing and part.sensing.tap not in taps:
            problem = f"got {part.sensing.tap!r}, which is no tap here."
            raise InputError(f"{part.id}.sensing", problem, "Name a tap of this strip.")
    named = [place for limit in picture.limits for place in (limit.after, limit.before) if place]
    for branch in picture.branches:
        named += [place for place in (branch.after, branch.before) if place]
        _branch_known(branch)
    for limit in picture.limits:
        if not isfinite(limit.pressure):
            raise InputError(f"limits.{limit.kind}", f"got {limit.pressure}.", "Leave the limit out.")
    for place in named:
        if place not in order:
            raise InputError("parts", f"got {place!r}, which is no part here.", "Name a part of this strip.")


def all_parts(branch: StripBranch) -> Iterator[StripPart]:
    """Yield the parts of a branch and of everything that leaves it."""
    yield from branch.parts
    for inner in branch.branches:
        yield from all_parts(inner)


def _branch_known(branch: StripBranch) -> None:
    own = {part.id for part in branch.parts}
    for part in branch.parts:
        if part.sensing and part.sensing.tap not in own:
            problem = f"got {part.sensing.tap!r}, which is no tap of branch {branch.id}."
            raise InputError(f"{part.id}.sensing", problem, "Name a tap on the same branch.")
    for inner in branch.branches:
        for place in (inner.after, inner.before):
            if place and place not in own:
                problem = f"got {place!r}, which is no part of branch {branch.id}."
                raise InputError("parts", problem, "Name a part of the branch it leaves.")
        _branch_known(inner)


def _last_acting(parts: Sequence[StripPart]) -> int:
    acting = [index for index, part in enumerate(parts) if part.kind in ("reducer", "shut_off")]
    return acting[-1] if acting else -1


def _limit_lines(
    limits: Sequence[StripLimit], parts: Sequence[StripPart], order: dict[str, int]
) -> list[LimitLine]:
    """Return the limits as lines; a fault and a normal limit at one pressure become one."""
    lines: list[LimitLine] = []
    for limit in sorted(limits, key=lambda item: item.kind):
        after = order[limit.after] if limit.after else _last_acting(parts)
        before = order[limit.before] if limit.before else len(parts)
        line = LimitLine(limit.kind, limit.pressure, limit.label, after, before)
        twin = next((other for other in lines if _are_one(line, other)), None)
        if twin is not None:
            lines.remove(twin)
            line = LimitLine("fault and normal", twin.pressure, twin.label, after, before)
        lines.append(line)
    return lines


def _are_one(line: LimitLine, other: LimitLine) -> bool:
    return (
        {line.kind, other.kind} == {"fault", "normal"}
        and abs(line.pressure - other.pressure) < SAME_PRESSURE
        and (line.label, line.after, line.before) == (other.label, other.after, other.before)
    )
