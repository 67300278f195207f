"""The judge at the edges of its rules, where changing one word of it was noticed by no test."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

from steadyhead.errors import InputError
from steadyhead.procedure.clocks import _off
from steadyhead.procedure.entry_form import entry_of
from steadyhead.procedure.grammar import check
from steadyhead.procedure.graph import covering
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import amends_nothing, gathered
from steadyhead.procedure.naming import names_of
from steadyhead.procedure.record import lay, round_starts
from steadyhead.procedure.steps import bands_of, look
from steadyhead.procedure.touching import rests_of
from steadyhead.records.entry import Entry
from steadyhead.records.minding import Leaving, Minding
from steadyhead.records.procedure import Choice, Expect, Input, Otherwise, Procedure
from steadyhead.records.run import Judgement
from tests.procedure.kettle import NO, kettle, words
from tests.procedure.minded_vectors import minded
from tests.procedure.pen import Made, Pen, clean, gauge
from tests.procedure.small import step, tea

PLAN = kettle()
MINDED = replace(
    PLAN,
    minding=Minding(
        parts=("kettle", "kettle-top", "scale", "cup", "lid"),
        things=("kettle.screw", "kettle.burner"),
        left=(Leaving("lid", ("on", "shut"), ("C",)),),
    ),
)
DEVIATION = {"what": "w", "risk": "r", "owner": "o", "due": "2027-06-01", "accepted_by": "Zed Marl"}
Write = Callable[[Pen, dict[str, Made]], Any]


def judged(*more: Write, plan: Procedure = PLAN, without: str = "") -> Judgement:
    """Return the judgement of a clean run with more written after it."""
    pen = Pen()
    made = clean(pen)
    if without:
        pen.made.remove(made[without])
    for one in more:
        one(pen, made)
    return judge(plan, gathered([entry_of(one) for one in pen.made]))


def accepts(about: str, **keys: Any) -> Write:
    return lambda pen, made: pen.write("deviation", "", {"about": about, **DEVIATION, **keys})


def codes(judgement: Judgement) -> set[tuple[str, str]]:
    return {(one.remark.code, one.remark.about) for one in judgement.blocks if not one.accepted}


def test_steps_behind_a_choice_wait_until_it_is_taken() -> None:
    pen = Pen()
    pen.see("A", "ok", True)
    states = {one.id: one.state for one in judge(PLAN, gathered(map(entry_of, pen.made))).steps}
    assert (states["B1"], states["B2"], states["C"]) == ("waits", "waits", "open")
    pen.write("choice", "Q", {"choice": "Q", "option": "weak"})
    states = {one.id: one.state for one in judge(PLAN, gathered(map(entry_of, pen.made))).steps}
    assert (states["B1"], states["B2"]) == ("open", "not on this way")


def test_a_step_accepted_as_it_is_lets_the_next_be_done() -> None:
    lacking = judged(without="seen")
    accepted = judged(accepts("C"), without="seen")
    ready = {one.id: (one.state, one.ready) for one in lacking.steps}
    after = {one.id: (one.state, one.ready) for one in accepted.steps}
    assert ready["C"][0] == "open"
    assert ready["D"][1] is False
    assert after["C"][0] == "accepted"
    assert after["D"][1] is True


def test_a_refused_proof_may_be_accepted_with_its_step() -> None:
    def knock(pen: Pen, made: dict[str, Made]) -> None:
        pen.do("knock")

    refused = judged(knock).proof("kettle.poured")
    assert refused.state == "refused"
    accepted = judged(knock, accepts("D"))
    assert accepted.proof("kettle.poured").state == "accepted"
    assert accepted.proof("kettle.poured").accepted
    assert not codes(accepted)


def test_no_proof_is_accepted_by_a_deviation_that_nobody_wrote() -> None:
    assert {one.accepted for one in judged().proofs} == {""}
    assert {one.state for one in judge(PLAN, gathered([])).proofs} == {"open"}


def test_what_is_taken_back_at_a_step_after_the_signature_leaves_it_standing() -> None:
    def sign(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.write("sign", "", {"asks": "final"})

    def later(pen: Pen, made: dict[str, Made]) -> Any:
        return made.update(next=pen.see("K", "next", "in May"))

    def void(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.write("void", "", {"reason": "no"}, replaces=made["next"]["id"])

    def mend(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.write(
            "correction", "", {"reason": "typing", "payload": {"input": "next", "value": "June"}},
            replaces=made["next"]["id"],
        )  # fmt: skip

    def gone(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.write("void", "", {"reason": "no"}, replaces=made["heat"]["id"])

    def stands(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.write("position", "K", {"thing": "lid", "is": "on"})

    for more in ((void,), (mend,), (stands,)):
        assert [one.stands for one in judged(sign, later, *more).signs] == [True]
    assert [one.stands for one in judged(sign, later, gone).signs] == [False]


@pytest.mark.parametrize("notes", [1, 40])
def test_what_another_tablet_wrote_before_a_signature_takes_nothing_from_it(notes: int) -> None:
    pen = Pen()
    for number in range(notes):
        pen.write("note", "", {"text": f"dry {number}"}, "d2", wait=1)
    clean(pen)
    pen.write("sign", "", {"asks": "final"})
    assert [one.stands for one in judge(PLAN, gathered(map(entry_of, pen.made))).signs] == [True]
    pen.write("note", "", {"text": "wet"}, "d2")
    assert [one.stands for one in judge(PLAN, gathered(map(entry_of, pen.made))).signs] == [False]


def test_a_reading_beyond_its_band_is_to_be_gone_through_again_and_nothing_else_is() -> None:
    def hot(pen: Pen, made: dict[str, Made]) -> None:
        made["heat"]["payload"]["value"] = 4.1e5

    found = judged(hot)
    assert ("RUN-14", "B1") in codes(found)
    assert found.next[0] == "B1"
    assert "D" not in judged(lambda pen, made: pen.do("knock"), accepts("D")).next


def test_a_deviation_written_first_accepts_what_no_entry_speaks_of() -> None:
    pen = Pen()
    pen.write("deviation", "", {"about": "E", **DEVIATION})
    made = clean(pen)
    pen.made.remove(made["tick"])
    found = judge(PLAN, gathered(map(entry_of, pen.made)))
    assert {one.id: one.state for one in found.steps}["E"] == "accepted"


def test_of_several_bands_the_first_figure_named_is_expected() -> None:
    bands = (Expect("a", 1.0, 4.0, NO), Expect("a", 2.0, 5.0, NO, 3.0), Expect("a", None, None, NO, 9.0))
    assert bands_of(step("X", expect=bands), {})["a"] == {"low": 2.0, "high": 4.0, "nominal": 3.0}


def test_pairs_of_options_are_met_together_by_few_ways() -> None:
    for count in (5, 8, 9, 11):
        choices = tuple(
            Choice(f"Q{number}", words("q"), (("a", words("a"), ()), ("b", words("b"), ())))
            for number in range(count)
        )
        plan = tea(*(step(one.id) for one in choices), choices=choices)
        ways = list(covering(plan, 16))
        for first, second in combinations([one.id for one in choices], 2):
            met = {(way[first], way[second]) for way in ways}
            assert len(met) == 4, (count, first, second)
        assert len(ways) <= 2 + 2 * max(1, (count - 1).bit_length())
        assert len({tuple(way.values()) for way in covering(plan, 2**count)}) == 2**count


def test_of_two_parts_with_one_beginning_the_longer_name_is_meant() -> None:
    names = names_of(MINDED)
    assert names.part("kettle-top lamp") == "kettle-top"
    assert names.part("kettle.lamp") == "kettle"


def test_an_act_without_a_thing_means_what_its_step_works() -> None:
    for do in ("raise", "adjust", "clean"):
        found = judged(lambda pen, made, do=do: pen.do(do, "", "B1"), plan=MINDED)  # type: ignore[misc]
        assert "RUN-51" not in {code for code, _ in codes(found)}, do
    for at in ("B1", "D"):
        found = judged(lambda pen, made, at=at: pen.do("turn", "", at), plan=MINDED)  # type: ignore[misc]
        assert ("RUN-51", "turn") in codes(found), at


def test_an_instrument_that_bears_the_name_of_a_part_is_that_part() -> None:
    for name, touched in (("kettle.screw", True), ("G2", False)):
        found = judged(
            lambda pen, made, name=name: pen.write("instrument", "", gauge(name)),  # type: ignore[misc]
            lambda pen, made, name=name: pen.do("replace", name),  # type: ignore[misc]
            plan=MINDED,
        )
        assert (found.proof("kettle.hot").state == "stale") is touched


def test_an_item_put_out_by_an_act_is_accepted_by_nobody_even_where_the_plan_has_it() -> None:
    def put_out(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.do("defeat", "lid")

    assert ("RUN-13", "lid") in codes(judged(put_out, accepts("lid"), plan=MINDED))


def test_a_step_not_done_or_refused_settles_nothing() -> None:
    def off(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.write("position", "", {"thing": "lid", "is": "off"})

    def again(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.see("C", "shut", True)

    assert any(about == "lid" for _, about in codes(judged(off, plan=MINDED)))
    assert not any(about == "lid" for _, about in codes(judged(off, again, plan=MINDED)))


def test_a_step_that_is_not_on_this_way_settles_nothing() -> None:
    plan = replace(
        MINDED, minding=replace(MINDED.minding, left=(Leaving("lid", ("on", "shut"), ("C", "B2")),))
    )

    def off(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.write("position", "", {"thing": "lid", "is": "off"})

    def beside(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.read("B2", "turns", 1.0, "turns")

    assert any(about == "lid" for _, about in codes(judged(off, beside, plan=plan)))


def test_a_step_that_is_only_ticked_counts_from_its_last_tick() -> None:
    nodes = tuple(replace(one, restores=("lid",)) if one.id == "E" else one for one in PLAN.nodes)
    plan = replace(PLAN, nodes=nodes)

    def again(pen: Pen, made: dict[str, Made]) -> None:
        pen.read("B1", "heat", 3.5e5)

    def tick(pen: Pen, made: dict[str, Made]) -> None:
        pen.do("tick", node="E")

    assert {one.name: one.state for one in judged(again, plan=plan).items}["lid"] == "open"
    assert {one.name: one.state for one in judged(again, tick, plan=plan).items}["lid"] == "restored"


def test_a_clock_beside_which_no_time_was_counted_tells_nothing() -> None:
    def written(t_mono: float, minute: int) -> Entry:
        made = Pen().write("note", "", {"text": "x"}, t_mono=t_mono)
        return entry_of({**made, "t_device": f"2027-04-14T09:{minute:02d}:00+01:00"})

    assert _off(written(50.0, 0), written(50.0, 40)) == 0.0
    assert _off(written(50.0, 0), written(110.0, 40)) == pytest.approx(2340.0)


def test_an_edge_of_a_band_is_an_input_and_one_word() -> None:
    for wrong in (["heat", "low", "high"], ["heat"], [3, "low"], ("heat", "middle")):
        with pytest.raises(InputError):
            check({"expect": wrong})
    check({"expect": ["heat", "low"]})


def test_a_note_turned_into_another_is_told() -> None:
    def note(pen: Pen, made: dict[str, Made]) -> Any:
        return made.update(note=pen.write("note", "", {"text": "screw turned"}))

    def mend(pen: Pen, made: dict[str, Made]) -> Any:
        return pen.write(
            "correction",
            "",
            {"reason": "typing", "payload": {"text": "all well"}},
            replaces=made["note"]["id"],
        )

    found = judged(note, mend)
    assert any(one.code == "RUN-55" for one in found.told)


def _moved_first(pen: Pen, made: dict[str, Made]) -> None:
    made["heat"]["t_device"] = "2027-04-14T08:30:00+01:00"
    moved = pen.do("open", "scale")
    moved["t_device"] = made["second"]["t_device"].replace(":00+", ":30+")


def _worn_first(pen: Pen, made: dict[str, Made]) -> None:
    made["heat"]["t_device"] = "2027-04-14T08:30:00+01:00"
    worn = pen.do("turn", "scale.spring")
    worn["t_device"] = made["second"]["t_device"].replace(":00+", ":30+")


@pytest.mark.parametrize("lost", [_moved_first, _worn_first])
def test_what_was_lost_before_a_step_was_begun_is_next_and_that_step_waits(lost: Write) -> None:
    found = judged(lost, plan=minded())
    assert ("RUN-53", "B1") in codes(found)
    assert "P" in found.next
    assert "B1" not in found.next


def test_a_step_that_waits_for_a_choice_was_begun_under_nothing_yet() -> None:
    assert ("RUN-53", "B1") not in codes(judged(_moved_first, plan=minded(), without="choice"))


def test_a_step_begun_by_an_act_alone_is_begun_under_what_it_asks_for() -> None:
    def heated(pen: Pen, made: dict[str, Made]) -> None:
        pen.do("open", "scale")
        pen.do("raise", "kettle.burner", "B1")

    assert ("RUN-53", "B1") in codes(judged(heated, plan=minded(), without="heat"))


def test_what_a_step_that_waits_would_prove_is_open() -> None:
    found = judged(without="choice")
    assert {one.name: one.state for one in found.proofs}["kettle.hot"] == "open"


def test_what_is_worked_out_of_readings_is_seen_by_the_rules_of_its_step() -> None:
    rule = Otherwise({"gt": [{"value": "mean"}, 1.9]}, words("D.much"), NO, NO)
    nodes = tuple(replace(one, otherwise=(rule,)) if one.id == "D" else one for one in PLAN.nodes)
    assert ("RUN-08", "D") in codes(judged(plan=replace(PLAN, nodes=nodes)))


def test_a_step_that_asks_for_a_picture_is_done_by_one() -> None:
    plan = tea(step("A1", inputs=(Input("plate", "photo"),)))

    def of(*kinds: str) -> str:
        pen = Pen()
        for kind in kinds:
            pen.write(kind, "A1", {"of": "plate", "name": "p.jpg", "text": "plate"})
        return judge(plan, gathered(map(entry_of, pen.made))).steps[0].state

    assert [of("photo"), of("note"), of()] == ["done", "open", "open"]


def test_words_noted_late_begin_no_round_of_a_step_that_reads_an_instrument() -> None:
    pen = Pen()
    pen.read("A1", "heat", 3.5e5)
    pen.see("A1", "seen", "dry")
    pen.see("A1", "seen", "dry, later")
    words_only, read_too = Input("seen", "text"), Input("heat", "pressure")
    for inputs, rounds in (((read_too, words_only), 1), ((words_only,), 2)):
        node = step("A1", inputs=inputs)
        rows = lay(tea(node), gathered(map(entry_of, pen.made)).standing).at("A1")
        rows = tuple(row for row in rows if row.input in {one.name for one in inputs})
        assert len(round_starts(rows, node)) == rounds


def test_a_proof_rests_on_what_the_steps_of_its_way_rest_on_and_on_no_other() -> None:
    plan = tea(
        step("Q"),
        step("X", "Q", proves=("kettle.hot",), depends_on=("kettle.screw",)),
        step("Y", "Q", proves=("kettle.hot",), depends_on=("lid",)),
        step("Z", proves=("kettle.poured",), depends_on=("kettle.hot",)),
        choices=(Choice("Q", words("Q"), (("one", words("1"), ("X",)), ("other", words("2"), ("Y",)))),),
    )
    pen = Pen()
    pen.write("choice", "Q", {"choice": "Q", "option": "one"})
    rests = rests_of(look(lay(plan, gathered(map(entry_of, pen.made)).standing)))
    assert rests["Z"] == {"kettle.hot", "kettle.screw"}


def test_a_step_gone_through_that_says_nothing_of_its_acts_works_what_it_works() -> None:
    plan = tea(
        step("X", inputs=(Input("ok", "yes_no"),), proves=("kettle.hot",), depends_on=("kettle.screw",)),
        step("W", touches=("kettle.screw",)),
    )
    pen = Pen()
    pen.see("X", "ok", True)
    assert codes(judge(plan, gathered(map(entry_of, pen.made)))) == {("RUN-07", "W")}
    pen.do("tick", node="W")
    assert codes(judge(plan, gathered(map(entry_of, pen.made)))) == {("RUN-12", "kettle.hot")}


def test_an_order_of_the_paper_that_was_not_kept_is_told_and_one_that_was_is_not() -> None:
    def early(pen: Pen, made: dict[str, Made]) -> None:
        made["shut"]["t_device"] = made["seen"]["t_device"] = "2027-04-14T08:00:30+01:00"
        made["shut"]["device"] = made["seen"]["device"] = "d9"

    assert "RUN-10" not in {one.code for one in judged().told}
    assert ("RUN-10", "C") in {(one.code, one.about) for one in judged(early).told}


def test_one_remark_names_twelve_entries_at_most_and_counts_them_all() -> None:
    def typed(pen: Pen, made: dict[str, Made]) -> None:
        for number in range(13):
            pen.write("note", "", {"text": f"dry {number}"}, "d2", typed_at="2027-04-14T12:00:00+01:00")

    (told,) = [one for one in judged(typed).told if one.params.get("why") == "by hand"]
    assert (len(told.entries), told.params["count"]) == (12, 13.0)


@pytest.mark.parametrize(("mark", "differs"), [("as found", True), ("as left", False)])
def test_two_devices_are_held_against_each_other_where_both_say_the_same_of_a_reading(
    mark: str, *, differs: bool
) -> None:
    def other(pen: Pen, made: dict[str, Made]) -> None:
        made["ok"]["payload"]["as"] = "as found"
        no = pen.write("observation", "A", {"input": "ok", "value": False, "as": mark}, "d2")
        no["t_device"] = made["ok"]["t_device"].replace(":00+", ":20+")

    assert (("RUN-04", "A") in codes(judged(other))) is differs


def test_a_correction_of_what_is_not_there_amends_nothing() -> None:
    pen = Pen()
    pen.write("correction", "", {"reason": "typing", "payload": {"text": "x"}}, replaces="gone")
    pen.write("void", "", {"reason": "no"}, replaces="gone")
    assert amends_nothing(map(entry_of, pen.made)) == ("d1-001", "d1-002")


def test_a_valve_worked_by_hand_that_is_locked_stands_as_it_stood() -> None:
    plan = replace(MINDED, minding=replace(MINDED.minding, left=(Leaving("lid", ("on", "shut")),)))
    assert codes(judged(lambda pen, made: pen.do("lock", "lid"), plan=plan)) == set()
    assert ("RUN-52", "lid") in codes(judged(lambda pen, made: pen.do("set", "lid"), plan=plan))


def test_a_broken_seal_is_called_so() -> None:
    found = judged(lambda pen, made: pen.do("break seal", "cup.handle"), plan=minded())
    assert [one.remark.params["is"] for one in found.blocks if one.remark.code == "RUN-52"] == ["seal broken"]
