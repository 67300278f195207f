"""The reader of site notes: done, not done, doubtful; words of common breaches beside innocent ones."""

from __future__ import annotations

import re

import pytest

from steadyhead.visits.audit import cues, words
from steadyhead.visits.audit.notes import clauses, in_figures, minutes, said, seconds, stated, turns

NUT = re.compile(r"\bnut\b", re.IGNORECASE)
MOODS = (
    ("Nut tightened.", "done"),
    ("Nut not tightened.", None),
    ("Was the nut tightened?", None),
    ("Tam asked whether the nut was tightened.", None),
    ("The handbook says the nut is tightened before F.", None),
    ("If the nut is tightened, F is stale.", None),
    ("Nut to be tightened next time.", None),
    ("Last year the nut was tightened after F.", None),
    ("Tam says the nut was tightened.", "doubtful"),
    ("Perhaps the nut was tightened.", "doubtful"),
    ("Tempted to have the nut tightened.", None),
    ("Nut tightened; refused.", None),
    ("Mark unmoved, nut tightened.", "done"),
    ("(At Pell Garth they tightened the nut.)", None),
    ("The Dale Mill crew tightened the nut. They did it at full inlet, nut tightened hard.", None),
    ("Nut of a valve two streets off, on a valve two streets off: nut tightened.", None),
    ("Nut tightened in spring by someone else.", None),
    ("Nut tightened in the spring housing.", "done"),
    ("Put in spring and nut, nut tightened.", "done"),
    ("Nut tightened, it rang two streets off.", "done"),
    ("At T3 they had the nut tightened.", "done"),
    ("At Pell Garth they have none. Here the nut was tightened.", "done"),
)


@pytest.mark.parametrize(("text", "mood"), MOODS)
def test_a_note_says_done_not_done_or_doubtful(text: str, mood: str | None):
    assert said(text, cues.HANDLED, NUT) == mood


def test_a_quoted_word_is_not_an_act_but_a_wholly_quoted_note_is():
    assert said('Desk: "NUT TIGHTENED" it reads.', cues.HANDLED) is None
    assert said('"gave the SO nut a quarter turn"', cues.HANDLED) == "done"


def test_a_pronoun_leans_on_the_sentence_before():
    last = clauses("SO twitched. Its closing needle ½ turn in.")[-1]
    assert last.about(words.SHUT_OFF)


def test_a_sentence_of_one_word_leans_on_the_one_before():
    assert clauses("Nut of the SO only hand tight. Spannered.")[-1].about(words.SHUT_OFF)


def test_figures_and_words_of_time_and_turns_are_read():
    assert turns("V2 opening, 2.5 of 34 turns") == (2.5,)
    assert turns("two and a half turns") == (2.5,)
    assert minutes("half past, 18 min, 1.5 h") == (18.0, 90.0)
    assert seconds("forty seconds") == (40.0,)
    assert in_figures("six turns") == "6 turns"


@pytest.mark.parametrize(
    ("pattern", "text"),
    [
        (cues.BRIDGED, "Contacts shorted at the junction box."),
        (cues.BRIDGED, "Switch arm held down with a thumb."),
        (cues.FAST, "IV2 swung open in a single sweep."),
        (cues.UNATTENDED, "Both of us at the van."),
        (cues.DEAD_GAUGE, "The needle stuck."),
        (cues.PRESSED, "Lid bolts undone with 0.8 bar still on T1."),
        (cues.FROM_MEMORY, "Values written up from memory."),
        (cues.RUBBED, "First figure rubbed out."),
        (cues.AVERAGED, "Run 1 left out, mean of the others."),
        (cues.BUBBLES, "Not yet bubble-free."),
    ],
)
def test_words_of_a_breach_are_known(pattern: re.Pattern[str], text: str):
    assert stated(text, pattern) == "done"


@pytest.mark.parametrize(
    ("pattern", "text"),
    [
        (cues.BRIDGED, "The electrician wanted to bridge the contacts."),
        (cues.FAST, "IV2 opened slowly in stages."),
        (cues.UNATTENDED, "One of us stayed at the valve."),
        (cues.DEAD_GAUGE, "Gauge lively, returns to zero."),
        (cues.PRESSED, "Zero on TG-79, drain dry."),
        (cues.BUBBLES, "Bubble-free stream."),
    ],
)
def test_innocent_words_are_left_alone(pattern: re.Pattern[str], text: str):
    assert said(text, pattern) is None
