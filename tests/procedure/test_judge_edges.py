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
from steadyhead.procedure.ledger import gathered
from steadyhead.procedure.naming import names_of
from steadyhead.procedure.steps import _bands
from steadyhead.records.entry import Entry
from steadyhead.records.minding import Leaving, Minding
from steadyhead.records.procedure import Choice, Expect, Procedure
from steadyhead.records.run import Judgement
from tests.procedure.kettle import NO, kettle, words
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

    for more in ((void,), (mend,)):
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
    assert _bands(step("X", expect=bands), {})["a"] == {"low": 2.0, "high": 4.0, "nominal": 3.0}


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
    for do in ("turn", "raise", "adjust", "clean"):
        found = judged(lambda pen, made, do=do: pen.do(do, "", "B1"), plan=MINDED)  # type: ignore[misc]
        assert "RUN-51" not in {code for code, _ in codes(found)}, do
    assert ("RUN-51", "turn") in codes(judged(lambda pen, made: pen.do("turn", "", "D"), plan=MINDED))


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
