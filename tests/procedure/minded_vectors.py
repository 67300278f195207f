"""Makes `tests/vectors/minded.json`: what is done beside a plan that minds it, and what follows.

Stated by hand from the findings' own words. Run ``python -m tests.procedure.minded_vectors`` to write it.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from steadyhead.procedure.plain import plain
from steadyhead.records.minding import Instead, Leaving, Minding, Shield, Trial
from steadyhead.records.procedure import Procedure
from tests.procedure.kettle import kettle
from tests.procedure.minded_writers import (
    Write,
    acts,
    again,
    agreed,
    astray,
    extra_again,
    left_so,
    moved_between,
    positions,
    poured_again,
    reread,
    said,
    shut_first,
    unsaid,
    unsaid_position,
    void,
)
from tests.procedure.more_minded_cases import MORE
from tests.procedure.pen import Pen, clean

FILE = Path(__file__).parent.parent / "vectors" / "minded.json"
WORKS = {"B2": "cup.handle", "C": "cup.foot", "D": "lid.nut", "E": "tap.washer", "P": "scale.setting"}
"""What steps of the plan work besides."""
OUT = ("safe.out_of_way", "safe.seal")
"""What A puts out of the way, and C back."""


def minded() -> Procedure:
    """Return the plan of the kettle that minds its handle, its tap, and the scale while it is heated."""
    minding = Minding(
        parts=("kettle", "scale", "cup", "lid", "tap", "safe"),
        things=(
            *("kettle.screw", "kettle.burner", "scale.spring", "cup.glass", "cup.handle", "cup.foot"),
            *("safe.feed", "safe.flow_switch"),
        ),
        left=(
            Leaving("tap", ("shut", "closed"), ("C",)),
            Leaving("cup.handle", ("sealed",)),
            Leaving("safe", ("open",), ("C",)),
            Leaving("kettle", ("seated", "in place"), ("C",), unclear=("shut",)),
        ),
        guards=("cup", "cup.handle", "kettle", "safe"),
        may=("lid",),
        called=("handle bar", "safety"),
        instead=(Instead("D", "Q", "strong"),),
        shields=(Shield("scale.true", ("P",), ("B1",), (), ("scale",)),),
        trials=(
            Trial("B1", "heat", "heat", "", 4.5e5, 6.0e5),
            Trial("D", "b", "mean", "a"),
            Trial("D", "extra", above="a", by=50.0, run=("D", "b")),
        ),
        causes=("boiled too fast", "lid open"),
        stops=("A",),
    )
    nodes = tuple(
        replace(
            node,
            touches=(*node.touches, *((WORKS[node.id],) if node.id in WORKS else ())),
            opens=(*node.opens, *(OUT if node.id == "A" else ())),
            restores=(*node.restores, *(OUT if node.id == "C" else ())),
        )
        for node in kettle().nodes
    )
    return replace(kettle(), minding=minding, nodes=nodes)


CASES: tuple[tuple[str, Write, dict[str, Any]], ...] = (
    ("a clean run", lambda pen, made: None, {"blocks": [], "told": []}),
    (
        "what no proof rests on",
        lambda pen, made: pen.do("turn", "cup.handle"),
        {"blocks": ["RUN-50 cup.handle"]},
    ),
    (
        "the whole cup",
        lambda pen, made: pen.do("replace", "cup"),
        {"blocks": ["RUN-50 cup.handle", "RUN-12 kettle.poured"]},
    ),
    ("a thing nobody knows", lambda pen, made: pen.do("turn", "door"), {"blocks": ["RUN-51 door"]}),
    ("nothing named", lambda pen, made: pen.do("turn"), {"blocks": ["RUN-51 turn"]}),
    ("outside the kettle", lambda pen, made: pen.do("turn", "outside.door"), {"blocks": []}),
    (
        "what protects, said to be outside",
        lambda pen, made: pen.do("turn", "outside.safety"),
        {"blocks": ["RUN-51 outside.safety"]},
    ),
    ("left open", lambda pen, made: pen.do("open", "tap"), {"blocks": ["RUN-52 tap"]}),
    (
        "left open by a position, and shut",
        lambda pen, made: [
            pen.write("position", "", {"thing": "tap", "is": one}) for one in ("open", "closed")
        ],
        {"blocks": []},
    ),
    ("moved under the heat", moved_between, {"blocks": ["RUN-53 B1"], "missing": ["scale.true"]}),
    ("a note alone", lambda pen, made: pen.write("note", "", {"text": "turned the screw"}), {"blocks": []}),
    (
        "lost at a step that is gone through once",
        lambda pen, made: pen.do("turn", "cup.glass"),
        {"blocks": ["RUN-12 kettle.poured"], "next": ["Q", "K"]},
    ),
    (
        "moved before the heat",
        lambda pen, made: pen.do("open", "scale"),
        {"blocks": [], "missing": ["scale.true"]},
    ),
    (
        "a described gauge put on and taken off",
        lambda pen, made: [pen.do(one, "g1", "B1") for one in ("connect", "remove", "disconnect")],
        {"blocks": []},
    ),
    (
        "a described gauge said to be off",
        lambda pen, made: pen.write("position", "", {"thing": "G1", "is": "removed"}),
        {"blocks": []},
    ),
    ("a gauge nobody described", lambda pen, made: pen.do("connect", "G9"), {"blocks": ["RUN-51 G9"]}),
    ("a described gauge that is turned", lambda pen, made: pen.do("turn", "G1"), {"blocks": ["RUN-51 G1"]}),
    (
        "a note taken back",
        unsaid("Handle-bar bent back."),
        {"blocks": ["RUN-56 run"], "told": ["RUN-55 run"]},
    ),
    ("a plain note taken back", unsaid("Unsafetyed."), {"blocks": [], "told": ["RUN-55 run"]}),
    ("taken back", void("cup.handle"), {"blocks": ["RUN-56 run"], "told": ["RUN-55 run"]}),
    ("taken back, agreed by the same", agreed("Ilse"), {"blocks": ["RUN-56 run"], "told": ["RUN-55 run"]}),
    ("taken back, agreed", agreed("Tam"), {"blocks": [], "told": ["RUN-55 run"]}),
    ("taken back, agreed by nobody known", agreed("Nobody"), {"blocks": ["RUN-56 run"]}),
    ("taken back, looked at outside", agreed("Tam", thing="outside.x"), {"blocks": ["RUN-56 run"]}),
    (
        "at a step not on this way",
        lambda pen, made: pen.do("turn", "cup.handle", "B2"),
        {"blocks": ["RUN-50 cup.handle"]},
    ),
    (
        "put out and back, accepted",
        acts(("defeat", "cup"), ("bridge contacts", "cup"), accepted=("cup", "cup bridged")),
        {"blocks": ["RUN-13 cup", "RUN-13 cup bridged"], "told": ["RUN-16 cup"]},
    ),
    ("locked", acts(("lock", "cup"), accepted=("cup locked",)), {"blocks": ["RUN-13 cup locked"]}),
    (
        "locked and held, and let go",
        acts(("lock", "cup"), ("hold", "cup"), ("unlock", "cup"), ("release", "cup")),
        {"blocks": []},
    ),
    ("a lid locked", acts(("lock", "lid")), {"blocks": []}),
    ("what may be left so", left_so, {"blocks": ["RUN-52 tap"], "told": ["RUN-17 lid", "RUN-16 tap"]}),
    (
        "put out and back after the proof",
        acts(("defeat", "cup"), ("restore", "cup")),
        {"blocks": ["RUN-50 cup.handle", "RUN-12 kettle.poured"]},
    ),
    (
        "a part said to be bent, and not",
        positions("cup.glass", "bent", "in place"),
        {"blocks": ["RUN-12 kettle.poured"]},
    ),
    ("a seal broken", acts(("break seal", "cup.handle")), {"blocks": ["RUN-52 cup.handle"]}),
    ("a seal broken and made", acts(("break seal", "cup.handle"), ("seal", "CUP.handle")), {"blocks": []}),
    ("a position taken back", unsaid_position("bent"), {"blocks": ["RUN-56 run"], "told": ["RUN-55 run"]}),
    ("a good position taken back", unsaid_position("sealed"), {"blocks": [], "told": ["RUN-55 run"]}),
    (
        "signed by nobody known",
        lambda pen, made: pen.write("sign", "K", {"asks": "final", "statement": "x"}, who="Nobody"),
        {"blocks": [], "told": ["RUN-05 K"]},
    ),
    (
        "worked by its step after its readings",
        lambda pen, made: pen.do("turn", "cup.foot", "C"),
        {"blocks": ["RUN-50 cup.foot"]},
    ),
    (
        "put out at the step that orders it, after it was put back",
        lambda pen, made: pen.do("defeat", "safe", "A"),
        {"blocks": ["RUN-13 safe.out_of_way", "RUN-50 safe.feed", "RUN-50 safe.flow_switch"]},
    ),
    (
        "put out so and back",
        lambda pen, made: [pen.do("defeat", "safe", "A"), pen.do("restore", "SAFE")],
        {"blocks": ["RUN-50 safe.feed", "RUN-50 safe.flow_switch"]},
    ),
    (
        "a wire broken at a step that orders another act",
        lambda pen, made: pen.do("break wire", "safe.flow_switch", "A"),
        {"blocks": ["RUN-13 safe.flow_switch", "RUN-50 safe.flow_switch"]},
    ),
    (
        "locked at a step that orders another act",
        lambda pen, made: [
            pen.do("lock", "safe", "A"),
            pen.write("position", "", {"thing": "safe", "is": "open"}),
        ],
        {"blocks": ["RUN-13 safe locked"]},
    ),
    (
        "a seal broken at the step that orders it, after it was made",
        lambda pen, made: pen.do("break seal", "safe", "A"),
        {"blocks": ["RUN-13 safe.seal"]},
    ),
    (
        "a seal broken so and made",
        lambda pen, made: [pen.do("break seal", "safe", "A"), pen.do("seal", "safe")],
        {"blocks": []},
    ),
    (
        "tripped, by an act that names nothing",
        lambda pen, made: pen.do("trip", "", "E"),
        {"blocks": ["RUN-52 safe"]},
    ),
    (
        "what cannot close by itself, cut off",
        lambda pen, made: [pen.do("shut", "cup"), pen.do("open", "cup")],
        {"blocks": ["RUN-50 cup.handle", "RUN-12 kettle.poured"]},
    ),
    (
        "a line of a part without a name in the plan",
        lambda pen, made: pen.do("disconnect", "scale tube"),
        {"blocks": ["RUN-12 scale.true"], "missing": ["scale.true"]},
    ),
    (
        "connected at its own step, after people had gone on",
        lambda pen, made: pen.do("connect", "kettle", "D"),
        {"blocks": ["RUN-12 kettle.poured"]},
    ),
    (
        "put out of the way late at the step that orders it, naming nothing, and that put back again",
        lambda pen, made: [pen.do("defeat", "", "A"), pen.do("tick", "", "C")],
        {"blocks": ["RUN-50 safe.feed"]},
    ),
    (
        "moved by an act that names nothing at no step",
        lambda pen, made: pen.do("lock", ""),
        {"blocks": ["RUN-51 lock"]},
    ),
    (
        "what protects said to be kept from acting, before it was looked at",
        lambda pen, made: [
            pen.write("position", "", {"thing": "safe", "is": "Wedged open"}),
            pen.do("tick", "", "C"),
        ],
        {"blocks": ["RUN-50 safe.feed"]},
    ),
    (
        "what protects said to stand in words that nobody knows",
        lambda pen, made: [
            pen.write("position", "", {"thing": "safe", "is": "gagd"}),
            pen.write("position", "", {"thing": "safe", "is": "open"}),
        ],
        {"blocks": ["RUN-50 safe.feed"]},
    ),
    (
        "what protects said to have moved, and to be open again",
        lambda pen, made: [
            pen.write("position", "", {"thing": "safe", "is": "tripped, latched"}),
            pen.write("position", "", {"thing": "safe", "is": "open"}),
        ],
        {"blocks": []},
    ),
    (
        "what protects said to be shut, before it was looked at",
        lambda pen, made: [
            pen.write("position", "", {"thing": "kettle", "is": "Fully shut"}),
            pen.do("tick", "", "C"),
        ],
        {"blocks": ["RUN-57 kettle"]},
    ),
    ("said so, and then which", said(("kettle", "shut"), ("kettle", "seated")), {"blocks": []}),
    ("said so, and then of its cock", said(("kettle", "shut"), ("kettle cock", "in place")), {"blocks": []}),
    (
        "said so, and then of another part",
        said(("kettle", "shut"), ("kettle.screw", "in place")),
        {"blocks": ["RUN-57 kettle"]},
    ),
    ("said so before it was proved", shut_first, {"blocks": []}),
    ("said so with which", said(("kettle", "shut, dry")), {"blocks": ["RUN-52 kettle"]}),
    (
        "said so at the step that works it",
        lambda pen, made: pen.write("position", "B1", {"thing": "kettle", "is": "shut"}),
        {"blocks": ["RUN-52 kettle"]},
    ),
    (
        "a cock of what protects said to be shut, and open again",
        said(("kettle", "cock shut"), ("kettle", "in place")),
        {"blocks": ["RUN-12 kettle.hot"]},
    ),
    (
        "a cock without a name in the plan said to be shut, and open again",
        said(("kettle cock", "shut"), ("kettle cock", "in place")),
        {"blocks": ["RUN-12 kettle.hot"]},
    ),
    (
        "moved by an act that names nothing at a step that works something",
        lambda pen, made: pen.do("hold", "", "E"),
        {"blocks": ["RUN-51 hold"]},
    ),
    (
        "turned by an act that names nothing at a step that works something",
        lambda pen, made: pen.do("turn", "", "E"),
        {"blocks": ["RUN-51 turn"]},
    ),
    (
        "what a step that works a screw orders, naming nothing",
        lambda pen, made: [
            pen.do("raise", "", "P"),
            pen.do("tighten nut", "", "D"),
            pen.do("clean", "", "E"),
        ],
        {"blocks": []},
    ),
    (
        "what it does not order, naming nothing",
        lambda pen, made: [
            pen.do("replace", "", "P"),
            pen.do("tighten nut", "", "P"),
            pen.do("set", "", "D"),
        ],
        {"blocks": ["RUN-51 replace", "RUN-51 tighten nut", "RUN-51 set"]},
    ),
    (
        "water moved by an act that names nothing at a step",
        lambda pen, made: pen.do("draw water", "", "D"),
        {"blocks": []},
    ),
    ("a piece taken off", acts(("remove", "tap.washer")), {"blocks": ["RUN-52 tap.washer"]}),
    (
        "a piece taken off and fitted",
        acts(("remove", "tap.washer"), ("refit", "tap.washer")),
        {"blocks": []},
    ),
    ("a reading taken back", reread(3.4e5), {"blocks": [], "told": ["RUN-55 B1"]}),
    ("a failing reading taken back", reread(4.6e5), {"blocks": ["RUN-56 run"], "told": ["RUN-55 B1"]}),
    (
        "a failing reading corrected",
        reread(4.6e5, "correction"),
        {"blocks": ["RUN-56 run"], "told": ["RUN-55 B1"]},
    ),
    ("a trial inside, and again", again(3.4e5), {"blocks": []}),
    ("a trial above, and again", again(4.6e5), {"blocks": ["RUN-59 B1"]}),
    ("a trial below, and again", again(2.0e5), {"blocks": ["RUN-59 B1"]}),
    (
        "a trial above, and a note",
        again(4.6e5, "note 4.6 bar: Lid open."),
        {"blocks": [], "told": ["RUN-59 B1"]},
    ),
    (
        "a trial above, and a bare cause",
        again(4.6e5, "note lid open"),
        {"blocks": [], "told": ["RUN-59 B1"]},
    ),
    ("a trial above, and any note", again(4.6e5, "note sunny"), {"blocks": ["RUN-59 B1"]}),
    ("a trial above, and a point", again(4.6e5, "note ."), {"blocks": ["RUN-59 B1"]}),
    ("a trial above, and no cause", again(4.6e5, "note not lid open"), {"blocks": ["RUN-59 B1"]}),
    ("a trial above, and nobody's note", again(4.6e5, "nobody"), {"blocks": ["RUN-59 B1"]}),
    (
        "a trial above, and the owner's word",
        again(4.6e5, "owner"),
        {"blocks": ["RUN-59 B1"], "told": ["RUN-17 B1"]},
    ),
    ("a trial above what it bears, and the owner's word", again(6.5e5, "owner"), {"blocks": ["RUN-59 B1"]}),
    ("beyond the edge at no step", astray("", "heat", 4.6e5), {"blocks": ["RUN-59 B1"]}),
    ("beyond the edge under another name", astray("B1", "T", 4.6e5), {"blocks": ["RUN-59 B1"]}),
    ("inside the edge at no step", astray("", "heat", 4.4e5), {"blocks": []}),
    ("beyond the edge at another tap", astray("", "heat", 4.6e5, tap="S"), {"blocks": []}),
    ("a rise, and again", extra_again(60.0), {"blocks": ["RUN-59 D"]}),
    ("no rise, and again", extra_again(20.0), {"blocks": []}),
    ("a rise, and again after another run", extra_again(60.0, 2.5), {"blocks": [], "told": ["RUN-59 D"]}),
    ("a trial above, and a note elsewhere", again(4.6e5, "elsewhere"), {"blocks": ["RUN-59 B1"]}),
    ("a trial above, and a note the next day", again(4.6e5, "late"), {"blocks": ["RUN-59 B1"]}),
    ("a trial above what it bears, and a note", again(6.5e5, "note lid open"), {"blocks": ["RUN-59 B1"]}),
    ("a trial above, and a touch", again(4.6e5, "touch"), {"blocks": ["RUN-12 kettle.poured"]}),
    (
        "a trial above, read again, and made void by the same",
        again(4.6e5, "void"),
        {"blocks": ["RUN-56 run"], "told": ["RUN-55 B1"]},
    ),
    ("a middle above, and again", poured_again, {"blocks": ["RUN-59 D"]}),
)


def file() -> dict[str, Any]:
    """Return the whole content of the vectors file."""
    cases = []
    for name, write, wanted in (*CASES, *MORE):
        pen = Pen()
        write(pen, clean(pen))
        cases.append({"name": name, "entries": pen.made, "wanted": wanted})
    return {"procedure": plain(minded()), "cases": cases}


if __name__ == "__main__":
    found = file()
    lines = ",\n".join(json.dumps(one, ensure_ascii=False, separators=(",", ":")) for one in found["cases"])
    FILE.write_text(
        f'{{\n"procedure": {json.dumps(found["procedure"])},\n"cases": [\n{lines}\n]\n}}\n', "utf-8"
    )
