"""A hand-made design sheet with the figures of the handbook's worked example."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.records.design import (
    DesignSheet,
    FlowCase,
    GaugeSizing,
    InletCase,
    LossSizing,
    Patch,
    PipeSizing,
    ReducerCase,
    ReducerSizing,
    Remedy,
    UsedDefault,
)
from steadyhead.records.ladder import (
    ComponentLimit,
    Contribution,
    FailurePeak,
    Ladder,
    LadderInputs,
    Stacking,
)

BAR = 1e5
SPUR = ComponentLimit(
    "old spur, Tannery Row", 121.0, 8 * BAR, 8 * BAR, 5.94 * BAR, 5.94 * BAR, "consumer", "plate 1971"
)
PIPE = ComponentLimit(
    "PVC-U main", 118.0, 10 * BAR, 10 * BAR, 7.65 * BAR, 7.65 * BAR, "consumer", "class PN 10"
)
WORST = Stacking(
    "worst case",
    0.25 * BAR,
    0.35 * BAR,
    5.05 * BAR,
    5.02 * BAR,
    -0.03 * BAR,
    "empty",
    4.75 * BAR,
    5.45 * BAR,
    6.02 * BAR,
    False,
)
SQUARES = Stacking(
    "root-sum-square",
    0.18 * BAR,
    0.21 * BAR,
    4.98 * BAR,
    5.16 * BAR,
    0.18 * BAR,
    "open",
    4.89 * BAR,
    5.31 * BAR,
    5.88 * BAR,
    True,
)
LADDER = Ladder(
    inputs=LadderInputs(
        duty=4.2 * BAR,
        lockup=4.4 * BAR,
        highest_normal_adds=(Contribution("repeatability", 0.1 * BAR), Contribution("drift", 0.15 * BAR)),
        lowest_normal_takes=(Contribution("droop", 0.3 * BAR), Contribution("drift", 0.15 * BAR)),
        gap=0.15 * BAR,
        trip=5.1 * BAR,
        trip_tolerances=(
            Contribution("repeatability", 0.15 * BAR),
            Contribution("drift", 0.1 * BAR),
            Contribution("gauge", 0.1 * BAR),
        ),
        overshoot=0.57 * BAR,
        normal_limit=5.94 * BAR,
        fault_limit=5.94 * BAR,
        needed=2.9 * BAR,
        alarm=4.8 * BAR,
        alarm_error=0.1 * BAR,
    ),
    highest_normal=4.65 * BAR,
    lowest_normal=3.55 * BAR,
    worst_case=WORST,
    root_sum_square=SQUARES,
    components=(SPUR, PIPE),
    weakest_normal=SPUR,
    weakest_fault=SPUR,
    peaks=(
        FailurePeak("reducer drifts open", 120.0, "night flow", 5.6, 0.57 * BAR, 5.88 * BAR, True, True),
        FailurePeak("reducer fails open", 2.0, "night flow", 5.6, 1.35 * BAR, 6.66 * BAR, False, False),
    ),
    not_covered=("main diaphragm of the reducer bursts", "the bypass is opened by hand"),
    common_causes=("the same dirty water reaches both pilots",),
)
NIGHT: tuple[FlowCase, InletCase] = ("night", "static")
AVERAGE: tuple[FlowCase, InletCase] = ("average", "typical")
PEAK: tuple[FlowCase, InletCase] = ("peak", "lowest")
CASES = tuple(
    ReducerCase(
        words[0], words[1], q, kv, v, 9 * BAR, 4 * BAR, travel, "holding", s1, s1 - 1, 1 / s1, False, s1 < 1.8
    )
    for words, q, kv, v, travel, s1 in (
        (NIGHT, 1.8e-3, 2.8, 0.2, 0.02, 1.65),
        (AVERAGE, 9e-3, 14.0, 1.1, 0.1, 1.8),
        (PEAK, 22e-3, 48.0, 2.8, 0.4, 2.4),
    )
)
SHEET = DesignSheet(
    station="QUR-02",
    name="Quillenby Row",
    layout="shut-off upstream",
    stacking="worst case",
    ladder=LADDER,
    reducers=(
        ReducerSizing(
            "RV",
            0.1,
            150.0,
            30.0,
            "default, own estimate: globe body",
            4.4 * BAR,
            "stated",
            1.1e-3,
            (0.4e-3, 2.2e-3),
            1.5 * BAR,
            7 * BAR,
            5.61 * BAR,
            CASES,
        ),
    ),
    losses=(LossSizing("ST", "strainer", 675.0, 0.01 * BAR, 0.3 * BAR),),
    pipes=(PipeSizing("supply main", 0.152, 1.2, 3.0),),
    gauges=(GaugeSizing("TG-1", 10 * BAR, 0.06 * BAR, 0.09 * BAR, True, False, 0.51),),
    cases=(),
    remedies=(
        Remedy(
            ("gauge",),
            (Patch(("gauges", 0, "accuracy"), "0.4 %"),),
            "Set the trip with a better gauge.",
            "",
            5.05 * BAR,
            5.08 * BAR,
            0.06 * BAR,
        ),
    ),
    findings=(),
    defaults=(
        UsedDefault("SO", "closing needle", "Kv 0.33", "flow_coefficient", 0.33, "default, own estimate"),
    ),
    engine_version="0.1.0",
)


def sheet(**changed: object) -> DesignSheet:
    return replace(SHEET, **changed)  # type: ignore[arg-type]
