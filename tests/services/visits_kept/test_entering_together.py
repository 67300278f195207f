"""What a form sends is kept together, judged before other writers wait, and names what takes its place."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register, open_register
from steadyhead.services.entering import Stamp
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import plans, run_gist, runs
from steadyhead.services.visits_kept.filing import Filed
from steadyhead.services.visits_kept.run_rows import one_run
from steadyhead.services.visits_kept.standing import followed, replaced_by
from steadyhead.station.examples import read

KEY, WHO = "PNY-1", "Ilse Marrow"


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Register, str]]:
    folder: Path = tmp_path_factory.mktemp("together") / "register"
    register = open_register(folder)
    save(register, read("pinnock-yard"), WHO, "first")
    made = plans.make(register, KEY, "first", "", WHO, with_paper=False)
    yield register, runs.begin(register, KEY, made.record.id, WHO).id
    register.close()


def count(register: Register, one: str) -> int:
    with register.reading() as connection:
        return one_run(connection, KEY, one).entries


def test_a_choice_is_not_kept_where_an_answer_beside_it_cannot_be_taken(begun: tuple[Register, str]):
    register, one = begun
    before, choice = count(register, one), ["E0.RV", "choose", "fits"]
    with pytest.raises((InputError, InputErrors)):
        runs.enter(register, KEY, one, ["E0.RV", "fits=perhaps"], WHO, Stamp(WHO), ahead=choice)
    assert count(register, one) == before
    runs.enter(register, KEY, one, ["E0.RV", "fits=yes"], WHO, Stamp(WHO), ahead=choice)
    assert count(register, one) == before + 2


@pytest.mark.parametrize("at", ["", "2027-04-14T08:05+01:00"])
def test_nothing_is_judged_while_other_writers_wait(
    begun: tuple[Register, str], monkeypatch: pytest.MonkeyPatch, at: str
):
    register, one = begun

    def judged(*_: object) -> None:
        raise AssertionError("judged inside the transaction")

    monkeypatch.setattr(run_gist, "_judged", judged)
    runs.enter(register, KEY, one, ["note", "weather", "dry"], WHO, Stamp(WHO, at=at))


def test_a_transaction_that_fails_leaves_no_gist_at_hand(
    begun: tuple[Register, str], monkeypatch: pytest.MonkeyPatch
):
    register, one = begun
    held = dict(run_gist._ready)

    def fails(*_: object) -> None:
        raise OSError("no room")

    monkeypatch.setattr(runs, "renew", fails)
    with pytest.raises(OSError, match="no room"):
        runs.enter(register, KEY, one, ["note", "weather", "wet"], WHO, Stamp(WHO))
    assert run_gist._ready == held


def filed(revision: int, *, struck: str = "", proved: bool = True) -> Filed:
    about = {"number": "C-1", "revision": revision, "proved": proved, "standing": "final"}
    return Filed(f"r{revision}", KEY, "certificate", "", "", "", "", "", "", WHO, about, struck)


def test_the_newest_revision_that_is_proved_and_stands_takes_the_place_of_the_others():
    first, second, third = filed(1), filed(2), filed(3, struck="wrong valve")
    every = [first, second, third, filed(4, proved=False)]
    assert [replaced_by(one, every) for one in every] == [2, 0, 0, 0]


def of_day(day: str, *valves: str, standing: str = "final") -> Filed:
    about = {
        "number": day,
        "revision": 1,
        "proved": True,
        "standing": standing,
        "proves": ["trip"],
        "day": day,
    }
    about |= {"valves": valves, "guards": ("SO1", "SO2")}
    return Filed(day, KEY, "certificate", "", "", "", "", "", day, WHO, about, "")


def test_a_later_certificate_of_the_same_shut_off_takes_over_and_one_of_another_does_not():
    old, beside = of_day("2026-01-01", "SO1"), of_day("2026-01-02", "SO2")
    every = [old, beside, of_day("2026-03-03", "SO1"), of_day("2026-04-04", "SO2", standing="provisional")]
    assert followed(every, date(2026, 5, 5)) == {"2026-01-01": "2026-03-03"}
    assert followed(every, date(2026, 2, 2)) == {}
