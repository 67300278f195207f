"""The same water told by a gauge at the station datum and by one 3 m above it: the same verdicts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.drawings.logger import draw_logger
from steadyhead.drawings.palette import screen
from steadyhead.records.logger import Channel, Context, Known
from steadyhead.register import open_register
from steadyhead.register.logs import logs_folder
from steadyhead.services.logs.heights import DATUM, Heights, at_height, heights_of
from steadyhead.services.logs.importing import read_files
from steadyhead.services.logs.judging import judge_period
from steadyhead.services.logs.known import Bounds
from steadyhead.services.logs.limits import held_of
from steadyhead.services.logs.proposing import Given
from steadyhead.services.logs.seen import edges_of, picture_of, window, window_view
from steadyhead.services.logs.spoken import spoken, told_in
from steadyhead.services.logs.telling import tell_at
from steadyhead.services.logs.year import year_view
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.units import US
from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import tell
from steadyhead.watch.happening.believing import chosen
from tests.logger.handing import channels
from tests.services.logs.tripped import at, seen, tripped

KEY, WHO, BAR = "DMB-01", "Ilse Marrow", 1e5
UP = 3.0
"""Height of the raised tap over the datum. [m]"""
LESS = 999.0 * 9.81 * UP
"""What a gauge there reads less. [Pa]"""
SAID = "3.0 m above the datum"
SOURCE = read("dunmarrow-bottom").decode()
RAISED = SOURCE.replace("{part: tap, id: T3}", f"{{part: tap, id: T3, height: {UP} m}}")


def kept(folder, source: str, less: float):
    """Return a register with the tripped station, its outlet read `less` [Pa] lower; and what is judged."""
    folder.mkdir()
    register = open_register(folder / "register")
    save(register, source.encode(), WHO)
    path = tripped(folder)
    head, *lines = path.read_text("utf-8").splitlines()
    rows = [line.split(",") for line in lines]
    text = [",".join([*row[:2], f"{float(row[2]) - less / BAR:.4f}", *row[3:]]) for row in rows]
    path.write_text("\n".join([head, *text]) + "\n", "utf-8")
    logs = logs_folder(register)
    read_files(register, logs, Given(KEY, (path,), "kiosk", {"zone": "UTC"}), WHO)
    return register, logs, judge_period(register, logs, KEY, who=WHO)


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """The station with its outlet's tap at the datum, and with it raised."""
    if RAISED == SOURCE:
        pytest.fail("the example's tap T3 is written otherwise")
    folder = tmp_path_factory.mktemp("heights")
    found = kept(folder / "datum", SOURCE, 0.0), kept(folder / "raised", RAISED, LESS)
    yield found
    for register, _, _ in found:
        register.close()


def measure(view, code: str):
    return next(one for one in view.measures if one.code == code)


def test_margin_and_time_in_band_are_the_same_and_say_what_was_carried(both):
    (_, _, flat), (_, _, raised) = both
    for code, near in (("margin to the trip", 50.0), ("time in band", 0.02)):
        one, other = measure(flat, code), measure(raised, code)
        assert other.value == pytest.approx(one.value, abs=near)
        assert not any("carried" in words for words in one.assumptions)
        assert f"limits carried to the gauge, {SAID}" in other.assumptions
    low = "outlet at the lowest flow"
    assert measure(raised, low).value == pytest.approx(measure(flat, low).value - LESS, abs=100.0)
    assert f"limits carried to the gauge, {SAID}" in measure(raised, low).assumptions


def test_limits_are_crossed_alike_and_told_as_the_gauge_reads_them(both):
    held = [{one["code"]: one for one in held_of(place, view)} for place, _, view in both]
    assert held[0].keys() == held[1].keys()
    assert {"margin to the trip", "outlet at the lowest flow", "time in band"} <= held[0].keys()
    for code, one in held[0].items():
        assert one["crossed"] == held[1][code]["crossed"]
        assert "gauge" not in one["limit"]
    for code in ("margin to the trip", "outlet at the lowest flow"):
        assert held[1][code]["limit"].endswith(f" bar at the gauge, {SAID}")
    assert held[1]["margin to the trip"]["words"] == held[0]["margin to the trip"]["words"]


def test_events_are_the_same_and_name_the_trip_at_the_gauge(both):
    (_, _, flat), (_, _, raised) = both
    assert [(one.code, one.start) for one in raised.happenings] == [
        (one.code, one.start) for one in flat.happenings
    ]
    assert [one.code for one in raised.episodes] == [one.code for one in flat.episodes]
    readings = []
    for place, logs, _ in both:
        told = tell_at(place, logs, KEY, at(seen()[1] + 3600.0))
        assert told.event is not None
        assert told.event.code == "trip"
        readings.append([(one.name, one.sure, [c.seen for c in one.clauses]) for one in told.readings])
    assert readings[0] == readings[1]
    said = [c.words for one in told.readings for c in one.clauses if "lock-up" in c.words]
    assert said
    assert all(words.endswith(f" bar at the gauge, {SAID}") for words in said if "stands at" in words)


def test_levels_of_a_picture_and_the_year_stand_at_the_gauge(both):
    levels, counts, lows = [], [], []
    for place, logs, _ in both:
        view = window_view(place, logs, KEY, window(place, KEY, None, None), most=200)
        outlet = next(one for one in view.channels if one.quantity == "outlet pressure")
        least = min(outlet.buckets.low)
        levels.append([(one.words, one.value - least) for one in outlet.levels])
        year = year_view(place, logs, KEY)
        counts.append(year.counts)
        lows.append((year.low_pa, year.words[0]))
    assert [name for name, _ in levels[0]] == [name for name, _ in levels[1]]
    assert [v for _, v in levels[1]] == pytest.approx([v for _, v in levels[0]], abs=20.0)
    assert counts[0] == counts[1]
    assert (lows[0][0] or 0.0) - (lows[1][0] or 0.0) == pytest.approx(LESS)
    assert f"bar at the gauge, {SAID}, in " in lows[1][1]
    words = f"are carried to the gauge, {SAID}."
    assert words in view.words
    assert words in " ".join(picture_of(view, "Station").caption)
    assert draw_logger(picture_of(view, "Station"), screen(), 720).count(SAID) >= 1
    place = both[1][0]
    us = window_view(place, both[1][1], KEY, window(place, KEY, None, None), US, most=200)
    assert "9.8 ft above the datum" in us.words
    assert "above the datum" not in window_view(
        both[0][0], both[0][1], KEY, window(both[0][0], KEY, None, None), most=200
    ).words  # fmt: skip


def test_heights_are_told_in_the_readers_units(both):
    place, _, view = both[1]
    turned = told_in(view, US, edges_of(place, KEY))
    assert (
        "limits carried to the gauge, 9.8 ft above the datum" in measure(turned, "time in band").assumptions
    )
    assert spoken(f"highest normal 4.31 bar at the gauge, {SAID}", US) == (
        "highest normal 62.5 psi at the gauge, 9.8 ft above the datum"
    )
    assert len(edges_of(place, KEY)) == 2 * len(edges_of(both[0][0], KEY))


def test_a_trip_below_its_pressure_names_it_as_the_gauge_reads_it():
    for height, said in ((0.0, "of 6.50 bar: the peak"), (UP, f"of 6.50 bar at the gauge, {SAID}: the peak")):
        context = Context(zone="UTC", known=Known(trip=6.5e5, height=height))
        given = channels(seen()[0])
        told = tell(given, context, judge(given, context))
        (trip,) = [one for one in told.happenings if one.code == "trip"]
        assert any(said in words for words in trip.evidence)


def channel(id_: str, place: str | None, quantity="outlet pressure", statistic="spot") -> Channel:
    return Channel(id_, place, quantity, statistic, "bar", BAR, 0.0, False, None, "UTC", "linear", (), id_)


def test_the_gauge_of_a_channel_is_its_tap_else_that_of_its_role():
    heights = Heights({"T0": 1.0, "T1": 2.0, "T3": 3.0, "T4": -4.0}, {"T1": "T1", "T3": "T3"})
    assert heights.of_gauge(channel("a", "T4")) == -4.0
    assert heights.of_gauge(channel("a", None)) == heights.of_gauge(channel("a", "T9")) == 3.0
    assert heights.of_gauge(channel("a", None, "inlet pressure")) == 2.0
    assert heights.of_gauge(channel("a", None, "flow")) == 0.0
    several = replace(heights, roles={})
    assert several.of_gauge(channel("a", None)) == 0.0
    assert several.of_gauge(channel("a", "T3")) == 3.0
    known = heights.known(Known(4.2e5, 5.2e5, 8e5, 0.01))
    assert known == Known(at_height(4.2e5, 3.0), at_height(5.2e5, 3.0), at_height(8e5, 2.0), 0.01, 3.0)
    before = (channel("b", "T4"), channel("a", "T3"), channel("i", "T0", "inlet pressure"))
    known = heights.known(Known(4.2e5, 5.2e5, 8e5, 0.01), before)
    assert known == Known(at_height(4.2e5, -4.0), at_height(5.2e5, -4.0), at_height(8e5, 1.0), 0.01, -4.0)
    assert DATUM.known(Known(4.2e5, 5.2e5), before) == Known(4.2e5, 5.2e5)


def test_the_margin_counts_at_the_gauge_of_the_loggers_own_maximum():
    heights = Heights({"T3": 3.0, "T4": -4.0}, {"T3": "T3"})
    every = (channel("a", "T4", statistic="maximum"), channel("b", "T3"))
    found = heights.bounds(Bounds(low=3e5, high=4e5, trip=5e5), every)
    assert (found.height, found.trip_height) == (3.0, -4.0)
    assert (found.low, found.trip) == (at_height(3e5, 3.0), at_height(5e5, -4.0))
    assert set(heights.edges(Bounds(trip=5e5), every)) == {5e5, at_height(5e5, 3.0), at_height(5e5, -4.0)}


def test_the_channel_that_is_told_from_is_chosen_by_its_place_and_kind():
    spot, most = channel("b", "T3"), channel("a", "T3", statistic="maximum")
    assert chosen((most, spot, channel("c", "T4")), "outlet pressure") is spot
    inlets = (channel("x", "T0", "inlet pressure"), channel("y", None, "inlet pressure"))
    assert chosen(inlets, "inlet pressure") is inlets[1]
    assert chosen((most,), "outlet pressure") is None


def test_taps_of_a_station_of_several_streams_have_their_heights_and_no_roles(tmp_path):
    register = open_register(tmp_path / "register")
    source = read("tarnholt-quay")
    save(register, source, WHO)
    found = heights_of(register, load(source).station.station.id)
    assert found.taps
    assert not found.roles
    register.close()
