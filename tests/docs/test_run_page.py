"""The page about running a visit shows what the commands print; its files are what their makers write."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from devtools.console_examples import console_examples
from steadyhead.procedure.ledger import dump, gathered
from steadyhead.records.entry import KINDS
from steadyhead.services.entering.answers import BESIDE
from steadyhead.services.entering.kinds import MAKERS
from steadyhead.services.plan_files import plan_file
from steadyhead.services.running import JudgedRun, against_final, judge_run
from tests.procedure import quernhollow_planned as planned

PAGE = Path(__file__).parents[2] / "docs" / "run.md"
TEXT = PAGE.read_text(encoding="utf-8")


def judged(entries: list) -> JudgedRun:
    return judge_run(plan_file(planned.plan()), dump(entries))


def test_the_page_shows_commands_that_the_check_runs():
    assert len(list(console_examples(TEXT))) >= 12


@pytest.mark.parametrize("name", sorted(path.name for path in planned.FOLDER.iterdir()))
def test_the_file_beside_the_page_is_what_its_maker_writes(name: str):
    again = "Write it again: python -m tests.procedure.quernhollow_planned"
    assert (planned.FOLDER / name).read_bytes() == planned.files()[name], again


@pytest.mark.source(kind="published", ref="design handbook 10.2 and its answer key")
def test_the_day_is_blocked_for_its_two_mistakes_and_for_nothing_else():
    run = judged(planned.story())
    entries = {entry.id: entry for entry in run.ledger.entries}
    causes = set()
    for block in run.judgement.blocks:
        last = entries[block.remark.entries[-1]]
        causes.add(
            ("touched", last.payload["thing"]) if last.kind == "action" else (last.node, block.remark.code)
        )
    assert causes == {("touched", "SO.setting"), ("touched", "SO.nut"), ("H2.LB", "RUN-09")}
    assert [finding.code for finding in run.words] == ["RUN-23"]
    assert [(one.code, one.about) for one in run.judgement.told] == [
        ("RUN-08", "B1"),
        ("RUN-08", "F3.SO"),
    ]
    assert not run.judgement.signs[0].stands


@pytest.mark.source(kind="published", ref="design handbook 10.2 and its answer key")
@pytest.mark.parametrize(
    ("screw_turned", "lockup_flow", "codes"),
    [(False, 0.35, {"RUN-09"}), (True, 0.0, {"RUN-12", "RUN-23"}), (False, 0.0, set())],
)
def test_each_mistake_alone_is_what_stands_against_final(
    screw_turned: bool, lockup_flow: float, codes: set[str]
):
    run = judged(planned.story(screw_turned=screw_turned, lockup_flow=lockup_flow))
    assert {finding.code for finding, by in against_final(run) if not by} == codes
    assert run.is_final == (not codes)


def test_what_was_lost_is_proved_again_the_next_day_and_signed():
    before, after = planned.story(), planned.put_right()
    assert after[: len(before)] == before
    run = judged(after)
    assert run.is_final
    assert [one.stands for one in run.judgement.signs] == [False, True]
    assert gathered(after).clashes == ()


def test_the_page_names_every_kind_of_entry_and_every_word_of_run_enter():
    named = set(re.findall(r"`([a-z_]+)`", TEXT)) | set(re.findall(r"`(?:[A-Z][\w.]* )?([a-z_]+) ", TEXT))
    assert set(KINDS) <= named
    assert {*BESIDE} - {"flow_with"} <= named
    assert set(MAKERS) <= named | {"done", "photo"}
