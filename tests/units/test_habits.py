"""Regional ways of writing a quantity: read where they say one thing, asked about where they may say two."""

from __future__ import annotations

import pytest

from steadyhead.units import UnitError, parse

INCH = 0.0254
US_GALLON = 231 * INCH**3
UK_GALLON = 4.54609e-3


@pytest.mark.source(kind="published", ref="NIST SP 811 (2008), appendix B.8; UK gallon 4.54609 L")
@pytest.mark.parametrize(
    ("typed", "kind", "si"),
    [
        ("40 m head", "pressure", 40 * 9806.65),
        ("40 metres head", "pressure", 40 * 9806.65),
        ("40 mH₂O", "pressure", 40 * 9806.65),
        ("40 m of water", "pressure", 40 * 9806.65),
        ("100 ft of head", "pressure", 30.48 * 9806.65),
        ("100 feet head", "pressure", 30.48 * 9806.65),
        ("95 lb/sq in", "pressure", 95 * 6894.757293168),
        ("620 kPa", "pressure", 620e3),
        ("27 l/s", "flow", 0.027),
        ("97.2 m³/hr", "flow", 0.027),
        ("2.3 Ml/d", "flow", 2300 / 86400),
        ("100 US gpm", "flow", 100 * US_GALLON / 60),
        ("100 imp gpm", "flow", 100 * UK_GALLON / 60),
        ("100 UK gpm", "flow", 100 * UK_GALLON / 60),
        ("2 MIGD", "flow", 2e6 * UK_GALLON / 86400),
        ("3 cu ft/min", "flow", 3 * 0.3048**3 / 60),
        ("500 cuft", "volume", 500 * 0.3048**3),
        ("12 kgal", "volume", 12e3 * US_GALLON),
        ("12 US gallons", "volume", 12 * US_GALLON),
        ('6"', "size", 6 * INCH),
        ("6 in", "size", 6 * INCH),
        ("52 °F", "temperature", (52 - 32) / 1.8 + 273.15),
        ("7 m head/turn", "pressure_per_turn", 7 * 9806.65),
    ],
)
def test_a_habit_that_says_one_thing_is_read(typed, kind, si):
    assert parse(typed, kind).si == pytest.approx(si, rel=1e-6)


@pytest.mark.parametrize(
    ("typed", "kind", "words"),
    [
        ("40 m", "pressure", "'m head'"),
        ("90 ft", "pressure", "'ft head'"),
        ("95 lb", "pressure", "Write psi"),
        ("95 lbs", "pressure", "Write psi"),
        ("95#", "pressure", "Write psi"),
        ("6 kg", "pressure", "kgf/cm²"),
        ("40 in", "pressure", "water or of mercury"),
        ("27 L", "flow", "needs a time"),
        ("27 m3", "flow", "needs a time"),
        ("27 gal", "flow", "needs a time"),
        ("52 °", "temperature", "°C or °F"),
        ("52 deg", "temperature", "°C or °F"),
    ],
)
def test_a_habit_that_may_say_two_things_is_never_guessed(typed, kind, words):
    with pytest.raises(UnitError, match="got ") as caught:
        parse(typed, kind)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("typed", "kind", "is_open"),
    [
        ("100 gpm", "flow", True),
        ("100 GPM", "flow", True),
        ("2 MGD", "flow", True),
        ("300 gal", "volume", True),
        ("100 US gpm", "flow", False),
        ("100 imp gpm", "flow", False),
        ("2 US MGD", "flow", False),
        ("27 L/s", "flow", False),
    ],
)
def test_a_gallon_of_no_country_is_marked(typed, kind, is_open):
    assert parse(typed, kind).gallon_open is is_open
