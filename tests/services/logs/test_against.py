"""What a station's loggers say is held against its twin and against how it was left."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random

import polars as pl
import pytest

from steadyhead.hydraulics import build, solve
from steadyhead.records.baseline import Baseline, Fitted
from steadyhead.records.logger import Channel, Statistic
from steadyhead.records.parts import ShutOff
from steadyhead.records.steady import Conditions
from steadyhead.register import open_register
from steadyhead.register.logs import logs_folder
from steadyhead.services.logs.against import against_of
from steadyhead.services.logs.importing import read_files
from steadyhead.services.logs.judging import judge_period
from steadyhead.services.logs.known import all_known
from steadyhead.services.logs.limits import held_of
from steadyhead.services.logs.measure_tables import tables_of
from steadyhead.services.logs.proposing import Given
from steadyhead.services.measured import baseline_file
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept.filing import keep
from steadyhead.services.visits_kept.twin import choose
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.watch.measures import Measure
from tests.services.logs.files import written

KEY, WHO, BAR, LITRE = "DMB-01", "Ilse Marrow", 1e5, 1e-3
START, DAYS, STEP = datetime(2026, 3, 2), 12, 10
OFF = 0.12
"""By how much the made outlet stands over the twin's. [bar]"""
RAISED = 1.5
"""Height of the made station's outlet tap over its datum. [m]"""
SOURCE = read("dunmarrow-bottom").decode()


def rows(source: str, off: float = OFF):
    """Yield a file's rows: what gauges at the taps of the twin of a station file show, the outlet `off`."""
    station = load(source.encode()).station
    model = build(station)
    chance = Random(8)
    yield "Time;T1 [bar];T3 [bar];Flow [L/s]"
    for n in range(DAYS * 1440 // STEP):
        when = START + timedelta(minutes=n * STEP)
        hour = when.hour + when.minute / 60
        flow = 1.0 + 6.0 * math.exp(-(((hour - 8.0) / 3.0) ** 2)) + chance.uniform(0.0, 1.0)
        taps = solve(
            model,
            Conditions(supply_pressure=(8.0 + 0.05 * n % 1) * BAR, consumer_flow=flow * LITRE),
        ).taps
        outlet = taps["T3"] / BAR + off + chance.gauss(0.0, 0.004)
        yield f"{when:%Y-%m-%d %H:%M};{taps['T1'] / BAR:.3f};{outlet:.3f};{flow:.3f}"


LEFT = "2026-02-14T10:00:00+01:00"


def baseline(*fitted: Fitted, left: str = LEFT) -> Baseline:
    station = load(SOURCE.encode()).station.station.id
    return Baseline("b", station, "", "r", "", left, "", fitted)


def one(name: str, value: float, within: float = 0.01, **state: float) -> Fitted:
    return Fitted(
        "RV", name, "pressure", value * BAR, within * BAR, None, "", ("H4",), (), ("e",), 4,
        {key: flow * LITRE for key, flow in state.items()},
    )  # fmt: skip


@pytest.fixture
def kept(tmp_path):
    register = open_register(tmp_path / "register")
    save(register, SOURCE.encode(), WHO)
    logs = logs_folder(register)
    files = (written(tmp_path, "twin.csv", list(rows(SOURCE))),)
    read_files(register, logs, Given(KEY, files, "kiosk", {"zone": "UTC"}), WHO)
    yield register, logs
    register.close()


def chosen(register, *fitted: Fitted) -> None:
    content = baseline_file(baseline(*fitted))
    with register.writing(WHO) as writing:
        filed = keep(writing, KEY, "baseline", content, name="b.json", title="as left")
        choose(writing, KEY, filed.id)


def by_code(view):
    return {one.code: one for one in view.measures}


def test_an_outlet_made_by_the_twin_stands_over_it_by_what_was_added(kept):
    register, logs = kept
    view = judge_period(register, logs, KEY)
    found = by_code(view)
    level = found[Measure.TWIN_LEVEL.value]
    assert level.value == pytest.approx(OFF * BAR, abs=0.012 * BAR)  # bins of a tenth of flow
    assert level.assumptions[0] == "twin by the station file alone"
    assert found[Measure.TWIN_DROOP.value].value == pytest.approx(0.0, abs=0.012 * BAR)
    assert found[Measure.TWIN_LOCKUP.value].value == pytest.approx(0.0, abs=0.012 * BAR)  # a gauge's offset
    (table,) = tables_of(level)
    assert len(table.rows) > 8
    assert {row[4] for row in table.rows} <= {"0.11 bar", "0.12 bar", "0.13 bar"}
    assert Measure.DROOP_AS_LEFT.value not in found
    assert "no baseline is chosen" in view.not_measured[-1]


def test_a_gauge_above_the_datum_is_held_against_the_twin_at_its_own_height(tmp_path):
    raised = SOURCE.replace("{part: tap, id: T3", f"{{part: tap, height: {RAISED} m, id: T3")
    if raised == SOURCE:
        pytest.fail("the example's tap T3 is written otherwise")
    register = open_register(tmp_path / "register")
    save(register, raised.encode(), WHO)
    logs = logs_folder(register)
    files = (written(tmp_path, "twin.csv", list(rows(raised, -RAISED * 999.0 * 9.81 / BAR))),)
    read_files(register, logs, Given(KEY, files, "kiosk", {"zone": "UTC"}), WHO)
    view = judge_period(register, logs, KEY)
    assert by_code(view)[Measure.TWIN_LEVEL.value].value == pytest.approx(0.0, abs=0.012 * BAR)
    register.close()


def test_droop_and_lockup_are_held_against_the_chosen_baseline(kept):
    register, logs = kept
    chosen(
        register,
        one("droop", 0.02, from_flow=2.0, to_flow=7.0),
        one("lockup_rise", 0.20, duty_flow=4.0),
    )
    view = judge_period(register, logs, KEY, who=WHO)
    found = by_code(view)
    droop = found[Measure.DROOP_AS_LEFT.value]
    assert "as left on 14 February 2026" in droop.words
    assert abs(droop.value) < 0.05 * BAR
    rise = found[Measure.LOCKUP_AS_LEFT.value]
    assert rise.value < 0.0
    assert "below that lock-up" in rise.words
    assert found[Measure.TWIN_LEVEL.value].assumptions[0] == "twin by the baseline of 14 February 2026"
    assert not any("Not held" in words for words in view.not_measured)
    held = {one["code"]: one for one in held_of(register, view)}
    assert not held[Measure.DROOP_AS_LEFT.value]["crossed"]
    assert held[Measure.LOCKUP_AS_LEFT.value]["activity"] == "functional_check"


def test_a_lockup_that_rose_since_it_was_left_crosses_and_is_due(kept):
    register, logs = kept
    chosen(register, one("lockup_rise", 0.001, within=0.0005, duty_flow=4.0))
    view = judge_period(register, logs, KEY)
    (rise,) = [one for one in view.measures if one.code == Measure.LOCKUP_AS_LEFT.value]
    assert rise.low is not None
    more = rise.model_copy(update={"value": 0.2 * BAR, "low": 0.15 * BAR, "high": 0.25 * BAR})
    held = held_of(register, view.model_copy(update={"measures": (more,)}))
    assert [(one["crossed"], one["words"]) for one in held] == [
        (True, "rise at the lowest flow 0.20 bar more than the lock-up rise as left")
    ]


def test_a_shut_off_is_held_against_the_kv_of_the_baseline(kept):
    register, _ = kept
    assert all_known(register, KEY)[1].shut_off is None  # the file states none
    shut_off = next(part.id for part in load(SOURCE.encode()).station.parts() if isinstance(part, ShutOff))
    fitted = Fitted(shut_off, "kv", "flow_coefficient", 60.0, 1.0, None, "", (), (), (), 4)
    chosen(register, fitted)
    assert all_known(register, KEY)[1].shut_off == pytest.approx(BAR / (60.0 / 3600.0) ** 2)


def test_of_several_streams_and_of_no_gauge_the_twin_says_why_not(tmp_path):
    register = open_register(tmp_path / "register")
    save(register, read("tarnholt-quay"), WHO)
    key = load(read("tarnholt-quay")).station.station.id
    assert "of several streams" in " ".join(against_of(register, key, ()).lacks)
    save(register, SOURCE.encode(), WHO)
    found = against_of(register, KEY, ())
    assert found.twin is None
    assert "no outlet pressure at a tap" in found.lacks[0]
    register.close()


def channel(place: str | None, statistic: Statistic = "spot") -> Channel:
    name = f"outlet at {place}"
    return Channel(
        name, place, "outlet pressure", statistic, "bar", BAR, 0.0, False, None, "UTC", "step", (), "",
    )  # fmt: skip


def against(register, *channels: Channel, key: str = KEY):
    return against_of(register, key, [(one, pl.LazyFrame()) for one in channels])


def test_a_logger_beyond_the_tap_of_the_flow_test_is_not_held_against_it(kept):
    register, _ = kept
    chosen(register, one("droop", 0.02, from_flow=2.0, to_flow=7.0))
    assert against(register, channel("T3")).as_left is not None
    assert against(register, channel(None)).as_left is not None
    beyond = against(register, channel("T4"))
    assert beyond.as_left is None
    assert beyond.twin is not None
    assert "read at T3, the logger stands at T4" in beyond.lacks[0]
    both = against(register, channel("T4"), channel("T3"))
    assert (both.as_left, both.twin) == (None, None)
    assert "recorded at T3 and T4" in both.lacks[0]
    assert against(register, channel("T4", "maximum"), channel("T3")).as_left is not None


def test_of_two_reducers_in_series_the_one_judged_there_is_held(tmp_path):
    register = open_register(tmp_path / "register")
    save(register, read("sorrel-flat"), WHO)
    station = load(read("sorrel-flat")).station.station.id
    with register.writing(WHO) as writing:
        fitted = (replace(one("droop", 0.02, from_flow=2.0, to_flow=7.0), part="RV1"),)
        content = baseline_file(replace(baseline(*fitted), station_id=station))
        choose(writing, station, keep(writing, station, "baseline", content, name="b", title="as left").id)
    found = against(register, channel("T3"), key=station).as_left
    assert found is not None
    assert (found.reducer, found.droop) == ("RV2", None)
    register.close()


def test_a_baseline_of_a_part_that_is_gone_is_named_and_the_rest_is_said(kept):
    register, _ = kept
    chosen(register, replace(one("lockup_rise", 0.2, duty_flow=4.0), part="OLD"))
    found = against(register, channel("T3"))
    assert found.twin is None
    assert "has values of OLD" in found.lacks[0]
    assert found.as_left is not None
    assert found.as_left.rise is None
