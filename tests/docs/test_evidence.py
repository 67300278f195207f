"""Figures of the campaigns in the sentences of the manual."""

from __future__ import annotations

import importlib.util
import json
import re
from types import ModuleType

import pytest

from devtools.places import ROOT

DOCS = ROOT / "docs"
PAGES = [page for page in DOCS.glob("**/*.md") if not {"_generated", "_build"} & set(page.parts)]
RECORD = {"n": 200, "result": {"inside": 0.947, "inside by key": {"trip.T3": 0.93}, "95 %": [0.91, 0.97]}}


@pytest.fixture(scope="module")
def role() -> ModuleType:
    """Return the extension of the manual."""
    spec = importlib.util.spec_from_file_location("evidence_role", DOCS / "_ext" / "evidence.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(
    ("name", "value"), [("n", 200), ("inside", 0.947), ("inside by key/trip.T3", 0.93), ("95 %/1", 0.97)]
)
def test_a_figure_is_found_by_its_name(role: ModuleType, name: str, value: float):
    assert role.figure(RECORD, name) == value


def test_a_figure_that_is_not_in_the_evidence_is_an_error(role: ModuleType):
    with pytest.raises(KeyError, match="outside"):
        role.figure(RECORD, "outside")


def test_every_figure_the_manual_quotes_is_in_its_evidence_and_that_campaign_held(role: ModuleType):
    quoted = [
        q for page in PAGES for q in re.findall(r"\{evidence\}`([^`]+)`", page.read_text(encoding="utf-8"))
    ]
    assert quoted
    for campaign, name, style in (tuple(part.strip() for part in one.split(";")) for one in quoted):
        record = json.loads((DOCS / "evidence" / f"{campaign}.json").read_text(encoding="utf-8"))
        assert record["held"], campaign
        assert format(role.figure(record, name), style)
