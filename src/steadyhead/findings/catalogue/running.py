"""Findings of the judge of a run: what stands against *final*, and what is worth knowing of the entries."""

from __future__ import annotations

from typing import Final

from steadyhead.findings.catalogue.entry import Entry

_HB, _OWN = "design handbook", "own reasoning"
_MEND = "{mend}"
"""Filled in by whether a recorded deviation may accept it."""

ENTRIES: Final[tuple[Entry, ...]] = (
    Entry(
        "RUN-01",
        "line that cannot be read",
        "{subject}: {problem} It begins: {text}",
        "What it said is not judged. It may have been a touch.",
        "Give the line as the device wrote it, or enter again what it said.",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-02",
        "one id, several contents",
        "{subject}: {forms} entries carry this id and do not say the same. None of them is judged.",
        "Entries are never changed; one of these was.",
        "Find out which is the entry that was made. Enter again what is true.",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-03",
        "clock of a device",
        "{subject}: {how}",
        "The order of what was read and touched rests on the clocks.",
        "Compare the device with a known clock and enter the offset.",
        sources=(f"{_HB} 3.2 G5", _OWN),
    ),
    Entry(
        "RUN-04",
        "two devices differ",
        "{subject}: for {input} {devices} noted {one} and {other}.",
        "Both stand until it is settled. Which of them is right decides the step.",
        "Go through the step again, note there what was found, or void the wrong one with its reason.",
        sources=(f"{_HB} 3.2 A6", _OWN),
    ),
    Entry(
        "RUN-05",
        "entry the plan has no place for",
        "{subject}: {how}",
        "It is kept and shown. It proves nothing.",
        "Enter it again at its step, if it belongs to one.",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-06",
        "reading that proves nothing",
        "{subject}: {input} proves nothing: {how}",
        "A number counts with its tap, instrument, time and flow, and once it stands still.",
        _MEND,
        sources=(f"{_HB} 3.1 V5, V10, 3.8",),
    ),
    Entry(
        "RUN-07",
        "step not done",
        "{subject}: still to be noted: {lacks}.",
        "What was not noted was not done.",
        _MEND,
        sources=(f"{_HB} 3.2, K1",),
    ),
    Entry(
        "RUN-08",
        "something else was seen",
        "{subject}: {seen}",
        "What is seen instead has a meaning, and a next test.",
        "{then}",
        sources=(f"{_HB} 3.2",),
    ),
    Entry(
        "RUN-09",
        "step does not count",
        "{subject}: {seen}",
        "What was noted does not show what the step is for.",
        _MEND,
        sources=(f"{_HB} 3.2, 3.3",),
    ),
    Entry(
        "RUN-10",
        "done before its time",
        "{subject}: {needs} had not been done before it.",
        "A step rests on those before it.",
        _MEND,
        sources=(f"{_HB} 3.1, 3.2",),
    ),
    Entry(
        "RUN-11",
        "proof rests on another that does not stand",
        "{subject}: rests on {on}, which does not stand.",
        "It cannot be better than what it rests on.",
        "Prove {on} again, then this.",
        sources=(f"{_HB} 3.3",),
    ),
    Entry(
        "RUN-12",
        "proof is stale",
        "{subject}: {thing} was touched at {when} by {who}, after the reading at {step} that it rests on.",
        "What was touched since is not what was proved.",
        "Do {step} again.",
        sources=(f"{_HB} 3.1 V4, 3.3",),
    ),
    Entry(
        "RUN-13",
        "not restored",
        "{subject}: opened at {when} by {who}, and not restored.",
        "A protection left out of action is found on the day it is needed.",
        "Put it back and enter it.",
        sources=(f"{_HB} 3.1 V8, V12, 3.2 J",),
    ),
    Entry(
        "RUN-14",
        "outside its band, and nobody answered",
        "{subject}: {input} read {value}; expected {low} to {high}.",
        "Outside the band the plan and the station differ somewhere.",
        "Read again, or note what was seen and who agreed to go on.",
        sources=(f"{_HB} 8.3",),
    ),
    Entry(
        "RUN-15",
        "order not known",
        "{subject}: {thing} was touched at {when} by {who}. The clocks do not tell whether before or after "
        "the reading at {step}.",
        "A touch after the reading makes the proof stale.",
        "Do {step} again.",
        sources=(f"{_HB} 3.1 V4", _OWN),
    ),
    Entry(
        "RUN-16",
        "deviation that accepts nothing",
        "Deviation about {subject}: {how}",
        "A deviation is a decision of somebody who answers for it.",
        "{then}",
        sources=(f"{_HB} 3.3, 4.2, 4.5",),
    ),
    Entry(
        "RUN-17",
        "accepted deviation",
        "{subject}: accepted as it is; {owner} puts it right by {due}.",
        "It stays open on the certificate until then.",
        "",
        sources=(f"{_HB} 4.2, 4.5",),
    ),
    Entry(
        "RUN-18",
        "not authorised on the day",
        "{subject}: the authorisation of {who} had ended {days} days before.",
        "Who was competent on the day is asked for years later.",
        _MEND,
        sources=(f"{_HB} 4.5",),
    ),
    Entry(
        "RUN-19",
        "signature without a meaning",
        "A signature asks for {asks}; it can ask for final or provisional.",
        "What was signed is not known.",
        "Sign again.",
        sources=(f"{_HB} 3.2 K1, 4.2",),
    ),
    Entry(
        "RUN-91",
        "instrument described anew",
        "{subject}: {how}",
        "What a reading is worth rests on what was known of its instrument when it was read.",
        "Correct the first description where it was wrong; a change since then is told as it is.",
        sources=(f"{_HB} 3.1 V5, A6", _OWN),
    ),
    Entry(
        "RUN-90",
        "deviation past its due date",
        "{subject}: accepted as it is until {due}, {days} days ago; {owner} was to put it right.",
        "What was accepted for a time is accepted by nobody after it.",
        "Put it right, or record a new deviation with a new date and who accepts it.",
        sources=(f"{_HB} 4.2, 4.5", _OWN),
    ),
)
