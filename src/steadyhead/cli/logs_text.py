"""What the commands of ``steadyhead logs`` do once their words are parsed, and how it is printed."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from steadyhead.cli.commands import quick, units_for
from steadyhead.cli.progress import watched
from steadyhead.cli.showing import paragraph, show_errors, show_errors_json, show_json
from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError
from steadyhead.watch.counting import counted, signed

if TYPE_CHECKING:
    from steadyhead.register import Register
    from steadyhead.register.logs import LogsFolder
    from steadyhead.services.logs.proposing import Proposal
    from steadyhead.services.logs.views import (
        ChannelView,
        ImportsView,
        JudgementLine,
        ProposalView,
        QuestionView,
        SampleView,
    )
    from steadyhead.units import UnitSet

FINE, OPEN = 0, 1


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person typed after ``logs read``."""

    files: tuple[str, ...]
    station: str
    source: str
    answers: tuple[str, ...]
    zone: str
    interval: float
    look: bool
    by: str
    units: str = ""


@contextmanager
def opened(place: str, data: str = "") -> Iterator[tuple[Register, LogsFolder]]:
    """Open a register that is there, and its folder of logger data."""
    from steadyhead.register.logs import logs_folder

    with opened_register(place) as register:
        yield register, logs_folder(register, data)


@contextmanager
def opened_register(place: str) -> Iterator[Register]:
    """Open a register that is there.

    Raises
    ------
    InputError
        There is none.
    """
    from steadyhead.register import open_register
    from steadyhead.register.opening import FILE

    if not place:
        from steadyhead.web.serving import default_folder

        place = str(default_folder())
    if "://" not in place and not (Path(place) / FILE).is_file():
        raise InputError(
            "--register",
            f"got {place!r:.120}, which holds no register.",
            "Name the folder of 'steadyhead serve'.",
        )
    register = open_register(place)
    try:
        yield register
    finally:
        register.close()


def who_does(by: str, question: str) -> str:
    """Return who does it; asked where nobody is named and somebody sits there.

    Raises
    ------
    InputError
        Nobody is named and nobody can be asked.
    """
    if not by and sys.stdin is not None and sys.stdin.isatty():
        by = input(f"{question} ")
    if not by.strip():
        raise InputError("--by", "is missing.", "Add --by with your name; the register keeps it.")
    return by


def do_read(asked: Asked, place: str, data: str, json: bool) -> int:
    """Read files, ask what must be asked, and take them in."""
    from steadyhead.services.logs.answering import Open
    from steadyhead.services.logs.importing import take_in
    from steadyhead.services.logs.proposing import Given, proposed
    from steadyhead.services.logs.views import proposal_view
    from steadyhead.services.logs.warming import warm

    given = Given(
        asked.station, tuple(Path(one) for one in asked.files), asked.source, _answers(asked),
        asked.interval or None,
    )  # fmt: skip
    quick()
    beside = _chosen(asked.units)
    with (
        opened(place, data) as (register, logs),
        watched() as shown,
        proposed(register, logs, given, shown, shown.cancel) as one,
    ):
        shown.clear()
        if asked.look:
            _show(proposal_view(one), json, beside, is_look=True)
            return OPEN if one.open else FINE
        who = who_does(asked.by, "Who takes these files in?") if one.staged.files else ""
        shown.clear()
        _ask(one)
        if one.open:
            refused = Open(one.open)
            show_errors(refused.errors)
            if json:
                show_errors_json(refused.errors)
            return OPEN
        view = take_in(register, one, who, shown, shown.cancel) if one.staged.files else proposal_view(one)
        shown.clear()
        _show(view, json, beside)
        sys.stdout.flush()
        warm(register, logs, asked.station, view.number, shown, shown.cancel)
    return FINE


def _answers(asked: Asked) -> dict[str, str]:
    out = {"zone": asked.zone} if asked.zone else {}
    for one in asked.answers:
        field, sign, value = (part.strip() for part in one.partition("="))
        if not sign or not field or not value:
            raise InputError("--answer", f"got {one!r:.60}.", "Write FIELD=VALUE, e.g. zone=Europe/Berlin.")
        if out.get(field, value) != value:
            raise InputError("--answer", f"answers {field[:40]!r} twice.", "Leave one of them out.")
        out[field] = value
    return out


def _ask(one: Proposal) -> None:
    """Ask the questions without an assumed answer where a person sits at the terminal."""
    from steadyhead.services.logs.views import question_view

    while one.open and sys.stdin is not None and sys.stdin.isatty():
        question = one.open[0]
        for line in _question(question_view(question)):
            print(line, file=sys.stderr)
        typed = input(f"{question.name}: ").strip()
        if not typed:
            return
        try:
            one.answer({question.name: typed})
        except InputError as problem:
            show_errors([problem])
        except ValueError as problem:  # several of them
            show_errors(getattr(problem, "errors", ()))


def _chosen(units: str) -> UnitSet | None:
    """Return the units that values are told in beside those of their file; None: nobody chose any."""
    from steadyhead.services.preferences import chosen

    found = chosen(units)
    return found.units if found.is_chosen else None


def _show(view: ProposalView, json: bool, units: UnitSet | None, *, is_look: bool = False) -> None:
    if json:
        show_json(view.model_dump(mode="json"))
    else:
        put_file("\n".join(_read_lines(view, is_look, units)) + "\n")


def _read_lines(view: ProposalView, is_look: bool, units: UnitSet | None) -> Iterator[str]:
    for one in view.known:
        yield paragraph(
            f"{one.name} is kept already, by import {one.number}; it adds nothing. To have it read "
            "otherwise, undo that import first."
        )
    for one in view.elsewhere:
        yield paragraph(f"{one.name} is kept for station {one.station}, too, by import {one.number}.")
    for words in view.words:
        yield paragraph(words, indent=2, first="")
    for channel in view.channels:
        yield ""
        yield from _channel(channel, units)
    for title, questions in (("Open", view.open), ("Assumed", view.assumed)):
        for question in questions:
            yield ""
            yield f"{title}:"
            yield from _question(question)
    if view.overlaps:
        yield ""
    for overlap in view.overlaps:
        yield paragraph(overlap.words, indent=2, first="")
    yield ""
    if view.number:
        yield paragraph(
            f"Import {view.number} of {view.station}. To take it back: steadyhead logs undo {view.number}"
        )
    else:
        yield "Nothing was kept." if is_look or not view.known else "Nothing is new; nothing was added."


def _channel(one: ChannelView, units: UnitSet | None = None) -> Iterator[str]:
    if not one.shown:
        missing = f", {one.missing} without a value" if one.missing else ""
        name = f"{one.name} from {one.heading!r}" if one.heading else one.name
        yield paragraph(
            f"{name}: {counted(one.count, 'sample')}{missing}, {one.first} to {one.last}", indent=2
        )
        return
    yield f"{one.name}, {one.unit or 'no unit'}:"
    for at, sample in enumerate(one.shown):
        if at == len(one.shown) // 2 and one.count > len(one.shown):
            yield "  …"
        value = "no value" if sample.stated is None else signed(f"{sample.stated:.10g}")
        yield f"  row {sample.row:<8} {sample.at:<24} {value}{_beside(one, sample, units)}"


def _beside(one: ChannelView, sample: SampleView, units: UnitSet | None) -> str:
    """Return a pressure or flow in the reader's units, where its file states it in others."""
    kind = {"flow": "flow"}.get(one.quantity, "pressure" if "pressure" in one.quantity else "")
    if units is None or not kind or sample.si is None or one.unit in (units.unit(kind), ""):
        return ""
    if one.unit.endswith(" a"):  # counted from vacuum; the reader's unit is not
        return ""
    from steadyhead.units import say

    return f" ({say(sample.si, kind, units.first)})"


def _question(one: QuestionView) -> Iterator[str]:
    yield paragraph(one.question, indent=2)
    for choice in one.choices:
        taken = " (taken)" if choice.value == one.taken else ""
        because = f"; {choice.evidence}" if choice.evidence else ""
        yield paragraph(f"{one.name}={choice.value}: {choice.words}{because}{taken}", indent=6, first="    ")


def do_list(station: str, place: str, json: bool, *, every: bool = False, units: str = "") -> int:
    """List the imports of a station. every: earlier judgements of the same samples, too."""
    from steadyhead.services.logs.importing import list_imports
    from steadyhead.services.logs.spoken import told_in

    mine = units_for(units)
    with opened_register(place) as register:
        view = list_imports(register, station)
    if json:
        show_json(view.model_dump(mode="json"))
    else:
        put_file("\n".join(_list_lines(told_in(view, mine), every)) + "\n")
    return FINE


def _list_lines(view: ImportsView, every: bool = False) -> Iterator[str]:
    from steadyhead.services.logs.judged import by_period
    from steadyhead.services.page_words import called

    if not view.imports:
        yield f"{view.station}: no logger data."
    for one in view.imports:
        names = ", ".join(file.name for file in one.files)
        source = f", {one.source}" if one.source else ""
        if one.undone_at:
            why = f": {one.reason}" if one.reason else "."
            yield paragraph(
                f"{one.number}{source}: undone {one.undone_at[:10]} by {called(one.undone_by)}{why}", 4, ""
            )
            continue
        span = f"{one.begins[:19]}Z to {one.ends[:19]}Z" if one.begins else "no samples"
        kept = f"{one.at[:10]} by {called(one.who)}"
        words = f"{one.number}{source}: {counted(one.samples, 'sample')}, {span}; {names}; {kept}."
        yield paragraph(words, 4, "")
    for same in by_period(view.judgements):
        for line in same if every else same[:1]:
            yield paragraph(_judged(line), 4, "")
        if len(same) > 1 and not every:
            words = f"{counted(len(same) - 1, 'earlier judgement')} of the same samples; --all lists them."
            yield paragraph(words, 4, "    ")
    if view.channels and not view.judgements:
        yield "Unseen: none of it is judged yet."
    if view.channels:
        yield ""
    for channel in view.channels:
        yield from _channel(channel)


def _judged(line: JudgementLine) -> str:
    from steadyhead.services.page_words import called

    numbers = ", ".join(str(one) for one in line.since)
    since = f" Unseen: what came since with import {numbers}." if numbers else ""
    if line.undone:
        numbers = ", ".join(str(one) for one in line.undone)
        since = f" It rests on import {numbers}, undone: it says nothing any more."
    span = f"{line.first[:19]}Z to {line.last[:19]}Z"
    told = ", ".join(code if often == 1 else f"{code} ({often})" for code, often in line.events)
    events = f" Events told: {told}." if told else ""
    return f"Judged {line.at[:10]} by {called(line.who)}, {span}: {line.words}{events}{since}"


def do_undo(typed: str, reason: str, by: str, where: tuple[str, str], json: bool) -> int:
    """Undo an import."""
    from steadyhead.services.logs.importing import number_of, undo_import

    number = number_of(typed)
    with opened(*where) as (register, logs):
        gone = undo_import(register, logs, number, who_does(by, "Who undoes it?"), reason)
    if json:
        show_json({"format": "steadyhead/logs-undone/1", **gone.model_dump(mode="json")})
    else:
        put_file(
            paragraph(
                f"Import {gone.number} of {gone.station} is undone: its samples are shown no more. Its files "
                "stay as they were given; to take them in again, read them again."
            )
            + "\n"
        )
    return FINE
