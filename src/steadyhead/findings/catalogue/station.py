"""Findings about the station file itself."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "STN-01",
        "answer no longer fits",
        "The answer by {by} to {to} at {at} fits nothing found now: {answer}",
        "The value it was given for has changed, or the question is no longer raised. It settles nothing.",
        "Delete it, or answer the new question with the value printed there.",
        sources=("architecture: an answer belongs to one code, subject and value",),
    ),
    Entry(
        "STN-02",
        "answer has run out",
        "The answer by {by} to {to} at {at} held until {until}.",
        "It was given for a time, and that time is over, or its day cannot be read. It settles nothing.",
        "Look at the question again and answer it anew, with a day as 2027-06-30, or delete the answer.",
        sources=("architecture: an acceptance has an end",),
    ),
    Entry(
        "STN-03",
        "values contradict each other",
        "{first} and {second}: {rule}.",
        "One of the two is wrong, and every limit and setting is worked out from both.",
        "Correct the wrong one, number or unit.",
        equation="first ≤ second, but for rounding",
        sources=("meaning of the two fields",),
    ),
    Entry(
        "STN-04",
        "values seldom right together",
        "{first} and {second}: {rule}.",
        "A slip is likelier than such a station, and protection is judged by both values.",
        "Correct the wrong one, or answer the question in the file if both are right.",
        sources=("meaning of the two fields", "own estimate of what is usual"),
    ),
    Entry(
        "STN-05",
        "coefficient beyond its size",
        "{subject} {typed} is more than {size} passes: {limit} at a loss coefficient of {loss}.",
        "Drains, inlet openings and the fall at peak look better than they are.",
        "Take the coefficient of this size from the data sheet, or correct the size or the unit.",
        equation="Kv ≤ 0.04 (D/mm)² / √ζ",
        sources=("least loss coefficients: own estimates",),
    ),
    Entry(
        "STN-06",
        "factory setting does not fit",
        "{subject} {typed} lies {problem}.",
        "Such a tag belongs to another valve, another spring or another duty. It proves nothing.",
        "Look at tag, spring and seal. Correct the file, or set the pilot on site.",
        sources=("own estimate: 10 %",),
    ),
    Entry(
        "STN-07",
        "how it resets is not stated",
        "It is not stated whether {shut_off} resets by hand or by itself. The plan takes: by hand.",
        "One that resets by itself opens onto the consumers without anybody there, and may hunt.",
        "Read its data sheet or the plate of its pilot; write resets: by hand, or by itself.",
        sources=("design handbook 2.4, 3.6",),
    ),
    Entry(
        "STN-08",
        "exhaust not known",
        "It is not known where {shut_off} lets its chamber water go.",
        "An exhaust into the outlet feeds the outlet while it stands shut, and shows no drop before a trip.",
        "Follow the tube at the lid; write exhaust: atmosphere, or outlet.",
        sources=("own reasoning from the physics of pilot-operated valves",),
    ),
    Entry(
        "STN-09",
        "closing medium not known",
        "It is not known where the water that closes {shut_off} is taken from.",
        "Taken ahead of the station it stands under pressure while IV1 is shut, and needs a cock of its own.",
        "Follow the tube at the lid; write closing_medium: own inlet, or station inlet.",
        sources=("design handbook 3.6",),
    ),
    Entry(
        "STN-10",
        "facts left out",
        "Not stated: {fields}.",
        "The plan leaves a blank there, or takes the usual case.",
        "Write them in after the first visit to the lid.",
        sources=("own list of what a plan uses",),
    ),
    Entry(
        "STN-11",
        "whose gallon?",
        "{subject} {typed}{others}: US gallons are read. Are imperial gallons meant ({imperial})?",
        "The imperial gallon is a fifth larger. Every loss, velocity and drain goes with it.",
        "Write US gpm or imp gpm, US gal or imp gal, MGD as US MGD or imp MGD; or answer in the file.",
        equation="1 imperial gallon = 4.54609 L, 1 US gallon = 231 in³ = 3.785 L",
        sources=("definitions of the two gallons", 'design handbook 9.1: say "US gallon"'),
    ),
    Entry(
        "STN-13",
        "answer names no authority or no decision",
        "The answer by {by} to {to} at {at} leaves out {lacks}: {answer}",
        "This question is not for the owner or the crew to decide, and its words alone are not understood. "
        "The answer settles nothing.",
        "Write {lacks} beside the answer: authority with its reference, decided as a day, shut_off as "
        "allowed, required or forbidden.",
        sources=("design handbook 1.3, 2.6",),
    ),
)
