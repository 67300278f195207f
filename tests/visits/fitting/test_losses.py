"""Losses of strainer and shut-off: the handbook's own table, what is shared, what a test cannot tell."""

from __future__ import annotations

import pytest

from steadyhead.laws.coefficients import k_of_kv
from tests.visits.fitting.quernhollow import TABLE, entries, fitted
from tests.visits.fitting.sites import Site, model_of
from tests.visits.plan_stations import DOWN, UP

HANDBOOK = "design handbook 10.2, H4: k strainer ≈ 7.5e-4, k SO ≈ 3e-4 bar/(L/s)²"
PRINTED = 1e5 / 1e-6  # bar/(L/s)² in SI


@pytest.mark.source(kind="independent", ref=HANDBOOK)
def test_the_handbooks_table_gives_the_coefficients_the_handbook_prints():
    found = fitted(entries())
    strainer, shut_off = found.value("ST.kv_clean"), found.value("SO.kv")
    assert strainer.state["loss_factor"] / PRINTED == pytest.approx(7.5e-4, abs=0.1e-4)  # printed as ≈
    assert abs(strainer.state["loss_factor"] - 7.5e-4 * PRINTED) < strainer.state["loss_factor_within"]
    assert shut_off.state["loss_factor"] / PRINTED == pytest.approx(3e-4, abs=0.5e-4)
    assert shut_off.state["loss_factor_within"] / PRINTED < 1.5e-4
    assert found.left_out == ()


@pytest.mark.source(kind="analytic", ref="Δp = (Q/k)², k of Kv by IEC 60534-1")
def test_the_coefficient_that_is_kept_takes_what_was_read_with_the_open_valve_beside_it():
    found = fitted(entries())
    density = model_of((), UP).density
    kv = found.value("ST.kv_clean").value
    inlet = k_of_kv(0.04 * 150**2 / 0.2**0.5, density) ** -2  # IV1 by its default loss coefficient
    whole = k_of_kv(kv, density) ** -2 + inlet
    assert whole * (22e-3) ** 2 == pytest.approx(0.36e5, abs=0.02e5)


def test_one_figure_typed_wrong_is_named_and_moves_nothing():
    right = fitted(entries()).value("ST.kv_clean")
    found = fitted(entries({("T1", 5): 10.19}))  # 10.91, two digits exchanged
    named = [(one.step, one.input) for one in found.left_out if one.why == "outlier"]
    assert named == [("H4", "T1.5")]
    assert found.value("ST.kv_clean").value == pytest.approx(right.value, abs=right.within)


def test_a_test_at_small_flows_leaves_the_small_loss_open_and_says_what_would_tell_it():
    site = Site({"ST.kv_clean": 400.0, "SO.kv": 700.0}, 3)
    site.flow_test((0.4e-3, 1e-3, 1.5e-3, 2e-3, 2.5e-3))
    found = site.fit()
    told = {one.key: (one.reason, one.needs) for one in found.undetermined}
    assert told["SO.kv"] == ("too wide", "loss.more_flow")
    assert told["ST.kv_clean"] == ("too wide", "loss.more_flow")


def test_without_a_flow_test_losses_keep_what_they_were():
    site = Site({}, 4)
    site.lock_up()
    told = {one.key: one for one in site.fit().undetermined}
    assert (told["ST.kv_clean"].reason, told["ST.kv_clean"].needs) == ("no readings", "loss.flow_test")
    assert told["ST.kv_clean"].kept == pytest.approx(675.0)
    assert told["ST.kv_clean"].kept_from.startswith("default")


def test_one_gauge_moved_from_tap_to_tap_tells_a_loss_that_two_gauges_do_not():
    def made(moved):
        site = Site({"ST.kv_clean": 200.0, "SO.kv": 420.0}, 11)
        site.flow_test((0.4e-3, 2e-3, 4e-3, 6e-3, 9e-3))
        if moved:
            taps = site.taps(9e-3)
            for name, above, below in (("strainer", "T0", "T1"), ("shut_off", "T1", "T2")):
                loss = round((taps[above] - taps[below]) / 100.0) * 100.0
                site.note("H4", name, "pressure", loss, instrument="LG0", flow=9e-3, flow_instrument="MT")
        return site.fit()

    apart, together = made(moved=False), made(moved=True)
    assert "ST.kv_clean" in {one.key for one in together.fitted}
    width = {one.key: one.within / one.value for one in (*apart.fitted, *together.fitted)}
    before = {one.key: one.within for one in apart.fitted}
    assert together.value("ST.kv_clean").within < before.get("ST.kv_clean", 1e9)
    assert width["ST.kv_clean"] < 0.2


def test_strainer_and_shut_off_err_against_each_other_by_the_tap_they_share():
    site = Site({"ST.kv_clean": 120.0, "SO.kv": 160.0}, 5)
    site.flow_test()
    (together,) = site.fit().correlations
    assert {together.one, together.other} == {"ST.kv_clean", "SO.kv"}
    assert together.value < -0.3


def test_a_supply_that_moves_of_itself_gives_no_sag():
    still = Site({}, 6)
    still.flow_test()
    assert still.fit().value("supply.sag").value == pytest.approx(0.3e5, abs=0.1e5)
    moving = {one.key: one.reason for one in fitted(entries()).undetermined}
    assert moving.get("supply.sag") == "does not fit"  # T0 of the table falls with Q¹·³, not with Q²


def test_a_strainer_cleaned_after_the_flow_test_is_not_the_one_that_was_read():
    site = Site({"ST.kv_clean": 120.0, "SO.kv": 160.0}, 7)
    site.flow_test()
    site.act("B4", "clean", "ST.element")
    found = site.fit()
    assert {one.key for one in found.fitted} & {"ST.kv_clean", "SO.kv"} == set()
    assert {one.key: one.reason for one in found.undetermined}["ST.kv_clean"] == "no readings"


def test_a_swinging_reading_is_left_out_and_named():
    made = entries()
    at = next(n for n, one in enumerate(made) if one.payload.get("input") == "T1.4")
    swing = {**made[at].payload, "swing": {"mean": 11.16e5, "peak_to_peak": 0.4e5, "period": 3.0}}
    made[at] = made[at].__class__(**{**_fields(made[at]), "payload": swing})
    found = fitted(made)
    assert [(one.input, one.why) for one in found.left_out] == [("T1.4", "swings")]
    assert len(found.value("ST.kv_clean").entries) == 2 * len(TABLE) - 1


def _fields(entry):
    names = ("id", "run", "node", "device", "device_seq", "kind", "payload", "who", "t_device", "t_mono")
    return {name: getattr(entry, name) for name in names}


def test_the_shut_off_behind_the_reducer_is_read_across_its_own_two_taps():
    site = Site({"ST.kv_clean": 120.0, "SO.kv": 150.0}, 8, name=DOWN)
    site.flow_test()
    found = site.fit()
    assert found.value("SO.kv").value == pytest.approx(150.0, abs=found.value("SO.kv").within * 1.5)
