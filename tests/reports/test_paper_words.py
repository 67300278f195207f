"""Papers write figures as people do, and the first sheet of a certificate is whole."""

from __future__ import annotations

import re

from steadyhead.design.sheet import judge
from steadyhead.reports.design_tables import defaults
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.units import METRIC
from tests.services.certificates.visits import certified, text_of


def test_no_default_of_an_example_shows_one():
    sheet = judge(load(examples.read("quernhollow-lane"), "quernhollow-lane").station)
    told = [" ".join(row[1:3]) for row in defaults(sheet, METRIC)]
    assert told
    assert not [one for one in told if re.search(r"\d[eE][+-]?\d|\bkv\b", one)]


def test_the_first_sheet_of_a_certificate_holds_settings_credit_and_signatures():
    first = text_of(certified().pdf).split("page 1 of")[0]
    assert "Settings and proofs" in first
    assert "Reducer drifts open" in first
    assert "accepted for the owner" in first


def test_a_certificate_names_an_alarm_by_its_words():
    text = text_of(certified().pdf)
    assert "alarm.high_alarm" not in text.split("Alarm, end to end")[1].split("Flow test")[0]
