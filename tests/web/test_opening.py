"""What is made ready when the app opens: every template, and the engines before somebody waits for them."""

from __future__ import annotations

import threading

import pytest
from jinja2 import DictLoader, Environment

from steadyhead.services import warming
from steadyhead.services.stations import trying
from steadyhead.web.stages import Stages
from steadyhead.web.templating import ENVIRONMENT, PLACE, load_all

PATIENCE = 30.0


def test_every_template_is_loaded_before_the_first_page():
    assert load_all() == len(list(PLACE.rglob("*.html")))
    assert ENVIRONMENT.cache is not None
    assert len(ENVIRONMENT.cache) >= load_all()


def test_a_broken_template_stops_the_start_and_names_its_line():
    shelf = Environment(loader=DictLoader({"whole.html": "{{ 1 }}", "parts/broken.html": "a\n{% if %}"}))
    with pytest.raises(RuntimeError, match=r"^template parts/broken\.html, line 2: "):
        load_all(shelf)


def test_rooms_are_loaded_and_engines_used_although_nobody_asks():
    is_warm = threading.Event()

    async def nothing(scope: object, receive: object, send: object) -> None:
        """Answer nothing."""

    stages = Stages(nothing, lambda: nothing, is_warm.set)
    stages.begin_soon(0.0)
    assert is_warm.wait(PATIENCE)


def test_warming_tries_a_change_that_can_be_judged(monkeypatch: pytest.MonkeyPatch):
    seen = []
    real = trying.view_of

    def view_of(*given: object, **more: object) -> object:
        seen.append(real(*given, **more))  # type: ignore[arg-type]
        return seen[-1]

    monkeypatch.setattr(trying, "view_of", view_of)
    warming.warm_up()
    assert seen[0].svg
    assert seen[0].map_svg
    assert not seen[0].problems
