"""One server process and one browser for all tests here, on a register with something in every room."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BROWSERS
from tests.web.whole import Facts, copied, made_once

SWITCHES = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
PATIENCE = 90.0
"""How long the app is given to open, and a page to come, on a machine that does much else. [s]"""
OPEN = """
import sys
from steadyhead.web.serving import Terms, opened, serve
terms = Terms(sys.argv[1], port=0, browser=False, worker=False)
with opened(terms) as register:
    serve(register, terms, lambda line: print(line, flush=True))
"""
"""The app as it is served, on any free port, without the process of long studies."""
Opens = Callable[..., Any]


@pytest.fixture(scope="session")
def whole(tmp_path_factory: pytest.TempPathFactory) -> tuple[Any, Facts]:
    """The folder of a register with something in every room, and what addresses of it hold."""
    folder, facts = made_once(tmp_path_factory)
    return copied(folder, tmp_path_factory, "shown"), facts


@pytest.fixture(scope="session")
def facts(whole) -> Facts:
    """What addresses hold."""
    found: Facts = whole[1]
    return found


@pytest.fixture(scope="session")
def home(whole) -> Iterator[str]:
    """Open the app as a person does, in a process of its own, and return its address."""
    with served(whole[0]) as address:
        yield address


@contextmanager
def served(folder: Path, program: str = OPEN, *more: str) -> Iterator[str]:
    """Serve the register of a folder in a process of its own; give its address."""
    environment = os.environ | {"XDG_DATA_HOME": str(folder.parent / "data")}
    process = subprocess.Popen(
        [sys.executable, "-c", program, str(folder), *more],
        stdout=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True, env=environment,
    )  # fmt: skip
    assert process.stdout is not None
    try:
        yield _address(process).rstrip("/")
    finally:
        process.terminate()
        process.wait(PATIENCE)
        process.stdout.close()


def _address(process: subprocess.Popen[str]) -> str:
    """Return where it is open, once the whole app is there."""
    assert process.stdout is not None
    for line in process.stdout:
        if " is open at " in line:
            address = line.partition(" is open at ")[2].partition(" ")[0]
            with urllib.request.urlopen(f"{address}help", timeout=PATIENCE) as found:
                assert found.status == 200
            return address
    raise AssertionError("it ended before it was open")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """The browser of this machine. Its driver keeps a loop running, so it ends with the file."""
    from playwright.sync_api import sync_playwright

    program = next(path for path in map(shutil.which, BROWSERS) if path)
    with sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=program, args=list(SWITCHES))
        yield found
        found.close()


@pytest.fixture
def opens(home: str, browser: Any) -> Iterator[Opens]:
    """Return what opens a fresh page at an address."""
    with opening(home, browser) as opened:
        yield opened


@contextmanager
def opening(home: str, browser: Any) -> Iterator[Opens]:
    """Give what opens a fresh page at an address of the app.

    Anything said on its console, a script that fails, a thing that is refused or not there fails the test;
    refusals told by a status of `misses` are what a page is opened for.
    """
    told: list[str] = []
    contexts = []

    def opened(path: str, width: int = 1280, *, misses: tuple[int, ...] = (), **more: Any) -> Any:
        context = browser.new_context(
            viewport={"width": width, "height": 900}, reduced_motion="reduce", accept_downloads=True, **more
        )
        contexts.append(context)
        context.set_default_timeout(1e3 * PATIENCE)
        page = context.new_page()
        page.on("console", lambda one: _hear(told, one.text, misses))
        page.on("pageerror", lambda one: told.append(f"script: {one}"))
        page.on("requestfailed", lambda one: _failed(told, one))
        page.goto(f"{home}{path}")
        return page

    yield opened
    for context in contexts:
        context.close()
    assert told == []


def _hear(told: list[str], words: str, misses: tuple[int, ...]) -> None:
    """Keep what the console says; that a form was refused, which the browser tells too, is no fault."""
    if not any(f"status of {one}" in words for one in misses):
        told.append(f"console: {words}")


def _failed(told: list[str], asked: Any) -> None:
    if "ERR_ABORTED" not in (asked.failure or ""):  # a download, or a page that was left
        told.append(f"not there: {asked.url} {asked.failure}")


def until(page: Any, words: str, seconds: float = PATIENCE) -> None:
    """Wait until something is so on a page, also where it leaves for the next; it allows no evaluating."""
    end = time.monotonic() + seconds
    while not _is_so(page, words):
        assert time.monotonic() < end, words
        time.sleep(0.05)


def _is_so(page: Any, words: str) -> bool:
    try:
        return bool(page.evaluate(words))
    except Exception as problem:
        if "context was destroyed" in str(problem):
            return False
        raise
