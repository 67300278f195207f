"""The proof score: in every palette and width, names apart, cut pauses, and one sentence that says it."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from steadyhead.drawings.palette import one_colour, paper, screen
from steadyhead.drawings.proof_score import compose_proof_score, draw_proof_score
from steadyhead.drawings.proof_score_facts import proof_score_text
from steadyhead.drawings.proof_times import time_scale
from steadyhead.records.proof_score import Knot, ProofScore, ScoreBar, ScoreString

EIGHT = 1_807_689_600.0
"""14 April 2027, 08:00 where the clock is an hour before UTC. [s]"""
HOUR = 3600.0


def bar(name: str, state: str, at: float | None, **more: object) -> ScoreBar:
    given: dict[str, object] = {
        "words": name, "detail": "5.11 bar, 3 runs", "until": None, "broken_on": "",
        "rests": ("screw", "iv2"),
        "steps": ("F1",), "says": "Stands.", "because": "",
    }  # fmt: skip
    return ScoreBar(name=name, state=state, at=at, **{**given, **more})  # type: ignore[arg-type]


PICTURE = ProofScore(
    name="Quernhollow Lane",
    moment="visit of 14 April 2027",
    zone=60,
    begin=EIGHT,
    end=EIGHT + 8 * HOUR,
    strings=(
        ScoreString("screw", "setting of SO"),
        ScoreString("cover", "SO: main diaphragm, exhaust and 4 more"),
        ScoreString("iv2", "closing parts of IV2"),
        ScoreString("lone", "setting of the standby"),
    ),
    knots=(
        Knot("screw", EIGHT + 4 * HOUR, "set to trip"),
        Knot("screw", EIGHT + 5 * HOUR, "lower ¼ turn", "slips"),
        Knot("iv2", EIGHT + HOUR, ""),
        Knot("lone", EIGHT + 6 * HOUR, "raise ½ turn", "strikes"),
    ),
    bars=(
        bar(
            "trip of SO", "stale", EIGHT + 4.8 * HOUR, until=EIGHT + 5 * HOUR, broken_on="screw",
            says="Stale since 14 Apr 12:55.", because="Touched after its proof: setting of SO: lower ¼ turn.",
        ),
        bar("lock-up of LB", "refused", EIGHT + 6 * HOUR, says="Water ran during it: it is none.", detail=""),
        bar("duty of RV", "stands", EIGHT + 5.5 * HOUR),
        bar("clocks told", "open", None, says="Open."),
        bar("IV2 tight", "accepted", EIGHT + 3 * HOUR, says="Accepted as it is."),
    ),
    left_out="15 more proofs in the table below the picture.",
)  # fmt: skip


@pytest.mark.parametrize("palette", [screen(), screen(embed=True), paper(), one_colour()])
@pytest.mark.parametrize("width", [328.0, 720.0, 1180.0, 1360.0])
def test_it_is_drawn_in_every_palette_and_width_inside_its_frame(palette, width):
    drawn = draw_proof_score(PICTURE, palette, width)
    assert ET.fromstring(drawn).tag.endswith("svg")
    assert "nan" not in drawn
    assert "style=" not in drawn
    canvas = compose_proof_score(PICTURE, palette, width)
    for box in canvas.boxes:
        assert box.left >= -1.0, box
        assert box.right <= width + 1.0, box
        assert box.top >= -1.0
        assert box.bottom <= canvas.height + 1.0, box


@pytest.mark.parametrize("width", [1180.0, 1360.0])
def test_names_of_touches_lie_on_no_other_name(width):
    canvas = compose_proof_score(PICTURE, paper(), width)
    shown = [box for box in canvas.boxes if "turn" in box.text or box.text == "set to trip"]
    assert {"lower ¼ turn", "raise ½ turn"} <= {box.text for box in shown}
    rest = [box for box in canvas.boxes if box not in shown]
    assert not any(box.meets(other) for box in shown for other in rest)


def test_a_name_without_a_figure_stands_at_the_height_of_its_bar():
    bars = (
        bar("duty of RV", "open", None, says="Open."),
        bar("clocks told", "open", None, says="No.", detail=""),
    )
    canvas = compose_proof_score(replace(PICTURE, bars=bars), screen(), 1180.0)
    middle = {box.text: (box.top + box.bottom) / 2 for box in canvas.boxes}
    assert middle["clocks told"] == pytest.approx(middle["No."], abs=1.0)
    assert middle["duty of RV"] < middle["Open."] - 5.0


def test_state_is_told_by_form_also_in_one_colour():
    drawn = draw_proof_score(PICTURE, one_colour(), 1360.0)
    assert drawn.count("stroke-dasharray") >= 3
    standing = replace(PICTURE, bars=tuple(replace(one, state="stands") for one in PICTURE.bars[:1]))
    assert draw_proof_score(standing, one_colour(), 1360.0) != drawn


def test_one_sentence_says_what_is_amiss_before_what_stands():
    said = proof_score_text(PICTURE)
    assert said.index("trip of SO: Stale") < said.index("duty of RV")
    assert "setting of the standby touched (raise ½ turn), not proved since" in said
    assert said.startswith("Proofs of Quernhollow Lane, visit of 14 April 2027: ")


def test_the_same_picture_gives_the_same_bytes():
    assert draw_proof_score(PICTURE, screen(), 1180.0) == draw_proof_score(PICTURE, screen(), 1180.0)


def test_a_night_between_two_days_is_cut_out_of_the_scale():
    moments = [*(EIGHT + hour * HOUR for hour in range(9)), EIGHT + 24 * HOUR, EIGHT + 25 * HOUR]
    scale = time_scale(moments, 60, 0.0, 1000.0)
    assert len(scale.stretches) == 2
    assert len(list(scale.cuts())) == 1
    assert [day for _, day in scale.days()] == ["14 Apr 2027", "15 Apr 2027"]
    places = [scale.at(moment) for moment in moments]
    assert places == sorted(places)
    assert places[-1] <= 1000.0
    hours = [clock for _, clock in scale.hours(60.0)]
    assert "09:00" in hours


def test_a_visit_of_one_moment_has_a_scale_too():
    scale = time_scale([EIGHT], 0, 0.0, 300.0)
    assert 0.0 < scale.at(EIGHT) < 300.0


def test_many_days_are_joined_until_each_has_room():
    scale = time_scale([EIGHT + day * 24 * HOUR for day in range(40)], 0, 0.0, 300.0)
    assert len(scale.stretches) <= 2
    assert all(one.right > one.left for one in scale.stretches)


def test_long_names_are_whole_where_there_is_room_for_them():
    long = "RV: main diaphragm, main spring and speed needles"
    picture = replace(
        PICTURE, strings=(ScoreString("screw", long), *PICTURE.strings[1:]),
        bars=(*PICTURE.bars, bar("MON holds when the other reducer fails open", "stands", EIGHT + HOUR)),
    )  # fmt: skip
    drawn = draw_proof_score(picture, screen(), 1180.0)
    assert long in drawn
    assert "MON holds when the other reducer fails open" in drawn
    assert "…" not in drawn


def test_long_names_stand_over_two_lines_and_are_not_cut_on_a_narrow_screen():
    long = "filter of the closing medium of the monitoring reducer, main stream"
    strings = (*PICTURE.strings, ScoreString("far", long))
    bars = (*PICTURE.bars, bar("takeover by the monitor when the reducer fails open", "open", None))
    canvas = compose_proof_score(replace(PICTURE, strings=strings, bars=bars), screen(), 776.0)
    written = [box.text for box in canvas.boxes if box.left < 260.0]
    assert not [text for text in written if text.endswith("…")]
    assert " ".join(text for text in written if text in long).endswith("main stream")
    boxes = [box for box in canvas.boxes if box.right < 270.0]
    assert not [
        (one, other) for one in boxes for other in boxes if one is not other and one.meets(other, -1.5)
    ]


@pytest.mark.parametrize("width", [740.0, 1180.0])
def test_short_words_beside_the_bars_leave_their_room_to_the_time(width):
    def ends(picture: ProofScore) -> float:
        boxes = compose_proof_score(picture, screen(), width).boxes
        return next(box.left for box in boxes if box.text == "How to read this")

    plain = replace(PICTURE, bars=tuple(replace(one, says="Stands.", because="") for one in PICTURE.bars))
    assert ends(plain) > ends(PICTURE) + 20.0
