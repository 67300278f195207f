"""More cases for the judge by hand: edges of bands and dials, rounds, two devices, signatures."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.procedure.judge_cases import (
    STALE_HOT,
    VALID,
    Case,
    _accept,
    _amend,
    _changed,
    _sign,
    _then,
    unticked,
)
from tests.procedure.pen import Made, Pen, clean, gauge


def _values(**values: float) -> Callable[[Pen, dict[str, Made]], Any]:
    def write(pen: Pen, made: dict[str, Made]) -> None:
        for name, value in values.items():
            made[name]["payload"]["value"] = value

    return write


def _other(value: float, wait: int = 5, **more: Any) -> Callable[[Pen, dict[str, Made]], Any]:
    """Read the heat once more, by the other device."""
    return lambda pen, made: pen.write(
        "reading", "B1", {**made["heat"]["payload"], "value": value}, "d2", wait, **more
    )


def _touch_on(like: Made, device: str, clock: str, number: int = 1) -> Made:
    payload = {"do": "turn", "thing": "kettle.screw"}
    made = {**like, "id": f"{device}-{number}-t", "node": "", "payload": payload, "device": device}
    return {**made, "device_seq": number, "t_device": clock}


def _described_last(pen: Pen) -> None:
    made = clean(pen)
    pen.made.remove(made["gauge"])
    pen.write("instrument", "", gauge())


SOON: dict[str, Any] = {"t_device": "2027-04-14T08:07:30+01:00"}
MORE: list[Case] = [
    (
        "a clean run tells nothing",
        _then(),
        {"quiet": True, "blocks": []},
    ),
    (
        "below both bands of this way",
        _changed("heat", value=3.1e5),
        {"blocks": [["RUN-14", "B1"]]},
    ),
    (
        "at the edge of both bands",
        _changed("heat", value=3.2e5),
        {"blocks": [], "quiet": True},
    ),
    (
        "at the upper edge",
        _changed("heat", value=4.0e5),
        {"blocks": [], "quiet": True},
    ),
    (
        "two readings of the scale far apart",
        _changed("first", value=-400.0),
        {"steps": {"P": "refused"}, "quiet": True},
    ),
    (
        "scale read at nothing, a little below",
        _then(_values(first=-900.0, second=-200.0)),
        {"proofs": VALID, "blocks": []},
    ),
    (
        "far below nothing",
        _then(_values(first=-1100.0, second=-200.0)),
        {"proofs": {"scale.true": "refused"}, "steps": {"P": "refused"}},
    ),
    (
        "beyond the end of the dial",
        _then(_values(first=1.0001e6, second=1.0e6)),
        {"proofs": {"scale.true": "refused"}},
    ),
    (
        "at the end of the dial",
        _then(_values(first=1.0e6, second=1.0e6)),
        {"proofs": VALID, "blocks": []},
    ),
    (
        "an act at a step gone through is no new round",
        _then(lambda pen, made: pen.do("turn", "door", "B1")),
        {"items": {"lid": "restored"}, "blocks": []},
    ),
    (
        "a second tick is one",
        _then(lambda pen, made: pen.do("tick", node="B1"), lambda pen, made: pen.do("tick", node="B1")),
        {"items": {"lid": "open"}, "blocks": [["RUN-13", "lid"]]},
    ),
    (
        "signed, then the record closed",
        _then(_sign("final"), lambda pen, made: pen.see("K", "next", "in a year")),
        {"signs": [True], "is_final": True},
    ),
    (
        "signed, then a note",
        _then(_sign("final"), lambda pen, made: pen.write("note", "", {"text": "rain"})),
        {"signs": [False], "quiet": True},
    ),
    (
        "signed, then a note where the record is closed",
        _then(_sign("final"), lambda pen, made: pen.write("note", "K", {"text": "sent"})),
        {"signs": [True], "quiet": True},
    ),
    (
        "signed by two",
        _then(_sign("final"), _sign("final")),
        {"signs": [True, True], "is_final": True},
    ),
    (
        "signed, then a reading corrected",
        _then(_sign("final"), _amend("correction", "heat", value=3.55e5)),
        {"signs": [False], "is_final": True},
    ),
    (
        "signed, then a reading corrected where the record is closed",
        _then(
            _sign("final"),
            lambda pen, made: pen.write(
                "correction", "K", {"reason": "x", "payload": {"value": 3.55e5}}, replaces=made["heat"]["id"]
            ),
        ),
        {"signs": [False], "is_final": True},
    ),
    (
        "signed, then a correction for an earlier time",
        _then(
            _sign("final"),
            _amend("correction", "heat", value=3.55e5),
            lambda pen, made: pen.made[-1].update(
                t_device="2027-04-14T08:08:00+01:00", typed_at="2027-04-14T11:00:00+01:00"
            ),
        ),
        {"signs": [False], "is_final": True},
    ),
    (
        "signed, then written on another device for an earlier time",
        _then(
            _sign("final"),
            lambda pen, made: pen.write("note", "", {"text": "rain"}, "d2"),
            lambda pen, made: pen.made[-1].update(
                t_device="2027-04-14T08:08:00+01:00", typed_at="2027-04-14T11:00:00+01:00"
            ),
        ),
        {"signs": [False], "is_final": True},
    ),
    (
        "touched, signed, then the touch voided",
        _then(
            _sign("final"), lambda pen, made: pen.write("void", "", {"reason": "x"}, replaces=made["a"]["id"])
        ),
        {"signs": [False]},
    ),
    (
        "signed, then the gauge described anew",
        _then(_sign("final"), lambda pen, made: pen.write("instrument", "", gauge(due="2028-01-01"))),
        {"signs": [False], "is_final": True},
    ),
    (
        "signed, then a deviation",
        _then(_sign("final"), _accept("E")),
        {"signs": [False]},
    ),
    (
        "signed, then the run begun once more",
        _then(_sign("final"), lambda pen, made: pen.write("run", "", {"plan": "x"})),
        {"signs": [False]},
    ),
    (
        "signed as provisional, then called final by a correction",
        _then(
            _sign("provisional"),
            lambda pen, made: pen.write(
                "correction", "K", {"reason": "x", "payload": {"asks": "final"}}, replaces=pen.made[-1]["id"]
            ),
        ),
        {"signs": [False]},
    ),
    (
        "an overdue gauge described anew after the reading stays overdue",
        _then(
            lambda pen, made: made["gauge"]["payload"].update(due="2027-04-13"),
            lambda pen, made: pen.write("instrument", "", gauge(due="2028-01-01")),
        ),
        {"proofs": {"scale.true": "refused", "kettle.hot": "refused"}, "told": [["RUN-91", "G1"]]},
    ),
    (
        "a gauge found off afterwards was off before",
        _then(lambda pen, made: pen.write("instrument", "", gauge() | {"zero": 3.0e4})),
        {"proofs": {"scale.true": "valid", "kettle.hot": "refused"}, "told": [["RUN-91", "G1"]]},
    ),
    (
        "a gauge described only after it was read is told",
        lambda pen: _described_last(pen),
        {"proofs": VALID, "told": [["RUN-91", "G1"]], "blocks": []},
    ),
    (
        "a gauge that shows something at nothing reads no height of heat",
        _changed("gauge", zero=3.0e4),
        {"proofs": {"scale.true": "valid", "kettle.hot": "refused"}},
    ),
    (
        "what a gauge shows at nothing was taken off the reading",
        _then(
            lambda pen, made: made["gauge"]["payload"].update(zero=3.0e4),
            lambda pen, made: made["heat"]["payload"].update(corrected_by=-3.0e4),
        ),
        {"proofs": VALID, "blocks": []},
    ),
    (
        "a remark that only tells leaves the bands of other readings",
        _then(lambda pen, made: made["b"]["payload"].update(value=9.0)),
        {"blocks": [["RUN-14", "D"]], "told": [["RUN-08", "D"]]},
    ),
    (
        "a remark that only tells what a reading means answers for its band",
        _changed("heat", value=3.02e5),
        {"blocks": [], "told": [["RUN-08", "B1"]]},
    ),
    (
        "a gauge that stays within its class at nothing",
        _changed("gauge", zero=-1.0e3),
        {"proofs": VALID, "blocks": []},
    ),
    (
        "a class of nothing is no class",
        _changed("gauge", **{"class": 0.0}),
        {"proofs": {"scale.true": "valid", "kettle.hot": "refused"}},
    ),
    (
        "a deviation due before it was written",
        _then(unticked, _accept("E", due="2027-04-13")),
        {"steps": {"E": "open"}, "is_final": False, "told": [["RUN-16", "E"]]},
    ),
    (
        "a deviation accepted by who tested",
        _then(unticked, _accept("E", accepted_by=" ilse")),
        {"steps": {"E": "open"}, "is_final": False, "told": [["RUN-16", "E"]]},
    ),
    (
        "a touch in the same second on another device",
        _then(lambda pen, made: pen.made.append(_touch_on(made["tick"], "a0", "2027-04-14T08:07:00+01:00"))),
        {"proofs": STALE_HOT, "blocks": [["RUN-15", "kettle.hot"], ["RUN-11", "kettle.poured"]]},
    ),
    (
        "a touch on a device whose clock was set back since",
        _then(
            lambda pen, made: pen.made.extend(
                (
                    {**_touch_on(made["tick"], "d2", "2027-04-14T08:01:00+01:00", 2), "t_mono": 9000.0},
                    {
                        **_touch_on(made["tick"], "d2", "2027-04-14T08:00:00+01:00", 1),
                        "id": "y",
                        "kind": "note",
                        "payload": {"text": "here"},
                        "t_mono": 60.0,
                    },
                )
            )
        ),
        {"proofs": STALE_HOT, "told": [["RUN-03", "d2"]]},
    ),
    (
        "no on one device and yes on another later",
        _then(
            lambda pen, made: made["shut"]["payload"].update(value=False),
            lambda pen, made: made["shut"].update(device="d2", device_seq=1),
            lambda pen, made: pen.write("observation", "C", {"input": "shut", "value": True}, wait=400),
        ),
        {"steps": {"C": "done"}, "blocks": [["RUN-04", "C"]]},
    ),
    (
        "no on one device and yes on another, and a note of what was found",
        _then(
            lambda pen, made: made["shut"]["payload"].update(value=False),
            lambda pen, made: made["shut"].update(device="d2", device_seq=1),
            lambda pen, made: pen.write("observation", "C", {"input": "shut", "value": True}, wait=400),
            lambda pen, made: pen.write("note", "C", {"text": "looked again: it is shut"}),
        ),
        {"steps": {"C": "done"}, "blocks": []},
    ),
    (
        "the heat outside on one device, inside on another much later",
        _then(
            lambda pen, made: made["heat"]["payload"].update(value=4.5e5),
            lambda pen, made: made["heat"].update(device="d2", device_seq=1),
            lambda pen, made: pen.write(
                "reading", "B1", {**made["heat"]["payload"], "value": 3.5e5}, wait=400
            ),
        ),
        {"blocks": [["RUN-04", "B1"], ["RUN-13", "lid"]]},
    ),
    (
        "two devices read the heat apart, both inside",
        _then(_other(3.6e5, **SOON)),
        {"blocks": [], "told": [["RUN-04", "B1"]]},
    ),
    (
        "two devices read the heat apart, one outside",
        _then(_other(4.6e5, **SOON)),
        {"blocks": [["RUN-14", "B1"], ["RUN-04", "B1"]]},
    ),
    (
        "two devices read the heat alike",
        _then(_other(3.505e5, **SOON)),
        {"blocks": [], "quiet": True},
    ),
    (
        "two devices read the heat apart, an hour between",
        _then(_other(3.6e5, 3600)),
        {"items": {"lid": "open"}, "quiet": True},
    ),
    (
        "one device reads twice apart",
        _then(lambda pen, made: pen.write("reading", "B1", {**made["heat"]["payload"], "value": 3.6e5})),
        {"items": {"lid": "open"}, "quiet": True},
    ),
    (
        "defeated and put back after everything touches nothing",
        _then(lambda pen, made: pen.do("defeat", "kettle"), lambda pen, made: pen.do("restore", "kettle")),
        {"proofs": VALID, "blocks": []},
    ),
    (
        "the very screw defeated",
        _then(
            lambda pen, made: pen.do("defeat", "kettle.screw"),
            lambda pen, made: pen.do("restore", "kettle.screw"),
        ),
        {"proofs": STALE_HOT},
    ),
    (
        "two devices mark what they read otherwise",
        _then(_other(3.6e5, **SOON), lambda pen, made: made["heat"]["payload"].update({"as": "rising"})),
        {"quiet": True},
    ),
    (
        "a clock a little back",
        _then(lambda pen, made: made["seen"].update(t_device="2027-04-14T08:07:57+01:00")),
        {"quiet": True},
    ),
    (
        "running seconds and clock agree",
        _then(
            lambda pen, made: made["b"].update(t_mono=1000.0),
            lambda pen, made: made["tick"].update(t_mono=1058.0),
        ),
        {"quiet": True},
    ),
    (
        "the clock was set between",
        _then(
            lambda pen, made: made["b"].update(t_mono=1000.0),
            lambda pen, made: made["tick"].update(t_mono=1010.0),
        ),
        {"told": [["RUN-03", "d1"]], "blocks": []},
    ),
    (
        "times given by hand are no clock",
        _then(
            lambda pen, made: made["tick"].update(
                t_mono=1010.0, t_device="2027-04-14T08:01:00+01:00", typed_at="2027-04-15T09:00:00+01:00"
            ),
        ),
        {"told": [["RUN-03", "d1"]], "blocks": []},
    ),
    (
        "a sync moved the clock of one device back: its later reading counts all the same",
        _then(
            lambda pen, made: made["heat"]["payload"].update(value=4.5e5),
            lambda pen, made: pen.write(
                "reading", "B1", {**made["heat"]["payload"], "value": 3.5e5}, clock_offset=-300.0
            ),
        ),
        {"blocks": [["RUN-13", "lid"]]},
    ),
    (
        "one number twice on one device",
        _then(lambda pen, made: made["tick"].update(device_seq=11)),
        {"told": [["RUN-03", "d1"]]},
    ),
]
