"""What opens an empty trip window: each remedy is applied alone to the file and run again first."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.ladder import chosen
from steadyhead.design.patching import changed, changed_quickly, in_unit, unit_of
from steadyhead.design.rungs import Rungs, rungs
from steadyhead.design.steps import Step, stairs
from steadyhead.design.ways import same_twin, way_in
from steadyhead.records.design import Remedy
from steadyhead.records.ladder import Stacking
from steadyhead.records.station import Station
from steadyhead.station.mechanics import pressure_per_turn
from steadyhead.units import parse

MOST_PAIRS = 4
_LEAST_SHARE = 0.5
_TWIN_KINDS = ("duty",)


def remedies(basis: Basis, now: Rungs) -> tuple[Remedy, ...]:
    """Return what opens the window of a station whose chosen stacking leaves it empty.

    Every remedy is a change of the file. It is offered only where the changed file, read again, has an open
    window; its size is the smallest practical step that does it. Pairs are looked at only where no single
    change opens the window. Duty is lowered only as far as every stated need still allows.

    Parameters
    ----------
    basis
        The station, with a shut-off.
    now
        Its ladder as it stands.
    """
    before = chosen(now.ladder, basis.station.stacking)
    if before.verdict != "empty":
        return ()
    search = _Search(basis, before, now.correction)
    kinds = stairs(basis, now)
    singles = [found for steps in kinds if (found := search.smallest(steps)) is not None]
    if singles:
        return tuple(singles)
    pairs: list[Remedy] = []
    for first, second in combinations(kinds, 2):
        pair = search.pair(first, second) if search.may_do(first, second) else None
        if pair is not None:
            pairs.append(pair)
        if len(pairs) == MOST_PAIRS:
            break
    return tuple(pairs)


class _Search:
    """Applies steps to the file and looks at the window that comes out."""

    def __init__(self, basis: Basis, before: Stacking, correction: float | None = None) -> None:
        self.basis = basis
        self.correction = correction
        self.before = before
        self.known: dict[str, Stacking] = {}

    def window(self, *steps: Step) -> Stacking:
        """Return the window of the file with these steps applied, in the stacking it then has."""
        patches = tuple(patch for step in steps for patch in step.patches)
        return self.window_of(changed_quickly(self.basis.file, self.basis.data, patches), *steps)

    def window_of(self, station: Station, *steps: Step) -> Stacking:
        """Return the window of a file these steps were applied to; the twin is kept where they let it."""
        again = any(step.kind in _TWIN_KINDS for step in steps)
        basis = way_in(self.basis, station) if again else same_twin(self.basis, station)
        after = rungs(basis, full=False, correction=self.correction)
        return chosen(after.ladder, station.stacking)

    def alone(self, strongest: Step) -> Stacking:
        """Return the window that the strongest step of a kind leaves when applied alone."""
        if strongest.kind not in self.known:
            self.known[strongest.kind] = self.window(strongest)
        return self.known[strongest.kind]

    def gain(self, strongest: Step) -> float:
        """Return the width [Pa] that the strongest step of a kind gains alone."""
        width = self.alone(strongest).width
        return 0.0 if width is None else width - (self.before.width or 0.0)

    def may_do(self, first: tuple[Step, ...], second: tuple[Step, ...]) -> bool:
        """Return whether two kinds together are worth a run: alone they must gain half of what is short."""
        short_by = -(self.before.width or 0.0)
        return self.gain(first[-1]) + self.gain(second[-1]) >= _LEAST_SHARE * short_by

    def opens(self, *steps: Step) -> bool:
        """Return whether the file with these steps applied has an open window."""
        return self.window(*steps).verdict == "open"

    def smallest(self, steps: tuple[Step, ...], beside: tuple[Step, ...] = ()) -> Remedy | None:
        """Return the weakest step that opens the window; None where the strongest does not."""
        index = self.index(steps, beside)
        return None if index is None else self.remedy(*beside, steps[index])

    def index(self, steps: tuple[Step, ...], beside: tuple[Step, ...] = ()) -> int | None:
        """Return which step is the weakest that opens the window; wider windows come with stronger steps."""
        if not beside and self.alone(steps[-1]).verdict != "open":
            return None
        if beside and not self.opens(*beside, steps[-1]):
            return None
        low, high = 0, len(steps) - 1
        while low < high:
            middle = (low + high) // 2
            if self.opens(*beside, steps[middle]):
                high = middle
            else:
                low = middle + 1
        return low

    def pair(self, first: tuple[Step, ...], second: tuple[Step, ...]) -> Remedy | None:
        """Return two steps that open the window together, each as weak as the other then allows."""
        if {first[0].kind, second[0].kind} == {"replace", "retire"} or not self.opens(first[-1], second[-1]):
            return None
        at = self.index(first, (second[-1],))
        assert at is not None
        return self.smallest(second, (first[at],))

    def _trip(self, after: Stacking) -> Iterator[str]:
        """Yield what the window that comes out asks of the trip, and of the hand that sets it."""
        shut_off = self.basis.layout.shut_off
        assert shut_off is not None
        assert after.highest is not None
        unit = unit_of(self.basis.worker.duty.pressure)
        width = after.highest - after.lowest
        if shut_off.trip is not None and not after.trip_inside:
            yield f"The trip must move too, to {_inside(after.lowest, after.highest, unit)}."
        turn = d.SMALLEST_TURN.si * pressure_per_turn(shut_off.pilot).si
        if width < turn:
            wide, least = (in_unit(one, "pressure", unit, 2) for one in (width, turn))
            yield f"The window is then {wide} wide, less than the smallest honest turn of the screw, {least}."

    def remedy(self, *steps: Step) -> Remedy:
        """Return the remedy these steps make."""
        patches = tuple(patch for step in steps for patch in step.patches)
        after = self.window_of(changed(self.basis.data, patches), *steps)
        assert after.highest is not None
        assert after.width is not None
        assert self.before.width is not None
        return Remedy(
            kinds=tuple(step.kind for step in steps),
            patches=patches,
            words=" ".join(step.words for step in steps),
            caution=" ".join(dict.fromkeys((*(s.caution for s in steps if s.caution), *self._trip(after)))),
            lowest=after.lowest,
            highest=after.highest,
            gain=after.width - self.before.width,
        )


def _inside(low: float, high: float, unit: str) -> str:
    """Return the middle of a window in as few digits as keep it inside."""
    middle = 0.5 * (low + high)
    texts = (in_unit(middle, "pressure", unit, digits) for digits in range(3, 8))
    return next(
        (one for one in texts if low <= parse(one, "pressure").si <= high), in_unit(middle, "pressure", unit)
    )
