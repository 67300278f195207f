"""Clocks of single loggers: a channel whose stamps stand apart from the flow's while another keeps time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from steadyhead.watch.defects.apart import of_two_loggers
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.lags import course, lag
from steadyhead.watch.defects.saying import lasting
from steadyhead.watch.defects.series import Series, spots

ANSWERS = (("travel", 1.0), ("inlet pressure", -1.0), ("outlet pressure", -1.0))
"""What moves with the flow, and in which sense."""
NEAR = 120.0
"""Lags this near to each other, and two intervals more, are the same. [s] Own estimate."""
NEAR_ENDS = 240.0
"""The same of the end of a clock that runs away, which is a line through few lags. [s] Own estimate."""


@dataclass(frozen=True, slots=True)
class Told:
    """How far a channel's stamps stand after the flow's at the start and at the end of the record. [s]"""

    one: Series
    sign: float
    first: float
    last: float

    @property
    def runs(self) -> bool:
        """Whether the clock runs away."""
        return self.first != self.last

    @property
    def most(self) -> float:
        """The larger of both without sign."""
        return max(abs(self.first), abs(self.last))


def found(flow: Series, every: Sequence[Series], least: float) -> list[Episode]:
    """Return the channels other than the flow whose logger has a clock of its own.

    Method (own): how far each channel's short swings stand after the flow's. Where those of one logger do and
    another channel's do not, or it lies in the flow's file, the clock of that logger is off or runs away. The
    lag between both must say the same; where it is not clear, files of their own must make a clock of its own
    possible.

    Parameters
    ----------
    least
        Lag from which on it is one. [s]
    """
    told, unclear = _all_told(flow, _asked(flow, every))
    off = [one for one in told if one.most > least]
    out: list[Episode] = []
    seen: set[str] = set()
    for one in off:
        in_time = [t for t in told if not t.runs and t.most <= least]
        in_time += [Told(s, sign, 0.0, 0.0) for s, sign in unclear if _goes_with_flow(s, sign, one, flow)]
        if one.one.id in seen or not in_time or not all(_agrees(one, ref, flow) for ref in in_time):
            continue
        if one.runs and abs(one.first) > least:
            continue  # what it ran before the record is not known
        names = _of_logger(one, flow, every, off, in_time)
        seen.update(names)
        whose = " and ".join(dict.fromkeys(f"the {s.quantity}" for s in every if s.id in names))
        out.append(_episode(one, names, whose, in_time))
    return out


Asked = list[tuple[Series, float]]


def _all_told(flow: Series, asked: Asked) -> tuple[list[Told], Asked]:
    """Return how far channels stand after the flow, and those of which that is not clear.

    Of another logger it may be clear against a channel that keeps time with the flow.
    """
    told = {s.id: _told(flow, s, sign) for s, sign in asked}
    clear = [one for one in told.values() if one is not None]
    in_time = [one for one in clear if not one.runs and one.most < NEAR]
    for s, sign in asked:
        for ref in in_time:
            two = of_two_loggers(s.channel, flow.channel) and of_two_loggers(s.channel, ref.one.channel)
            if told[s.id] is None and two:
                told[s.id] = _told(ref.one, s, sign * ref.sign)
                clear += [replace(one, sign=sign) for one in (told[s.id],) if one is not None]
    return clear, [(s, sign) for s, sign in asked if told[s.id] is None]


def _goes_with_flow(s: Series, sign: float, off: Told, flow: Series) -> bool:
    """Return whether a channel shares the flow's clock by what is off, or by its file."""
    apart = of_two_loggers(off.one.channel, flow.channel) and of_two_loggers(off.one.channel, s.channel)
    if apart and set(s.channel.source_sha256) & set(flow.channel.source_sha256):
        return True
    between = None if off.runs else lag(off.one, s, sign * off.sign)
    return between is not None and abs(between - off.last) <= NEAR + 2.0 * max(off.one.step, s.step)


def _asked(flow: Series, every: Sequence[Series]) -> Asked:
    """Return what to compare with the flow: the first of each quantity, and those of other loggers."""
    out = []
    for quantity, sign in ANSWERS:
        some = [s for s in spots(every, quantity) if s.t.size > 10 and s.regular]
        others = [s for s in some[1:] if of_two_loggers(s.channel, some[0].channel)]
        out += [(s, sign) for s in (*some[:1], *others)]
    return [(s, sign) for s, sign in out if min(s.t[-1], flow.t[-1]) > max(s.t[0], flow.t[0])]


def _told(flow: Series, one: Series, sign: float) -> Told | None:
    late = lag(flow, one, sign)
    if late is not None:
        return Told(one, sign, -late, -late)
    line = course(flow, one, sign)
    if line is None:
        return None
    if abs(line[1] - line[0]) <= NEAR:  # clear in parts only, and the same in all of them
        middle = -0.5 * (line[0] + line[1])
        return Told(one, sign, middle, middle)
    return Told(one, sign, -line[0], -line[1])


def _agrees(one: Told, ref: Told, flow: Series) -> bool:
    """Return whether the lag between both channels is that between the one and the flow, or not clear."""
    two = of_two_loggers(one.one.channel, flow.channel) and of_two_loggers(one.one.channel, ref.one.channel)
    sign = one.sign * ref.sign
    steps = 2.0 * max(flow.step, one.one.step, ref.one.step)
    if not one.runs:
        between = lag(one.one, ref.one, sign)
        return two if between is None else abs(between - (one.last - ref.last)) <= NEAR + steps
    if lag(one.one, ref.one, sign) is not None:
        return False
    line = course(one.one, ref.one, sign)
    return two if line is None else abs(line[1] - one.last) <= NEAR_ENDS + steps


def _of_logger(
    one: Told, flow: Series, every: Sequence[Series], off: Sequence[Told], in_time: Sequence[Told]
) -> tuple[str, ...]:
    """Return the channels that share the clock: of its files, or of the flow's file those as far off."""
    same = {
        t.one.id
        for t in off
        if t.runs == one.runs and abs(t.last - one.last) <= NEAR_ENDS + 2.0 * max(flow.step, one.one.step)
    }
    if of_two_loggers(one.one.channel, flow.channel):
        keep = {t.one.id for t in in_time} | {t.one.id for t in off if t.one.id not in same}
        same |= {s.id for s in every if not of_two_loggers(s.channel, one.one.channel)} - keep
    return tuple(s.id for s in every if s.id in same | {one.one.id} and s.id != flow.id)


def _episode(one: Told, names: tuple[str, ...], whose: str, in_time: Sequence[Told]) -> Episode:
    start, end = moment(one.one.t[0]), moment(one.one.t[-1])
    others = " and ".join(dict.fromkeys(["the flow", *(f"the {t.one.quantity}" for t in in_time)]))
    why = (
        f"short swings of flow and {one.one.quantity}",
        *dict.fromkeys(f"{t.one.quantity} keeps time with the flow" for t in in_time),
    )
    if one.runs:
        words = (
            f"The clock of {whose} runs away from that of {others}: {lasting(one.last)} "
            f"{'fast' if one.last > 0.0 else 'slow'} by the end of the record."
        )
        return Episode(Code.CLOCK_DRIFT, start, end, names, one.last, "s", words, why, "likely")
    side = "after" if one.last > 0.0 else "before"
    words = f"The stamps of {whose} stand {lasting(one.last)} {side} those of {others}."
    return Episode(Code.CLOCK_OFFSET, start, end, names, one.last, "s", words, why, "likely")
