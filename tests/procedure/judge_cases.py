"""Cases for the judge written by hand: what is entered about the kettle, and what follows from it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.procedure.pen import Made, Pen, clean

ALL_DONE = {
    "A": "done",
    "Q": "done",
    "P": "done",
    "B1": "done",
    "C": "done",
    "D": "done",
    "E": "done",
    "K": "open",
}
VALID = {"scale.true": "valid", "kettle.hot": "valid", "kettle.poured": "valid"}
Write = Callable[[Pen], None]
Case = tuple[str, Callable[[Pen], None], dict[str, Any]]


def _after(act: str, thing: str = "", node: str = "", **more: Any) -> Callable[[Pen], None]:
    def write(pen: Pen) -> None:
        clean(pen)
        pen.do(act, thing, node, **more)

    return write


def _changed(name: str, **keys: Any) -> Callable[[Pen], None]:
    def write(pen: Pen) -> None:
        payload = clean(pen)[name]["payload"]
        for key, value in keys.items():
            if value is None:
                payload.pop(key, None)
            else:
                payload[key] = value

    return write


def _without(*names: str) -> Callable[[Pen], None]:
    def write(pen: Pen) -> None:
        made = clean(pen)
        pen.made = [entry for entry in pen.made if all(entry is not made[name] for name in names)]

    return write


def _then(*more: Callable[[Pen, dict[str, Made]], Any]) -> Callable[[Pen], None]:
    def write(pen: Pen) -> None:
        made = clean(pen)
        for one in more:
            one(pen, made)

    return write


def _accept(about: str, **keys: Any) -> Callable[[Pen, dict[str, Made]], Any]:
    said = {"what": "w", "risk": "r", "owner": "o", "due": "2027-06-01", "accepted_by": "b", **keys}
    return lambda pen, made: pen.write("deviation", "", {"about": about, **said})


def _amend(kind: str, name: str, **payload: Any) -> Callable[[Pen, dict[str, Made]], Any]:
    given = {"payload": payload} if kind == "correction" else {}
    return lambda pen, made: pen.write(kind, "", {"reason": "typing", **given}, replaces=made[name]["id"])


def _sign(asks: str) -> Callable[[Pen, dict[str, Made]], Any]:
    return lambda pen, made: pen.write("sign", "", {"asks": asks})


def screwed(pen: Pen, made: dict[str, Made]) -> Any:
    return pen.do("turn", "kettle.screw")


def unticked(pen: Pen, made: dict[str, Made]) -> Any:
    pen.made.remove(made["tick"])


def no_first(pen: Pen, made: dict[str, Made]) -> Any:
    pen.made.remove(made["first"])


def void_last(pen: Pen, made: dict[str, Made]) -> Any:
    return pen.write("void", "", {"reason": "no"}, replaces=pen.made[-1]["id"])


STALE_HOT = {"scale.true": "valid", "kettle.hot": "stale", "kettle.poured": "stale"}
ALL_STALE = dict.fromkeys(VALID, "stale")
HOT_GONE = {"scale.true": "valid", "kettle.hot": "refused", "kettle.poured": "open"}
B1_NO, D_NO = [["RUN-06", "B1"]], [["RUN-06", "D"]]
HOT_OPEN = [["RUN-11", "kettle.poured"]]


def _unfit(**keys: Any) -> tuple[Callable[[Pen], None], dict[str, Any]]:
    return _changed("heat", **keys), {"proofs": HOT_GONE, "blocks": B1_NO + HOT_OPEN}


HAND: list[Case] = [
    (
        "nothing entered",
        lambda pen: None,
        {"proofs": dict.fromkeys(VALID, "open"), "items": {"lid": "not opened"}},
    ),
    (
        "a clean run",
        _then(),
        {"steps": ALL_DONE, "proofs": VALID, "items": {"lid": "restored"}, "blocks": []},
    ),
    (
        "the screw turned after",
        _after("turn", "kettle.screw"),
        {"proofs": STALE_HOT, "blocks": [["RUN-12", "kettle.hot"], ["RUN-12", "kettle.poured"]]},
    ),
    ("the part named, not the screw", _after("adjust", "kettle"), {"proofs": STALE_HOT}),
    ("the spring replaced after", _after("replace", "scale.spring"), {"proofs": ALL_STALE}),
    (
        "the cup shut is the cup touched",
        _after("shut", "cup.glass"),
        {"proofs": {"kettle.hot": "valid", "kettle.poured": "stale"}},
    ),
    ("a cup moved by its part name is not touched", _after("shut", "cup"), {"proofs": VALID, "blocks": []}),
    ("the burner is nobody's ground", _after("turn", "kettle.burner"), {"proofs": VALID, "blocks": []}),
    ("a thing not known", _after("turn", "door"), {"proofs": VALID, "blocks": []}),
    ("looking touches nothing", _after("look", "kettle.screw"), {"proofs": VALID, "blocks": []}),
    ("sealing touches nothing", _after("seal", "kettle.screw"), {"proofs": VALID, "blocks": []}),
    ("an act nobody knows touches", _after("polish", "kettle.screw"), {"proofs": STALE_HOT}),
    (
        "a knock refuses the pouring",
        _after("knock"),
        {"steps": {"D": "refused"}, "blocks": [["RUN-09", "D"]]},
    ),
    ("a touch by another device", _after("turn", "kettle.screw", device="d2"), {"proofs": STALE_HOT}),
    (
        "a voided touch is none",
        lambda pen: _void_last(pen, "turn", "kettle.screw"),
        {"proofs": VALID, "blocks": []},
    ),
    ("the answer no", _changed("ok", value=False), {"steps": {"A": "refused"}, "blocks": [["RUN-08", "A"]]}),
    (
        "a boolean is no number",
        _changed("heat", value=True),
        {"steps": {"B1": "open"}, "blocks": [["RUN-06", "B1"], ["RUN-07", "B1"], *HOT_OPEN]},
    ),
    ("a number is no answer", _changed("ok", value=1.0), {"steps": {"A": "open"}}),
    ("blank text says nothing", _changed("why", value="  "), {"steps": {"Q": "open"}}),
    ("no tap", *_unfit(tap=None)),
    ("another tap", *_unfit(tap="T9")),
    ("no instrument", *_unfit(instrument=None)),
    ("an instrument nobody described", *_unfit(instrument="G9")),
    ("another quantity", *_unfit(quantity="flow")),
    ("no flow", *_unfit(flow=None)),
    ("not held long enough", *_unfit(steady_for=59.0)),
    ("held long enough, moved too much", *_unfit(steady_within=501.0)),
    ("not said how still", *_unfit(steady_for=None)),
    ("it swings", *_unfit(swing={"mean": 3.5e5, "peak_to_peak": 2e4, "period": 3.0})),
    ("held just long enough", _changed("heat", steady_for=60.0), {"proofs": VALID, "blocks": []}),
    ("due on the day is in date", _changed("gauge", due="2027-04-14"), {"proofs": VALID, "blocks": []}),
    (
        "due the day before",
        _changed("gauge", due="2027-04-13"),
        {"proofs": {"scale.true": "refused", "kettle.hot": "refused"}},
    ),
    ("due date not stated", _changed("gauge", due=None), {"proofs": {"scale.true": "refused"}}),
    ("due date that is no date", _changed("gauge", due="2027-02-30"), {"proofs": {"scale.true": "refused"}}),
    ("just fine enough", _changed("gauge", **{"class": 0.002}), {"proofs": VALID, "blocks": []}),
    (
        "too coarse for the heat",
        _changed("gauge", **{"class": 0.0021}),
        {"proofs": {"scale.true": "valid", "kettle.hot": "refused"}},
    ),
    (
        "class not stated",
        _changed("gauge", **{"class": None}),
        {"proofs": {"scale.true": "valid", "kettle.hot": "refused"}},
    ),
    ("a gauge for something else", _changed("gauge", quantity="flow"), {"proofs": {"scale.true": "refused"}}),
    (
        "outside its band, nobody answered",
        _changed("heat", value=4.5e5),
        {"steps": {"B1": "done"}, "proofs": VALID, "blocks": [["RUN-14", "B1"]]},
    ),
    (
        "outside its band, answered",
        _then(
            lambda pen, made: made["heat"]["payload"].update(value=4.5e5),
            lambda pen, made: pen.write("note", "B1", {"text": "agreed"}),
        ),
        {"blocks": []},
    ),
    (
        "far too hot",
        _changed("heat", value=5.5e5),
        {"steps": {"B1": "refused"}, "blocks": [["RUN-08", "B1"], ["RUN-11", "kettle.poured"]]},
    ),
    ("a mean outside its band", _changed("b", value=9.0), {"blocks": [["RUN-14", "D"]]}),
    ("the extra is asked", _changed("a", value=2.5), {"steps": {"D": "open"}, "blocks": [["RUN-07", "D"]]}),
    ("a length that swings", _changed("a", swing={"mean": 1.5}), {"blocks": D_NO, "steps": {"D": "refused"}}),
    (
        "a step left out",
        _without("shut"),
        {"steps": {"C": "open"}, "items": {"lid": "open"}, "blocks": [["RUN-07", "C"], ["RUN-13", "lid"]]},
    ),
    (
        "words left out of a ticked step",
        _then(lambda pen, made: pen.made.remove(made["seen"]), lambda pen, made: pen.do("tick", node="C")),
        {"steps": {"C": "done"}, "told": [["RUN-07", "C"]]},
    ),
    ("words left out", _without("seen"), {"steps": {"C": "open"}}),
    ("no choice taken", _without("choice"), {"steps": {"Q": "open", "B1": "waits", "B2": "waits"}}),
    (
        "a choice that is none",
        _changed("choice", option="cold"),
        {"steps": {"Q": "open"}, "told": [["RUN-05", "Q"]]},
    ),
    (
        "the other way chosen later",
        _then(lambda pen, made: pen.write("choice", "Q", {"choice": "Q", "option": "strong"})),
        {
            "steps": {"B1": "not on this way", "B2": "open"},
            "proofs": {"kettle.hot": "not on this way", "kettle.poured": "valid"},
        },
    ),
    (
        "another quantity at a step that proves nothing is no answer there",
        _then(
            lambda pen, made: pen.write("choice", "Q", {"choice": "Q", "option": "strong"}),
            lambda pen, made: pen.read("B2", "turns", 2.0, "length"),
        ),
        {"steps": {"B2": "open"}, "blocks": [["RUN-06", "B2"], ["RUN-07", "B2"], ["RUN-13", "lid"]]},
    ),
    (
        "a quantity that is no name is none that was asked for",
        _then(
            lambda pen, made: pen.write("choice", "Q", {"choice": "Q", "option": "strong"}),
            lambda pen, made: pen.read("B2", "turns", 2.0, ["turns"]),  # type: ignore[arg-type]
        ),
        {"steps": {"B2": "open"}, "blocks": [["RUN-06", "B2"], ["RUN-07", "B2"], ["RUN-13", "lid"]]},
    ),
    (
        "another quantity before the right one is told and stands in nothing's way",
        _then(
            lambda pen, made: pen.write("choice", "Q", {"choice": "Q", "option": "strong"}),
            lambda pen, made: pen.read("B2", "turns", 2.0, "length"),
            lambda pen, made: pen.read("B2", "turns", 2.0, "turns"),
        ),
        {"steps": {"B2": "done"}},
    ),
    (
        "the scale proved after the heat",
        _then(no_first, lambda pen, made: pen.read("P", "first", 1.0e5)),
        {"steps": {"B1": "refused"}, "blocks": [["RUN-10", "B1"], ["RUN-11", "kettle.poured"]]},
    ),
    (
        "the scale read again later",
        _then(lambda pen, made: pen.read("P", "second", 1.0e5)),
        {"steps": ALL_DONE, "proofs": VALID, "blocks": []},
    ),
    (
        "the scale found apart later",
        _then(lambda pen, made: pen.read("P", "second", 1.2e5)),
        {"proofs": {"scale.true": "refused", "kettle.hot": "open", "kettle.poured": "open"}},
    ),
    (
        "heated again after the lid",
        _then(lambda pen, made: pen.read("B1", "heat", 3.6e5)),
        {"items": {"lid": "open"}, "proofs": VALID, "blocks": [["RUN-13", "lid"]]},
    ),
    (
        "an unfit reading after a fit one",
        _then(lambda pen, made: pen.read("B1", "heat", 3.6e5, tap="T9")),
        {"proofs": VALID, "told": [["RUN-06", "B1"]]},
    ),
    (
        "a swinging reading after a fit one",
        _then(lambda pen, made: pen.read("B1", "heat", 3.6e5, swing={"mean": 1.0})),
        {"proofs": HOT_GONE},
    ),
    (
        "a correction makes it fit",
        _then(_amend("correction", "heat", tap="T")),
        {"proofs": VALID, "blocks": []},
    ),
    ("a correction makes it unfit", _then(_amend("correction", "heat", tap="T8")), {"proofs": HOT_GONE}),
    (
        "a correction takes the flow away",
        _then(_amend("correction", "heat", flow=None)),
        {"proofs": HOT_GONE},
    ),
    (
        "a correction of a value",
        _then(_amend("correction", "heat", value=4.4e5)),
        {"blocks": [["RUN-14", "B1"]]},
    ),
    (
        "a reading voided",
        _then(_amend("void", "heat")),
        {"steps": {"B1": "open"}, "proofs": {"kettle.hot": "open"}},
    ),
    ("a void voided", _then(_amend("void", "heat"), void_last), {"proofs": VALID, "blocks": []}),
    (
        "a correction voided",
        _then(_amend("correction", "heat", tap="T8"), void_last),
        {"proofs": VALID, "blocks": []},
    ),
    (
        "a correction of a correction",
        _then(
            _amend("correction", "heat", tap="T8"),
            lambda pen, made: pen.write(
                "correction", "", {"reason": "no", "payload": {"tap": "T"}}, replaces=pen.made[-1]["id"]
            ),
        ),
        {"proofs": VALID, "blocks": []},
    ),
    (
        "a correction of nothing",
        _then(lambda pen, made: pen.write("correction", "", {"reason": "?", "payload": {}}, replaces="none")),
        {"proofs": VALID, "blocks": [], "told": [["RUN-05", "d1-013"]]},
    ),
    (
        "a void of itself",
        _then(lambda pen, made: pen.write("void", "", {"reason": "?"}, replaces="d1-013")),
        {"proofs": VALID, "blocks": [], "told": [["RUN-05", "d1-013"]]},
    ),
    (
        "a kind not known",
        _then(lambda pen, made: pen.write("weather", "", {"sky": "grey"})),
        {"blocks": [], "told": [["RUN-05", "weather"]]},
    ),
    (
        "a step not known",
        _then(lambda pen, made: pen.see("Z9", "ok", True)),
        {"blocks": [], "told": [["RUN-05", "Z9"]]},
    ),
    (
        "an input not known",
        _then(lambda pen, made: pen.see("A", "colour", "red")),
        {"blocks": [], "told": [["RUN-05", "A"]]},
    ),
    (
        "another run",
        _then(lambda pen, made: pen.made.append({**made["tick"], "id": "z", "run": "s"})),
        {"blocks": [], "told": [["RUN-05", "run"]]},
    ),
    (
        "a clock set back",
        _then(
            lambda pen, made: pen.made.append(
                {**made["tick"], "id": "z", "device_seq": 99, "t_device": "2027-04-14T08:00:00+01:00"}
            )
        ),
        {"told": [["RUN-03", "d1"]]},
    ),
    (
        "a touch of which the order is not known",
        _then(
            lambda pen, made: pen.made.append(
                {
                    **made["tick"],
                    "id": "z",
                    "node": "",
                    "payload": {"do": "turn", "thing": "kettle.screw"},
                    "device": "d2",
                    "device_seq": 1,
                    "t_device": "2027-04-14T08:06:50+01:00",
                    "clock_within": 30.0,
                }
            )
        ),
        {"proofs": STALE_HOT},
    ),
    (
        "a touch well before",
        _then(
            lambda pen, made: pen.made.append(
                {
                    **made["tick"],
                    "id": "z",
                    "node": "",
                    "payload": {"do": "turn", "thing": "kettle.screw"},
                    "device": "d2",
                    "device_seq": 1,
                    "t_device": "2027-04-14T08:06:20+01:00",
                    "clock_within": 30.0,
                }
            )
        ),
        {"proofs": VALID, "blocks": []},
    ),
    (
        "two devices say yes and no",
        _then(
            lambda pen, made: pen.write("observation", "C", {"input": "shut", "value": False}, device="d2")
        ),
        {"steps": {"C": "refused"}},
    ),
    (
        "something defeated underway",
        _after("defeat", "guard"),
        {"items": {"guard": "open"}, "blocks": [["RUN-13", "guard"]]},
    ),
    (
        "and put back",
        _then(lambda pen, made: pen.do("defeat", "guard"), lambda pen, made: pen.do("restore", "guard")),
        {"items": {"guard": "restored"}, "blocks": []},
    ),
    ("the lid defeated again", _after("defeat", "lid"), {"items": {"lid": "open"}}),
    (
        "a deviation for a step",
        _then(unticked, _accept("E")),
        {"steps": {"E": "accepted"}, "blocks": [["RUN-07", "E"]], "is_final": True},
    ),
    (
        "a deviation nobody owns",
        _then(unticked, _accept("E", owner="")),
        {"steps": {"E": "open"}, "is_final": False, "told": [["RUN-16", "E"]]},
    ),
    (
        "a deviation without a day",
        _then(unticked, _accept("E", due="soon")),
        {"is_final": False, "told": [["RUN-16", "E"]]},
    ),
    (
        "a deviation for what nobody accepts",
        _then(screwed, _accept("kettle.hot")),
        {"is_final": False, "proofs": {"kettle.hot": "stale"}, "told": [["RUN-16", "kettle.hot"]]},
    ),
    (
        "a deviation for a stale proof",
        _then(lambda pen, made: pen.do("open", "cup.glass"), _accept("kettle.poured")),
        {"is_final": True, "proofs": {"kettle.poured": "accepted"}},
    ),
    (
        "a deviation before what it accepts",
        _then(_accept("kettle.poured"), lambda pen, made: pen.do("open", "cup.glass")),
        {"is_final": False, "proofs": {"kettle.poured": "stale"}},
    ),
    (
        "a deviation for the lid",
        _then(lambda pen, made: pen.do("defeat", "lid"), _accept("lid")),
        {"is_final": True, "items": {"lid": "accepted"}},
    ),
    ("signed as final", _then(_sign("final")), {"signs": [True], "is_final": True}),
    ("signed, then touched", _then(_sign("final"), screwed), {"signs": [False], "is_final": False}),
    ("signed as final while something stands", _then(screwed, _sign("final")), {"signs": [False]}),
    (
        "signed as provisional while something stands",
        _then(screwed, _sign("provisional")),
        {"signs": [True], "is_final": False},
    ),
    ("signed for nothing known", _then(_sign("perfect")), {"told": [["RUN-19", "sign"]]}),
    (
        "not authorised on the day",
        _then(lambda pen, made: pen.write("person", "", {"name": "Ilse", "authorised_until": "2027-04-13"})),
        {"blocks": [["RUN-18", "P"], ["RUN-18", "B1"], ["RUN-18", "D"]]},
    ),
    (
        "authorised until the day",
        _then(lambda pen, made: pen.write("person", "", {"name": "Ilse", "authorised_until": "2027-04-14"})),
        {"blocks": []},
    ),
]


def _void_last(pen: Pen, act: str, thing: str) -> None:
    clean(pen)
    done = pen.do(act, thing)
    pen.write("void", "", {"reason": "not done"}, replaces=done["id"])
