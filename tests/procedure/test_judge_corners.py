"""The judge at further edges of its rules: each case is one that a small wrong change of it would turn."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.procedure.causes import weigh
from steadyhead.procedure.entry_form import entry_of
from steadyhead.procedure.ledger import amends_nothing, gathered
from steadyhead.procedure.naming import names_of
from steadyhead.procedure.record import lay
from steadyhead.procedure.shielding import missing_now
from steadyhead.procedure.steps import look
from steadyhead.records.minding import Range, Shield
from steadyhead.records.procedure import Message, Procedure
from steadyhead.records.run import Judgement
from steadyhead.records.signature import Axis, Cause, Curve, Grade, Reads, Signature
from tests.procedure.minded_vectors import minded
from tests.procedure.pen import Made, Pen, clean, gauge
from tests.procedure.test_judge_edges import MINDED, PLAN, accepts, codes, judged


def test_no_figure_but_a_pressure_is_known_better_than_half_a_percent_of_itself() -> None:
    def misfit(place: str, expected: float, value: float) -> float:
        curve = Curve((expected,), (0.0,), (0.0,), (1e-12,))
        sound = Cause("0", 0, 1.0, (Grade(),), ((0, 0),), *(Message(""),) * 3)
        made = Signature("X", (Axis("s", ()),), (Reads(place, "s", place),), {f"s/{place}": curve}, (sound,))
        return weigh(made, {place: (value, 0.0)})[0].misfit

    assert misfit("close", 10.0, 10.1) == pytest.approx(0.1 / (0.005 * 10.0), rel=1e-9)
    assert misfit("T3", 4e5, 4.01e5) == pytest.approx(1e3 / 500.0, rel=1e-9)


def _of_class(error: float) -> Judgement:
    def described(pen: Pen, made: dict[str, Made]) -> None:
        made["gauge"]["payload"].update(gauge(error=error))

    return judged(described)


def test_a_gauge_just_as_exact_as_is_asked_for_is_fit_and_one_less_exact_is_not() -> None:
    assert codes(_of_class(0.002)) == set()
    assert ("RUN-06", "B1") in codes(_of_class(0.00201))


def test_a_proof_that_went_stale_may_be_accepted() -> None:
    def turned(pen: Pen, made: dict[str, Made]) -> None:
        pen.do("turn", "cup.glass")

    assert judged(turned).proof("kettle.poured").state == "stale"
    accepted = judged(turned, accepts("kettle.poured")).proof("kettle.poured")
    assert (accepted.state, bool(accepted.accepted)) == ("accepted", True)


def test_a_proof_still_open_may_be_accepted_with_its_step() -> None:
    assert judged(without="b").proof("kettle.poured").state == "open"
    accepted = judged(accepts("D"), without="b").proof("kettle.poured")
    assert (accepted.state, bool(accepted.accepted)) == ("accepted", True)


def test_a_step_off_this_way_is_not_missed_before_the_one_it_would_shield() -> None:
    shield = Shield("scale.true", ("B2",), ("B1",), (), ("scale",))
    plan = replace(MINDED, minding=replace(MINDED.minding, shields=(shield,)))
    pen = Pen()
    clean(pen)
    record = lay(plan, gathered(map(entry_of, pen.made)).standing)
    assert missing_now(record, look(record), "B1") == ()


def test_a_refused_step_is_to_be_done_again() -> None:
    found = judged(lambda pen, made: pen.do("knock"))
    assert {one.id: one.state for one in found.steps}["D"] == "refused"
    assert "D" in found.next


def test_corrections_that_go_round_in_a_circle_beside_the_one_looked_at_amend_nothing() -> None:
    pen = Pen()
    note = pen.write("note", "", {"text": "dry"})
    for about in ("d1-003", "d1-004", "d1-003"):
        pen.write("correction", "", {"reason": "typing", "payload": {"text": "wet"}}, replaces=about)
    ledger = gathered(map(entry_of, pen.made))
    assert amends_nothing(ledger.entries) == ("d1-002", "d1-003", "d1-004")
    assert [(one.id, one.payload["text"]) for one in ledger.standing] == [(note["id"], "dry")]


def test_a_part_said_to_be_outside_is_found_though_the_plan_has_no_such_piece_of_it() -> None:
    names = names_of(MINDED)
    assert names.hides("outside.kettle lamp")
    assert names.hides("outside kettle.screw")
    assert not names.hides("outside.ladder")
    bare = names_of(replace(PLAN, minding=replace(MINDED.minding, parts=("scale",))))
    assert bare.hides("outside.kettle.screw")
    assert not bare.hides("outside.kettle lamp")


@pytest.mark.parametrize(("amends", "told"), [("correction", False), ("void", True)])
def test_an_act_that_a_correction_leaves_as_it_was_is_not_taken_back(amends: str, *, told: bool) -> None:
    def mended(pen: Pen, made: dict[str, Made]) -> None:
        done = pen.do("turn", "cup.handle")
        more = {"payload": {"turns": 0.5}} if amends == "correction" else {}
        pen.write(amends, "", {"reason": "typing", **more}, replaces=done["id"])

    found = judged(mended, plan=minded())
    assert ("RUN-55" in {one.code for one in found.told}) is told
    assert (("RUN-56", "run") in codes(found)) is told


def test_what_was_proved_again_after_a_step_begun_without_it_is_not_asked_for_once_more() -> None:
    def moved(pen: Pen, made: dict[str, Made]) -> None:
        made["heat"]["t_device"] = "2027-04-14T08:30:00+01:00"
        opened = pen.do("open", "scale")
        opened["t_device"] = made["second"]["t_device"].replace(":00+", ":30+")

    def again(pen: Pen, made: dict[str, Made]) -> None:
        for name in ("first", "second"):
            pen.read("P", name, 1.0e5)["t_device"] = "2027-04-14T08:40:00+01:00"

    lost, proved = (judged(*more, plan=minded()) for more in ((moved,), (moved, again)))
    assert ("RUN-53", "B1") in codes(lost)
    assert ("RUN-53", "B1") in codes(proved)
    assert ("P" in lost.next, "B1" in lost.next) == (True, False)
    assert ("P" in proved.next, "B1" in proved.next) == (False, True)


@pytest.mark.parametrize(
    "act", ["vent", "drain", "draw water", "flush", "fill", "pump", "inject", "connect", "disconnect"]
)
def test_water_moved_through_what_protects_makes_it_to_be_proved_again(act: str) -> None:
    assert ("RUN-50", "cup.handle") in codes(judged(lambda pen, made: pen.do(act, "cup"), plan=minded()))
    assert codes(judged(lambda pen, made: pen.do(act, "outside.door"), plan=minded())) == set()


@pytest.mark.parametrize("at", ["", "B1"])
def test_a_touch_answers_a_trial_outside_wherever_it_was_entered(at: str) -> None:
    def retried(pen: Pen, made: dict[str, Made]) -> None:
        pen.read("B1", "heat", 4.6e5, flow=1.0)
        pen.do("turn", "kettle.screw", at)
        pen.read("B1", "heat", 3.5e5, flow=1.0)
        pen.see("C", "shut", True)

    assert ("RUN-59", "B1") not in codes(judged(retried, plan=minded()))


def test_a_step_gone_through_without_an_act_answers_a_trial_of_another_and_none_of_its_own() -> None:
    def retried(pen: Pen, made: dict[str, Made]) -> None:
        pen.read("B1", "heat", 4.6e5, flow=1.0)
        pen.see("C", "shut", True)
        pen.read("B1", "heat", 3.5e5, flow=1.0)

    def plan(node_id: str, thing: str) -> Procedure:
        nodes = tuple(replace(one, touches=(thing,)) if one.id == node_id else one for one in minded().nodes)
        return replace(minded(), nodes=nodes)

    assert ("RUN-59", "B1") in codes(judged(retried, plan=minded()))
    assert ("RUN-59", "B1") not in codes(judged(retried, plan=plan("C", "kettle.screw")))
    assert ("RUN-59", "B1") in codes(judged(retried, plan=plan("B1", "kettle.screw")))


def test_a_pressure_that_cannot_stand_where_it_was_read_is_told_with_the_reading_and_its_edge() -> None:
    plan = replace(MINDED, minding=replace(MINDED.minding, ranges=(Range("B1", "heat", 0.0, 3.4e5),)))
    (told,) = [one for one in judged(plan=plan).told if one.params.get("why") == "cannot be"]
    assert (told.code, told.about) == ("RUN-06", "B1")
    assert told.params == {"input": "heat", "why": "cannot be", "value": 3.5e5, "high": 3.4e5}
