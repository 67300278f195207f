"""The next turn as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steadyhead.cli.showing import paragraph
from steadyhead.records.advice import Advice
from steadyhead.services.advising import Advised
from steadyhead.units import UnitSet, say, say_most
from steadyhead.visits.advising.words import (
    AGAIN,
    COARSE,
    FIRST,
    LIVE,
    PAST_LIMIT,
    SAYS,
    sequence,
    turn_words,
)


def advised_text(found: Sequence[Advised], units: UnitSet) -> str:
    """Return the advice for each screw whose step can be done now, else for the first; others are named."""
    now = [one for one in found if one.is_now] or list(found[:1])
    later = [f"{one.aim.valve} at {one.aim.step}" for one in found if one not in now]
    blocks = ["\n".join(_screw(one, units)) for one in now]
    if later:
        blocks.append(paragraph(f"Later: {', '.join(later)}."))
    return "\n".join(blocks) + "\n"


def _screw(one: Advised, units: UnitSet) -> Iterator[str]:
    yield f"{one.aim.valve} at {one.aim.step}{'' if one.is_now else ', not yet to be done'}"
    if one.advice is None:
        yield _line(SAYS["kept"])
        return
    if one.waits:
        yield _line(f"Does not stand yet: {', '.join(one.waits)}.")
    told = one.advice
    yield _line(f"To be reached at {one.aim.tap}: {_target(one, units)}.")
    if told.turn != 0.0:
        yield _line(
            f"{'Raise' if told.turn > 0 else 'Lower'} by {turn_words(told.turn)} ({_way(one, told)}). "
            f"{SAYS[told.status]}"
        )
        yield from (_line(text) for text in _turn(one, told, units))
    else:
        yield _line(SAYS[told.status])
    if told.status == "read first" and one.feeds and one.screw.sees == "gauge":
        yield _line(f"Counted at {one.aim.step}: {' or '.join(one.feeds)}, at trickle, the shut-off open.")
    if told.status == "too soon":
        yield from (paragraph(text, 6, "    - ") for text in AGAIN[sequence(one.aim.step)])
    if told.is_past:
        yield _line(PAST_LIMIT.format(aim=_pressure(one.aim.target, units), limit=_limit(one, units)))
    if told.is_coarse and told.status != "coarse":
        yield _line(COARSE)
    if told.status not in ("read first", "needs first", "not counted"):
        yield from (_line(text) for text in _known(one, told, units))


def _way(one: Advised, told: Advice) -> str:
    """Return which way the screw is turned; where the plan does not say it, the plate does."""
    if not one.raises:
        return "screw direction not stated: read the plate"
    turned = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}
    return f"screw {one.raises if told.turn > 0 else turned[one.raises]}"


def _target(one: Advised, units: UnitSet) -> str:
    """Return the reading it is brought to; of a run, where the shut-off is to act, the highest one."""
    if one.screw.step <= 0.0:
        return _limit(one, units) if one.screw.aims_past else _pressure(one.aim.target, units)
    return f"until the shut-off acts, {say_most(one.screw.reached_at, 'pressure', units)} at most"


def _limit(one: Advised, units: UnitSet) -> str:
    return say_most(one.screw.limit, "pressure", units)


def _turn(one: Advised, told: Advice, units: UnitSet) -> Iterator[str]:
    is_gauge = one.screw.sees == "gauge"
    what = f"Expected at {one.aim.tap} after it" if is_gauge else "Its setting after it"
    low, middle, high = (_pressure(si, units) for si in (told.low, told.middle, told.high))
    yield f"{what}: {middle}, between {low} and {high}."
    if is_gauge:
        if told.turn > 0.0:
            limit = _limit(one, units)
            at_worst = _pressure(told.worst, units)
            yield f"At worst {at_worst}; limit at this gauge, its error taken off: {limit}."
            if told.rate_most >= one.screw.most:
                yield FIRST
        else:
            yield "A lowered setting counts only after water has been drawn and the reading has followed."
        yield LIVE
    elif told.turn < 0.0:
        yield f"Chance that it acts in this turn: {_share(told.acts)}."
    yield (
        f"Chance of a closure before its time: {_share(told.chance)} in this turn, {_share(told.spent)} "
        f"spent; {_together(told.chance + told.spent, one.screw.chance_most)}"
    )


def _together(chance: float, most: float) -> str:
    if chance <= most + 5e-4:
        return f"together below {_share(most)} in one job."
    return f"more than the {_share(most)} of one job, by turns that were not advised."


def _known(one: Advised, told: Advice, units: UnitSet) -> Iterator[str]:
    low, rate, high, most = (
        say(si, "pressure_per_turn", units)
        for si in (told.rate_low, told.rate, told.rate_high, told.rate_most)
    )
    plate = say(one.screw.plate, "pressure_per_turn", units)
    yield (
        f"By the turns so far: {rate}, between {low} and {high} (plate: {plate}); "
        f"play {told.play_low:.2f} to {told.play_high:.2f} turn."
    )
    if one.screw.sees == "gauge":
        yield f"Stiffest spring still possible: {most}."


def _pressure(si: float, units: UnitSet) -> str:
    return say(si, "pressure", units)


def _share(part: float) -> str:
    return f"{100.0 * part:.1f} %" if part >= 0.0005 else "below 0.1 %"


def _line(text: str) -> str:
    return paragraph(text, 4, "  ")
