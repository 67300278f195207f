"""How a station line is laid out in flat arrays: kinds, columns, states, codes.

Elements are listed in the order of the march, from the consumer end **upstream**. Element ``i`` stands
between node ``i`` (its outlet) and node ``i + 1`` (its inlet); node 0 is the consumer end, the last node the
supply. A tap is a node. A parallel group has two to six branches; their elements are listed after the main
line, each branch behind one row of kind `GAP`, so that row ``j`` of a branch, too, stands between nodes ``j``
and ``j + 1``. A branch may hold a group again. The two ends of a branch are the joints of its group under
another number.
"""

from __future__ import annotations

from typing import NamedTuple

from steadyhead.laws.compiling import Floats, FloatTable, Integers, IntegerTable


class Elements(NamedTuple):
    """The arrays of a line; one row per element.

    Parameters
    ----------
    kinds
        Kind of each element. Shape (n,)
    links
        Integers of each element. Shape (n, LINK_WIDTH)
    values
        Floats of each element. [SI], shape (n, WIDTH)
    xs, ys
        All lift curves, laid end to end.
    work
        Where the searches of parallel groups and stubs keep their brackets. Shape (n, WORK_WIDTH)
    """

    kinds: Integers
    links: IntegerTable
    values: FloatTable
    xs: Floats
    ys: Floats
    work: FloatTable


# Kinds of element.
LOSS = 0  # isolating valve, strainer, meter: Δp = (Q/k)²
PIPE = 1  # friction and rise of level
VALVE = 2  # shut-off or other valve at a given lift; may choke
REDUCER = 3  # pilot-operated reducer
DIRECT = 4  # direct-acting reducer
DRAIN = 5  # draws k √p from its joint
RELIEF = 6  # draws k l(p) √p from its joint
PARALLEL = 7  # branches between two joints
GAP = 8  # keeps the nodes of branches apart
CHECK = 9  # check valve: passes downstream, next to nothing back
STUB_BELOW = 10  # the lower end of a cut branch, fed backwards from the outlet joint of its group
STUB_ABOVE = 11  # the upper end of a cut branch, fed from the inlet joint of its group

# Columns of the table of values; a column keeps its meaning in every kind that has it.
FULL = 0  # k fully open (or the k of a loss, drain, relief) [m³/(s·√Pa)]
SHAPE = 1  # b of the lift characteristic [1]
FLOOR = 2  # numerical tightness [1]
LEAK = 3  # k of a seat leak [m³/(s·√Pa)]
RECOVERY = 4  # F_L [1]
LOWEST = 5  # lift on the seat; above 0 with debris [1]
LIFT = 6  # given lift; NaN where the valve finds its own [1]
INCIPIENT = 7  # x_Fz [1]
SEAT_RATIO = 8  # r0 [1]
FLOW_FORCE = 9  # r1 [1]
SPRING_SHUT = 10  # s0 [Pa]
SPRING_RISE = 11  # s1 [Pa]
FEED = 12  # k_f, filter included [m³/(s·√Pa)]
PILOT = 13  # k_p [m³/(s·√Pa)]
NEEDLE = 14  # k_open, infinite where absent [m³/(s·√Pa)]
TEAR = 15  # k of a torn diaphragm [m³/(s·√Pa)]
CLOSING = 16  # closing pressure at the tap; of a relief: where it lifts [Pa]
BAND = 17  # proportional band; of a relief: full minus crack [Pa]
STUCK = 18  # pilot held at this opening; NaN when free [1]
TRAPPED = 19  # pressure trapped in a shut sensing line; NaN when open [Pa]
TIGHT = 20  # 1: holds pressure when shut; 0: passes [1]
LENGTH = 21  # [m]
DIAMETER = 22  # [m]
ROUGHNESS = 23  # [m]
RISE = 24  # level at the outlet end minus level at the inlet end [m]
BLOCKED = 25  # 1: the feed is blocked, the chamber never refills [1]
WIDTH = 26

# Columns of the table of links.
TAP = 0  # node a reducer senses
CURVE = 1  # first point of its lift table
CURVE_POINTS = 2  # 0: no table
INCIPIENT_CURVE = 3  # table of x_Fz against lift
INCIPIENT_POINTS = 4
BRANCHES = 5  # of a parallel group: how many branches; of a stub: 1
SPANS = 6  # first row of the first branch, one past its last row, and so on for every branch
MOST_BRANCHES = 6
LINK_WIDTH = SPANS + 2 * MOST_BRANCHES

# Columns of the work of a search.
NEAR = 0  # ends of the bracket and the point left before, then what was found there
FAR = 1
THIRD = 2
AT_NEAR = 3
AT_FAR = 4
AT_THIRD = 5
SHARE = 6  # where to look next, as a share of the way from near to far
# and where three or more branches share a flow, in the row of the group or, of a branch, in the row before it
TRIAL = 7  # where it looks now
PHASE = 8  # of the group: how far the search is, whose turn it is, looks so far
TURN = 9
LOOKS = 10
LEVEL = 11  # inlet pressure looked at, and the pressure its roots count from [Pa]
ORIGIN = 12
TAKER = 13  # the branch that takes what is left over; its answer is the group's
LOW_FLOW = 8  # of a branch: two flows it is known at and what it asks there
LOW_ASKED = 9
HIGH_FLOW = 10
HIGH_ASKED = 11
BASE = 12  # what it asks at rest; then the least any branch of the group asks [Pa]
CARRIED = 13  # its flow at the inlet pressure looked at, and what it asks there
ASKED = 14
WORK_WIDTH = 15

# Conditions of one solve.
DENSITY = 0  # [kg/m³]
VISCOSITY = 1  # kinematic [m²/s]
GRAVITY = 2  # [m/s²]
ATMOSPHERE = 3  # [Pa abs]
VAPOUR = 4  # [Pa abs]
THROAT = 5  # F_F p_v [Pa abs]
SUPPLY = 6  # supply pressure at the last node [Pa]
DEMAND = 7  # k of the consumers; 0: dead end [m³/(s·√Pa)]
EXPONENT = 8  # n of the demand law [1]
REFERENCE = 9  # p_ref of the demand law [Pa]
DRAWN = 10  # imposed flow at the consumer end; NaN where the demand law rules [m³/s]
CONDITIONS = 11

# Columns of what a valve does (VALVE, REDUCER, DIRECT); NaN in other rows.
OUT_LIFT = 0  # [1]
OUT_PILOT = 1  # y [1]
OUT_CHAMBER = 2  # [Pa]
OUT_STATE = 3  # index into STATES
OUT_RATIO = 4  # x_F [1]
OUT_SIGMA_INLET = 5  # σ₁ [1]
OUT_SIGMA_OUTLET = 6  # σ₂ [1]
OUT_CHOKED = 7  # 0 or 1
OUT_INCIPIENT = 8  # 0 or 1
OUT_BLEED = 9  # flow through the pilot circuit [m³/s]
OUT_SENSED = 10  # [Pa]
OUT_WIDTH = 11

# States of a valve, index and word.
SHUT = 0  # on its seat while the station could take water
HOLDING = 1  # follows its pilot
WIDE_OPEN = 2  # as open as it can be: cannot hold
LOCKED_UP = 3  # no flow, outlet at the closing pressure (or above, trapped)
CREEPING = 4  # no flow, outlet follows the inlet
RATCHETING = 5  # feed blocked: opens further at every peak, never shuts
CANNOT_SHUT = 6  # pilot shut, valve still open: torn, blocked
GIVEN = 7  # lift is given
STANDING_OPEN = 8  # no flow, inlet below the closing pressure
BACKWARD = 9  # water runs through it from outlet to inlet
STATES = (
    "shut",
    "holding",
    "wide open",
    "lock-up",
    "creeping",
    "ratcheting",
    "cannot shut",
    "lift given",
    "standing open",
    "flows back",
)

# How a solve ended.
SOLVED = 0
NOT_CONVERGED = 1
REFUSED_TAP = 2  # a reducer senses a node upstream of its own outlet
UNKNOWN_TRAPPED = 3  # solved, but some trapped pressure is not known (NaN)
REFUSED_VALUE = 4  # a coefficient is not above 0 where it must be, or a number is not finite
REFUSED_BRANCH = 5  # the branches of a group differ in level, or a group has no or too many branches
PARTED = 6  # no steady state with full pipes: somewhere the water column would part
ENDINGS = (
    "solved",
    "not converged",
    "tap not downstream",
    "trapped pressure unknown",
    "value out of range",
    "branch not covered",
    "water column parts",
)

# Columns of the report of a solve.
REPORT_ENDING = 0
REPORT_RESIDUAL = 1  # pressure left over at the supply [Pa]
REPORT_EVALUATIONS = 2
REPORT_FLOWING = 3  # 1: water runs somewhere
REPORT_BOILS = (
    4  # 1: some pressure stands below vapour pressure; the numbers hold for a column that does not part
)
REPORT_WIDTH = 5
