"""The proof score: strings that were touched or not, proofs that rest on them, and which of them still stand.

Strings are the things; a knot is a touch. A proof is an upright with a dot on each string it rests on; its
bar runs right while it stands. A later knot on one of its strings breaks the bar, which then lies lower.
"""

from __future__ import annotations

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering, text_box, text_width
from steadyhead.drawings.marks import Mark, put_mark
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.proof_score_facts import MARK_OF, proof_score_text, shown_moments
from steadyhead.drawings.proof_score_phone import NARROW_BELOW, compose_phone
from steadyhead.drawings.proof_times import TimeScale, time_scale
from steadyhead.records.proof_score import Knot, ProofScore, ScoreBar

NAMES_SHARE, SAYS_SHARE = 0.205, 0.245
"""Shares of the width that names at the left and words at the right take."""
MOST_NAMES_SHARE = 0.34
"""Share of the width that long names may take; what is longer still goes over two lines."""
LEAST_NAMES, LEAST_SAYS = 180.0, 230.0
"""Widths below which names and words are not pressed. [px]"""
MOST_LINES = 2
"""Lines a name may take: two of them stay within what lies between two strings."""
SHORT_SAYS, SAYS_AT = 205.0, 58.0
"""Room beside the bars where all words there are short, and where those words begin in it. [px]"""
NAME_GAP = 16.0
"""Room between a name and its string. [px]"""
BAR_NAME = Lettering("normal", "ink", strong=True, anchor="end")
BAR_DETAIL = Lettering("small", "ink-2", anchor="end")
STRING_NAME = Lettering("normal", "ink-2", anchor="end")
BAR_PITCH, STRING_PITCH = 56.0, 32.0
TOP, SLIP = 38.0, 9.0
KNOT, BROKEN_KNOT, DOT = 6.5, 10.0, 4.5
HOUR_ROOM = 64.0
PEN: dict[str, str] = {"stale": "slipped", "refused": "halted"}
TONE: dict[str, str] = {"stale": "heed", "refused": "halt"}


def draw_proof_score(picture: ProofScore, palette: Palette, width: float) -> str:
    """Return the proof score as SVG text, one proof below the other where the width is small.

    Parameters
    ----------
    picture
        What is shown.
    palette
        `screen`, `paper` or `one_colour`.
    width
        Width of the drawing. [px]
    """
    canvas = compose_proof_score(picture, palette, width)
    return canvas.svg(f"Proofs and what they rest on, {picture.name}", proof_score_text(picture))


def compose_proof_score(picture: ProofScore, palette: Palette, width: float) -> Canvas:
    """Return the drawing as a canvas, with the boxes of its lettering."""
    if width < NARROW_BELOW:
        return compose_phone(picture, palette, width)
    return _Wide(picture, palette, width).composed()


class _Wide:
    """The wide form: names left, time in the middle, words right."""

    def __init__(self, picture: ProofScore, palette: Palette, width: float) -> None:
        self.picture, self.canvas = picture, Canvas(palette, width)
        self.left = round(self._names_room(width))
        self.right = round(width - self._says_room(width))
        self.time: TimeScale = time_scale(shown_moments(picture), picture.zone, self.left, self.right)
        self.bar_at = {bar.name: TOP + BAR_PITCH * at for at, bar in enumerate(picture.bars)}
        self.strings_top = TOP + BAR_PITCH * len(picture.bars) + 26.0
        first = self.strings_top + 30.0
        self.string_at = {one.id: first + STRING_PITCH * at for at, one in enumerate(picture.strings)}
        self.foot = first + STRING_PITCH * len(picture.strings)
        self.taken: list[Box] = []
        self.read_foot = 0.0

    def _names_room(self, width: float) -> float:
        """Return the room for the names at the left: as much as the longest asks for, within bounds. [px]"""
        names = [(bar.words, BAR_NAME) for bar in self.picture.bars]
        names += [(bar.detail, BAR_DETAIL) for bar in self.picture.bars]
        names += [(one.words, STRING_NAME) for one in self.picture.strings]
        longest = max((text_width(self.canvas.palette, *name) for name in names), default=0.0) + NAME_GAP
        least = max(width * NAMES_SHARE, LEAST_NAMES)
        return max(least, min(longest + 1.0, width * MOST_NAMES_SHARE))

    def _says_room(self, width: float) -> float:
        """Return the room for the words at the right: no more than the longest asks for. [px]"""
        says = [(bar.says, Lettering("normal", "ink")) for bar in self.picture.bars]
        says += [(bar.because, Lettering("small", "ink-2")) for bar in self.picture.bars]
        longest = max((text_width(self.canvas.palette, *words) for words in says), default=0.0)
        return max(SHORT_SAYS, min(longest + SAYS_AT + 1.0, max(width * SAYS_SHARE, LEAST_SAYS)))

    def composed(self) -> Canvas:
        """Return the whole drawing."""
        self._ground()
        for bar in self.picture.bars:
            self._bar(bar)
        self._knots()
        self._reading()
        low = max(self.foot + 48.0, self.read_foot + 16.0)
        self.canvas.height = round(self._left_out(low))
        return self.canvas

    def _ground(self) -> None:
        head, small = Lettering("part", "ink", strong=True), Lettering("small", "ink-3", anchor="middle")
        words = self.canvas["lettering"]
        words.text(0.0, 14.0, "Proofs", head)
        words.text(0.0, self.strings_top, "What they rest on", head)
        for one in self.picture.strings:
            y = self.string_at[one.id]
            self.canvas["grid"].line(self.left, y, self.right, y, "hair")
            self._end_words(one.words, y + 4.5, STRING_NAME, middled=True)
        bottom = self.foot - STRING_PITCH + 16.0
        for x, clock in self.time.hours(HOUR_ROOM):
            self.canvas["ground"].line(x, 24.0, x, bottom, "grid")
            words.text(x, bottom + 20.0, clock, small)
        for x, day in self.time.days():
            words.text(x, bottom + 38.0, day, Lettering("small", "ink-3"))
        for before, after in self.time.cuts():
            middle = (before + after) / 2
            for move in (-4.0, 4.0):
                self.canvas["grid"].line(middle + move - 3, bottom + 8, middle + move + 3, bottom - 8, "hair")

    def _end_words(self, words: str, y: float, style: Lettering, *, middled: bool = False) -> float:
        """Write a name before its string, over two lines where it is long; return the last baseline. [px]

        middled: the lines stand around `y`, else the first stands there.
        """
        room = self.left - NAME_GAP
        lines = self._lines(words, style, room)
        top = y - 0.5 * style.line * (len(lines) - 1) if middled else y
        return self.canvas["lettering"].lines(room, top, [(line, style) for line in lines])

    def _lines(self, words: str, style: Lettering, room: float) -> list[str]:
        """Return words over as many lines as a name may take, the last cut where they are longer still."""
        lines = self.canvas.palette.face.wrap(words, style.px, room, strong=style.strong)
        if len(lines) > MOST_LINES:
            lines = (*lines[: MOST_LINES - 1], " ".join(lines[MOST_LINES - 1 :]))
        return [self._cut(line, style, room) for line in lines]

    def _bar(self, bar: ScoreBar) -> None:
        y, tone = self.bar_at[bar.name], TONE.get(bar.state, "ink")
        if bar.detail:
            rows = len(self._lines(bar.words, BAR_NAME, self.left - NAME_GAP))
            foot = self._end_words(bar.words, y - 2.0 - 9.0 * (rows - 1), BAR_NAME)
            self._end_words(bar.detail, foot + 17.0, BAR_DETAIL)
        else:
            self._end_words(bar.words, y + 4.5, BAR_NAME, middled=True)
        if bar.at is not None:
            self._upright(bar, y)
        mark: Mark = MARK_OF[bar.state]
        x = self.right + 18.0
        put_mark(self.canvas["lines"], mark, x, y - 8.0)
        self._says(bar, x + 40.0, y + 5.0, tone)

    def _says(self, bar: ScoreBar, x: float, y: float, tone: str) -> None:
        face, room = self.canvas.palette.face, self.canvas.width - x
        first = Lettering("normal", tone)  # type: ignore[arg-type]
        rows = [(line, first) for line in face.wrap(bar.says, first.px, room, strong=False)][:2]
        small = Lettering("small", "ink-2")
        rest = 3 - len(rows) if bar.because else 0
        lines = face.wrap(bar.because, small.px, room, strong=False) if rest > 0 else []
        cut = list(lines[:rest])
        if len(lines) > rest and cut:
            cut[-1] = self._cut(f"{cut[-1].rstrip('.,;: ')}…", small, room)
        start = y - 4.0 * max(0, len(rows) + len(cut) - 2)
        self.canvas["lettering"].lines(x, start, [*rows, *((line, small) for line in cut)])

    def _cut(self, words: str, style: Lettering, room: float) -> str:
        """Return words cut until they fit, with a mark that they were cut."""
        while len(words) > 2 and text_width(self.canvas.palette, words, style) > room:
            words = f"{words[:-2].rstrip()}…"
        return words

    def _upright(self, bar: ScoreBar, y: float) -> None:
        assert bar.at is not None
        pen, lines = PEN.get(bar.state, "object"), self.canvas["lines"]
        x, strings = self.time.at(bar.at), [self.string_at[one] for one in bar.rests if one in self.string_at]
        if strings:
            lines.line(x, y, x, max(strings), pen)
        for low in strings:
            self.canvas["hardware"].circle(x, low, DOT, f"dot {pen}")
        if bar.state == "refused":
            lines.line(x, y, self.right, y, "refused bar")
            lines.line(x - 8, y + 10, x + 10, y - 10, "halted")
        elif bar.state == "stale":
            self._broken(bar, x, y)
        elif bar.state in ("stands", "accepted"):
            lines.line(x, y, self.right, y, "standing bar")

    def _broken(self, bar: ScoreBar, x: float, y: float) -> None:
        lines = self.canvas["lines"]
        at = max(self.time.at(bar.until) if bar.until is not None else x + 12.0, x + 6.0)
        at = min(at, self.right - 14.0)
        lines.line(x, y, at - 4.0, y, "slipped bar")
        lines.line(at - 6.0, y - SLIP, at + 6.0, y + 2 * SLIP, "slipped")
        lines.line(at + 6.0, y + SLIP, self.right, y + SLIP, "slipped bar")
        if bar.broken_on in self.string_at:
            lines.line(at, y + 2 * SLIP + 2.0, at, self.string_at[bar.broken_on] - 9.0, "slipped dashed")

    def _knots(self) -> None:
        ordered = sorted(self.picture.knots, key=lambda one: (one.kind == "touch", one.at))
        shown = [one for one in ordered if one.string in self.string_at]
        for knot in shown:
            x, y, half = self._place(knot)
            self.taken.append(Box(x - half, y - half, x + half, y + half, ""))
        for knot in shown:
            x, y, half = self._place(knot)
            pen = {"touch": "knot", "slips": "knot slipped", "strikes": "knot halted"}[knot.kind]
            self.canvas["rings"].chain(
                ((x, y - half), (x + half, y), (x, y + half), (x - half, y)), pen, closed=True
            )
            if knot.words:
                self._named(knot, x, y, half)

    def _place(self, knot: Knot) -> tuple[float, float, float]:
        half = KNOT if knot.kind == "touch" else BROKEN_KNOT
        return self.time.at(knot.at), self.string_at[knot.string], half

    def _named(self, knot: Knot, x: float, y: float, half: float) -> None:
        """Write what was done beside its knot where that lies on nothing; a breaking knot is always named."""
        tone = {"touch": "ink-2", "slips": "heed", "strikes": "halt"}[knot.kind]
        is_plain = knot.kind == "touch"
        size = "small" if is_plain else "normal"
        ends = ((x + half + 4.0, y - 7.0, "start"), (x - half - 4.0, y - 7.0, "end"))
        places = [*ends] if is_plain else [*ends, (x + half + 4.0, y + 17.0, "start")]
        for left, low, anchor in places:
            style = Lettering(size, tone, strong=not is_plain, anchor=anchor, halo="paper")  # type: ignore[arg-type]
            box = text_box(self.canvas.palette, left, low, knot.words, style)
            inside = box.left > self.left + 2.0 and box.right < self.right - 2.0
            if inside and not any(box.meets(other, 1.0) for other in self.taken):
                self.taken.append(self.canvas["lettering"].text(left, low, knot.words, style))
                return

    def _reading(self) -> None:
        """Write how the picture is read, beside the strings."""
        x, y = self.right + 18.0, self.strings_top
        words = Lettering("normal", "ink-2")
        lettering = self.canvas["lettering"]
        lettering.text(x, y, "How to read this", Lettering("part", "ink", strong=True))
        rows = ("a thing was touched", "the proof rests on it", "it stands while its bar runs on",
                "touched later than proved: it slips")  # fmt: skip
        low = y + 30.0
        for at, row in enumerate(rows):
            self._sign(at, x, low)
            lines = self.canvas.palette.face.wrap(row, words.px, self.canvas.width - x - 40.0, strong=False)
            low = lettering.lines(x + 40.0, low + 4.5, [(line, words) for line in lines]) + 23.5
        self.read_foot = low

    def _sign(self, at: int, x: float, low: float) -> None:
        """Draw one of the signs that are explained."""
        if at == 0:
            half, middle = KNOT, x + 14.0
            self.canvas["rings"].chain(
                ((middle, low - half), (middle + half, low), (middle, low + half), (middle - half, low)),
                "knot",
                closed=True,
            )
        elif at == 1:
            self.canvas["hardware"].circle(x + 14, low, DOT, "dot object")
        elif at == 2:
            self.canvas["lines"].line(x, low, x + 28, low, "standing bar")
        else:
            put_mark(self.canvas["lines"], "slipped", x, low - 8.0)

    def _left_out(self, y: float) -> float:
        if not self.picture.left_out:
            return y
        self.canvas["lettering"].text(0.0, y, self.picture.left_out, Lettering("small", "ink-2"))
        return y + 14.0
