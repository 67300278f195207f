"""The words and figures of a surge trace, and one sentence for the whole."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import ceil

from steadyhead.drawings.figures import Figures
from steadyhead.drawings.scale import round_step, round_top
from steadyhead.drawings.words import words_of
from steadyhead.records.pictures import SurgePicture
from steadyhead.records.surge import SurgeLimit

ROOM = 1.04
"""Room above the highest line."""
RETURNS_SHOWN, SHOWN_AFTER_SHUT, SHOWN_AFTER_CALM = 8.0, 15.0, 5.0
"""Shown after a shut-off is shut, in returns of the wave and at least [s]; and after all is calm [s]."""
SHOWN_LIMITS = 2.0
"""A limit higher than this many times what is reached is told below and not drawn."""


@dataclass(frozen=True)
class SurgeFacts:
    """A surge picture with the figures and words of its reader."""

    picture: SurgePicture
    figures: Figures
    words: dict[str, str]

    @cached_property
    def lines(self) -> int:
        """How many lines of the trace are shown."""
        run = self.picture.run
        shown = min(run.until, self.shown_until)
        return max(sum(time <= shown for time in run.trace.time), 2)

    @property
    def shown_until(self) -> float:
        """End of what is shown: some returns of the wave after the shut-off is shut, or calm. [s]"""
        run = self.picture.run
        shut = [one.shut for one in run.shut_offs if one.shut is not None]
        if shut:
            return max(shut) + max(RETURNS_SHOWN * (run.wave_return or 0.0), SHOWN_AFTER_SHUT)
        if any(one.trip is not None for one in run.shut_offs):
            return run.until
        calm = run.settled if run.settled is not None else run.event_at
        return max(calm + SHOWN_AFTER_CALM, run.event_at + SHOWN_AFTER_SHUT)

    @cached_property
    def times(self) -> tuple[float, ...]:
        """Moments shown, from the beginning of the event. [s]"""
        run = self.picture.run
        return tuple(time - run.event_at for time in run.trace.time[: self.lines])

    @cached_property
    def fell_in(self) -> float | None:
        """When a cavity fell in, from the beginning; None: none did in what is shown. [s]"""
        run = self.picture.run
        if run.fell_in is None or run.fell_in - run.event_at >= self.times[-1]:
            return None
        return run.fell_in - run.event_at

    @cached_property
    def judged(self) -> int:
        """How many of the lines shown come before a cavity fell in."""
        if self.fell_in is None:
            return self.lines
        return max(sum(time <= self.fell_in for time in self.times), 2)

    @property
    def outlet(self) -> tuple[float, ...]:
        """Pressure where consumers are fed. [Pa at datum]"""
        run = self.picture.run
        return run.trace.pressures[run.outlet][: self.lines]

    @property
    def supply(self) -> tuple[float, ...]:
        """Pressure on the supply side. [Pa at datum]"""
        return self.picture.run.trace.pressures["T0"][: self.lines]

    def opening(self) -> tuple[str, tuple[float, ...]] | None:
        """Return the first shut-off and its share of lift; None: there is none."""
        run = self.picture.run
        name = next((one.id for one in run.shut_offs), None)
        return None if name is None else (name, run.trace.lifts[name][: self.lines])

    def title(self) -> str:
        """Return what happens, where."""
        run, picture = self.picture.run, self.picture
        where = f", {run.way}" if run.way else ""
        return self.words["surge title"].format(
            name=picture.name, happens=run.happens, way=where, inlet=run.inlet_case, flow=run.flow_case
        )

    def axis_words(self) -> str:
        """Return the unit of the scale with the datum."""
        datum = self.figures.length(self.picture.datum_m)
        unit, length = self.figures.pressure_unit, self.figures.length_unit
        return self.words["axis"].format(unit=unit, datum=datum, length_unit=length)

    def span(self) -> tuple[float, float]:
        """Return the ends of the pressure scale, of what is judged. [Pa]"""
        count = self.judged
        shown = (*self.outlet[:count], *self.supply[:count])
        high = max(*shown, *(level for level, _, _ in self.levels()))
        return min(0.0, *shown), round_top(high * ROOM, self.picture.units, 8)

    def along_span(self) -> tuple[float, float]:
        """Return the ends of the scale along the mains, limits near what is reached on it. [Pa]"""
        profiles = self.picture.run.profiles
        high = max(max(one.highest) for one in profiles)
        limits = (self.weakest(("inlet",)), self.weakest(("consumer", "outlet")))
        near = [level for level in limits if level is not None and level < SHOWN_LIMITS * high]
        low = min(min(*one.lowest, *(one.weight * level for level in one.level)) for one in profiles)
        return min(low, 0.0), round_top(max(high, *near, 0.0) * ROOM, self.picture.units, 5)

    def weakest(self, sides: tuple[str, ...]) -> float | None:
        """Return the lowest limit of some sides; None: none is stated. [Pa at datum]"""
        found = [one.limit_at_datum for one in self.picture.run.limits if one.side in sides]
        return min(found, default=None)

    def seconds(self, count: float) -> list[tuple[float, str]]:
        """Return round marks of time and their figures, about `count` of them."""
        first, last = self.times[0], self.times[-1]
        step = round_step(last - first, max(count, 2.0))
        numbers = range(ceil(first / step - 1e-6), int(last / step + 1e-6) + 1)
        return [
            (
                number * step,
                f"{number * step:g}".replace("-", "\u2212").replace(".", self.picture.units.decimal),
            )
            for number in numbers
        ]

    def drawn_limits(self) -> tuple[SurgeLimit, ...]:
        """Return the weakest limit of the consumer side and of the inlet, where they stand on the scale."""
        found = []
        count = self.judged
        outlet, supply = self.outlet[:count], self.supply[:count]
        for sides, reached in ((("consumer", "outlet"), outlet), (("inlet",), supply)):
            limits = [one for one in self.picture.run.limits if one.side in sides]
            weakest = min(limits, key=lambda one: one.limit_at_datum, default=None)
            top = max(*outlet, *supply)
            if weakest is not None and weakest.limit_at_datum < max(SHOWN_LIMITS * max(reached), top):
                found.append(weakest)
        return tuple(found)

    def levels(self) -> list[tuple[float, str, str]]:
        """Return the lines over the trace: pressure, words and pen."""
        found = []
        for one in self.drawn_limits():
            words = self.words["bears"].format(
                limit=self.figures.pressure(one.limit_at_datum), component=one.component
            )
            found.append((one.limit_at_datum, words, "limit"))
        for name, trip in self.picture.run.trip_pressures.items():
            words = self.words["trips at"].format(trip=self.figures.pressure(trip), name=name)
            found.append((trip, words, "trip"))
        return sorted(found, key=lambda level: -level[0])

    def events(self) -> list[tuple[float, str]]:
        """Return moments from the beginning and their names, in time, as far as they are shown."""
        run = self.picture.run
        found = [(0.0, self.words["begins"])]
        for one in run.shut_offs:
            for moment, word in ((one.trip, "trips"), (one.switch, "switch"), (one.shut, "is shut")):
                if moment is not None:
                    found.append((moment - run.event_at, self.words[word].format(name=one.id)))
        if self.fell_in is not None:
            found.append((self.fell_in, self.words["falls in"]))
        return sorted(one for one in found if one[0] <= self.times[-1])

    def outlet_words(self) -> str:
        """Return the name of the outlet with what it reaches."""
        return self._reaches(self.picture.run.outlet, self.outlet)

    def supply_words(self) -> str:
        """Return the name of the supply side with what it reaches."""
        return self._reaches("T0", self.supply)

    def _reaches(self, name: str, values: tuple[float, ...]) -> str:
        return self.words["reaches"].format(name=name, high=self.figures.pressure(max(values[: self.judged])))

    def caption(self) -> tuple[str, ...]:
        """Return what the run is, what it came to along the mains, and what it does not cover."""
        run = self.picture.run
        said = [self.words["along"].format(
            high=self.figures.pressure(run.consumer.judged_at_datum),
            low=self.figures.pressure(run.consumer.lowest_at_datum),
            main_high=self.figures.pressure(run.supply.judged_at_datum),
            main_low=self.figures.pressure(run.supply.lowest_at_datum),
            unit=self.figures.pressure_unit,
        )]  # fmt: skip
        if run.wave_return is not None:
            said.append(self.words["wave return"].format(seconds=self.figures.seconds(run.wave_return)))
        if run.is_separated:
            said.append(self.words["parted"])
        if self.times[-1] < run.until - run.event_at - 0.5:
            shown, until = (f"{time:.0f}" for time in (self.times[-1], run.until - run.event_at))
            said.append(self.words["shown until"].format(shown=shown, until=until))
        below = (self.words["pipe level"],) if run.profiles else ()
        return (" ".join(said), *below, self.words["computed run"])


def resolve_surge(picture: SurgePicture, lang: str = "en") -> SurgeFacts:
    """Return the picture with the figures and words of its reader."""
    return SurgeFacts(picture, Figures(picture.units), words_of(lang))


def surge_text(picture: SurgePicture, lang: str = "en") -> str:
    """Return the sentence of a surge trace."""
    facts = resolve_surge(picture, lang)
    unit = facts.figures.pressure_unit
    said = [f"{facts.outlet_words()} {unit}", f"{facts.supply_words()} {unit}"]
    said += [words for _, words, _ in facts.levels()]
    said += [f"{words} {facts.figures.seconds(moment)} s" for moment, words in facts.events()]
    return f"{facts.title()}: {'; '.join([*said, facts.caption()[0].rstrip('.')])}."
