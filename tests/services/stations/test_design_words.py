"""Figures of the design sheet as a person writes them: no powers of ten, no names of the file's fields."""

from __future__ import annotations

import re

import pytest

from steadyhead.services.judging import judge_file
from steadyhead.services.stations.design_view import DesignBody, design_body
from steadyhead.station.examples import read
from steadyhead.units import METRIC, US, UnitSet


def body_of(units: UnitSet) -> DesignBody:
    return design_body(judge_file(read("quernhollow-lane")), units)


@pytest.mark.parametrize("units", [METRIC, US], ids=["metric", "us"])
def test_figures_of_the_design_carry_no_power_of_ten_and_no_name_of_a_field(units: UnitSet):
    body = body_of(units)
    cells = [cell for table in body.tables for row in table.rows for cell in row]
    assert not [cell for cell in cells if re.search(r"\de[+-]\d", cell)]
    unstated = next(table for table in body.tables if table.title == "Values nobody stated").rows
    assert not [row for row in unstated if "kv" in row[1].split() or "." in row[0]]
    coefficient = units.unit("flow_coefficient")
    assert next(row for row in unstated if row[0] == "IV1")[1:3] in (
        ("Kv", "Kv 2010"),
        (coefficient, "Cv 2330"),
    )


def test_what_a_finding_rests_on_is_told_in_words_and_a_ratio_as_its_relation_writes_it():
    grounds = [ground for why in body_of(METRIC).findings for ground in why.rests_on]
    labels = {ground.label for ground in grounds}
    assert "highest static inlet pressure" in labels
    assert not [label for label in labels if re.search(r"[a-z]_[a-z]|[a-z]\.[a-z]", label)]
    assert {ground.value for ground in grounds if ground.label == "x_Fz here"} == {"0.45"}
