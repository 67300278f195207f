"""Run the examples in README and manual: what the reader is shown is what comes out.

Two kinds. Python examples (`>>> `) are left to doctest. In a fenced block of kind `console`,
a line `$ steadyhead ...` is run by the shell in a fresh folder, one folder for each page, and the
lines below it are compared with what it prints; `...` stands for anything. The files beside a page, in a
folder of its name, lie in that folder too. A command that ends with
another exit code than 0 shows it in a last line `[exit code 1]`. Commands of other programs are not run.
What a command says while it compiles the transient twin, on its first use, is left out.
"""

from __future__ import annotations

import doctest
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from multiprocessing import get_context
from pathlib import Path

from devtools.places import ROOT, SCRIPTS, shown, tell

FLAGS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
BLOCK = re.compile(r"^```console[^\n]*\n(.*?)^```", flags=re.MULTILINE | re.DOTALL)


@dataclass(frozen=True)
class Example:
    """One command of a page and the lines that the page shows below it."""

    line: int
    command: str
    expected: str


def main() -> int:
    """Run all examples of all pages and return 0 if each came out as shown."""
    pages = [ROOT / "README.md", *sorted((ROOT / "docs").glob("**/*.md"))]
    pages = [page for page in pages if "_generated" not in page.parts and "_build" not in page.parts]
    pages.sort(key=_commands_on, reverse=True)  # the longest first, so that none is waited for at the end
    _compile_once()
    with ProcessPoolExecutor(os.cpu_count(), mp_context=get_context("spawn")) as pool:
        problems = [problem for found in pool.map(_problems_of, pages) for problem in found]
    for problem in problems:
        tell(problem)
    return 1 if problems else 0


def _commands_on(page: Path) -> int:
    return sum(1 for _ in console_examples(page.read_text(encoding="utf-8")))


def _problems_of(page: Path) -> list[str]:
    return list(page_problems(page))


def page_problems(page: Path) -> Iterator[str]:
    """Yield one text for each example on *page* that did not come out as shown."""
    text = page.read_text(encoding="utf-8")
    yield from _python_problems(page, text)
    with tempfile.TemporaryDirectory() as folder:
        if page.with_suffix("").is_dir():
            shutil.copytree(page.with_suffix(""), folder, dirs_exist_ok=True)
        for example in console_examples(text):
            got = _run(example.command, Path(folder))
            if not doctest.OutputChecker().check_output(_end(example.expected), _end(got), FLAGS):
                place = f"{shown(page)}:{example.line}: $ {example.command}"
                yield f"{place}\nshown:\n{example.expected}\ngot:\n{got}"


def console_examples(text: str) -> Iterator[Example]:
    """Yield the examples in the console blocks of a page that are commands of ours."""
    for block in BLOCK.finditer(text):
        first = text.count("\n", 0, block.start(1)) + 1
        lines = block.group(1).splitlines()
        starts = [number for number, line in enumerate(lines) if line.startswith("$ ")]
        for start, end in zip(starts, [*starts[1:], len(lines)], strict=True):
            command = lines[start].removeprefix("$ ").strip()
            if command.split()[0] == "steadyhead":
                yield Example(first + start, command, "\n".join(lines[start + 1 : end]).strip())


def _run(command: str, folder: Path) -> str:
    environment = {
        **os.environ,
        "PATH": f"{SCRIPTS}{os.pathsep}{os.environ.get('PATH', '')}",
        "COLUMNS": "110",
        "STEADYHEAD_PROOF": "yes",
    }
    _compile_once()
    done = subprocess.run(
        command, shell=True, cwd=folder, env=environment, check=False,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, encoding="utf-8",
    )  # fmt: skip
    told = f"\n[exit code {done.returncode}]" if done.returncode else ""
    return done.stdout.rstrip() + told


@cache
def _compile_once() -> None:
    """Let the transient twin be compiled before the first command, which would say so."""
    from steadyhead.design.protection import prove_station
    from steadyhead.services.first_use import needs_compiling
    from steadyhead.station import examples
    from steadyhead.station.load import load

    if needs_compiling():
        prove_station(load(examples.read("dunmarrow-bottom")).station)


def _end(text: str) -> str:
    return text.strip() + "\n"


def _python_problems(page: Path, text: str) -> Iterator[str]:
    if ">>> " not in text:
        return
    told: list[str] = []
    found = doctest.DocTestParser().get_doctest(text, {}, page.stem, str(page), 0)
    doctest.DocTestRunner(optionflags=FLAGS).run(found, out=told.append)
    if told:
        yield "".join(told)


if __name__ == "__main__":
    sys.exit(main())
