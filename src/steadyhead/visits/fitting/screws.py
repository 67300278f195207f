"""Pressure per turn of both pilots: turns that were counted between readings, out of the entries of a run."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import hypot, sqrt

from steadyhead.laws.pilot import play
from steadyhead.procedure.record import Row
from steadyhead.records.baseline import Fitted, LeftOut, Reason, Undetermined
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.station import defaults as sd
from steadyhead.station.mechanics import pressure_per_turn
from steadyhead.visits import spans
from steadyhead.visits.advising import defaults as ad
from steadyhead.visits.advising.history import turns_of
from steadyhead.visits.facts import trip_repeatability
from steadyhead.visits.fitting import defaults as d
from steadyhead.visits.fitting.adjusting import Adjusted, Sight, Unknown, Values, adjust_and_sift
from steadyhead.visits.fitting.outcome import Outcome, relative
from steadyhead.visits.fitting.taken import Readings, Taken

AT_TRICKLE = {
    "EF1": ("reading",), "ES1": ("first", "reading"), "ES2": ("reading",), "ES3": ("T3",),
    "DS2": ("T3", "reading"), "DS3": ("T3",), "F1": ("hold",), "F3": ("hold",), "Y3": ("trickle",),
    "Y4": ("hold",), "Y6": ("hold",), "Y6T": ("hold",), "H1": ("before", "trickle"), "H1F": ("trickle",),
}  # fmt: skip
"""Inputs that tell where a reducer stands while trickle runs, by step."""
RAISED_WITH = {"ES1": "reading", "ES3": "T3", "DS2": "reading", "DS3": "T3", "F1": "hold", "Y4": "hold"}
"""Steps that note how far the reducer was raised in all, and the input that was read after it."""
TRIPS = {
    "ES4": ("act",), "DS4": ("act",), "F1": ("act",), "F3": ("act",), "Y4": ("act",), "Y6": ("act",),
    "Y6T": ("act",),
}  # fmt: skip
"""Inputs that tell where a shut-off acts, by step."""
LOWERED = {"ES4": -1.0, "DS4": -1.0, "C1S": 1.0}
"""Steps that note how far the shut-off's screw was turned in all; raising counts up."""
PLAY_MOST = 0.6
"""Most play that is reckoned with. [turn]"""


@dataclass(frozen=True, slots=True)
class Shown:
    """A reading of where a screw stands: how far it was turned in all since the first one, and the way there.

    path: every turn since the start of this stretch, raising positive. [turn]
    """

    taken: Taken
    value: float
    sigma: float
    path: tuple[float, ...]


@dataclass
class _Stretch:
    """Readings with nothing but counted turns between them."""

    shown: list[Shown] = field(default_factory=list)
    path: list[float] = field(default_factory=list)
    from_tag: bool = False

    @property
    def spread(self) -> float:
        """How far the screw was turned between the readings of this stretch. [turn]"""
        at = [sum(one.path) for one in self.shown]
        return max(at) - min(at) if at else 0.0


def fit_reducer_screw(readings: Readings, reducer: Reducer) -> Outcome:
    """Return pressure per turn of a reducer's pilot, from readings at trickle between counted turns.

    One flow throughout, so that the opening of the valve does not change; play is an unknown of its own. A
    turn that was not counted parts what lies before it from what comes after.

    Parameters
    ----------
    readings
        Of one way through the station.
    reducer
        One that holds a section in normal running.
    """
    role = spans.role_of(readings.view.layout, reducer.id)
    own = [one for one in readings.all if one.role == role and _is_at_trickle(readings, one)]
    follower = _Follower(readings, reducer.id, _summaries_of_reducer(readings, reducer))
    parts = follower.stretches({one.at: one for one in own}, lambda one: (one.value, one.sigma))
    return _fit(readings, reducer, parts, None, "screw.reducer")


def fit_shut_off_screw(readings: Readings, shut_off: ShutOff) -> Outcome:
    """Return pressure per turn of a shut-off's pilot, from trips with counted turns between them.

    Where it acts is where its setting stood. The bench setting on its tag counts as a trip before the first
    turn, within the error of such a tag; trips at one setting tell nothing of the spring.

    Parameters
    ----------
    readings
        Of one way through the station.
    shut_off
        The shut-off.
    """
    bases = readings.of(*TRIPS)
    own = {one.at: one for one in bases if one.input.partition(".")[0] in TRIPS[one.base] and one.value > 0.0}
    follower = _Follower(readings, shut_off.id, _summaries_of_shut_off(shut_off), from_tag=True)
    scatter = trip_repeatability(shut_off) / sqrt(3.0)

    def told(one: Taken) -> tuple[float, float]:
        held = _hold_of(readings, one)
        if held is None:
            return one.value, hypot(one.sigma, scatter)
        half = abs(one.value - held.value) / 2.0
        return (one.value + held.value) / 2.0, hypot(one.sigma, half / sqrt(3.0), scatter)

    parts = follower.stretches(own, told)
    tag = shut_off.factory.pressure.si if shut_off.factory is not None else None
    return _fit(readings, shut_off, parts, tag, "screw.shut_off")


def _is_at_trickle(readings: Readings, one: Taken) -> bool:
    if one.input.partition(".")[0] not in AT_TRICKLE.get(one.base, ()):
        return False
    return one.flow is None or 0.0 < one.flow <= readings.trickle


def _hold_of(readings: Readings, act: Taken) -> Taken | None:
    name = act.input.replace("act", "hold", 1)
    same = [one for one in readings.of(act.base) if one.node == act.node and one.input == name]
    return next((one for one in reversed(same) if one.at < act.at), None)


def _summaries_of_reducer(readings: Readings, reducer: Reducer) -> dict[str, tuple[float, str]]:
    """Return the sign of a noted number of turns by step, and the input it was read with."""
    found: dict[str, tuple[float, str]] = {}
    raised = spans.worker(readings.view.layout).id
    for node in readings.nodes:
        base, _, part = node.partition("@")[0].partition(".")
        is_own = part == reducer.id or (base not in ("ES1", "DS2") and reducer.id == raised)
        if base in RAISED_WITH and is_own:
            found[node] = (1.0, RAISED_WITH[base])
    return found


def _summaries_of_shut_off(shut_off: ShutOff) -> dict[str, tuple[float, str]]:
    return {f"{base}.{shut_off.id}": (sign, "act") for base, sign in LOWERED.items()} | {"DS4": (-1.0, "act")}


class _Follower:
    """Walks through a run and keeps how far one screw was turned."""

    def __init__(
        self,
        readings: Readings,
        valve: str,
        summaries: Mapping[str, tuple[float, str]],
        *,
        from_tag: bool = False,
    ) -> None:
        self.readings, self.valve, self.summaries = readings, valve, summaries
        self.own = (valve, f"{valve}.setting", f"{valve}.screw")
        self.found = [_Stretch(from_tag=from_tag)]
        counted = self._counted_steps()
        self.loose = {
            touch.row.at
            for touch in readings.touched
            if f"{valve}.setting" in touch.things or f"{valve}.spring" in touch.things
            if not self._is_counted(touch.row, counted)
        }

    def _counted_steps(self) -> frozenset[str]:
        """Return the steps whose turns are counted one by one, or noted in all."""
        rows = self.readings.record.rows
        acts = {row.entry.node for row in rows if self._turn(row) is not None}
        noted = {row.entry.node for row in rows if self._noted(row) is not None}
        return frozenset(acts | noted)

    def _is_counted(self, row: Row, counted: frozenset[str]) -> bool:
        if row.entry.kind == "action":
            return self._turn(row) is not None
        return row.entry.node in counted

    def _turn(self, row: Row) -> float | None:
        if row.entry.kind != "action" or row.do not in ("raise", "lower"):
            return None
        if row.text("thing").partition("@")[0] not in self.own:
            return None
        return turns_of(dict(row.entry.payload))

    def _noted(self, row: Row) -> float | None:
        node = row.entry.node.partition("@")[0]
        if node not in self.summaries or row.input != "turns":
            return None
        value = row.number("value")
        return None if value is None else self.summaries[node][0] * value

    def stretches(
        self, own: Mapping[int, Taken], told: Callable[[Taken], tuple[float, float]]
    ) -> list[_Stretch]:
        """Return the stretches with the readings of `own`; `told`: value and standard deviation of one."""
        rows = self.readings.record.rows
        one_by_one = {row.entry.node for row in rows if self._turn(row) is not None}
        pending = self._pending(rows, one_by_one)
        for row in rows:
            if row.at in self.loose:
                self.found.append(_Stretch())
            here = self.found[-1]
            turn = self._turn(row)
            if turn is not None:
                here.path.append(turn)
            taken = own.get(row.at)
            if taken is None:
                continue
            if (noted := pending.get(row.at)) is not None:
                here.path.append(noted)
            value, sigma = told(taken)
            here.shown.append(Shown(taken, value, sigma, tuple(here.path)))
        return self.found

    def _pending(self, rows: Iterable[Row], one_by_one: set[str]) -> dict[int, float]:
        """Return turns noted in all, by the reading that was taken after them."""
        found: dict[int, float] = {}
        listed = list(rows)
        for row in listed:
            noted = self._noted(row)
            node = row.entry.node
            if noted is None or node in one_by_one:
                continue
            name = self.summaries[node.partition("@")[0]][1]
            after = [one.at for one in listed if one.entry.node == node and one.input == name]
            if after:
                found[min(after, key=lambda at: abs(at - row.at))] = noted
        return found


def _fit(
    readings: Readings,
    part: Reducer | ShutOff,
    parts: Sequence[_Stretch],
    tag: float | None,
    needs: str,
) -> Outcome:
    former = pressure_per_turn(part.pilot)
    used = [one for one in parts if one.shown and (len(one.shown) > 1 or (one.from_tag and tag is not None))]
    if not any(one.spread > 0.0 or (one.from_tag and tag is not None and one.path) for one in used):
        return Outcome(undetermined=(_open(part, "no readings", needs),))
    unknowns, sights = _problem(used, former.si, tag)
    found = adjust_and_sift(unknowns, sights)
    rate, within = found.values["rate"], found.within("rate")
    shown = {one.taken.entry: one for stretch in used for one in stretch.shown}
    lost = tuple(_lost(shown[label].taken, off) for label, off in found.left_out)
    misfit = found.misfit > d.MISFIT
    if relative(within, rate) > d.MOST_RELATIVE.si or misfit or "rate" in found.at_edge:
        reason: Reason = "does not fit" if misfit else "too wide"
        return Outcome(undetermined=(_open(part, reason, needs, rate, within),), left_out=lost)
    return Outcome(fitted=(_fitted(readings, part, shown, found),), left_out=lost)


def _problem(used: Sequence[_Stretch], plate: float, tag: float | None) -> tuple[list[Unknown], list[Sight]]:
    """Return unknowns and sights.

    Pressure per turn, play, the error of each turn; where each stretch starts and how it lies in its play.
    """
    usual = sd.SCREW_PLAY
    width = (usual.spread or usual.si) / sqrt(3.0)
    hand = ad.HAND.si / sqrt(3.0)
    unknowns = [
        Unknown("rate", plate, plate, 0.02 * plate, 20.0 * plate),
        Unknown("play", usual.si, 0.1, 0.0, PLAY_MOST, width),
    ]
    sights = []
    for number, stretch in enumerate(used):
        start, lies = f"start.{number}", f"lies.{number}"
        first = stretch.shown[0].value - plate * sum(stretch.shown[0].path)
        known = tag if stretch.from_tag else None
        sigma = None if known is None else d.TAG_ERROR.si / sqrt(3.0)
        unknowns.append(Unknown(start, first if known is None else known, 1e4, sigma=sigma))
        unknowns.append(Unknown(lies, 0.0, 0.5, -1.0, 1.0, 1.0 / sqrt(3.0)))
        turned = max((len(one.path) for one in stretch.shown), default=0)
        unknowns += [Unknown(f"turn.{number}.{at}", 0.0, hand, sigma=hand) for at in range(turned)]
        sights += [_sight(one, number) for one in stretch.shown]
    return unknowns, sights


def _sight(one: Shown, stretch: int) -> Sight:
    def predict(values: Values) -> float:
        half = values["play"] / 2.0
        screw, spring = 0.0, values[f"lies.{stretch}"] * half
        first = spring
        for at, turn in enumerate(one.path):
            screw += turn + values[f"turn.{stretch}.{at}"]
            spring = play(spring, screw, half)
        return values[f"start.{stretch}"] + values["rate"] * (spring - first)

    return Sight(one.taken.entry, one.value, one.sigma, predict)


def _fitted(
    readings: Readings, part: Reducer | ShutOff, shown: Mapping[str, Shown], found: Adjusted
) -> Fitted:
    gone = {label for label, _ in found.left_out}
    kept = [one.taken for entry, one in shown.items() if entry not in gone]
    steps = tuple(dict.fromkeys(one.node for one in kept))
    former = pressure_per_turn(part.pilot)
    values = [one.value for one in kept]
    state = {"lowest_reading": min(values), "highest_reading": max(values)}
    return Fitted(
        part.id, "per_turn", "pressure_per_turn", found.values["rate"], found.within("rate"), former.si,
        former.provenance, steps, readings.proofs(steps), tuple(one.entry for one in kept), len(kept), state,
    )  # fmt: skip


def _open(
    part: Reducer | ShutOff,
    reason: Reason,
    needs: str,
    value: float | None = None,
    within: float | None = None,
) -> Undetermined:
    former = pressure_per_turn(part.pilot)
    return Undetermined(
        part.id, "per_turn", "pressure_per_turn", reason, needs, value, within, former.si, former.provenance
    )


def _lost(taken: Taken, off: float) -> LeftOut:
    return LeftOut(taken.entry, taken.node, taken.input, taken.value, "pressure", "outlier", off)
