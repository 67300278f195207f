"""Make the engines ready before somebody waits for them: loaded, compiled where that is missing, used."""

from __future__ import annotations

EXAMPLE = "quernhollow-lane"


def warm_up() -> None:
    """Judge a station once, so that the first change on a page is answered as quickly as the next ones."""
    from steadyhead.services.stations.days import today
    from steadyhead.services.stations.judged import judge_at
    from steadyhead.station import examples

    judge_at(examples.read(EXAMPLE), today())
