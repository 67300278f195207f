"""Rising runs of a trip: where the shut-off still stood, where it acted, how high the outlet went."""

from __future__ import annotations

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering
from steadyhead.drawings.figures import Figures
from steadyhead.drawings.frames import AXIS_ROOM, MARGIN, NAME, foot_lines, head, levels, named, padded
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.scale import Scale
from steadyhead.records.certificate import Noted, TripProof, TripRun
from steadyhead.units import METRIC, UnitSet, say, say_band

HEIGHT = 250.0
SIDE_ROOM = 150.0
NARROW_BELOW = 600.0
"""Below this width limits are named inside the frame. [px]"""
BAR = 26.0
"""Width of the bar between last hold and act. [px]"""
WALL = 9.0


def draw_trip_runs(
    proof: TripProof, palette: Palette, width: float, units: UnitSet = METRIC, *, name: str = ""
) -> str:
    """Return the rising runs of one shut-off as SVG text.

    Each run is a bar from the last hold without action to the reading at the act, a ring at the act, a ring
    with a hair line at the peak; closing time and the like stand below. The band that is accepted is hatched.

    Parameters
    ----------
    proof
        What is shown; pressures as the gauge at its tap read them.
    palette, width
        Colours and pens; width of the drawing. [px]
    units
        Display units.
    name
        Station.
    """
    canvas = compose_trip_runs(proof, palette, width, units)
    return canvas.svg(f"Trip runs, {proof.valve}{f', {name}' if name else ''}", trip_runs_text(proof, units))


def compose_trip_runs(proof: TripProof, palette: Palette, width: float, units: UnitSet = METRIC) -> Canvas:
    """Return the drawing as a canvas, with the boxes of its lettering."""
    canvas = Canvas(palette, width)
    side = SIDE_ROOM if width >= NARROW_BELOW else 0.0
    left, right = MARGIN + AXIS_ROOM, width - MARGIN - side
    top = (
        head(canvas, f"{proof.valve}: rising runs", f"{units.heading('pressure')} at {proof.tap}", right)
        + 14.0
    )
    ends = [end for end in (proof.low, proof.high) if end is not None]
    shown = [value for run in proof.runs for value in _values(run)] + ends
    scale = Scale(*padded(shown or [0.0, 1e5]), top + HEIGHT, top)
    levels(canvas, scale, (left, right), units)
    taken: list[Box] = []
    _band(canvas, proof, scale, (left, right), units, taken)
    pitch = (right - left) / max(len(proof.runs), 1)
    foot = scale.low_at
    for index, run in enumerate(proof.runs):
        foot = max(foot, _run(canvas, run, scale, left + pitch * (index + 0.5), units, taken))
    canvas.height = round(foot_lines(canvas, foot + 26.0, caption(proof, units)) + 4.0)
    return canvas


def _values(run: TripRun) -> list[float]:
    found = (number(one) for one in (run.last_hold, run.act, run.peak))
    return [value for value in found if value is not None]


def number(noted: Noted | None) -> float | None:
    """Return the number that was noted; None where there is none."""
    return None if noted is None or isinstance(noted.value, bool | str) else noted.value


def _band(
    canvas: Canvas,
    proof: TripProof,
    scale: Scale,
    ends: tuple[float, float],
    units: UnitSet,
    taken: list[Box],
) -> None:
    x, up = (ends[1] + 8, 4.5) if canvas.width >= NARROW_BELOW else (ends[0] + 4, -4.0)
    if proof.low is not None and proof.high is not None:
        box = Box(ends[0], scale.at(proof.high), ends[1], scale.at(proof.low))
        canvas["ground"].hatch(box, "hatch expected", rising=False, pitch=18.0)
        for value, word in ((proof.high, "most, middle"), (proof.low, "least, middle")):
            canvas["grid"].line(ends[0], scale.at(value), ends[1], scale.at(value), "edge")
            named(canvas, x, scale.at(value) + up, f"{_edge(proof, value, units)} {word}", taken)
    if proof.trip is not None:
        y = scale.at(proof.trip)
        canvas["lines"].line(ends[0], y, ends[1], y, "trip")
        named(
            canvas,
            x,
            y + up,
            f"{say(proof.trip, 'pressure', units)} trip",
            taken,
            Lettering("small", "halt", halo="paper"),
        )


def _edge(proof: TripProof, value: float, units: UnitSet) -> str:
    """Return an end of the band that is accepted, rounded inwards as it is told everywhere else."""
    if value == proof.high:
        return say_band(None, value, "pressure", units).removeprefix("at most ")
    return say_band(value, None, "pressure", units).removeprefix("at least ")


def _run(canvas: Canvas, run: TripRun, scale: Scale, x: float, units: UnitSet, taken: list[Box]) -> float:
    low, high, peak = (number(one) for one in (run.last_hold, run.act, run.peak))
    figures = Figures(units)
    if low is not None and high is not None:
        top, tall = scale.at(high), max(scale.at(low) - scale.at(high), 1.0)
        canvas["hardware"].rect(x - BAR / 2, top, BAR, tall, "body")
    if low is not None:
        named(canvas, x + BAR / 2 + 6, scale.at(low) + 12, figures.key(low), taken)
    if peak is not None and high is not None:
        canvas["lines"].line(x, scale.at(high), x, scale.at(peak), "hair dashed")
        canvas["rings"].circle(x, scale.at(peak), 3.5, "ring")
        named(canvas, x + BAR / 2 + 6, scale.at(peak) - 2, f"{figures.key(peak)} peak", taken)
    if high is not None:
        canvas["rings"].circle(x, scale.at(high), 5.0, "ring")
        named(
            canvas,
            x + BAR / 2 + 6,
            scale.at(high) + 4.5,
            figures.key(high),
            taken,
            Lettering("normal", "grade", strong=True, halo="paper"),
        )
    y = scale.low_at + 20.0
    strong = Lettering("small", "ink", strong=True, anchor="middle")
    canvas["lettering"].text(x, y, f"run {run.number}", strong)
    for words in _below(run, units):
        y += NAME.line
        canvas["lettering"].text(x, y, words, Lettering("small", "ink-2", anchor="middle"))
    return y


def _below(run: TripRun, units: UnitSet) -> list[str]:
    closing = number(run.closing)
    words = [
        run.step,
        "as found" if run.as_found else "",
        f"shut in {say(closing, 'time', units)}" if closing else "",
    ]
    outside = {True: "inside", False: "OUTSIDE", None: ""}[run.inside]
    return [word for word in (*words, outside) if word]


def caption(proof: TripProof, units: UnitSet) -> list[str]:
    """Return what stands below the picture."""
    words = "Bar: last hold without action to the reading at the act. Ring: reading."
    if proof.window[0] is not None and proof.window[1] is not None:
        words += f" Closing time accepted: {say_band(*proof.window, 'time', units)}."
    return [words]


def trip_runs_text(proof: TripProof, units: UnitSet = METRIC) -> str:
    """Return the picture as one sentence."""
    said = []
    for run in proof.runs:
        low, high, peak, closing = (number(one) for one in (run.last_hold, run.act, run.peak, run.closing))
        held = f"held {say(low, 'pressure', units)}, " if low is not None else ""
        acted = f"acted at {say(high, 'pressure', units)}" if high is not None else "act not noted"
        more = f", peak {say(peak, 'pressure', units)}" if peak is not None else ""
        more += f", shut in {say(closing, 'time', units)}" if closing is not None else ""
        said.append(f"run {run.number} {held}{acted}{more}")
    return f"Rising runs of {proof.valve} at {proof.tap}: {'; '.join(said) or 'none'}."
