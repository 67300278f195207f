"""Three people setting both pilots of one bench station: advised, by the plate, in quarter turns only."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import floor

from steadyhead.procedure.advice import decide
from steadyhead.procedure.advice_state import State, begin, happened
from steadyhead.records.advice import Event, Screw
from steadyhead.visits.advising.screws import at, seen_screw, unseen_screw
from tests.independent.pilot_bench import Bench, Draw

BAR = 1e5
MOST_MOVES = 120


@dataclass
class Job:
    """What came of one job. error: of the trip as set [bar], None where it was not set."""

    outcome: str = ""
    closures: list[str] = field(default_factory=list)
    unavoidable: int = 0
    above_limit: int = 0
    error: float | None = None
    moves: float = 0.0
    turned: float = 0.0
    minutes: float = 0.0
    spent: float = 0.0
    coarse_said: bool = False


def reducer_table(drawn: Draw) -> Screw:
    error = drawn.gauge_error
    return seen_screw(
        "RV", plate=drawn.reducer_rate * BAR, target=drawn.duty * BAR, limit=(drawn.limit - error) * BAR,
        reading=0.0025 * drawn.span * BAR, from_lowest=True, spread=0.4, window=drawn.repeat * BAR,
    )  # fmt: skip


def shut_off_table(drawn: Draw) -> Screw:
    return unseen_screw(
        "SO", plate=drawn.shut_off_rate * BAR, top=drawn.shut_off_top * BAR, target=drawn.trip * BAR,
        repeat=drawn.repeat * BAR, reading=0.0025 * drawn.span * BAR, spread=0.4,
        has_tell_tale=drawn.tell > 0.0, dead_band=drawn.dead_band * BAR,
        limit=(drawn.limit - drawn.gauge_error) * BAR,
    )  # fmt: skip


class Advised:
    """Does what is advised, and reads after every turn."""

    def __init__(self, drawn: Draw, chance_most: float | None = None) -> None:
        self.drawn = drawn
        self.reducer, self.shut_off = reducer_table(drawn), shut_off_table(drawn)
        if chance_most is not None:
            self.shut_off = replace(self.shut_off, chance_most=chance_most)
        self.known, self.known_off = begin(self.reducer), begin(self.shut_off)
        self.coarse = False

    def raise_reducer(self, bench: Bench, target: float) -> str:
        screw = at(self.reducer, target * BAR)
        self._tell(screw, self.known, "read", bench.read())
        return self._raise(bench, screw)

    def back(self, bench: Bench) -> str:
        """Below its duty with water running, the shut-off reset, and up to it, the trip live."""
        live = (self.drawn.trip * BAR, self.drawn.repeat * BAR)
        screw = replace(at(self.reducer, self.drawn.duty * BAR), trip=live)
        self.known.others = self.known_off.spent
        for _ in range(MOST_MOVES):
            status, turn = decide(screw, self.known)
            if status != "turn" or turn > 0.0:
                break
            bench.turn_reducer(turn)
            happened(screw, self.known, Event("turn", turn))
            self._tell(screw, self.known, "read", bench.read())
        if bench.is_shut:
            bench.reset()
        return self._raise(bench, screw)

    def _raise(self, bench: Bench, screw: Screw) -> str:
        for _ in range(MOST_MOVES):
            status, turn = decide(screw, self.known)
            if status != "turn":
                return status
            acted = bench.turn_reducer(turn)
            happened(screw, self.known, Event("turn", turn, live=screw.trip is not None))
            if acted:
                return "acted"
            self._tell(screw, self.known, "read", bench.read())
        return "too many"

    def lower_shut_off(self, bench: Bench, pressure: float) -> str:
        screw, known = self.shut_off, self.known_off
        known.others = self.known.spent
        self._tell(screw, known, "open", pressure)
        for _ in range(MOST_MOVES):
            status, turn = decide(screw, known)
            if status == "too soon":
                bench.recover(turn)
                happened(screw, known, Event("turn", turn))
                self._tell(screw, known, "open", pressure)
                continue
            if status != "turn":
                return status
            seen = bench.turn_shut_off(turn)
            happened(screw, known, Event("turn", turn))
            self._tell(screw, known, seen, pressure)
        return "too many"

    @staticmethod
    def _tell(screw: Screw, known: State, what: str, bar: float) -> None:
        happened(screw, known, Event(what, bar * BAR))  # type: ignore[arg-type]


class ByPlate:
    """Turns what is missing over the bar per turn of the plate, to the nearest eighth; then eighths."""

    step = 1 / 8

    def __init__(self, drawn: Draw) -> None:
        self.drawn = drawn
        self.coarse = False

    def raise_reducer(self, bench: Bench, target: float) -> str:
        best = 1e9
        for _ in range(MOST_MOVES):
            off = target - bench.read()
            if abs(off) <= 0.05:
                return "there"
            turn = self.amount(off / self.drawn.reducer_rate)
            if abs(off) >= best and abs(turn) <= self.step:
                return "no nearer"
            best = abs(off) if abs(turn) <= self.step else best
            if bench.turn_reducer(turn):
                return "acted"
        return "too many"

    def back(self, bench: Bench) -> str:
        """The same turns back, water running, the shut-off reset; then as before."""
        turn = self.amount((self.drawn.duty - 0.3 - bench.read()) / self.drawn.reducer_rate)
        while bench.read() > self.drawn.duty - 0.2 and bench.moves < MOST_MOVES:
            bench.turn_reducer(turn)
            turn = -self.step
        if bench.is_shut:
            bench.reset()
        return self.raise_reducer(bench, self.drawn.duty)

    def amount(self, wanted: float) -> float:
        sign = 1.0 if wanted > 0.0 else -1.0
        return sign * max(round(abs(wanted) / self.step), 1) * self.step

    def first_fall(self) -> float:
        wanted = (self.drawn.shut_off_top - self.drawn.trip) / self.drawn.shut_off_rate
        return max(floor(wanted / self.step), 1) * self.step

    def lower_shut_off(self, bench: Bench, pressure: float) -> str:
        turn, back = self.first_fall(), 0.0
        for _ in range(MOST_MOVES):
            before = len(bench.closures)
            seen = bench.turn_shut_off(-turn)
            if seen == "sign":
                return "sign"
            if seen == "shut":
                if bench.closures[before] == "as meant":
                    return "in time"
                free = (self.drawn.dead_band + 0.5) / self.drawn.shut_off_rate
                back = (floor(free / self.step) + 1) * self.step
                bench.recover(back)
                turn = self.halved(min(turn, back))
                continue
            turn = turn if back else self.step
        return "too many"

    def halved(self, turn: float) -> float:
        return max(turn / 2, 1 / 24)


class Quarters(ByPlate):
    """A quarter turn each time, whatever is read."""

    step = 1 / 4

    def amount(self, wanted: float) -> float:
        return self.step if wanted > 0.0 else -self.step

    def first_fall(self) -> float:
        return self.step

    def halved(self, turn: float) -> float:
        return max(turn / 2, 1 / 24)


STRATEGIES = {"advised": Advised, "by the plate": ByPlate, "quarters": Quarters}


def work(drawn: Draw, strategy: str, *, by_pump: bool = False, chance_most: float | None = None) -> Job:
    """Set both pilots: reducer to duty, on to the trip, shut-off down to it, reducer back to duty."""
    bench, hand = Bench(drawn), STRATEGIES[strategy](drawn)
    if chance_most is not None:
        hand = Advised(drawn, chance_most)
    job = Job()
    started_above = bench.outlet > drawn.limit
    outcome = _both(bench, hand, drawn, by_pump=by_pump)
    unavoidable = drawn.shut_off.pressure - drawn.repeat < drawn.trip
    early = [one for one in bench.closures if one != "as meant"]
    job.outcome, job.closures = outcome, early
    job.unavoidable = int(unavoidable and bool(early))
    job.above_limit = 0 if started_above else bench.above_limit
    job.error = bench.error() if outcome.startswith(("set", "told")) else None
    job.moves, job.turned, job.minutes = bench.moves, bench.turned, bench.minutes
    job.coarse_said = hand.coarse
    if isinstance(hand, Advised):
        job.spent = hand.known_off.spent + hand.known.spent
    return job


def _both(bench: Bench, hand: Advised | ByPlate, drawn: Draw, *, by_pump: bool) -> str:
    if by_pump:
        bench.hold(drawn.trip)
    else:
        for target in (drawn.duty, drawn.trip):
            found = hand.raise_reducer(bench, target)
            if found not in ("there", "no nearer"):
                return f"reducer: {found}"
    found = hand.lower_shut_off(bench, bench.read())
    if found in ("in time", "sign") and not by_pump:
        back = hand.back(bench)
        if back == "acted":
            return "set, acted at duty"
    return {"in time": "set", "sign": "told"}.get(found, f"shut-off: {found}")
