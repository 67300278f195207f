"""The blocks of a certificate as rows of words, in the order of handbook 4.2."""

from __future__ import annotations

from typing import Any

from steadyhead.records.certificate import (
    Certificate,
    Changed,
    Failure,
    Instrument,
    Noted,
    Proof,
    Signature,
    TestLine,
)
from steadyhead.reports.figures import between
from steadyhead.reports.figures import height as height_words
from steadyhead.reports.told import act_alone, on_paper, words_alone
from steadyhead.units import UnitSet, say
from steadyhead.visits.certifying.seen import in_words

NOT_STATED = "not stated"
UNKNOWN = "not known to this record"
BY_PROOF = "of the protection proof: waves traced through supply and zone"
LUMPED = "of the lumped zone, no proof: what waves add in a main is not in them"
YES_NO = {True: "yes", False: "NO", None: "not known"}


def clock(text: str) -> str:
    """Return a time as the paper prints it: day, hours, minutes and seconds, offset.

    Examples
    --------
    >>> clock("2027-04-14T12:55:10+01:00"), clock("2027-04-14")
    ('14 Apr 2027, 12:55:10 +01:00', '14 Apr 2027')
    """
    told = f"{on_paper(text[:10])}, {text[11:19]} {text[19:]}".strip()
    return told if text[11:] else on_paper(text)


def to_minute(text: str) -> str:
    """Return a time without its seconds and offset, where the paper has little room.

    Examples
    --------
    >>> to_minute("2027-04-14T12:55:10+01:00")
    '14 Apr 2027, 12:55'
    """
    return f"{on_paper(text[:10])}, {text[11:16]}"


def value_words(noted: Noted, units: UnitSet) -> str:
    """Return a noted value with its unit; the height of a screw as a rule shows it."""
    if noted.quantity == "length" and isinstance(noted.value, float):
        return height_words(noted.value, units)
    return in_words(noted.value, noted.quantity, units)


def blocks(record: Certificate, units: UnitSet) -> dict[str, Any]:
    """Return every block behind the first sheet.

    Parameters
    ----------
    record
        What is certified.
    units
        Display units.
    """
    return {
        "identity": _identity(record),
        **_design(record, units),
        "equipment": [
            [name, [[on_paper(cell) for cell in row] for row in found]] for name, found in record.equipment
        ],
        "instruments": [_instrument(one, units) for one in record.instruments],
        "read_with": _read_with(record, units),
        "people": _people(record),
        "conditions": [list(row) for row in record.conditions],
        "found": [[label, *_noted(noted, units)] for label, noted in record.as_found],
        "positions_found": [_position(*row) for row in record.positions_found],
        "positions_left": [_position(*row) for row in record.positions_left],
        "tests": _tests(record, units),
        "alarms": _alarms(record, units),
        "seals": [_position(*row) for row in record.seals],
        "heights": [
            [
                one.what,
                value_words(one.height, units),
                clock(one.height.at),
                one.height.who,
            ]
            for one in record.settings
            if one.height is not None
        ],
        "touched": [[clock(t.at), t.who, t.step, act_alone(t.act), t.things] for t in record.touched],
        "changed": [_changed(one, record, units) for one in record.changed],
        "failures": [_failure(one, units) for one in record.failures],
        "earlier": [
            [f"{to_minute(one.at)}, {one.who}", words_alone(one.what), words_alone(one.now)]
            for one in record.earlier
        ],
        "proofs": [_proof(one) for one in record.proofs],
        "restored": [
            [
                one.words,
                f"{clock(one.opened)}, {one.opened_by}",
                f"{clock(one.restored)}, {one.restored_by}" if one.restored else one.state,
            ]
            for one in record.restored
        ],
        **_open(record),
        "signatures": [[one.who, one.role, _signed(one), one.statement] for one in record.signatures],
        "around": _around(record),
        "statement": [on_paper(words) for words in record.statement],
        "integrity": _integrity(record),
        "changes": list(map(words_alone, record.replaces.changes)) if record.replaces else [],
    }


def _position(thing: str, stands: str) -> list[str]:
    """Return a thing and how it stands: a cock of a valve, told as *its*, under the name of the valve."""
    valve, dot, _ = thing.partition(".")
    is_its = dot and " its " in f" {stands}"
    return [valve if is_its else act_alone(thing), on_paper(stands)]


def _signed(one: Signature) -> str:
    told = f"signed as {one.asks}, {clock(one.at)}{_typed(one)}"
    if not one.later:
        return told
    count = "an entry" if one.later == 1 else f"{one.later} entries"
    return f"does not count: {count} followed it. S{told[1:]}"


def _typed(one: Signature) -> str:
    """Return who typed a signature in from paper, where that was somebody else or at another time."""
    if not one.typed_at and one.typed_by in ("", one.who):
        return ""
    by, on = (
        (f" by {one.typed_by}" if one.typed_by else ""),
        (f", {clock(one.typed_at)}" if one.typed_at else ""),
    )
    return f"; typed in{by}{on}"


def _proof(one: Proof) -> list[str]:
    return [
        one.words,
        _stands(one.state),
        clock(one.at) if one.at else "",
        words_alone(one.because).removeprefix(f"{one.words}: "),
    ]


def _stands(state: str) -> str:
    """Return where a proof stands, in the words of the first sheet."""
    return {"valid": "stands", "accepted": "accepted as a deviation"}.get(state, state)


def _changed(one: Changed, record: Certificate, units: UnitSet) -> list[str]:
    design = record.design
    released = (
        f"station file {design.revision} released by {design.released_by}, "
        f"{on_paper(design.released_at[:10])}"
        if design is not None and design.revision
        else ""
    )
    leave = "; ".join(filter(None, (one.authorised, released)))
    return [
        one.what,
        figure_at(one.before, units) or "not read",
        figure_at(one.after, units) or "not known",
        act_alone("; ".join(one.turned)),
        leave or "the run does not say",
    ]


def figure_at(noted: Noted | None, units: UnitSet) -> str:
    """Return a figure with the flow it was read at; nothing where nothing was noted."""
    if noted is None:
        return ""
    at = f" at {say(noted.flow, 'flow', units)}" if noted.flow is not None else ""
    return f"{value_words(noted, units)}{at}"


def _failure(one: Failure, units: UnitSet) -> list[str]:
    asked = (
        between(one.low, one.high, one.noted.quantity, units)
        if not isinstance(one.noted.value, bool)
        else in_words(not one.noted.value, "yes_no", units)
    )
    found = f"{one.words}{', as found' if one.as_found else ''}"
    value, _, instrument, _, _ = _noted(one.noted, units)
    return [
        f"{one.step}, {to_minute(one.noted.at)}",
        found,
        asked,
        f"{value}{f', {instrument}' if instrument else ''}, {one.noted.who}",
        words_alone(one.then),
    ]


def _around(record: Certificate) -> list[list[str]]:
    """Return what this record knows of the proof before it and of the next one."""
    if record.replaces is not None:
        before = (
            f"record revision {record.replaces.revision} of this certificate; an earlier run is {UNKNOWN}"
        )
    else:
        before = UNKNOWN
    return [
        ["Last proof before this one", before],
        ["Next proof due", f"{UNKNOWN}; the owner's programme sets it"],
        ["Proofs put off", "as listed under Deviations" if record.deviations else "none is recorded here"],
    ]


def _people(record: Certificate) -> list[list[str]]:
    return [
        [
            one.name,
            one.role or NOT_STATED,
            on_paper(one.until) or NOT_STATED,
            YES_NO[one.authorised],
            str(one.entries),
        ]
        for one in record.people
    ]


def _identity(record: Certificate) -> list[list[str]]:
    rows = [
        ["Certificate", f"{record.number}, record revision {record.revision}, {record.standing}"],
        ["Run", f"{record.kind.replace('_', ' ')}{f' of {record.item}' if record.item else ''}"],
        ["Purpose", record.purpose or NOT_STATED],
    ]
    if not record.identity:
        rows.append(["Station", f"{record.station_name}, {record.station_id}; its file was not at hand"])
    return [*rows, *([name, value] for name, value in record.identity), ["Plan", record.plan_id]]


def _design(record: Certificate, units: UnitSet) -> dict[str, Any]:
    design = record.design
    if design is None:
        return {"design": [], "rungs": [], "credited": [], "not_covered": []}
    released = (
        f"station file {design.revision}, by {design.released_by}, {clock(design.released_at)}"
        if design.revision
        else "not at hand"
    )
    limits = [
        f"{say(value, 'pressure', units)}, {item}" if value is not None else f"not known; {item}"
        for value, item in (design.normal_limit, design.fault_limit)
    ]
    return {
        "design": [
            ["Release", released],
            ["Release sha-256", design.release_sha256 or "not at hand"],
            ["Station file sha-256", record.station_sha256],
            ["Normal limit, at datum", limits[0]],
            ["Fault limit, at datum", limits[1]],
            ["Flows", ", ".join(f"{name} {value}" for name, value in design.flows)],
            ["Peaks", BY_PROOF if design.by_proof else LUMPED],
            ["Inlet", ", ".join(f"{name} {value}" for name, value in design.inlet)],
        ],
        "rungs": [[name, say(value, "pressure", units)] for name, value in design.rungs],
        "credited": list(design.credited),
        "not_covered": list(design.not_covered),
    }


def _instrument(one: Instrument, units: UnitSet) -> list[str]:
    span = ""
    if one.low is not None and one.high is not None:
        span = f"{in_words(one.low, one.quantity, units)} to {in_words(one.high, one.quantity, units)}"
    grade = f"class {one.share * 100:g}" if one.share is not None else "class not stated"
    error = f" (± {in_words(one.error, one.quantity, units)})" if one.error is not None else ""
    zero = f", zero {in_words(one.zero, one.quantity, units)}" if one.zero is not None else ""
    return [
        one.name,
        ", ".join(filter(None, (one.what, span))),
        f"{grade}{error}{zero}",
        one.certificate or NOT_STATED,
        on_paper(one.calibrated) or NOT_STATED,
        on_paper(one.due) or NOT_STATED,
        f"{YES_NO[one.in_date]}{f', {on_paper(one.days[-1])}' if one.days else ''}",
        ", ".join(one.taps) or ("used, at no tap" if one.days else "not used"),
    ]


def _read_with(record: Certificate, units: UnitSet) -> str:
    told = []
    for one in record.instruments:
        row = _instrument(one, units)
        named = ", ".join(filter(None, row[:3]))
        told.append(f"{named}, due {row[5]}, in date on the day: {YES_NO[one.in_date]}.")
    return " ".join(told) or "No instrument is described in this run."


def _noted(noted: Noted, units: UnitSet) -> list[str]:
    value = value_words(noted, units)
    typed = f" (typed {noted.typed})" if noted.typed and not _says_as_much(noted.typed, value) else ""
    fixed = ", corrected" if noted.corrected else ""
    fixed += ", worked out" if noted.marked == "worked out" else ""
    if noted.corrected_by is not None:
        fixed += f", {in_words(noted.corrected_by, noted.quantity, units)} of it for the zero of the gauge"
    flow = say(noted.flow, "flow", units) if noted.flow is not None else ""
    return [f"{value}{typed}{fixed}", noted.tap, noted.instrument, noted.at[11:19], flow]


def _says_as_much(typed: str, value: str) -> bool:
    """Return whether both are one number in one unit: ``50 psi`` and ``50.0 psi``."""
    (number, _, unit), (other, _, same) = typed.partition(" "), value.partition(" ")
    try:
        return typed == value or (unit == same and float(number) == float(other))
    except ValueError:
        return False


def _tests(record: Certificate, units: UnitSet) -> list[dict[str, Any]]:
    return [
        {
            "step": one.step,
            "title": one.title,
            "state": one.state,
            "at": clock(one.at),
            "because": words_alone(one.because),
            "lines": [_line(line, units) for line in one.lines if line.result not in ("not asked",)],
        }
        for one in record.tests
    ]


def _line(line: TestLine, units: UnitSet) -> list[str]:
    band = expected(line, units)
    if line.noted is None:
        return [line.words, band, "", "", "", "", line.result]
    value, _, instrument, when, flow = _noted(line.noted, units)
    result = f"{line.result}, read again" if line.again else line.result
    return [line.words, band, value, instrument, when, flow, result]


def expected(line: TestLine, units: UnitSet) -> str:
    """Return what a reading is held against: its band, or the answer that lets the step stand."""
    if line.quantity == "yes_no":
        return "" if line.answer is None else in_words(line.answer, line.quantity, units)
    return between(line.low, line.high, line.quantity, units)


def _alarms(record: Certificate, units: UnitSet) -> list[list[str]]:
    found = []
    called = {one.name: one.words for one in record.proofs}
    for one in record.alarms:
        delay = say(one.delay, "time", units) if one.delay is not None else "not worked out"
        times = f"{one.here} to {one.there or NOT_STATED}" if one.here else one.there or NOT_STATED
        if one.name == "alarm.high_alarm":
            times, delay = "", ""
        right = {True: "right words, right desk", False: "WRONG", None: "not noted"}[one.right]
        words = f"“{one.words}”: {right}" if one.words else f"{right}; the words themselves were not noted"
        who = f"{one.operator} at the desk; entered by {one.who}" if one.operator else one.who
        state = _stands(one.state)
        state = f"{state}: {words_alone(one.because)}" if one.because else state
        found.append([called.get(one.name, one.name), times, delay, words, who, state])
    return found


def _open(record: Certificate) -> dict[str, Any]:
    return {
        "against": [
            [
                one.code,
                words_alone(one.statement),
                words_alone(one.cure),
                f"accepted, entry {one.accepted}" if one.accepted else "stands",
            ]
            for one in record.against
        ],
        "told": [words_alone(words) for words in record.told],
        "deviations": [
            [
                one.about,
                one.what,
                one.risk,
                one.measure,
                f"{one.owner}, by {on_paper(one.due)}",
                one.accepted_by,
                "accepts it" if one.accepts else "accepts nothing",
            ]
            for one in record.deviations
        ],
        "amended": [[clock(a.at), a.who, a.was, a.now, a.reason] for a in record.amended],
        "notes": [[clock(at), who, words] for at, who, words in record.notes],
        "photos": [list(row) for row in record.photos],
    }


def _integrity(record: Certificate) -> list[list[str]]:
    chain = record.chain
    told = (
        [["Register's chain", f"head at link {chain.seq}, {on_paper(chain.at)}: {chain.hash}"]]
        if chain
        else []
    )
    return [
        ["Entries", f"{record.entries}; the last is {record.last_entry}"],
        ["Entries sha-256", record.entries_sha256],
        ["Plan sha-256", record.plan_sha256],
        [
            "Replaces",
            f"record revision {record.replaces.revision}, record sha-256 {record.replaces.record_sha256}"
            if record.replaces
            else "nothing",
        ],
        *told,
    ]
