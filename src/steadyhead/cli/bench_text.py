"""`steadyhead bench`: figures of speed as lines a person reads, or as JSON."""

from __future__ import annotations

import json
from textwrap import wrap

from steadyhead.cli.progress import say, watched
from steadyhead.services.speed import Measured, SpeedAnswer, measure_speed, speed_data

NAME, ROOM = 38, 100
STOPPED = 130


def do_bench(full: bool, as_json: bool) -> int:
    """Measure, show, and return the exit status."""
    from steadyhead.services.first_use import tell_first_use

    tell_first_use(say)
    with watched() as shown:
        answer = measure_speed(full=full, progress=shown, cancel=shown.cancel)
    if as_json:
        print(json.dumps(speed_data(answer), indent=2, ensure_ascii=False))
    else:
        print(bench_text(answer))
    return STOPPED if answer.was_stopped else 0


def bench_text(answer: SpeedAnswer) -> str:
    """Return the figures as text: value, spread, what is aimed at."""
    extent = "full" if answer.is_full else "quick; --full measures longer"
    lines = [f"Speed of the transient twin on this machine ({extent})", answer.machine, ""]
    for one in answer.figures:
        lines.append(_line(one))
        lines += [f"    {part}" for part in wrap(one.about, ROOM - 4)]
    if answer.was_stopped:
        lines.append("Stopped: the rest was not measured.")
    lines += [
        "",
        "Medians of runs that took turns; ± half the distance of the quartiles. A busy machine is slower.",
    ]
    return "\n".join(lines)


def _line(one: Measured) -> str:
    if one.value is None:
        return f"{one.name:<{NAME}} left out: {one.missing}"
    told = f"{value_text(one.value)} {one.unit}".strip()
    line = f"{one.name:<{NAME}} {told:>12} " + (f"±{one.spread:3.0%}" if one.rounds else "    ")
    if one.ratio is not None:
        line += f"   ×{value_text(one.ratio)} ±{one.ratio_spread:.0%} of {_first(one.ratio_to)}"
    if one.goal is None:
        return line
    aim = "below" if one.better == "below" else "at least"
    unit = f" {one.unit}" if one.unit else ""
    return f"{line}   aimed at: {aim} {one.goal:g}{unit}{'' if one.is_met else ' (not met here)'}"


def _first(name: str) -> str:
    """Return what of a name tells it from the others of its group."""
    return name.rpartition(", ")[2]


def value_text(value: float) -> str:
    """Return a figure with three digits that count.

    >>> value_text(0.04512), value_text(2.871), value_text(1234.0), value_text(8.6e-6)
    ('0.0451', '2.87', '1230', '8.6e-06')
    """
    if 0.0 < value < 1e-3:
        return f"{value:.2g}"
    rounded = float(f"{value:.3g}")
    return f"{rounded:.0f}" if rounded >= 100 else f"{rounded:#.3g}"
