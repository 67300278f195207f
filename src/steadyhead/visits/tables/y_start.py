"""Spring start of a line that was drained for the winter: filled and bled before anything is read."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.procedure import Choice, Node
from steadyhead.visits.tables.c_fill import bleed_texts, cover_caution
from steadyhead.visits.tables.desk import Desk, Needs, is_no, is_yes, one_of, yes_no

FULL, DRAINED = "full", "drained"


def choices(desk: Desk) -> tuple[Choice, ...]:
    """Return the question of a seasonal line, with the steps its two answers open."""
    if not desk.facts.is_seasonal:
        return ()
    options = (
        (FULL, desk.say("Y0.full"), ("Y0F",)),
        (DRAINED, desk.say("Y0.drained"), ("Y0A", "Y0B")),
    )
    return (Choice("Y0", desk.say("Y0.question"), options),)


def ready(desk: Desk) -> list[Needs]:
    """Return what stands before the line is cut off: it is known to be full."""
    return [one_of("Y0F", "Y0B")] if desk.facts.is_seasonal else ["Y1"]


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield Y0 and the steps of its two answers, for a line that is drained each winter."""
    if not desk.facts.is_seasonal:
        return
    yield desk.node("Y0", needs=["Y1"], do=("look",), inputs=yes_no("drained"), out=("outside",))
    yield desk.node(
        "Y0F",
        needs=["Y0"],
        do=("see",),
        inputs=yes_no("solid"),
        otherwise=(("air", is_no("solid")),),
        out=("outside",),
    )
    yield desk.node(
        "Y0A",
        needs=["Y0"],
        do=("cocks", "C2.crack", "C2.speed", "C2.vents"),
        inputs=(*yes_no("solid"), *desk.reads("T1")),
        otherwise=(("C2.spits", is_no("solid")),),
        out=("filling",),
        hazards=(("surge", "surge_fill"), ("pressure", "inlet")),
        opens=("vents",),
        raises=("inlet",),
    )
    yield desk.node(
        "Y0B",
        needs=["Y0A"],
        do=(*bleed_texts(desk), "weeds", "settings", "C4.again"),
        inputs=(*yes_no("crisp", "breather_wet"), *desk.reads("T1")),
        otherwise=(("C3.spongy", is_no("crisp")), ("C3.wet", is_yes("breather_wet"))),
        out=("filling",),
        hazards=(("pressure", cover_caution(desk)),),
        over=desk.pilot(desk.facts.last_reducer),
        restores=("vents",),
    )
