"""The words and figures of a closing-time picture, and one sentence for the whole."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

from steadyhead.drawings.figures import Figures
from steadyhead.drawings.scale import round_step
from steadyhead.drawings.words import words_of
from steadyhead.records.closing import ClosingPicture
from steadyhead.records.protection import Side
from steadyhead.units import from_si, to_si

ORDER: Final[tuple[Side, ...]] = ("inlet", "between", "outlet", "consumer")
"""From the supply down, as the water runs."""
NEAR = 0.85
"""Sides inside the station are shown from this share of their limit on. [1]"""
SAME = 1e3
"""A wave thrown back that is no higher over the rise than that is that rise. [Pa]"""
ROOM = 0.08
"""Room above and below what is shown, over its span. [1]"""
MARKS: Final = (0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 120.0)
Line = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Frame:
    """One side: its name, its lines over the closing time [s, Pa], limit [Pa], ends of its scale [Pa]."""

    side: Side
    name: str
    until_shut: Line
    thrown_back: Line
    limit: float | None
    limit_words: str
    span: tuple[float, float]


@dataclass(frozen=True)
class ClosingFacts:
    """A picture with the figures and words of its reader."""

    picture: ClosingPicture
    figures: Figures
    words: dict[str, str]

    @property
    def times(self) -> tuple[float, ...]:
        """Closing times that were run. [s]"""
        return tuple(point.time for point in self.picture.sweep.points)

    @property
    def now(self) -> float:
        """Closing time as it is, moved onto the scale. [s]"""
        return min(max(self.picture.sweep.stopwatch, self.times[0]), self.times[-1])

    @property
    def is_open(self) -> bool:
        """Whether there is a window."""
        return self.picture.sweep.window.state == "open"

    @cached_property
    def frames(self) -> tuple[Frame, ...]:
        """The sides that are shown, from the supply down."""
        found = [self._frame(side) for side in ORDER]
        shown = [one for one in found if one is not None and one.limit is not None]
        return tuple(shown or [one for one in found if one is not None and one.side in ("inlet", "consumer")])

    def _frame(self, side: Side) -> Frame | None:
        peaks = [(point.time, one) for point in self.picture.sweep.points if (one := point.peak(side))]
        if not peaks:
            return None
        limit = peaks[0][1].limit
        highest = max(one.highest for _, one in peaks)
        if side in ("between", "outlet") and (limit is None or highest < NEAR * limit):
            return None
        until = tuple((time, one.peak) for time, one in peaks)
        thrown = tuple((time, one.highest) for time, one in peaks if one.rebound is not None)
        if all(high - low <= SAME for (_, high), (_, low) in zip(thrown, until, strict=False)):
            thrown = ()
        component = peaks[0][1].component
        words = "" if limit is None else self.words["bears"].format(
            limit=self.figures.pressure(limit), component=component
        )  # fmt: skip
        return Frame(
            side, self.words[f"closing side {side}"], until, thrown, limit, words,
            self._span([p for _, p in (*until, *thrown)], limit),
        )  # fmt: skip

    def _span(self, values: list[float], limit: float | None) -> tuple[float, float]:
        """Return round ends that hold every value and the limit. [Pa]"""
        low, high = min(values), max(values)
        if limit is not None:
            low, high = min(low, limit), max(high, limit)
        room = ROOM * max(high - low, 0.05 * high, 1e4)
        unit = self.picture.units.unit("pressure")
        bottom, top = (from_si(value, "pressure", unit) for value in (low - room, high + room))
        step = round_step(max(top - bottom, 1e-6), 5)
        ends = (step * (bottom // step), step * -(-top // step))
        return to_si(ends[0], "pressure", unit), to_si(ends[1], "pressure", unit)

    def title(self) -> str:
        """Return whose closing time it is."""
        sweep = self.picture.sweep
        way = f", {sweep.words}" if sweep.words else ""
        return self.words["closing title"].format(name=self.picture.name, way=way, shut_off=sweep.shut_off)

    def axis_words(self) -> str:
        """Return the unit of the scales with the datum."""
        datum = self.figures.length(self.picture.datum_m)
        unit, length = self.figures.pressure_unit, self.figures.length_unit
        return self.words["axis"].format(unit=unit, datum=datum, length_unit=length)

    def window_edges(self) -> tuple[float | None, float | None]:
        """Return the edges of the window by stopwatch. [s]"""
        window = self.picture.sweep.window
        low = None if window.fastest is None else window.fastest.stopwatch
        return low, None if window.slowest is None else window.slowest.stopwatch

    def window_words(self) -> str:
        """Return the window in a few words, its edges rounded into it."""
        if not self.is_open:
            return self.words["closing window empty"]
        low, high = self.window_edges()
        if low is None and high is None:
            return self.words["closing window any"]
        name, point = self.words["closing window"], self.figures.units.decimal
        first = "" if low is None else f"{-(-low * 10 // 1) / 10:.1f} s".replace(".", point)
        last = "" if high is None else f"{high * 10 // 1 / 10:.1f} s".replace(".", point)
        if not first:
            return f"{name} ≤ {last}"
        return f"{name} ≥ {first}" if not last else f"{name} {first} – {last}"

    def now_words(self) -> str:
        """Return the closing time as it is."""
        now = self.picture.sweep.stopwatch
        figure = f"{now:.1f}" if now < 100.0 else f"{now:.0f}"
        return self.words["closing now"].format(now=figure.replace(".", self.figures.units.decimal))

    def marks(self) -> tuple[float, ...]:
        """Return the closing times that are named on the scale. [s]"""
        return tuple(one for one in MARKS if self.times[0] <= one <= self.times[-1])

    def caption(self) -> tuple[str, ...]:
        """Return what stands below."""
        sweep = self.picture.sweep
        said = [self.words["closing caption"].format(runs=sweep.runs)]
        if any(point.parts for point in sweep.points):
            said.append(self.words["closing parts"])
        return tuple(said)


def resolve_closing(picture: ClosingPicture, lang: str = "en") -> ClosingFacts:
    """Return the picture with the figures and words of its reader."""
    return ClosingFacts(picture, Figures(picture.units), words_of(lang))


def closing_text(picture: ClosingPicture, lang: str = "en") -> str:
    """Return the sentence of a closing-time picture."""
    facts = resolve_closing(picture, lang)
    if not facts.frames:
        return f"{facts.title()}. {facts.words['closing no trip']}"
    said = []
    for frame in facts.frames:
        values = [p for _, p in (frame.thrown_back or frame.until_shut)]
        fast, slow = facts.figures.pressure(values[0]), facts.figures.pressure(values[-1])
        limit = f", {frame.limit_words}" if frame.limit_words else ""
        said.append(f"{frame.name}: {fast} at {facts.times[0]:g} s, {slow} at {facts.times[-1]:g} s{limit}")
    unit = facts.figures.pressure_unit
    return f"{facts.title()}, {unit}. {facts.window_words()}; {facts.now_words()}. {'; '.join(said)}."
