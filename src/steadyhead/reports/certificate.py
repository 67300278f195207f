"""The certificate as a paper: standing, what was left and proved, then every block of the record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from steadyhead.drawings import PAPER_WIDTH, alt_text, draw_mark, draw_strip, paper
from steadyhead.drawings.flow_curves import draw_flow_test, flow_text
from steadyhead.drawings.left_marks import LeftPicture, draw_left, left_text
from steadyhead.drawings.lockup_curve import draw_lockup, lockup_text
from steadyhead.drawings.marks import Mark
from steadyhead.drawings.trip_runs import draw_trip_runs, trip_runs_text
from steadyhead.records.certificate import Certificate, FlowTest, Noted, Setting, TripProof, TripRun
from steadyhead.records.pictures import StripPicture
from steadyhead.reports import certificate_rows as rows
from steadyhead.reports.drawn import is_tall, strip_drawing
from steadyhead.reports.figures import between, figure
from steadyhead.reports.foot import Origin, day_in_words, frame, shortened
from steadyhead.reports.glyphs import unprintable
from steadyhead.reports.paper import Drawing, render
from steadyhead.reports.pictures import brief
from steadyhead.reports.told import on_paper, words_alone
from steadyhead.units import METRIC, UnitSet, say
from steadyhead.visits.certifying.equipment import k_words
from steadyhead.visits.certifying.seen import in_words, number

MARKS: dict[str, Mark] = {
    "valid": "holds",
    "accepted": "due",
    "stale": "slipped",
    "refused": "struck",
    "open": "unknown",
    "not asked": "unknown",
    "as found only": "unknown",
}
WORDS = {
    "valid": "stands",
    "accepted": "accepted as a deviation",
    "open": "not done",
    "not asked": "not asked",
}
KINDS = {
    "first": "Commissioning certificate",
    "yearly": "Certificate of the yearly proof",
    "after_repair": "Certificate after repair",
    "new_setting": "Certificate of a new setting",
    "return_to_service": "Certificate of return to service",
    "restart": "Certificate of a restart",
}
STRIP_WIDTH = 900.0
"""Width at which the strip is flat enough for the first sheet. [px]"""
NOT_DONE = "RUN-07"
"""Code of a step that lacks something."""
FEW = 3
"""So many steps that are not done are told one by one. [1]"""
NOT_KNOWN, NOT_READ = "not known", "not read"
DEFERRING = (
    "Shows what was read and worked out on the day. It is no guarantee of future performance and no "
    "authority to work. Codes, the supplier's instructions, the water undertaker's rules and the judgement "
    "of a locally licensed person take precedence. Protection is shown as proved on the date and by the "
    "method stated."
)


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures that need the station file: the strip as it was left, the ladder with its marks."""

    strip: StripPicture | None = None
    left: LeftPicture | None = None


def pdf(
    record: Certificate,
    *,
    units: UnitSet = METRIC,
    pictures: Pictures | None = None,
    record_sha256: str,
    finger: str,
    day: date,
) -> bytes:
    """Return a certificate as a PDF, nothing attached yet.

    Parameters
    ----------
    record
        What is certified; the paper adds nothing to it.
    units
        Display units.
    pictures
        Those that need the station file.
    record_sha256, finger
        Hash of the stored record and fingerprint of the key; both are printed.
    day
        Day of signing.
    """
    shown = pictures or Pictures()
    origin = Origin(
        record.station_id,
        record.station_name,
        record.datum,
        record.station_sha256,
        record.engine_version,
        day,
        record.design.revision if record.design else "",
        record.datum_text,
    )
    title = KINDS.get(record.kind, "Certificate")
    data = frame(
        origin, units, paper=title, about=f"Certificate {record.number}, record revision {record.revision}"
    )
    data["running"] = shortened(f"{record.number}, record revision {record.revision}, {record.standing}")
    data["head"] = [
        f"{record.number}, record revision {record.revision}",
        _span(record),
        f"pressures gauge, {units.heading('pressure')}, as read at the tap",
    ]
    data["foot"]["defer"] = DEFERRING
    data["foot"]["facts"] = [
        f"record sha-256 {record_sha256[:8]} … {record_sha256[-8:]}",
        f"key {finger[:9]} … {finger[-4:]}, {data['foot']['facts'][1]}",
        f"by steadyhead {record.engine_version}, {day_in_words(day)}",
    ]
    data |= _content(record, shown, units)
    data |= {"hash": record_sha256, "finger": finger, "pressure": units.heading("pressure")}
    data["unprintable"] = unprintable(data)
    return render("certificate", data, (), date=day)


def _content(record: Certificate, shown: Pictures, units: UnitSet) -> dict[str, Any]:
    """Return what stands on the sheets: the first one's tables and pictures, then every block."""
    return {
        "standing": standing(record),
        "strip": shown.strip and _strip(shown.strip),
        "strip_tall": is_tall(shown.strip),
        "strip_words": on_paper(shown.strip.moment) if shown.strip else "",
        "settings": [_setting(one, units) for one in record.settings],
        "left": shown.left and Drawing(draw_left(shown.left, paper(), PAPER_WIDTH), left_text(shown.left)),
        "trips": [_trip(one, units, record.station_name) for one in record.trips],
        "lockups": [
            Drawing(
                draw_lockup(one, paper(), PAPER_WIDTH, units, name=record.station_name),
                lockup_text(one, units),
            )
            for one in record.lockups
            if one.points
        ],
        "flows": [_flow(one, units, record.station_name) for one in record.flows if one.points],
        **rows.blocks(record, units),
    }


def _strip(picture: StripPicture) -> Drawing:
    """Return the strip: one line with ids in place of names, several streams as on every paper."""
    if is_tall(picture):
        return strip_drawing(picture)
    small = brief(picture)
    return Drawing(draw_strip(small, paper(), STRIP_WIDTH), alt_text(small))


def _span(record: Certificate) -> str:
    begun, ended = (datetime.fromisoformat(text) for text in (record.begun, record.ended))
    first = f"{day_in_words(begun.date())}, {begun:%H:%M}"
    last = (
        f"{ended:%H:%M}" if ended.date() == begun.date() else f"{day_in_words(ended.date())}, {ended:%H:%M}"
    )
    offset = f"{ended:%z}"
    return f"{first} to {last}, UTC{offset[:3]}:{offset[3:]}"


def standing(record: Certificate) -> dict[str, Any]:
    """Return the verdict: final, or provisional with what stands against final."""
    against = standing_against(record)
    accepted = sum(bool(one.accepted) for one in record.against)
    more = [f"{number_}. {words}" for number_, words in enumerate(against, 1)]
    if record.replaces is not None:
        more.append(f"Takes the place of record revision {record.replaces.revision}.")
    if record.standing == "final":
        count = f" {accepted} accepted as recorded deviations." if accepted else ""
        return {
            "mark": _mark("holds", "final"),
            "word": "Final.",
            "sentence": f"Nothing stands against it.{count}",
            "more": more,
        }
    stand = sum(not one.accepted for one in record.against)
    count = f"{stand} things stand" if stand != 1 else "One thing stands"
    said = f"{count} against a final certificate." if against else "Signed as provisional."
    return {"mark": _mark("slipped", "provisional"), "word": "Provisional.", "sentence": said, "more": more}


def standing_against(record: Certificate) -> list[str]:
    """Return what stands against final, what was read amiss first; many steps not done are told as one."""
    stands = [one for one in record.against if not one.accepted]
    open_steps = [one for one in stands if one.code == NOT_DONE]
    said = [words_alone(one.statement) for one in stands if one.code != NOT_DONE]
    if len(open_steps) <= FEW:
        return [*said, *(words_alone(one.statement) for one in open_steps)]
    names = ", ".join(one.about.partition(" (")[0] for one in open_steps)
    return [*said, f"{len(open_steps)} steps are not done, or not noted in full: {names}."]


def _mark(mark: Mark, word: str) -> Drawing:
    return Drawing(draw_mark(mark, word, paper()), word)


def state_words(state: str, because: str) -> str:
    """Return where a proof stands in words, with its cause behind a colon.

    Examples
    --------
    >>> state_words("valid", ""), state_words("stale", "screw turned at 12:55.")
    ('stands', 'stale: screw turned at 12:55.')
    """
    word = WORDS.get(state, state)
    return f"{word}: {words_alone(because)}" if because and state != "valid" else word


def _setting(one: Setting, units: UnitSet) -> dict[str, Any]:
    is_duty = one.key.endswith(".duty")
    told = rows.figure_at if is_duty else _noted
    design = in_words(one.design, one.quantity, units) if one.design is not None else ""
    if is_duty and design and one.design_flow is not None:
        design += f" at {say(one.design_flow, 'flow', units)}"
    runs = ", ".join(figure(value, one.quantity, units) for value in one.runs)
    return {
        "what": one.what,
        "tap": one.tap,
        "design": design,
        "found": told(one.as_found, units) or NOT_READ,
        "left": told(one.as_left, units) or NOT_KNOWN,
        "runs": runs,
        "height": _noted(one.height, units),
        "mark": _mark(MARKS.get(one.state, "unknown"), one.state),
        "state": state_words(one.state, _short(one.because)),
    }


def _short(because: str) -> str:
    """Return a reason without the name of the proof it begins with: that stands in the row already.

    Examples
    --------
    >>> _short("SO.trip (trip of SO): the screw was touched.")
    'the screw was touched.'
    """
    return because.partition("): ")[2] or because


def _noted(noted: Noted | None, units: UnitSet) -> str:
    return "" if noted is None else rows.value_words(noted, units)


def _trip(one: TripProof, units: UnitSet, name: str) -> dict[str, Any]:
    facts = [
        ["Method", one.method],
        ["Coverage", one.coverage],
        ["Accepted, middle of the interval", between(one.low, one.high, "pressure", units)],
        ["Accepted, start to shut", between(*one.window, "time", units)],
        ["Step of the rise", _noted(one.step, units)],
        ["Reset at", _noted(one.reset, units)],
        ["Gained", rows.clock(one.at) if one.at else ""],
        ["Standing", state_words(one.state, one.because)],
    ]
    picture = None
    if one.what == "shut-off" and one.runs:
        picture = Drawing(
            draw_trip_runs(one, paper(), PAPER_WIDTH, units, name=name), trip_runs_text(one, units)
        )
    return {
        "valve": one.valve,
        "tap": one.tap,
        "what": one.what,
        "picture": picture,
        "facts": [[label, words] for label, words in facts if words],
        "runs": [_run(run, units) for run in one.runs],
    }


def _run(run: TripRun, units: UnitSet) -> list[str]:
    def told(noted: Noted | None) -> str:
        value = number(noted)
        return "" if noted is None or value is None else figure(value, noted.quantity, units)

    first = run.act or run.last_hold
    interval = " to ".join(filter(None, (told(run.last_hold), told(run.act))))
    when = first.at[11:19] if first else ""
    return [
        f"{run.number}, {run.step}{', as found' if run.as_found else ''}",
        when,
        interval,
        told(run.peak),
        told(run.closing),
        "/".join(filter(None, (told(run.inlet), told(run.between), told(run.outlet)))),
        told(run.flow) or (figure(first.flow, "flow", units) if first and first.flow is not None else ""),
        told(run.after),
        told(run.flow_after),
        {True: "inside", False: "outside", None: ""}[run.inside],
    ]


def _flow(one: FlowTest, units: UnitSet, name: str) -> dict[str, Any]:
    taps: Sequence[str] = [
        tap for tap in ("T0", "T1", "T2", "T3", "T4") if any(tap in p.readings for p in one.points)
    ]
    table = [
        [
            f"{point.number} {'up' if point.rising else 'down'}",
            point.at[11:16],
            figure(point.flow, "flow", units),
            *(
                figure(point.readings[tap], "pressure", units) if tap in point.readings else ""
                for tap in taps
            ),
        ]
        for point in one.points
    ]
    return {
        "stream": one.stream,
        "heads": ["Point", "Time", units.first.unit("flow"), *taps],
        "rows": table,
        "picture": Drawing(
            draw_flow_test(one, paper(), PAPER_WIDTH, units, name=name), flow_text(one, units)
        ),
        "facts": [
            ["Strainer k, T0 to T1", k_words(one, "strainer", units)],
            ["Shut-off k, T1 to T2", k_words(one, "shut-off", units)],
            ["Swing", one.swing or "none noted"],
            ["Standing", state_words(one.state, one.because)],
        ],
    }
