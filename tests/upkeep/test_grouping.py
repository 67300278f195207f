"""What goes together: one station, one isolation, and what is near enough."""

from __future__ import annotations

from datetime import date

from steadyhead.upkeep.grouping import Line, group

DAY = date(2027, 3, 1)


def line(key: str, on: str, pull: str = "", isolation: str = "IV1|IV2", station: str = "A") -> Line:
    return Line(key, station, isolation, date.fromisoformat(on), date.fromisoformat(pull or on))


def test_lines_of_one_station_and_isolation_stand_together_in_the_order_given():
    rows = [line("a", "2027-03-05"), line("b", "2027-03-02", station="B"), line("c", "2027-03-01")]
    assert [(one.station, one.due) for one in group(rows, rows, DAY)] == [("A", ("a", "c")), ("B", ("b",))]


def test_what_is_due_within_its_share_is_pulled_in_and_what_is_not_is_left():
    near, far = line("near", "2028-01-01", "2027-03-04"), line("far", "2029-01-01", "2027-03-06")
    found = group([line("a", "2027-03-05")], [near, far], DAY)
    assert found[0].pulled == ("near",)


def test_a_visit_to_something_overdue_is_today():
    near = line("near", "2028-01-01", "2027-02-20")
    assert group([line("a", "2026-01-01")], [near], DAY)[0].pulled == ("near",)
    later = line("later", "2028-01-01", "2027-03-02")
    assert group([line("a", "2026-01-01")], [later], DAY)[0].pulled == ()


def test_a_stream_is_out_where_the_whole_line_is_and_not_the_other_way():
    branch = line("branch", "2028-01-01", "2027-01-01", "IV1|IV2/IVA1|IVA2")
    whole = line("whole", "2028-01-01", "2027-01-01", "IV1|IV2")
    assert group([line("a", "2027-03-01")], [branch], DAY)[0].pulled == ("branch",)
    own = line("a", "2027-03-01", isolation="IV1|IV2/IVA1|IVA2")
    assert group([own], [whole], DAY)[0].pulled == ()


def test_nothing_is_pulled_into_work_that_shuts_nothing_off_nor_from_another_station():
    other = line("other", "2028-01-01", "2027-01-01", station="B")
    open_ = line("open", "2028-01-01", "2027-01-01", "")
    assert group([line("a", "2027-03-01", isolation="")], [open_, other], DAY)[0].pulled == ()
    assert group([line("a", "2027-03-01")], [open_, other], DAY)[0].pulled == ()


def test_nothing_is_told_twice():
    rows = [line("a", "2027-03-01"), line("b", "2027-03-01", isolation="IV1|IV2/IVA1|IVA2")]
    near = line("near", "2028-01-01", "2027-01-01", "IV1|IV2/IVA1|IVA2")
    found = group(rows, [*rows, near], DAY)
    assert [one.pulled for one in found] == [("near",), ()]
