"""The list of stations: find, filter, sort, pages by key."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from sqlalchemy import select, update

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.tables import station
from steadyhead.services.stations.listing import SHOWS, SORTS, listed, rows_listed
from steadyhead.services.stations.saving import save
from steadyhead.services.stations.situation import OVERDUE
from tests.register.servers import KINDS, opened
from tests.services.stations.files import named
from tests.web.many import copies

DAY = date(2027, 4, 15)


@pytest.fixture(scope="module", params=KINDS)
def _many(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    with opened(request.param, tmp_path_factory.mktemp("many") / "register") as found:
        copies(found, 123, seed=7)
        save(found, named("AAA-1", "Ashlow Low"), "a", day=DAY)
        save(found, named("BBB-1", "Brae_Top 100%"), "a", day=DAY)
        yield found


@pytest.fixture
def many(_many: Register) -> Register:
    return _many


def _all(register: Register) -> list[dict[str, Any]]:
    with register.reading() as connection:
        return [dict(row._mapping) for row in connection.execute(select(station))]


def _pages(register: Register, **asked: Any) -> list[str]:
    """Return all keys of a list, page by page."""
    keys: list[str] = []
    begin = ""
    while True:
        view, drawn = listed(register, begin=begin, day=DAY, most=10, **asked)
        assert len(drawn) == len(view.rows)
        if view.rows:
            assert (view.first, view.last) == (len(keys) + 1, len(keys) + len(view.rows))
        keys += [row.key for row in view.rows]
        assert view.total == view.counts[asked.get("show", "all")]
        if not view.after:
            return keys
        begin = view.after


def _weight(row: dict[str, Any]) -> int:
    late = row["next_due"] and row["next_due"] < DAY.isoformat()
    return max(row["weight"], OVERDUE) if late else int(row["weight"])


ORDERS = {
    "need": lambda row: (-_weight(row), row["key"]),
    "name": lambda row: (row["name"].lower(), row["key"]),
    "due": lambda row: (row["next_due"] or "9999-12-31", row["key"]),
}


@pytest.mark.parametrize("by", list(ORDERS))
def test_pages_by_key_give_every_station_once_in_order(many: Register, by: str) -> None:
    rows = [row for row in _all(many) if not row["struck"]]
    assert _pages(many, by=by) == [row["key"] for row in sorted(rows, key=ORDERS[by])]


def test_the_last_change_comes_first(many: Register) -> None:
    keys = _pages(many, by="changed")
    changed_at = {row["key"]: row["changed_at"] for row in _all(many)}
    assert [changed_at[key] for key in keys] == sorted((changed_at[key] for key in keys), reverse=True)


@pytest.mark.parametrize("by", list(SORTS))
def test_going_back_gives_the_pages_that_were_seen(many: Register, by: str) -> None:
    seen, begin = [], ""
    for _ in range(4):
        view, _drawn = listed(many, by=by, begin=begin, day=DAY, most=10)
        seen.append(view)
        begin = view.after
    for earlier, later in zip(seen[-2::-1], seen[:0:-1], strict=True):
        back, _drawn = listed(many, by=by, until=later.before, day=DAY, most=10)
        assert [row.key for row in back.rows] == [row.key for row in earlier.rows]
        assert (back.first, back.last, back.after) == (earlier.first, earlier.last, earlier.after)
    assert back.before == ""


def test_each_choice_shows_what_it_counts(many: Register) -> None:
    today, rows = DAY.isoformat(), _all(many)
    on = [row for row in rows if not row["struck"]]
    wanted = {
        "all": on,
        "needs": [row for row in on if _weight(row) >= OVERDUE],
        "shut": [row for row in on if row["weight"] >= 90],
        "unproved": [row for row in on if row["proof"] == "none"],
        "stale": [row for row in on if row["proof"] in ("stale", "refused")],
        "proof-due": [row for row in on if row["proof"] == "due"],
        "overdue": [row for row in on if row["next_due"] and row["next_due"] < today],
        "unreleased": [row for row in on if not row["released"]],
        "off": [row for row in rows if row["struck"]],
    }
    view, _ = listed(many, day=DAY)
    assert view.counts == {show: len(found) for show, found in wanted.items()}
    for show in SHOWS:
        assert set(_pages(many, show=show)) == {row["key"] for row in wanted[show]}


def test_all_words_must_be_found_wherever_they_stand(many: Register) -> None:
    assert {row.key for row in listed(many, q="ashlow LOW", day=DAY)[0].rows} >= {"AAA-1"}
    assert [row.key for row in listed(many, q="low aaa-1", day=DAY)[0].rows] == ["AAA-1"]
    view, _ = listed(many, q="aaa-1 mesquill", day=DAY)
    assert (view.rows, view.counts["all"], view.first) == ((), 0, 0)


def test_signs_of_a_pattern_are_words_like_others(many: Register) -> None:
    assert [row.key for row in listed(many, q="brae_top", day=DAY)[0].rows] == ["BBB-1"]
    assert [row.key for row in listed(many, q="100%", day=DAY)[0].rows] == ["BBB-1"]
    assert listed(many, q="%", day=DAY)[0].counts["all"] == 1
    assert listed(many, q="a_a-1", day=DAY)[0].counts["all"] == 0
    assert listed(many, q="/", day=DAY)[0].counts["all"] == 0


def test_what_is_overdue_is_told_before_its_gist_is_renewed(register: Register) -> None:
    save(register, named("AAA-1", "Ashlow Low"), "a", day=DAY)
    with register.caching() as connection:
        connection.execute(
            update(station).values(
                weight=0, worst="", next_due="2027-04-14", due_words="cleaning of the strainer ST"
            )
        )
    row = listed(register, day=date(2027, 4, 15))[0].rows[0]
    assert (row.weight, row.mark, row.group, row.is_overdue) == (OVERDUE, "due", "needs", True)
    assert row.worst == "cleaning of the strainer ST overdue since 14 Apr 2027"
    assert listed(register, day=date(2027, 4, 14))[0].rows[0].weight == 0


def test_a_page_that_begins_with_a_station_of_no_register_is_the_first(many: Register) -> None:
    first, _ = listed(many, day=DAY)
    for begin in ("NOBODY", "x" * 60, "' OR 1=1 --"):
        assert [row.key for row in listed(many, begin=begin, day=DAY)[0].rows] == [
            row.key for row in first.rows
        ]


@pytest.mark.parametrize(
    ("asked", "field"),
    [({"show": "red"}, "show"), ({"by": "luck"}, "by"), ({"q": "a" * 101}, "q"), ({"q": "a " * 9}, "q")],
)
def test_what_cannot_be_asked_is_named(many: Register, asked: dict[str, str], field: str) -> None:
    with pytest.raises(InputError) as found:
        listed(many, **asked)  # type: ignore[arg-type]
    assert found.value.field == field


def test_the_whole_list_is_that_of_its_pages(many: Register) -> None:
    with many.reading() as connection:
        keys = [row["key"] for row in rows_listed(connection, "", "needs", "name", DAY)]
    assert keys == _pages(many, show="needs", by="name")


def test_counts_follow_a_saving_at_once(register: Register) -> None:
    save(register, named("AAA-1", "Ashlow Low"), "a", day=DAY)
    assert listed(register, day=DAY)[0].counts["all"] == 1
    save(register, named("AAB-1", "Ashlow High"), "a", day=DAY)
    assert listed(register, day=DAY)[0].counts["all"] == 2
