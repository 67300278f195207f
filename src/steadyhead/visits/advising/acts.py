"""What an act in a run did to one pilot screw: turned it so far, or worked it nobody knows how far.

Names are compared without regard to case and blanks. What cannot be followed is never passed over.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from math import pi
from typing import Any, Literal

from steadyhead.records.entry import GUARDS, MOVES, TELLS
from steadyhead.records.procedure import Procedure

RAISES, LOWERS = "raise", "lower"
NUTS = ("tighten nut", "slacken nut")
TURNS = (RAISES, LOWERS, "turn", "adjust", "set", *NUTS)
"""Acts that are done with a screw or its nut."""
KEEPS = ("clean", "bleed", "grease", "open cover", "close cover")
"""Acts on a whole valve that leave its screw where it is."""
OWN = ("setting", "screw", "spring", "pilot", "nut")
"""Parts of a valve that its setting stands by."""
NAMES = re.compile(r"\b(screw|spring|pilot|nut|setting)s?\b")
_QUARTER_WORDS = {"half": 0.5, "quarter": 0.25, "eighth": 0.125}
UNITS: Mapping[str, float] = {
    **dict.fromkeys(("", "turn", "turns", "rev", "revs", "revolution", "revolutions"), 1.0),
    **dict.fromkeys(("°", "deg", "degree", "degrees"), 1.0 / 360.0),
    **dict.fromkeys(("rad", "radian", "radians"), 0.5 / pi),
    **{
        f"{word}{more}": share
        for word, share in _QUARTER_WORDS.items()
        for more in ("", "s", " turn", " turns", "s of a turn", " of a turn")
    },
    "halves": 0.5,
    "½": 0.5,
    "¼": 0.25,
    "⅛": 0.125,
}
"""Units of an amount turned, in turns."""

Effect = Literal["none", "turn", "lost", "nut"]


def plain(name: object) -> str:
    """Return a name or verb as it is compared: without stream, case and spare blanks.

    Examples
    --------
    >>> plain(" so.Setting@main ")
    'so.setting'
    """
    text = " ".join(str(name if name is not None else "").split()).casefold()
    return text.partition("@")[0].strip()


def turns_of(payload: Mapping[str, Any]) -> float | None:
    """Return how far a screw was turned, raising positive; None where the act does not say. [turn]

    Examples
    --------
    >>> turns_of({"do": "lower", "thing": "SO.setting", "amount": 45, "unit": "°"})
    -0.125
    >>> turns_of({"do": "raise", "thing": "SO.setting", "amount": 2, "unit": "notches"}) is None
    True
    """
    amount, do = payload.get("amount"), plain(payload.get("do"))
    if isinstance(amount, bool) or not isinstance(amount, int | float) or not 0.0 < amount < float("inf"):
        return None
    size = UNITS.get(plain(payload.get("unit")))
    if size is None or do not in (RAISES, LOWERS):
        return None
    return float(amount) * size if do == RAISES else -float(amount) * size


class Acts:
    """Tells what each act of a run did to the screw of one valve.

    Parameters
    ----------
    valve
        Id of the valve.
    valves
        Every valve of the plan that has a screw.
    procedure
        The plan; None: what it names is not known, and only the valve's own names count.
    """

    def __init__(self, valve: str, valves: Collection[str], procedure: Procedure | None) -> None:
        self.valve, self.valves = plain(valve), {plain(one) for one in valves}
        nodes = procedure.nodes if procedure is not None else ()
        self.works = {node.id: {plain(name) for name in node.touches} for node in nodes}
        named = {plain(name) for node in nodes for name in (*node.touches, *node.depends_on)}
        words = procedure.names if procedure is not None else ()
        named |= {plain(name) for name in words if "/" not in name}
        self.known = named | {name.partition(".")[0] for name in named}

    def effect(self, node: str, payload: Mapping[str, Any]) -> Effect:
        """Return what an act at a step did to the screw."""
        do, thing = plain(payload.get("do")), plain(payload.get("thing"))
        if do in TELLS:
            return "none"
        part = self._part(node, do, thing)
        if part == "none" or (part == "valve" and (do in KEEPS or do in MOVES or do in GUARDS)):
            return "none"
        if part == "nut" or do in NUTS:
            return "nut"
        if part == "unsure" or turns_of(payload) is None:
            return "lost"
        return "turn"

    def _part(self, node: str, do: str, thing: str) -> Literal["none", "valve", "setting", "nut", "unsure"]:
        """Return which part of this valve an act names, or may mean."""
        if not thing:
            return self._meant(node, do)
        if thing == self.valve:
            return "valve"
        if thing.startswith(self.valve) and not thing[len(self.valve)].isalnum():
            part = thing[len(self.valve) + 1 :].strip()
            if part in OWN:
                return "nut" if part == "nut" else "setting"
            return "none" if thing in self.known and not NAMES.search(part) else "unsure"
        if thing in self.known or thing.partition(".")[0] in self.known | self.valves:
            return "none"
        is_screw = do in TURNS or NAMES.search(thing) is not None
        return "unsure" if is_screw and do not in MOVES and do not in GUARDS else "none"

    def _meant(self, node: str, do: str) -> Literal["none", "setting", "unsure"]:
        """Return what an act means that names nothing: what its step works, if that is one screw."""
        if do in MOVES or do in GUARDS or do in KEEPS:
            return "none"
        if node not in self.works:
            return "unsure" if do in TURNS else "none"
        screws = {name for name in self.works[node] if name.partition(".")[2] == "setting"}
        if f"{self.valve}.setting" not in screws:
            return "none"
        return "setting" if len(screws) == 1 else "unsure"
