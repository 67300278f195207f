"""Compare what was typed with other readings of it, and ask where another reading fits much better."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from steadyhead.findings import Amount, Finding, Input, Severity
from steadyhead.findings.model import Parameter
from steadyhead.records.station import Station
from steadyhead.station.answers import answered
from steadyhead.station.refusal import in_words
from steadyhead.station.slips.defaults import ASK_ABOVE, MOST_QUESTIONS, NAMED_BY
from steadyhead.station.slips.readings import ABSOLUTE, ODD, Reading, any_value, readings
from steadyhead.station.slips.relations import Relation, relations
from steadyhead.station.slips.slots import Sheet
from steadyhead.water.atmosphere import HIGHEST_ALTITUDE, LOWEST_ALTITUDE, pressure_abs


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading that fits better than what was typed, by how much, and beside which field it shows most."""

    reading: Reading
    gain: float
    beside: int | None


def ask(station: Station, data: Mapping[str, object] | None = None) -> tuple[Finding, ...]:
    """Return the questions about likely slips; those answered in the file come back as notes.

    Each question rests on how well a station's figures fit together, never on one figure alone. A slip is
    missed where the other reading is as usual as the one typed: one absolute inlet pressure far from its
    neighbours, small heights in feet, a flow in a pipe that is far too wide. Rates: see the manual.

    Parameters
    ----------
    station
        The station as read.
    data
        Its plain data, to name fields by the ids in the file; taken from the station where left out.

    Returns
    -------
    tuple of Finding
        Codes SLIP-01 to SLIP-06, severity *ask*, or *note* where answered; `inputs` lists every value of
        the question with its other reading.

    Notes
    -----
    For each other reading r of a field or group: gain = Σ ln w(figure | r) − Σ ln w(figure | as typed) +
    ln prior(r), over the figures the field takes part in; asked where the gain reaches `ASK_ABOVE`. The
    expectations w are own estimates (`steadyhead.station.slips.defaults`).
    """
    names = data if data is not None else station.model_dump(mode="json")
    sheet = Sheet(station)
    questions = tuple(_question(doubt, sheet, names) for doubt in doubts(station, sheet))
    return answered(questions, station.answers)


def doubts(station: Station, sheet: Sheet) -> list[Doubt]:
    """Return the better readings, the strongest first; each is taken as read before the next is sought.

    Where one field alone, read as any value, explains more than another reading of other fields, it is asked
    about instead: a group is not suspected for what one of its neighbours does.
    """
    trial = Trial(relations(station, sheet), list(sheet.values))
    open_readings = list(readings(sheet, _air(station)))
    found: list[Doubt] = []
    while len(found) < MOST_QUESTIONS:
        best = max(map(trial.doubt, open_readings), key=lambda doubt: doubt.gain, default=None)
        if best is None or best.gain < ASK_ABOVE:
            break
        best = _odd_one(best, trial, sheet, open_readings) or best
        found.append(best)
        trial.take(best.reading)
        taken = set(best.reading.slots)
        open_readings = [reading for reading in open_readings if not taken & set(reading.slots)]
    return found


class Trial:
    """The figures of a station with some fields read otherwise on trial."""

    def __init__(self, judged: tuple[Relation, ...], values: list[float]) -> None:
        self.judged, self.values = judged, values
        self.touching: dict[int, set[int]] = defaultdict(set)
        for number, relation in enumerate(judged):
            for slot in relation.slots:
                self.touching[slot].add(number)
        self.scores = [relation.score(values) for relation in judged]

    def take(self, reading: Reading) -> None:
        """Take a reading as read."""
        for slot, value in zip(reading.slots, reading.values, strict=True):
            self.values[slot] = value
        self.scores = [relation.score(self.values) for relation in self.judged]

    def doubt(self, reading: Reading) -> Doubt:
        """Return how much better a reading fits than what is taken as read."""
        gains = self.gains(reading.slots, reading.values)
        return Doubt(reading, sum(gains.values()) + reading.prior, _beside(reading, self.judged, gains))

    def gains(self, slots: tuple[int, ...], values: tuple[float, ...]) -> dict[int, float]:
        """Return by how much each figure gets more usual when these fields have these values."""
        trial = list(self.values)
        for slot, value in zip(slots, values, strict=True):
            trial[slot] = value
        concerned = sorted(set().union(*(self.touching[slot] for slot in slots if slot in self.touching)))
        return {number: self.judged[number].score(trial) - self.scores[number] for number in concerned}


def _odd_one(best: Doubt, trial: Trial, sheet: Sheet, open_readings: list[Reading]) -> Doubt | None:
    """Return the one field that explains more than `best` does, or None."""
    if best.reading.slip.code == ABSOLUTE:
        return None
    evidence = trial.gains(best.reading.slots, best.reading.values)
    suspects = {
        slot
        for number, gain in evidence.items()
        if gain > 0
        for slot in trial.judged[number].slots
        if sheet.slots[slot].kind == best.reading.slip.kind
    }
    still_open = {slot for reading in open_readings for slot in reading.slots}
    others = [
        trial.doubt(reading)
        for slot in sorted(suspects & still_open)
        if best.reading.slots != (slot,)
        for reading in any_value(slot, sheet, trial.values)
    ]
    odd = max(others, key=lambda doubt: doubt.gain, default=None)
    if odd is None or odd.gain <= best.gain:
        return None
    named = [trial.doubt(reading) for reading in open_readings if reading.slots == odd.reading.slots]
    clear = max(named, key=lambda doubt: doubt.gain, default=None)
    return clear if clear is not None and clear.gain > odd.gain - NAMED_BY else odd


def _beside(reading: Reading, judged: tuple[Relation, ...], gains: Mapping[int, float]) -> int | None:
    """Return the slot outside the reading beside which the slip shows most."""
    for number in sorted(gains, key=lambda number: -gains[number]):
        others = [slot for slot in judged[number].slots if slot not in reading.slots]
        if others:
            return others[-1]
    return None


def _question(doubt: Doubt, sheet: Sheet, names: Mapping[str, object]) -> Finding:
    reading = doubt.reading
    slip, slots = reading.slip, [sheet.slots[index] for index in reading.slots]
    first = max(range(len(slots)), key=lambda index: abs(slots[index].si))
    shown = slots[first]
    beside = ""
    if doubt.beside is not None:
        other = sheet.slots[doubt.beside]
        beside = f"Beside it stands {in_words(other.path, names)} {other.text}."
    params: dict[str, Parameter] = {"where": in_words(shown.path, names), "typed": shown.text}
    provenance = "does not fit"
    if slip is not ODD:
        params |= {
            "others": f" and {len(slots) - 1} more" if len(slots) > 1 else "",
            "meant": f"{shown.number:.10g} {slip.meant}",
            "corrected": Amount(slip.kind, reading.values[first]),
        }
    return Finding(
        code=slip.code,
        subject=in_words(reading.subject, names) if reading.subject else f"all values in {slip.typed}",
        severity=Severity.ASK,
        params=params,
        value=Amount(shown.kind, shown.si),
        case=beside,
        inputs=tuple(
            Input(
                in_words(slot.path, names),
                slot.text,
                provenance if slip is ODD else f"would be {slot.number:.10g} {slip.meant}",
            )
            for slot in slots
        ),
    )


def _air(station: Station) -> float:
    """Return the atmospheric pressure at the station. [Pa abs]"""
    level = (station.station.altitude or station.station.datum).si
    return pressure_abs(min(max(level, LOWEST_ALTITUDE), HIGHEST_ALTITUDE))
