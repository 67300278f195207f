"""What every panel of the pressure ladder needs to know before it is drawn."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from steadyhead.drawings.canvas import Content
from steadyhead.drawings.figures import Figures
from steadyhead.drawings.strip_facts import SAME_PRESSURE
from steadyhead.drawings.tokens import Role
from steadyhead.errors import InputError
from steadyhead.records.pictures import LadderPicture, LadderRung

RUNG_PENS = {
    "fault_limit": "limit heavy", "fault and normal": "limit heavy", "normal_limit": "limit normal",
    "trip_upper": "edge", "trip": "trip", "trip_lower": "edge", "relief": "relief", "alarm": "alarm",
    "heated": "edge", "highest_normal": "twin", "lockup": "twin", "duty": "twin heavy",
    "lowest_normal": "twin", "needed": "object", "reset": "edge",
}  # fmt: skip
RUNG_TONES: dict[str, Role] = {
    "fault_limit": "halt", "fault and normal": "halt", "normal_limit": "halt", "trip_upper": "ink-2",
    "trip": "halt", "trip_lower": "ink-2", "relief": "heed", "alarm": "heed", "highest_normal": "twin",
    "heated": "twin",
    "lockup": "twin", "duty": "twin", "lowest_normal": "twin", "needed": "ink", "reset": "ink-2",
}  # fmt: skip
FAR_BELOW, FAR_ABOVE = 0.9, 0.5
"""Shares of the core's span beyond which a rung or a peak is named off the scale instead of drawn on it."""
CORE = (
    "fault_limit", "fault and normal", "normal_limit", "trip", "highest_normal", "lockup", "duty", "alarm",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Rung:
    """A rung ready to be drawn."""

    kind: str
    pressure: float
    label: str
    note: str

    @property
    def is_wall(self) -> bool:
        """True for what may not be passed upwards."""
        return self.kind in ("fault_limit", "fault and normal")


@dataclass(frozen=True, slots=True)
class LadderFacts:
    """One ladder, resolved: rungs by pressure, and the range that is drawn to scale.

    Parameters
    ----------
    picture, figures, words
        What is drawn, how figures are written, the words of the language.
    rungs
        From the highest down.
    low, high
        Range of the scale. [Pa]
    """

    picture: LadderPicture
    figures: Figures
    words: dict[str, str]
    rungs: tuple[Rung, ...]
    low: float
    high: float

    def first(self, *kinds: str) -> Rung | None:
        """Return the highest rung of one of these kinds."""
        return next((rung for rung in self.rungs if rung.kind in kinds), None)

    @property
    def on_scale(self) -> tuple[Rung, ...]:
        """Rungs drawn to scale."""
        return tuple(rung for rung in self.rungs if self.low <= rung.pressure <= self.high)

    @property
    def off_scale(self) -> tuple[Rung, ...]:
        """Rungs only named, below the broken end of the pole."""
        return tuple(rung for rung in self.rungs if not self.low <= rung.pressure <= self.high)

    def axis_words(self) -> str:
        """Return the line that names unit and datum, once."""
        return self.words["axis"].format(
            unit=self.figures.pressure_heading,
            datum=self.figures.length(self.picture.datum_m),
            length_unit=self.figures.length_unit,
        )

    def rung_words(self, rung: Rung) -> Content:
        """Return figure, kind and owner of a rung as runs of text."""
        kind = self.words[rung.kind]
        rest = f" {kind}: {rung.label}" if rung.label else f" {kind}"
        return ((self.figures.key(rung.pressure), True), (rest, False))

    def rung_note(self, rung: Rung, *, with_build_up: bool) -> str:
        """Return the smaller line of a rung; for the highest normal what it is built of, unless drawn."""
        if rung.kind != "highest_normal" or not with_build_up or not self.picture.build_up:
            return rung.note
        start = rung.pressure - sum(block.size for block in self.picture.build_up)
        terms = [f"{self.figures.pressure(start)} {self.words['lockup']}"]
        terms += [f"{self.figures.difference(block.size)} {block.label}" for block in self.picture.build_up]
        return " + ".join(terms) + (f"; {rung.note}" if rung.note else "")

    def inlet_words(self) -> str:
        """Return the sentence about the supply, which lies off this scale."""
        low, high = self.picture.inlet_lowest, self.picture.inlet_highest
        if low is None or high is None:
            return ""
        return self.words["inlet off scale"].format(
            low=self.figures.pressure(low), high=self.figures.pressure(high), unit=self.figures.pressure_unit
        )


def resolve_ladder(picture: LadderPicture, figures: Figures, words: dict[str, str]) -> LadderFacts:
    """Order the rungs and choose the range of the scale.

    Raises
    ------
    InputError
        Where there is no rung at all.
    """
    if not picture.rungs:
        raise InputError("rungs", "got none; a ladder shows at least one.", "Give duty, trip and limit.")
    rungs = tuple(sorted(_merged(picture.rungs), key=lambda rung: -rung.pressure))
    edges = [edge for stacking in picture.stackings for edge in (stacking.lowest, stacking.highest)]
    core = [rung.pressure for rung in rungs if rung.kind in CORE] or [rung.pressure for rung in rungs]
    low, high = min(core + edges), max(core + edges)
    span = max(high - low, 0.05 * abs(high), 1e4)
    reach = (low - FAR_BELOW * span, high + FAR_ABOVE * span)
    others = [rung.pressure for rung in rungs] + [peak.pressure for peak in picture.peaks]
    near = [pressure for pressure in others if reach[0] <= pressure <= reach[1]]
    low, high = min([low, *near]), max([high, *near])
    pad = 0.05 * max(high - low, 0.2 * span)
    return LadderFacts(picture, figures, words, rungs, low - pad, high + pad)


def _merged(rungs: Iterable[LadderRung]) -> list[Rung]:
    """Return the rungs; a fault and a normal limit at one pressure with one owner become one."""
    done: list[Rung] = []
    for rung in rungs:
        twin = next((other for other in done if _are_one(rung, other)), None)
        if twin:
            note = twin.note or rung.note
            done[done.index(twin)] = Rung("fault and normal", twin.pressure, twin.label, note)
        else:
            done.append(Rung(rung.kind, rung.pressure, rung.label, rung.note))
    return done


def _are_one(rung: LadderRung, other: Rung) -> bool:
    return (
        {rung.kind, other.kind} == {"fault_limit", "normal_limit"}
        and abs(rung.pressure - other.pressure) < SAME_PRESSURE
        and rung.label == other.label
    )
