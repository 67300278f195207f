"""What auditors ask of one station (handbook 4.5), answered by its certificate alone, of more stations."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from steadyhead.services.certificates.making import make
from tests.services.certificates.test_certificate import QUESTIONS
from tests.services.certificates.visits import KEY, TOUCHED, judged, plan, sheet, station, text_of, visit

pytestmark = pytest.mark.by_turns(3)

WAY = {"E0.SO": "set", "E0.RV": "fits", "E0.MON": "fits", "E0.LB": "fits"}
PUMPED = {("D2.main", "T3.first"): 5.2e5, ("D2.main", "T3.last"): 5.2e5}
"""What a stream's outlet is pumped to while its valve is watched. [Pa]"""
FIRE, PROVED, RANKED = (
    "fire impairments, from when to when",
    "when last proved, result, method",
    "which assets are protected, how ranked",
)
OTHERWISE: dict[str, dict[str, tuple[str, ...]]] = {
    "dunmarrow-bottom": {
        FIRE: ("Fire water none stated to pass through", "fire service 08:04"),
        RANKED: ("Protects house fittings", "Criticality"),
    },
    "quernhollow-lane": {RANKED: ("Protects", "Criticality", "fire water passes through")},
    "fenwarren-gate": {
        FIRE: ("Fire water none stated to pass through", "fire service 08:04"),
        PROVED: (
            "No shut-off stands in this station, so no trip is proved.",
            "Shown as proved on 14 Apr 2027: MON holds when the other reducer fails open; not a guarantee",
            "MON holds when the other reducer fails open stands 14 Apr 2027",
        ),
        RANKED: ("Protects PVC-U distribution mains", "maternity ward on Fenwarren Rise"),
    },
}
"""Where the answer of a station is another than that of the one asked in `test_certificate`."""


@cache
def told(name: str) -> str:
    """Return the text of the certificate of a first commissioning, final, read by another program."""
    taken = {choice.id: WAY[choice.id] for choice in plan("first", name)[0].choices if choice.id in WAY}
    change: dict[tuple[str, str], Any] = dict(PUMPED) if name == "quernhollow-lane" else {}
    run = judged(visit("first", name, way=taken, change=change), "first", name)
    assert run.is_final
    made: Any = make(
        run, plan("first", name)[1], KEY, loaded=station(name)[0], source=station(name)[1], sheet=sheet(name)
    )
    return text_of(made.pdf)


@pytest.mark.parametrize("name", list(OTHERWISE))
def test_a_stranger_can_answer_what_auditors_ask_of_this_station_too(name: str) -> None:
    for question, usual in QUESTIONS.items():
        for words in OTHERWISE[name].get(question, usual):
            assert words in told(name), (question, words)


@pytest.mark.parametrize("changed", [False, True])
def test_after_the_reducer_the_screw_height_of_the_shut_off_is_as_left_unless_turned_since(
    changed: bool,
) -> None:
    name = "dunmarrow-bottom"
    taken = {choice.id: WAY[choice.id] for choice in plan("first", name)[0].choices if choice.id in WAY}
    more = ((*TOUCHED[0][:2], "J1"),) if changed else ()
    run = judged(visit("first", name, way=taken, more=more, asks="provisional"), "first", name)
    made: Any = make(
        run, plan("first", name)[1], KEY, loaded=station(name)[0], source=station(name)[1], sheet=sheet(name)
    )
    height = made.record.setting("SO.trip").height
    assert (height is None) == changed
