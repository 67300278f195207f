"""Two people changed one file: what each changed, and one file of both."""

from __future__ import annotations

import random

import pytest

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.services.stations.conflicts import conflict_again, conflict_view, save_merged
from steadyhead.services.stations.kept import head_file
from steadyhead.services.stations.merging import all_mine, checked, differences, merged
from steadyhead.services.stations.saving import Conflict, save
from steadyhead.station.examples import read
from steadyhead.station.load import load
from tests.services.stations.files import QUILLENBY, changed

pytestmark = pytest.mark.by_turns(2)

BASE = read(QUILLENBY)
DRAIN = next(line for line in BASE.decode().splitlines(keepends=True) if "id: TD" in line)
NEW_TAP = "  - {part: tap, id: T9, name: spare}\n"
SWAPS = (
    ("trip: 5.2 bar", "trip: 5.25 bar"),
    ("lockup: 4.2 bar", "lockup: 4.25 bar"),
    ("average: 7 L/s", "average: 8 L/s"),
    ("zero_possible: no", "zero_possible: yes"),
    ("delay: 60 s", "delay: 90 s"),
    ("span: 10 bar, accuracy: 0.6 %", "span: 12 bar, accuracy: 0.6 %"),
    (DRAIN, DRAIN + NEW_TAP),
    ("  highest: 18 °C\n", ""),
    ("equipment: {hand_pump: yes}", "equipment: {hand_pump: no}"),
    ("level: 84 m\n", "level: 85 m\n  stock: 2 h\n"),
)
"""Changes that do not touch each other."""


def test_changes_at_different_places_are_told_apart() -> None:
    found = differences(BASE, changed(SWAPS[1]), changed(SWAPS[0]))
    assert [(one.words, one.side) for one in found] == [("RV: lockup", "mine"), ("SO: trip", "theirs")]
    assert [(one.base, one.mine, one.theirs) for one in found] == [
        ("4.2 bar", "4.25 bar", "4.2 bar"),
        ("5.2 bar", "5.2 bar", "5.25 bar"),
    ]


def test_one_place_that_both_changed_is_a_choice() -> None:
    mine, theirs = changed(("trip: 5.2 bar", "trip: 5.3 bar")), changed(SWAPS[0])
    found = differences(BASE, mine, theirs)
    assert [one.side for one in found] == ["both"]
    with pytest.raises(InputErrors, match="Choose yours or theirs"):
        checked(found, {})
    assert checked(found, {found[0].name: "theirs"}) == ()
    assert b"trip: 5.3 bar" in merged(mine, theirs, checked(found, {found[0].name: "mine"}))


def test_what_both_made_alike_is_no_choice() -> None:
    found = differences(BASE, changed(SWAPS[0], SWAPS[1]), changed(SWAPS[0]))
    assert [one.side for one in found] == ["mine", "agreed"] or [one.side for one in found] == [
        "agreed",
        "mine",
    ]


def test_comments_of_the_other_file_stay_where_they_are() -> None:
    theirs = changed(("alarm: {pressure", "# told to the desk on Monday\nalarm: {pressure"))
    out = merged(changed(SWAPS[1]), theirs, all_mine(differences(BASE, changed(SWAPS[1]), theirs)))
    assert out == changed(SWAPS[1], source=theirs)


@pytest.mark.parametrize("seed", range(12))
def test_mine_on_top_of_theirs_is_both_sets_of_changes(seed: int) -> None:
    drawn = random.Random(seed)
    swaps = list(SWAPS)
    drawn.shuffle(swaps)
    at = drawn.randrange(1, len(swaps))
    mine, theirs = changed(*swaps[:at]), changed(*swaps[at:])
    out = merged(mine, theirs, all_mine(differences(BASE, mine, theirs)))
    assert load(out).data == load(changed(*swaps)).data


@pytest.mark.parametrize("swap", SWAPS)
def test_one_change_of_mine_alone_gives_what_it_says(swap: tuple[str, str]) -> None:
    mine = changed(swap)
    found = differences(BASE, mine, BASE)
    assert found
    assert load(merged(mine, BASE, all_mine(found))).data == load(mine).data


def test_another_order_of_the_line_is_one_difference() -> None:
    tap = "  - {part: tap, id: T2}\n"
    text = BASE.decode()
    moved = text.replace(tap, "", 1).replace("  - part: shut_off\n", tap + "  - part: shut_off\n", 1).encode()
    found = differences(BASE, moved, changed(SWAPS[2]))
    assert [(one.words, one.side) for one in found if one.side == "mine"] == [("line: order", "mine")]
    out = merged(moved, changed(SWAPS[2]), all_mine(found))
    assert [part["id"] for part in load(out).data["line"]] == [
        part["id"] for part in load(moved).data["line"]
    ]


def test_a_field_of_something_the_other_took_away_is_the_choice_of_the_whole_of_it() -> None:
    theirs = changed((DRAIN, ""))
    found = differences(BASE, changed(("allowed: 60 m³", "allowed: 70 m³")), theirs)
    assert [(one.words, one.side) for one in found] == [("TD", "both")]


def _two(register: Register, mine: bytes, theirs: bytes) -> Conflict:
    save(register, BASE, "a")
    save(register, theirs, "b", "theirs", based_on=1, key="QUR-02")
    with pytest.raises(Conflict) as found:
        save(register, mine, "c", "mine", based_on=1, key="QUR-02")
    return found.value


def test_the_view_of_a_conflict_has_every_value_and_the_whole_text(register: Register) -> None:
    view = conflict_view(register, _two(register, changed(SWAPS[1]), changed(SWAPS[0])))
    assert view.mine == changed(SWAPS[1]).decode()
    assert {(one.field, one.mine, one.theirs) for one in view.lines} == {
        ("RV: lockup", "4.25 bar", "4.2 bar"),
        ("SO: trip", "5.2 bar", "5.25 bar"),
    }
    assert (view.theirs.who, view.base.number, view.why, view.only_text) == ("b", 1, "mine", False)


def test_comments_of_mine_that_are_not_taken_over_are_told(register: Register) -> None:
    mine = changed(SWAPS[1]) + b"# valve sticks # since May\n"
    assert conflict_view(register, _two(register, mine, changed(SWAPS[0]) + b"# theirs\n")).comments == (
        "# valve sticks # since May",
    )


def test_mine_anew_on_top_of_theirs_is_the_next_revision(register: Register) -> None:
    conflict = _two(register, changed(SWAPS[1]), changed(SWAPS[0]))
    again = conflict_again(register, "QUR-02", conflict.mine, 1, 2, "mine")
    saved = save_merged(register, again, "c")
    assert saved.number == 3
    assert head_file(register, "QUR-02").source == changed(SWAPS[0], SWAPS[1])


def test_a_third_person_in_between_makes_another_conflict(register: Register) -> None:
    conflict = _two(register, changed(SWAPS[1]), changed(SWAPS[0]))
    save(register, changed(SWAPS[0], SWAPS[2]), "d", based_on=2, key="QUR-02")
    with pytest.raises(Conflict) as found:
        save_merged(register, conflict, "c")
    assert (found.value.base.number, found.value.theirs.number) == (2, 3)
    saved = save_merged(register, found.value, "c")
    assert load(head_file(register, "QUR-02").source).data == load(changed(*SWAPS[:3])).data
    assert saved.number == 4


def test_a_choice_of_a_place_that_is_no_difference_is_refused(register: Register) -> None:
    conflict = _two(register, changed(SWAPS[1]), changed(SWAPS[0]))
    with pytest.raises(InputError, match="is no difference"):
        save_merged(register, conflict, "c", {"supply/static": "mine"})


def test_two_halves_that_do_not_fit_together_are_refused_and_nothing_is_saved(register: Register) -> None:
    mine = changed((", for_setting: yes", ""), ("senses: T3\n    sensing_tap", "senses: T9\n    sensing_tap"),
                   (DRAIN, NEW_TAP + DRAIN))  # fmt: skip
    conflict = _two(register, mine, changed(SWAPS[0]))
    found = differences(BASE, mine, changed(SWAPS[0]))
    take = {one.name: "theirs" if one.words == "T9" else "mine" for one in found}
    with pytest.raises(InputErrors):
        save_merged(register, conflict, "c", take)
    assert head_file(register, "QUR-02").number == 2
