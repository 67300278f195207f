"""How three or more branches share a flow: a search asked and told, one march of one branch at a time.

The unknown is the pressure at the inlet joint. At each, every branch is asked for the flow it carries there;
together they carry what leaves the outlet joint. What a branch has shown before encloses what it shows next,
so that later looks cost little. Searches run on square roots of pressures: there most elements are straight
lines, shut ones too.
"""

from __future__ import annotations

from math import isfinite, isnan, nan, sqrt

from steadyhead.hydraulics.kernel.brackets import LARGEST, tell
from steadyhead.hydraulics.kernel.elements import TINY
from steadyhead.hydraulics.kernel.layout import (
    ASKED,
    AT_FAR,
    AT_NEAR,
    AT_THIRD,
    BASE,
    BRANCHES,
    CARRIED,
    FAR,
    HIGH_ASKED,
    HIGH_FLOW,
    LEVEL,
    LOOKS,
    LOW_ASKED,
    LOW_FLOW,
    NEAR,
    ORIGIN,
    PHASE,
    SHARE,
    SPANS,
    TAKER,
    THIRD,
    TRIAL,
    TURN,
)
from steadyhead.laws.compiling import Floats, FloatTable, Integers, inner_kernel

ENOUGH = 3e-10  # difference of the inlet pressures of two branches that counts as none [Pa]
SAME = 4.0 * TINY  # the same as a share of the pressure
LEAST_STEP = 1e-6  # first step of a search for a flow [m³/s]
LEAST_ROOT = 1e-30  # keeps the sign of a difference of roots that rounding lost [√Pa]
LEAST_FLOW = 1e-24  # flows closer than this are one [m³/s]
LEAST_RISE = 10.0  # the root of the inlet pressure may rise by this from one look to the next [√Pa]
MOST_LOOKS = 4000.0  # at all branches together
BEYOND = 1e9  # a branch that carries this many times the whole flow, and more, resists nothing
ALIKE = 0.5  # branches that carry at least this share of the most count as carrying about as much
LEAST_SHARE, MOST_SHARE = 1e-12, 1.0 - 1e-12  # a first look stays off the ends of its bracket

# Phases, in their order.
AT_REST = 0.0  # what each branch asks at no flow
EVEN = 1.0  # what each asks at an even share: least and most of these enclose the answer
SEARCHING = 2.0
WRITING = 3.0  # the answer is known; each branch is marched once more to write it down
DONE = 4.0


@inner_kernel
def rooted(pressure: float) -> float:
    """Return the square root of a pressure with its sign. [√Pa]"""
    root = sqrt(min(abs(pressure), LARGEST))
    return root if pressure >= 0.0 else -root


@inner_kernel
def is_same(one: float, other: float) -> bool:
    """Return whether two pressures are one, as far as numbers carry."""
    return abs(one - other) <= ENOUGH + SAME * abs(other)


@inner_kernel
def open_split(work: FloatTable, row: int) -> None:
    """Begin the search of the group at `row`."""
    work[row][PHASE] = AT_REST
    work[row][TURN] = 0.0
    work[row][LOOKS] = 0.0


@inner_kernel
def asked_flow(work: FloatTable, link: Integers, row: int, flow: float) -> float:
    """Return the flow at which the branch whose turn it is shall be marched. [m³/s]"""
    phase = work[row][PHASE]
    if phase == AT_REST:
        return 0.0
    if phase == EVEN:
        return flow / link[BRANCHES]
    branch = work[link[SPANS + 2 * int(work[row][TURN])] - 1]
    return branch[CARRIED] if phase == WRITING else branch[TRIAL]


@inner_kernel
def take_answer(work: FloatTable, link: Integers, row: int, flow: float, asked: float) -> None:
    """Take in the inlet pressure [Pa] the branch whose turn it is asks for, and set who is next."""
    group, count = work[row], link[BRANCHES]
    turn = int(group[TURN])
    branch = work[link[SPANS + 2 * turn] - 1]
    pressure = min(asked, LARGEST) if isfinite(asked) else LARGEST
    phase = group[PHASE]
    group[LOOKS] += 1.0
    if phase == SEARCHING:
        is_known = _take(branch, pressure, group[LEVEL], flow)
        if group[LOOKS] >= MOST_LOOKS:
            _close(work, link, row, flow)
        elif is_known:
            _advance(work, link, row, flow, turn + 1)
        return
    if phase == AT_REST:
        branch[LOW_ASKED] = pressure
        branch[BASE] = pressure if pressure < LARGEST else 0.0
    elif phase == EVEN:
        _know(branch, flow / count, pressure)
    group[TURN] = float(turn + 1)
    if turn + 1 == count:
        group[TURN] = 0.0
        group[PHASE] = phase + 1.0
        if phase == EVEN:
            _enclose(work, link, row, flow)


@inner_kernel
def _know(branch: Floats, flow: float, asked: float) -> None:
    """Keep what a branch asks at rest and at an even share as the two ends it is known between."""
    rest = branch[LOW_ASKED]
    if flow >= 0.0:
        branch[LOW_FLOW], branch[LOW_ASKED] = 0.0, rest
        branch[HIGH_FLOW], branch[HIGH_ASKED] = flow, asked
    else:
        branch[LOW_FLOW], branch[LOW_ASKED] = flow, asked
        branch[HIGH_FLOW], branch[HIGH_ASKED] = 0.0, rest
    branch[CARRIED], branch[ASKED] = flow, asked


@inner_kernel
def _likely(branch: Floats, even: float, pressure: float) -> float:
    """Return the flow a branch would carry if its pressure grew with the square of the flow. [m³/s]"""
    whole = rooted(branch[ASKED] - branch[BASE])
    if whole == 0.0:
        return even
    return even * rooted(pressure - branch[BASE]) / whole


@inner_kernel
def _enclose(work: FloatTable, link: Integers, row: int, flow: float) -> None:
    """Enclose the inlet pressure between least and most of what an even share asks, and look inside."""
    group, count = work[row], link[BRANCHES]
    least, most, origin = LARGEST, -LARGEST, LARGEST
    for turn in range(count):
        branch = work[link[SPANS + 2 * turn] - 1]
        least, most = min(least, branch[ASKED]), max(most, branch[ASKED])
        origin = min(origin, branch[BASE])
    if is_same(least, most):
        _close(work, link, row, flow)
        return
    short, over = -flow, -flow
    for turn in range(count):
        branch = work[link[SPANS + 2 * turn] - 1]
        branch[BASE] = origin  # an outlet on it may ask far more at rest: roots would lose their digits
        short += _likely(branch, flow / count, least)
        over += _likely(branch, flow / count, most)
    group[ORIGIN] = origin
    small = LEAST_STEP * max(abs(flow), LEAST_STEP)
    group[NEAR], group[AT_NEAR] = rooted(least - origin), min(short, -small)
    group[FAR], group[AT_FAR] = rooted(most - origin), max(over, small)
    _interpolate(group)
    _raise_level(group)
    _advance(work, link, row, flow, 0)


@inner_kernel
def _interpolate(work: Floats) -> None:
    """Set the first look inside a bracket: where a straight line between its ends passes 0."""
    work[THIRD], work[AT_THIRD] = work[FAR], work[AT_FAR]
    rise = work[AT_NEAR] - work[AT_FAR]
    share = work[AT_NEAR] / rise if rise != 0.0 else 0.5
    work[SHARE] = min(max(share, LEAST_SHARE), MOST_SHARE)
    work[TRIAL] = work[NEAR] + work[SHARE] * (work[FAR] - work[NEAR])


@inner_kernel
def _raise_level(group: Floats) -> None:
    """Set the inlet pressure of the next look from its root."""
    group[LEVEL] = group[ORIGIN] + abs(group[TRIAL]) * group[TRIAL]


@inner_kernel
def _advance(work: FloatTable, link: Integers, row: int, flow: float, turn: int) -> None:
    """Ask the next branch that does not know its flow; behind the last one, judge the inlet pressure."""
    group, count = work[row], link[BRANCHES]
    while group[PHASE] == SEARCHING:
        while turn < count:
            if _begin(work[link[SPANS + 2 * turn] - 1], group[LEVEL], flow):
                group[TURN] = float(turn)
                return
            turn += 1
        group[LOOKS] += 1.0
        if _judge(work, link, row, flow) or group[LOOKS] >= MOST_LOOKS:
            _close(work, link, row, flow)
        turn = 0


@inner_kernel
def _judge(work: FloatTable, link: Integers, row: int, flow: float) -> bool:
    """Hold what all branches carry against the flow; return whether it is that, or set the next look."""
    group, count = work[row], link[BRANCHES]
    excess, root, size = -flow, group[TRIAL], abs(flow)
    for turn in range(count):
        carried = work[link[SPANS + 2 * turn] - 1][CARRIED]
        excess += carried
        size = max(size, abs(carried))
    if abs(excess) <= 2.0 * TINY * size:
        return True
    for turn in range(count):
        branch = work[link[SPANS + 2 * turn] - 1]
        if excess >= 0.0:
            branch[HIGH_FLOW], branch[HIGH_ASKED] = branch[CARRIED], branch[ASKED]
        else:
            branch[LOW_FLOW], branch[LOW_ASKED] = branch[CARRIED], branch[ASKED]
    tell(group, root, excess)
    far = group[FAR]
    width = abs(abs(far) * far - abs(root) * root)
    if is_same(group[LEVEL] + width, group[LEVEL]) or abs(far - root) <= 2.0 * TINY * abs(root):
        return True
    if abs(excess) * width <= ENOUGH * abs(excess - group[AT_FAR]):
        return True
    trial = root + group[SHARE] * (far - root)
    if excess < 0.0 and far > trial:  # far above, shut branches ask for more than can be: go up by steps
        trial = min(trial, root + max(abs(root), LEAST_RISE))
    group[TRIAL] = trial
    _raise_level(group)
    return False


@inner_kernel
def _begin(branch: Floats, level: float, flow: float) -> bool:
    """Set the first look for the flow of a branch at an inlet pressure; return whether one is needed."""
    if is_same(branch[LOW_ASKED], level):
        branch[CARRIED], branch[ASKED] = branch[LOW_FLOW], branch[LOW_ASKED]
        return False
    if is_same(branch[HIGH_ASKED], level):
        branch[CARRIED], branch[ASKED] = branch[HIGH_FLOW], branch[HIGH_ASKED]
        return False
    if branch[LOW_ASKED] > level:
        branch[HIGH_FLOW], branch[HIGH_ASKED] = branch[LOW_FLOW], branch[LOW_ASKED]
        branch[LOW_FLOW] = nan
        branch[TRIAL] = branch[HIGH_FLOW] - _step(branch[HIGH_FLOW], flow)
    elif branch[HIGH_ASKED] < level:
        branch[LOW_FLOW], branch[LOW_ASKED] = branch[HIGH_FLOW], branch[HIGH_ASKED]
        branch[HIGH_FLOW] = nan
        branch[TRIAL] = branch[LOW_FLOW] + _step(branch[LOW_FLOW], flow)
    else:
        _bracket(branch, level)
    return True


@inner_kernel
def _step(known: float, flow: float) -> float:
    """Return how far beyond a known flow to look. [m³/s]"""
    return 3.0 * max(abs(known), 0.1 * abs(flow), LEAST_STEP)


@inner_kernel
def _bracket(branch: Floats, level: float) -> None:
    """Search between the two flows a branch is known at."""
    root = rooted(level - branch[BASE])
    below, above = rooted(branch[LOW_ASKED] - branch[BASE]), rooted(branch[HIGH_ASKED] - branch[BASE])
    branch[NEAR], branch[AT_NEAR] = branch[LOW_FLOW], min(below - root, -LEAST_ROOT)
    branch[FAR], branch[AT_FAR] = branch[HIGH_FLOW], max(above - root, LEAST_ROOT)
    _interpolate(branch)


@inner_kernel
def _take(branch: Floats, pressure: float, level: float, flow: float) -> bool:
    """Take in what a branch asks at the flow tried; return whether it is the one sought."""
    trial = branch[TRIAL]
    branch[CARRIED], branch[ASKED] = trial, pressure
    if is_same(pressure, level):
        if isnan(branch[LOW_FLOW]):
            branch[LOW_FLOW], branch[LOW_ASKED] = trial, pressure
        if isnan(branch[HIGH_FLOW]):
            branch[HIGH_FLOW], branch[HIGH_ASKED] = trial, pressure
        return True
    if isnan(branch[LOW_FLOW]) or isnan(branch[HIGH_FLOW]):
        return _widen(branch, pressure, level, flow)
    tell(branch, trial, rooted(pressure - branch[BASE]) - rooted(level - branch[BASE]))
    width = abs(branch[FAR] - trial)
    if branch[AT_NEAR] == 0.0 or width <= 2.0 * TINY * abs(trial) or width <= LEAST_FLOW:
        if abs(branch[AT_FAR]) < abs(branch[AT_NEAR]):
            root = branch[AT_FAR] + rooted(level - branch[BASE])
            branch[CARRIED], branch[ASKED] = branch[FAR], branch[BASE] + abs(root) * root
        return True
    branch[TRIAL] = trial + branch[SHARE] * (branch[FAR] - trial)
    return False


@inner_kernel
def _widen(branch: Floats, pressure: float, level: float, flow: float) -> bool:
    """Go on beyond what is known of a branch, until its flow is enclosed or passes all bounds."""
    trial = branch[TRIAL]
    is_beyond = abs(trial) > BEYOND * max(abs(flow), LEAST_STEP)
    if isnan(branch[HIGH_FLOW]):
        if pressure > level or is_beyond:
            branch[HIGH_FLOW], branch[HIGH_ASKED] = trial, pressure
        else:
            branch[LOW_FLOW], branch[LOW_ASKED] = trial, pressure
            branch[TRIAL] = trial + _step(trial, flow)
    elif pressure < level or is_beyond:
        branch[LOW_FLOW], branch[LOW_ASKED] = trial, pressure
    else:
        branch[HIGH_FLOW], branch[HIGH_ASKED] = trial, pressure
        branch[TRIAL] = trial - _step(trial, flow)
    if isnan(branch[LOW_FLOW]) or isnan(branch[HIGH_FLOW]):
        return False
    if branch[LOW_ASKED] < level < branch[HIGH_ASKED]:
        _bracket(branch, level)
        return False
    return True


@inner_kernel
def _rise(branch: Floats) -> float:
    """Return how steeply what a branch asks rises with its flow. [Pa/(m³/s)]"""
    width = branch[HIGH_FLOW] - branch[LOW_FLOW]
    rise = branch[HIGH_ASKED] - branch[LOW_ASKED]
    return rise / width if width > 0.0 and rise >= 0.0 else LARGEST


@inner_kernel
def _close(work: FloatTable, link: Integers, row: int, flow: float) -> None:
    """Let the branch that carries most take what is left over, and write all down.

    Of branches that carry about as much, the one that resists less: what a shut one asks is far less sure.
    """
    group, count = work[row], link[BRANCHES]
    left, most = flow, 0.0
    for turn in range(count):
        carried = work[link[SPANS + 2 * turn] - 1][CARRIED]
        left -= carried
        most = max(most, abs(carried))
    taker, least = -1, LARGEST
    for turn in range(count):
        branch = work[link[SPANS + 2 * turn] - 1]
        if abs(branch[CARRIED]) >= ALIKE * most and (taker < 0 or _rise(branch) < least):
            taker, least = turn, _rise(branch)
    work[link[SPANS + 2 * taker] - 1][CARRIED] += left
    group[TAKER] = float(taker)
    group[PHASE] = WRITING
    group[TURN] = 0.0
