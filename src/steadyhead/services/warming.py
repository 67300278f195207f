"""Make the engines ready before somebody waits for them: loaded, compiled where that is missing, used."""

from __future__ import annotations

EXAMPLE = "quernhollow-lane"
CHANGED = ("supply", "typical")
"""What is changed in it."""


def warm_up() -> None:
    """Try a change of a station once, so that the first one on a page is answered as quickly as the next."""
    from steadyhead.services.stations.days import today
    from steadyhead.services.stations.judged import judge_at
    from steadyhead.services.stations.steps import Step
    from steadyhead.services.stations.trying import drafted, view_of, without_proof
    from steadyhead.station import examples

    source, day = examples.read(EXAMPLE), today()
    judge_at(source, day)
    steps = (Step(do="set", at=CHANGED, value="9 bar"),)
    view_of(EXAMPLE, 1, 1, drafted(source, steps, day), without_proof(source, day), with_map=True)
