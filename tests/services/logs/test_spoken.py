"""Sentences on logger data follow the reader's units: every template, every planted event and defect."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from steadyhead import watch
from steadyhead.services.logs.known import Bounds
from steadyhead.services.logs.measuring import measures_of
from steadyhead.services.logs.page import HeldView
from steadyhead.services.logs.spoken import spoken, told_in
from steadyhead.services.logs.telling import IncidentView, _full
from steadyhead.services.logs.views import EpisodeView, View, episode_view, event_view, not_seen_view
from steadyhead.units import METRIC, METRIC_KPA, METRIC_M3H, UK, US, beside
from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import tell
from steadyhead.watch.incident import incident
from tests.logger.defects import DEFECTS
from tests.logger.handing import channels, context
from tests.logger.happening import EVENTS
from tests.logger.measuring import Seen, measured
from tests.services.logs.tripped import at, seen
from tests.watch.defects.test_judging import record
from tests.watch.happening.test_telling import life

OLD = re.compile(r"(?<!under the name )(?:\bbar\b(?! under the name)|\bL/s\b(?! under the name))|°C")
"""Units of metric readers; names of units that a file was taken to be in stay."""
SAID = {
    "bar": "−2.43 bar", "value": "1.20 L/s", "_flow": "1.20 L/s",
    "at_gauge": " at the gauge, 3.0 m above the datum",
}  # fmt: skip


@pytest.mark.parametrize(
    ("words", "units", "told"),
    [
        ("the outlet reached 4.61 bar.", US, "the outlet reached 66.9 psi."),
        ("It stands −0.31 bar off.", METRIC_KPA, "It stands −31 kPa off."),
        ("steps by +0.31 bar", US, "steps by +4.5 psi"),
        ("from 3.10 to 12.00 L/s.", US, "from 49.1 to 190 US gpm."),
        ("from 12.01 to 12.02 L/s.", METRIC_M3H, "from 43.2 to 43.3 m³/h."),
        ("from 3.14 bar to 3.81 bar", beside(US, METRIC), "from 45.5 psi to 55.3 psi (3.14 bar to 3.81 bar)"),
        ("from 60.00 to 60.01 L/s.", US, "from 951.0 to 951.2 US gpm."),
        ("by 0.005 bar", US, "by 0.07 psi"),
        ("by 0.01 L/s", METRIC_M3H, "by 0.04 m³/h"),
        ("no flow, 0.00 L/s", US, "no flow, 0 US gpm"),
        ("air 1.013 bar, water at 15 °C", US, "air 14.69 psi, water at 59 °F"),
        ("Tight down to Q = 0.35 L/s; more", UK, "Tight down to Q = 0.35 L/s; more"),
        (
            "When the inlet moves by 1 bar the outlet moves by −0.052 bar with it (12 moments).",
            beside(US, METRIC),
            "When the inlet moves by 1 psi the outlet moves by −0.052 psi with it (12 moments).",
        ),
        (
            "stands at 0.0024 bar/(L/s)². About 2027-03-01 it stood at 0.0075, 3.1 times that of its",
            US,
            "stands at 0.00014 psi/(US gpm)². About 2027-03-01 it stood at 0.00043 psi/(US gpm)², 3.1 times "
            "that of its",
        ),
        ("On 2027-03-06 to 5.20 bar", US, "On 2027-03-06 to 75.4 psi"),
        ("psi under the name bar, 14.5 times", US, "psi under the name bar, 14.5 times"),
        ("a range of 5 bar a", US, "a range of 5 bar a"),
    ],
)
def test_values_of_a_sentence_are_turned_and_nothing_else(words, units, told):
    assert spoken(words, units) == told
    assert spoken(words, METRIC) == words


def test_a_value_that_is_known_closer_is_told_by_its_own_figures():
    one = EpisodeView(
        code="datum offset", start="", end="", channels=(), magnitude=-26_450.0, unit="Pa",
        words="The record stands −0.26 bar off.", evidence=("0.30 bar",), confidence="certain",
    )  # fmt: skip
    told = told_in(one, US)
    assert told.words == "The record stands −3.8 psi off."
    assert spoken(one.words, US, (-26_450.0,)) == "The record stands −3.8 psi off."
    assert spoken("The outlet falls by 0.33 bar.", US, (32_560.0,)) == "The outlet falls by 4.7 psi."
    assert spoken("The outlet falls by 0.33 bar.", US, ()) == "The outlet falls by 4.8 psi."
    assert told.evidence == ("4.4 psi",)
    assert told.magnitude == one.magnitude
    assert told_in(one, METRIC) is one
    band = one.model_copy(update={"words": "The outlet stands from 3.14 bar to 3.81 bar."})
    assert told_in(band, US).words == "The outlet stands from 45.5 psi to 55.3 psi."
    assert told_in(band, US, (3.808e5,)).words == "The outlet stands from 45.5 psi to 55.2 psi."


def test_a_limit_is_never_told_by_a_value_that_is_held_against_it():
    assert spoken("limit 0.1 bar more", US, (1.4e4,)) == "limit 1.5 psi more"
    assert spoken("limit 0.005 bar", US, (520.0,)) == "limit 0.07 psi"
    assert spoken("limit 0.10 bar", US, (1.04e4,)) == "limit 1.5 psi"
    held = HeldView(
        code="droop over that as left", crossed=False, words="droop 0.08 bar more than as left",
        limit="limit 0.1 bar more", source="own estimate: two gauges of 0.05 bar; own estimate", value=8.3e3,
    )  # fmt: skip
    told = told_in(held, US)
    assert told.words == "droop 1.2 psi more than as left"
    assert told.limit == "limit 1.5 psi more"
    assert told.source == "own estimate: two gauges of 0.7 psi; own estimate"
    same = held.model_copy(update={"limit": "highest normal 3.81 bar", "value": 3.814e5})
    assert told_in(same, US).limit == "highest normal 55.3 psi"
    assert told_in(same, US, (3.808e5,)).limit == "highest normal 55.2 psi"
    assert told_in(held, METRIC) is held


def templates() -> Iterator[tuple[str, str]]:
    """Yield the sentences of judgements as the source has them, each with sample values put in."""
    for folder in ("happening", "incident", "measures", "defects"):
        for path in sorted((Path(str(watch.__file__)).parent / folder).glob("*.py")):
            tree = ast.parse(path.read_text("utf-8"))
            inner = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)
                     for part in node.values}  # fmt: skip
            docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
            for node in ast.walk(tree):
                if id(node) in inner or id(node) in docs:
                    continue
                if isinstance(node, ast.JoinedStr):
                    yield f"{path.name}:{node.lineno}", "".join(map(sample, node.values))
                elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                    yield f"{path.name}:{node.lineno}", node.value


def sample(part: ast.expr) -> str:
    if isinstance(part, ast.Constant):
        return str(part.value)
    made = part.value if isinstance(part, ast.FormattedValue) else part
    name = made.func.id if isinstance(made, ast.Call) and isinstance(made.func, ast.Name) else ""
    return SAID.get(name, "1.20")


def test_every_template_of_a_sentence_is_understood():
    found = [(where, words) for where, words in templates() if OLD.search(words) and " " in words]
    assert len(found) > 60
    left = [(where, spoken(words, US)) for where, words in found if OLD.search(spoken(words, US))]
    assert left == []


def told(seen_: Seen, about: float) -> list[View]:
    """Return the views of a judgement of a record, and of its event about a time."""
    given, known = channels(seen_), context(seen_)
    found = judge(given, known)
    happened = tell(given, known, found)
    bounds = Bounds(low=3.0e5, high=4.5e5, trip=5.0e5, cavitation=(1.4, "constant"))
    out: list[View] = [
        *map(episode_view, found.episodes), *map(event_view, happened.happenings),
        *map(not_seen_view, happened.not_seen), *measures_of(given, known, found, happened, bounds),
    ]  # fmt: skip
    one = incident(given, known, at(about), happened, found)
    if one is not None:
        base = IncidentView(station="X", name="X", at="", start="", end="", words="")
        lazy = [(channel, frame.with_row_index("row").lazy()) for channel, frame in given]
        out.append(_full(base, one, lazy, found.episodes))
    return out


def numbers(value: object) -> object:
    """Return what a view holds without its words."""
    if isinstance(value, dict):
        return {name: numbers(one) for name, one in value.items()}
    if isinstance(value, list):
        return [numbers(one) for one in value]
    return None if isinstance(value, str) else value


def check(views: list[View]) -> None:
    """Check that nothing is left in other units, that metric stays, and that numbers stay."""
    for one in views:
        assert told_in(one, METRIC) is one
        turned = told_in(one, US)
        assert not OLD.search(turned.model_dump_json())
        assert numbers(turned.model_dump(mode="json")) == numbers(one.model_dump(mode="json"))


@pytest.mark.parametrize("kind", sorted(EVENTS))
def test_what_is_told_of_planted_events_follows_the_units(kind):
    rng, now = life(10 * sorted(EVENTS).index(kind))
    EVENTS[kind](rng, now)
    made = measured(rng, now)
    check(told(made, made.happened[0].start if made.happened else float(now.t[-1])))


@pytest.mark.parametrize("kind", sorted(DEFECTS))
def test_what_is_told_of_planted_defects_follows_the_units(kind):
    import numpy as np

    made = record(sorted(DEFECTS).index(kind))
    DEFECTS[kind](np.random.default_rng([7, sorted(DEFECTS).index(kind)]), made)
    check(told(made, 0.0))


def test_what_is_told_of_a_trip_follows_the_units():
    check(told(seen()[0], seen()[1] + 60.0))
