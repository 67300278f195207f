from __future__ import annotations

import re
from pathlib import Path

import pytest

import steadyhead.drawings
from steadyhead.drawings import draw_ladder, draw_strip, one_colour, paper, screen, stylesheet, variables
from steadyhead.drawings.palette import PENS
from steadyhead.drawings.tokens import LIGHTS, ONE_COLOUR, PRINT_INK
from tests.drawings.samples import LADDERS, STRIPS, UPSTREAM, WORKED_EXAMPLE

ROOM = Path(steadyhead.drawings.__file__).parent
ALL = [*(("strip", name) for name in STRIPS), *(("ladder", name) for name in LADDERS)]


def drawn(kind, name, palette, width=720):
    return (
        draw_strip(STRIPS[name], palette, width)
        if kind == "strip"
        else draw_ladder(LADDERS[name], palette, width)
    )


def test_literal_colours_stand_in_one_file_only():
    for file in ROOM.glob("*.py"):
        if file.name != "tokens.py":
            assert not re.search(r"#[0-9a-fA-F]{3,8}\b", file.read_text(encoding="utf-8")), file.name


@pytest.mark.parametrize(("kind", "name"), ALL)
def test_the_screen_draws_with_classes_that_the_style_sheet_knows(kind, name):
    svg = drawn(kind, name, screen())
    used = {word for found in re.findall(r'class="([^"]+)"', svg) for word in found.split()}
    known = set(re.findall(r"\.(sh-[a-z0-9-]+)", stylesheet()))
    assert used <= known
    assert "#" not in svg
    assert "stroke=" not in svg
    assert "fill=" not in svg


@pytest.mark.parametrize(("kind", "name"), ALL)
def test_paper_draws_with_literal_colours_and_no_variables(kind, name):
    svg = drawn(kind, name, paper())
    assert "class=" not in svg
    assert "var(" not in svg
    assert "<style" not in svg
    assert set(re.findall(r"#[0-9a-f]{6}", svg)) <= set(PRINT_INK.values())


@pytest.mark.parametrize(("kind", "name"), ALL)
def test_one_colour_is_black_on_white_and_nothing_between(kind, name):
    svg = drawn(kind, name, one_colour())
    assert set(re.findall(r"#[0-9a-f]{6}", svg)) == {"#000000", "#ffffff"}


def test_every_light_gives_every_role_a_colour():
    assert all(set(colours) == set(PRINT_INK) == set(ONE_COLOUR) for colours in LIGHTS.values())
    wanted = {pen.stroke for pen in PENS.values()} | {pen.fill for pen in PENS.values()}
    assert wanted - {None} <= set(PRINT_INK)


def test_every_variable_the_style_sheet_asks_for_is_given_in_every_light():
    asked = set(re.findall(r"var\((--[a-z0-9-]+)[,)]", stylesheet())) - {"--font-draw"}
    blocks = re.findall(r"\{([^}]*)\}", variables())
    assert len(blocks) == len(LIGHTS)
    for block in blocks:
        assert asked <= set(re.findall(r"(--[a-z0-9-]+):", block))


def _luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.source(kind="published", ref="WCAG 2.1, success criterion 1.4.3, ratio 4.5; formula from memory")
@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize("ground", ["paper", "grade-wash", "twin-wash"])
@pytest.mark.parametrize("ink", ["ink", "ink-2", "ink-3", "grade", "twin", "heed", "halt"])
def test_letters_stand_out_from_every_ground_they_are_written_on(light, ground, ink):
    assert _contrast(LIGHTS[light][ink], LIGHTS[light][ground]) >= 4.5


def test_a_file_that_stands_alone_carries_its_style_and_its_light():
    svg = draw_strip(UPSTREAM, screen(embed=True, light="lamp"), 1360)
    assert 'data-light="lamp"' in svg
    assert "<style>" in svg
    assert "<style>" not in draw_strip(UPSTREAM, screen(), 1360)


def test_the_light_changes_nothing_but_the_light():
    film = draw_ladder(WORKED_EXAMPLE, screen(embed=True), 1360)
    sun = draw_ladder(WORKED_EXAMPLE, screen(embed=True, light="sun"), 1360)
    assert film.replace('sh-drawing" data-light="film"', 'sh-drawing" data-light="sun"') == sun
