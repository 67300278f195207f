"""The certificate of a restart: a table without rows is a sentence, and the reset stands among the acts."""

from __future__ import annotations

from datetime import date

from steadyhead.reports.certificate import pdf
from steadyhead.services.certificates.making import record_of
from tests.procedure.lane import RETURNS
from tests.services.certificates.visits import judged, station, text_of, visit

RESET = ("action", {"do": "reset", "thing": "SO"}, "R7R")
HEADS = ("What Tap Design As found As left", "Setting Tap As left Screw showing Runs")


def test_the_reset_is_told_among_the_acts_and_a_table_without_rows_says_why_it_is_none():
    loaded, source = station()
    run = judged(visit("restart", way=RETURNS, asks="provisional", more=(RESET,)), "restart")
    made = record_of(run, loaded=loaded, source=source, sheet=None)
    assert [(one.step, one.act, one.things) for one in made.touched] == [("R7R", "reset SO", "SO")]
    assert made.settings == ()
    paper = text_of(pdf(made, record_sha256="0" * 64, finger="0011 2233", day=date(2027, 4, 14)))
    assert "Touches and resets, in order When Who Step" in paper
    assert paper.count("This run proves no setting.") == 2
    assert not any(heads in paper for heads in HEADS)
