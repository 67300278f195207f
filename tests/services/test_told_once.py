"""A gauge past its date is told once at each step, with its readings by number; each of them still blocks."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from typing import Any

from steadyhead.cli.running_text import judged_text
from steadyhead.procedure.ledger import dump, lines
from steadyhead.services.running import against_final, judge_run, time_of, worth_knowing
from steadyhead.services.told_once import against_final_once, worth_knowing_once
from steadyhead.services.visits_kept.judged import view_of
from steadyhead.units import METRIC
from tests.services.certificates.visits import plan, visit

NOW = time_of("2027-04-16T00:00:00+01:00")


@cache
def late() -> tuple[bytes, Any]:
    entries = [
        replace(one, payload={**one.payload, "due": "2027-04-10"}) if one.kind == "instrument" else one
        for one in visit()
    ]
    content = dump(entries)
    return content, judge_run(plan()[1], content, NOW)


def of_gauges(found: Any) -> Counter[tuple[str, str]]:
    return Counter(
        (one.subject.partition(" ")[0], str(one.params["instrument"]))
        for one in found
        if one.code == "RUN-06"
    )


def test_a_gauge_past_its_date_is_told_once_at_each_step_and_each_of_its_readings_still_blocks():
    content, run = late()
    all_, once = against_final(run), against_final_once(run)
    many = of_gauges(finding for finding, _ in all_)
    assert many["F3.SO", "TG-1"] > 3
    assert of_gauges(finding for finding, _, _ in once) == Counter(dict.fromkeys(many, 1))
    assert len(run.judgement.blocks) == len(all_)
    assert [one for one, _ in all_ if one.code != "RUN-06"] == [
        one for one, _, _ in once if one.code != "RUN-06"
    ]
    assert of_gauges(worth_knowing_once(run)) == Counter(dict.fromkeys(of_gauges(worth_knowing(run)), 1))
    blocked = {
        one.remark.entries[0]
        for one in run.judgement.blocks
        if (one.remark.code, one.remark.about) == ("RUN-06", "F3.SO")
    }
    numbers = [at for at, line in enumerate(lines(content), 1) if getattr(line, "id", "") in blocked]
    said = next(one for one, _, _ in once if (one.code, one.subject[:5]) == ("RUN-06", "F3.SO"))
    assert said.params["input"] == (
        f"each of the readings {', '.join(str(one) for one in numbers[:-1])} and {numbers[-1]}"
    )


def test_the_command_line_and_the_office_page_tell_it_once():
    content, run = late()
    text = " ".join(judged_text(run, METRIC).split())
    assert text.count("RUN-06 F3.SO") == 1
    assert "proves nothing: TG-1 was 4 days past its date." in text
    view = view_of(plan()[1], content, METRIC, NOW)
    told = [one for one in view.against if one.code == "RUN-06" and one.subject.startswith("F3.SO")]
    assert len(told) == 1
    assert "each of the readings" in told[0].statement
    step = next(one for one in view.steps if one.id == "F3.SO")
    assert sum("days past its date" in one for one in step.because) <= 1


def test_readings_without_a_number_are_told_by_name():
    _, run = late()
    found = [one for one, _, _ in against_final_once(replace(run, content=b"")) if one.code == "RUN-06"]
    assert any(str(one.params["input"]).startswith("each of ") for one in found)
    assert not any("the readings" in str(one.params["input"]) for one in found)


def test_nothing_is_folded_where_nothing_is_alike():
    clean = judge_run(plan()[1], dump(visit()), NOW)
    assert [one for one, _, _ in against_final_once(clean)] == [one for one, _ in against_final(clean)]
