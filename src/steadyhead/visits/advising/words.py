"""The words of an advice: what each status says, and what to do after a shut-off acted before its time."""

from __future__ import annotations

from collections.abc import Mapping
from math import floor

SAYS: Mapping[str, str] = {
    "turn": "Turn, wait until the reading stands, read; enter the turn and the reading.",
    "there": "There. Touch nothing more; the nut, then read again.",
    "no nearer": "As near as the smallest turn brings it. Leave it; the nut, then read again.",
    "no room": "No turn. By what has been seen, even the smallest could pass the test limit. Open the drain "
    "further, lower the setting; a finer gauge or injection goes on from here.",
    "no answer": "No turn. The screw has been raised further than play explains and nothing followed. "
    "Sensing cock, slack spring, stuck pilot: find out before anything is turned.",
    "no fit": "No turn. No spring that could be fitted explains these readings. Check tap, unit, gauge and "
    "the spring's colour against the register. Was it worked, and not entered? Enter that, then read.",
    "over": "No turn up. The outlet was read above the test limit. Open the drain, lower the reducer's "
    "setting, read.",
    "acted": "The shut-off has acted: raise no more. Lower the reducer below the reset value, draw water, "
    "reset it, wait until it stands fully open; then read.",
    "not acted": "No turn up. By this reading the shut-off should have acted: it does not protect. Open the "
    "drain further, lower the reducer; then find out: sensing cock, closing medium, seized pilot, air.",
    "needs first": "No turn. What this step rests on does not stand yet: do that first.",
    "used up": "No turn: chance used up. With one more, closures before their time could pass what one job "
    "allows. Check spring and tag against the register. Then set it by injection, where a closure costs "
    "nobody water; or have one closure more allowed in writing, desk told, drain running.",
    "not counted": "No turn. Its screw, spring or pilot was worked, and no entry says how far. Correct that "
    "entry; or bring it to the top of its range again (C1S), enter that, and come down from there.",
    "sign": "It is about to act: this is the setting. Touch nothing more; nut, mark, screw height, then the "
    "proof. Seen is not proved.",
    "in time": "It acted where it should. Touch the screw no more; bring it back, nut, then the proof.",
    "too soon": "It acted before its time. Raise the setting by this much, then as below.",
    "not found": "No turn. It should have acted long since. Sensing cock, closing medium, seized pilot, air: "
    "raise the setting again, draw water, find out.",
    "read first": "Read first, water running.",
    "raise first": "Not yet: the sensed pressure stands below the reading at which it is to act. Bring it "
    "there first and hold it; lowered now it would be set too low.",
    "coarse": "Spring too coarse for this window: the smallest honest turn is wider than the window, or than "
    "what its tell-tale shows ahead. Fit the spring that belongs to this setting.",
    "kept": "The factory setting is kept: touch nothing. The proof tells whether it holds.",
}
"""What each status says."""

COARSE = (
    "Spring too coarse for this window: 15° moves more than half of how far one trip lies from the next. "
    "Expect to set it more than once, or fit a softer spring."
)

PAST_LIMIT = (
    "The limit at this gauge, {limit}, lies below what this step aims at, {aim}: stop at the limit. Before "
    "more is raised: a finer gauge, or a test limit that was looked at again and written down."
)
"""Told where the aim of a step lies past the limit of its section."""

AGAIN: Mapping[str, tuple[str, ...]] = {
    "upstream": (
        "The outlet stays up, for the reducer is shut as well: lower the reducer below the reset value.",
        "Draw water at the drain until the sensed pressure has fallen.",
        "Latching: reset it by hand. Wait until it stands fully open and T2 is back.",
        "Refill gently, the reducer up to the trip level again, and read.",
        "Approach again as advised, each turn half of the one that shut it at most.",
    ),
    "downstream": (
        "The outlet sinks through the drain, the section between stays up.",
        "Wait until the sensed pressure is below the reset value. Latching: reset it by hand.",
        "Wait until the indicator shows fully open and T2 equals T3, then read.",
        "Approach again as advised, each turn half of the one that shut it at most.",
    ),
    "injected": (
        "Let the pump's pressure off, watch the gauge fall below the reset value.",
        "Latching: reset it by hand, drains open. Wait until it stands fully open.",
        "Pump to the trip level again, and read.",
        "Approach again as advised, each turn half of the one that shut it at most.",
    ),
}
"""After it acted before its time, by where the shut-off stands or what raises the pressure."""

LIVE = "The drain keeps running: shut, the outlet climbs to lock-up. No turn whose outcome you cannot say."
FIRST = (
    "Its spring has not been seen yet: reckon with one four times as stiff as the plate says. "
    "This turn stays below the limit even then."
)
_EIGHTHS = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")


def sequence(step: str) -> str:
    """Return which way back belongs to a step."""
    if step.startswith("IN"):
        return "injected"
    return "downstream" if step.startswith("DS") else "upstream"


def turn_words(turn: float) -> str:
    """Return a turn in words, without its direction. [turn]

    Examples
    --------
    >>> turn_words(1 / 24), turn_words(-0.125), turn_words(1.5), turn_words(2.0)
    ('15°, the smallest honest turn', '⅛ turn (45°)', '1½ turns', '2 turns')
    """
    size = abs(turn)
    eighths = size * 8
    if abs(eighths - round(eighths)) > 1e-9:
        degrees = round(size * 360)
        return f"{degrees}°" + (", the smallest honest turn" if degrees == 15 else "")
    whole, part = divmod(round(eighths), 8)
    if whole == 0:
        return f"{_EIGHTHS[part]} turn ({floor(size * 360 + 0.5)}°)"
    noun = "turn" if whole == 1 and part == 0 else "turns"
    return f"{whole}{_EIGHTHS[part]} {noun}"
