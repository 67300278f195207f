"""Values with which the twin does not stand, flows at odds with their point, the figure that is judged."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.records.baseline import Fitted, Undetermined
from steadyhead.visits.fitting.losses import _wider_side
from steadyhead.visits.fitting.outcome import Outcome
from steadyhead.visits.fitting.standing import refused
from steadyhead.visits.fitting.words import _kept, findings
from tests.visits.fitting.quernhollow import entries, fitted
from tests.visits.fitting.sites import plain


def told(kv: float, part: str = "SO", name: str = "kv") -> Fitted:
    return Fitted(part, name, "flow_coefficient", kv, 0.1 * kv, 205.0, "stated", ("H4",), (), (), 6)


def test_a_coefficient_with_which_the_twin_carries_no_duty_is_refused_by_name_and_the_others_are_kept():
    of = plain()
    found = refused(of, Outcome(fitted=(told(4.3), told(300.0, "ST", "kv_clean"))))
    assert [one.key for one in found.fitted] == ["ST.kv_clean"]
    (lacking,) = found.undetermined
    assert (lacking.key, lacking.reason, lacking.kept) == ("SO.kv", "does not stand", 205.0)
    said = findings(replace(fitted(entries()), fitted=found.fitted, undetermined=found.undetermined))
    assert "RUN-69" in {one.code for one in said}


def test_values_with_which_the_twin_stands_are_all_kept():
    found = Outcome(fitted=(told(200.0), told(300.0, "ST", "kv_clean")))
    assert refused(plain(), found) == found


@pytest.mark.source(kind="independent", ref="design handbook 10.2, H4: k SO ≈ 3e-4 bar/(L/s)²")
def test_a_flow_noted_with_a_reading_does_not_rule_over_the_flow_of_its_point_and_is_named():
    right = fitted(entries()).value("SO.kv")
    odd = [
        replace(one, payload={**one.payload, "flow": 0.4e-3}) if one.payload.get("tap") else one
        for one in entries()
    ]
    found = fitted(odd)
    assert found.value("SO.kv").value == pytest.approx(right.value, rel=1e-9)
    assert {one.why for one in found.left_out} == {"at odds"}
    said = [one for one in findings(found) if one.code == "RUN-68"]
    assert [one.subject for one in said] == ["H4"]


def test_a_flow_noted_with_a_reading_that_is_the_flow_of_its_point_is_not_named():
    with_flow = [
        replace(one, payload={**one.payload, "flow": 0.4e-3}) if one.payload.get("input") == "T1.1" else one
        for one in entries()
    ]
    assert fitted(with_flow).left_out == ()


@pytest.mark.source(kind="analytic", ref="Kv ∝ K^−½: upper end at K less its half-width")
def test_the_half_width_that_is_told_of_a_coefficient_is_the_one_it_is_judged_by():
    assert _wider_side(5.0 / 9.0) == pytest.approx(0.5)
    assert _wider_side(1.0) > 1e3
    for one in fitted(entries({("T1", 6): 10.9, ("T1", 5): 11.1})).undetermined:
        if one.name in ("kv", "kv_clean") and one.reason == "too wide" and one.value is not None:
            assert one.within is not None
            assert one.within > 0.5 * one.value


def test_what_is_kept_says_once_that_it_is_an_own_estimate() -> None:
    kept = "default, own estimate: own estimate: Kv 300 at DN 100"
    one = Undetermined("ST", "kv_clean", "flow_coefficient", "no readings", "loss.flow_test", kept_from=kept)
    assert _kept(one) == "It stays as it was: default, own estimate: Kv 300 at DN 100."
    assert _kept(replace(one, kept_from="")) == "Nothing is changed by it."
