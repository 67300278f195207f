"""Try mutants in children of one warm process: everything is imported once, each child runs a few tests.

A plugin of pytest: it takes the place of the loop over the tests. First every test runs once as it is and is
watched for the lines it goes through and the steps of the plans it writes or judges. Then each mutant is put
into a child, and the tests that reach it run there, the quick ones and those that noticed most before first.
"""

from __future__ import annotations

import importlib
import random
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from types import ModuleType
from typing import Any

import coverage
import pytest
from hypothesis import Phase, settings

from devtools.mutants import grafting, in_plans
from devtools.mutants.children import in_child, used
from devtools.mutants.memory import Memory, Seen
from devtools.mutants.model import Mutant, Outcome
from devtools.places import ROOT, tell

LONGEST = 6.0
"""A test that takes longer is not asked about mutants. [s]"""
AT_MOST = 20.0
"""All tests asked about one mutant take no longer than this as they are. [s]"""
SLACK = 4.0
"""A child may take longer than its tests by this factor, and as many seconds more."""
FAILED = "failed"
TOLD_EVERY = 25


class Trying:
    """The plugin; `outcomes` holds what came of each mutant when pytest has ended."""

    def __init__(
        self, modules: Sequence[Path], make: Callable[[Seen], Iterable[Mutant]], memory: Memory
    ) -> None:
        self.modules, self.make, self.memory = modules, make, memory
        self.outcomes: list[Outcome] = []
        self.drawn = 0
        self.seen = Seen()
        self.bad = False
        self.now = ""
        self.kills: Counter[tuple[str, str]] = Counter()

    @pytest.hookimpl(trylast=True)
    def pytest_configure(self) -> None:
        """Let property tests try less, and keep nothing."""
        settings.register_profile(
            "mutants", parent=settings.get_profile("dev"), max_examples=20, database=None,
            phases=(Phase.explicit, Phase.generate), derandomize=True,
        )  # fmt: skip
        settings.load_profile("mutants")

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Notice a test that fails."""
        self.bad |= bool(report.failed)

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Watch the tests as they are, then try every mutant."""
        items = [item for item in session.items if item.get_closest_marker("browser") is None]
        if (kept := self.memory.seen()) is None:
            self._watch(items)
            if self.modules:
                self._control([item for item in items if item.nodeid not in self.seen.failed])
            self.memory.keep_seen(self.seen)
        else:
            remember_figures()
            self.seen = kept
        items = [item for item in items if self._is_asked(item)]
        mutants = list(self.make(self.seen))
        random.Random(len(mutants)).shuffle(mutants)  # ended early, some of each have been tried
        self.drawn = len(mutants)
        took = sum(self.seen.seconds.values())
        tell(f"mutants: {len(mutants)} to try, {len(items)} tests watched that take {took:.0f} s.")
        try:
            self._try_all(mutants, items)
        except KeyboardInterrupt:
            tell(f"mutants: ended after {len(self.outcomes)} of {len(mutants)}.")
        return True

    def _try_all(self, mutants: Sequence[Mutant], items: Sequence[pytest.Item]) -> None:
        for n, mutant in enumerate(mutants, 1):
            known = self.memory.outcome(mutant)
            if known is None:
                known = self._try(mutant, items)
                self.memory.keep(known)
            self.outcomes.append(known)
            if n % TOLD_EVERY == 0:
                lives = sum(one.lives for one in self.outcomes)
                tell(f"mutants: {n} of {len(mutants)} tried, {lives} live.")

    def _watch(self, items: Sequence[pytest.Item]) -> None:
        cov = coverage.Coverage(data_file=None, include=[str(one) for one in self.modules], branch=False)
        remember_figures()
        no_longer = self._note_plans()
        if self.modules:
            cov.start()
        for item, after in zip(items, (*items[1:], None), strict=True):
            if self.modules:
                cov.switch_context(item.nodeid)
            if _file(item.nodeid) != _file(self.now):
                grafting.forget()  # a plan kept from another file would be judged here without being written
            self.now = item.nodeid
            start = used()
            if len(self.seen.seconds) % TOLD_EVERY == 0:
                tell(f"mutants: {len(self.seen.seconds)} of {len(items)} tests watched.")
            if self._fails(item, after):
                self.seen.failed.add(item.nodeid)
            self.seen.seconds[item.nodeid] = used() - start
            if self.seen.seconds[item.nodeid] > LONGEST and item.nodeid not in self.seen.failed:
                start = used()  # once more: the first of many works out what all of them need
                self._fails(item, after)
                self.seen.seconds[item.nodeid] = used() - start
            if item.nodeid in self.seen.failed:
                tell(f"mutants: {item.nodeid} fails as it is and is not asked.")
        no_longer()
        if self.modules:
            cov.stop()
            self._note_lines(cov.get_data())

    def _note_lines(self, data: coverage.CoverageData) -> None:
        for file in data.measured_files():
            known = data.contexts_by_lineno(file)
            self.seen.lines[file] = {line: set(names) - {""} for line, names in known.items()}

    def _note_plans(self) -> Callable[[], None]:
        """Note which steps each test judges, and one plan of each kind and station, until what comes back."""
        judging = importlib.import_module("steadyhead.procedure.judging")
        true = judging.judge

        def judge(procedure: Any, *rest: Any, **more: Any) -> Any:
            self.seen.steps[self.now] |= {node.id for node in procedure.nodes}
            return true(procedure, *rest, **more)

        def note(procedure: Any) -> Any:
            self.seen.plans.setdefault(f"{procedure.station_id} {procedure.kind}", procedure)
            self.seen.steps[self.now] |= {node.id for node in procedure.nodes}
            return procedure

        grafting.rebind(true, judge)
        back = change_plans(note)

        def no_longer() -> None:
            grafting.rebind(judge, true)
            back()

        return no_longer

    def _is_asked(self, item: pytest.Item) -> bool:
        return item.nodeid not in self.seen.failed and self.seen.seconds[item.nodeid] <= LONGEST

    def _control(self, items: Sequence[pytest.Item]) -> None:
        """Put every module in unchanged, run all tests unwatched and take their times.

        A test that fails then tells nothing of mutants.
        """

        def child(say: Callable[[str], None]) -> None:
            grafting.forget()
            for path in self.modules:
                grafting.graft(module_of(path), path.read_text("utf-8"))
            for item, after in zip(items, (*items[1:], None), strict=True):
                start = used()
                bad = self._fails(item, after)
                say(f"{item.nodeid} {FAILED if bad else used() - start}\n")

        _, told = in_child(child, SLACK * sum(self.seen.seconds.values()) + SLACK)
        for line in told.splitlines():
            test, _, seconds = line.rpartition(" ")
            if seconds == FAILED:
                tell(f"mutants: {test} fails where nothing is changed and is not asked.")
                self.seen.failed.add(test)
            else:
                self.seen.seconds[test] = float(seconds)

    def _fails(self, item: pytest.Item, after: pytest.Item | None) -> bool:
        self.bad = False
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
        return self.bad

    def _try(self, mutant: Mutant, items: Sequence[pytest.Item]) -> Outcome:
        asked = self._asked(mutant, items)
        if not asked:
            return Outcome(mutant, "no test")
        limit = SLACK * sum(self.seen.seconds[item.nodeid] for item in asked) + SLACK
        fate, test = in_child(lambda say: self._child(mutant, asked, say), limit)
        if fate == "killed" and test:
            self.kills[mutant.group, test] += 1
        return Outcome(mutant, fate, test)

    def _asked(self, mutant: Mutant, items: Sequence[pytest.Item]) -> list[pytest.Item]:
        """Return the tests that reach a mutant, those first that will tell soonest."""
        reach = self._reach(mutant)
        word = mutant.load.text if isinstance(mutant.load, in_plans.Row) else ""
        step = mutant.load.node if isinstance(mutant.load, in_plans.Row) else ""
        files: Counter[str] = Counter()
        for test, seconds in self.seen.seconds.items():
            files[_file(test)] += round(1000 * seconds)

        def rank(item: pytest.Item) -> tuple[Any, ...]:
            told = f"{item.nodeid} {_text(item)}" if word else ""
            named = (word in told) + (bool(step) and step in told) if word else 0
            kills = -min(self.kills[mutant.group, item.nodeid], 3)
            if word:  # what writing its plans takes, a file takes but once: files that take little come first
                return kills, files[_file(item.nodeid)], -named, self.seen.seconds[item.nodeid]
            return kills, self.seen.seconds[item.nodeid]

        found, total = [], 0.0
        for item in sorted((one for one in items if one.nodeid in reach), key=rank):
            cost = self.seen.seconds[item.nodeid]
            if total + cost <= AT_MOST:
                found.append(item)
                total += cost
        return found

    def _reach(self, mutant: Mutant) -> set[str]:
        if isinstance(mutant.load, in_plans.Row):
            return self._reach_step(mutant.load.node)
        known = self.seen.lines.get(str(ROOT / mutant.group), {})
        return set().union(*(known.get(line, set()) for line in mutant.lines or known))

    def _reach_step(self, step: str) -> set[str]:
        """Return the tests of every file in which a plan with that step was written or judged.

        A plan is often written once for all tests of a file; those after the first write none.
        """
        files = {_file(test) for test, known in self.seen.steps.items() if not step or step in known}
        return {test for test in self.seen.seconds if _file(test) in files}

    def _child(self, mutant: Mutant, asked: Sequence[pytest.Item], say: Callable[[str], None]) -> None:
        grafting.forget()
        if isinstance(mutant.load, in_plans.Row):
            change_plans(in_plans.changer(mutant.load))
        else:
            try:
                grafting.graft(module_of(ROOT / mutant.group), mutant.load)
            except Exception:
                say("(it does not load)")
                return
        for item, after in zip(asked, (*asked[1:], None), strict=True):
            if self._fails(item, after):
                say(item.nodeid)
                return


def module_of(path: Path) -> ModuleType:
    """Return the imported module of a file under `src`."""
    return importlib.import_module(".".join(path.relative_to(ROOT / "src").with_suffix("").parts))


def _file(test: str) -> str:
    return test.partition("::")[0]


def _text(item: pytest.Item) -> str:
    """Return the text of a test and of its case."""
    code = getattr(getattr(item, "function", None), "__code__", None)
    case = getattr(getattr(item, "callspec", None), "params", {})
    return f"{code.co_consts if code else ''} {case}"


def change_plans(change: in_plans.Changer) -> Callable[[], None]:
    """Let every plan that is written be changed, until what comes back is called."""
    writing = importlib.import_module("steadyhead.visits.plan")
    true = vars(writing)["_sound"]
    vars(writing)["_sound"] = lambda *given, **more: change(true(*given, **more))
    return lambda: vars(writing).update(_sound=true)


def remember_figures() -> None:
    """Let the twin's figures of a station, which no mutant touches, be worked out once."""
    numbers = importlib.import_module("steadyhead.visits.numbers")
    true, known = numbers.work_out, dict[str, Any]()

    def work_out(*given: Any, **more: Any) -> Any:
        key = repr((given, sorted(more.items())))
        if key not in known:
            known[key] = true(*given, **more)
        return known[key]

    grafting.rebind(true, work_out)


def try_all(
    tests: Sequence[str],
    without: Sequence[str],
    modules: Sequence[Path],
    make: Callable[[Seen], Iterable[Mutant]],
) -> tuple[list[Outcome], int]:
    """Return what came of the mutants that `make` returns once the tests, without some, have been watched.

    With it how many were drawn: more, where somebody ended the run before its time. A run of the same tests
    on the same files goes on where one was ended.
    """
    plugin = Trying(modules, make, Memory((*tests, *without)))
    words = ["-q", "--no-header", "-p", "no:terminalreporter", "-p", "no:xdist", "-W", "ignore"]
    if without:
        words += ["-k", f"not ({' or '.join(without)})"]
    done = pytest.main([*words, *tests], plugins=[plugin])
    if done not in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED, pytest.ExitCode.INTERRUPTED):
        raise RuntimeError(f"The tests could not be run: {done!r}.")
    return plugin.outcomes, plugin.drawn
