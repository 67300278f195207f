"""How a station with its mains is laid out in flat arrays for the transient engine: kinds and columns.

**Pipes** have one row of nodes each, from the upstream end to the downstream end; rows are as long as the
longest. **Joints** are
where pipe ends meet: a held head, or a place with demand, lumped zone, air vessel, relief valve. The
**chain** is what stands in the station, listed from the consumer side **upstream**: row ``r`` stands between
chain node ``r`` (its outlet) and chain node ``r + 1`` (its inlet). Chain node 0 is the first node of the pipe
that leaves the station, the last chain node of the line is the last node of the pipe that arrives.

Streams side by side are one row of kind ``GROUP`` between its two joints. The rows of its branches are listed
after the line, each branch behind one row of kind ``GAP``, so that row ``r`` of a branch, too, stands between
nodes ``r`` and ``r + 1``; the two ends of a branch are the joints of its group under another number.
"""

from __future__ import annotations

from typing import NamedTuple

from steadyhead.laws.compiling import FloatBlock, Floats, FloatTable, Integers, IntegerTable

# Pipes: integers.
REACHES = 0
FACTORS = 1  # first point of its friction table; −1: no friction
PIPE_SIDE = 2  # 0: supply, 1: consumer
PIPE_LINKS = 3
# Pipes: floats.
IMPEDANCE = 0  # B = a/(g A) [s/m²]
RESISTANCE = 1  # Δx/(2 g D A²); times f |Q| it adds to B [s²/m⁵]
REYNOLDS = 2  # Re of a flow of 1 m³/s [s/m³]
GAS = 3  # M of a node between two reaches [m⁴]
UNSTEADY = 4  # k_u/(2 g A) of unsteady friction; 0: none [s²/m³]
WAVE = 5  # a [m/s]
REACH = 6  # Δx [m]
PIPE_VALUES = 7

# What is kept of each node.
N_LEVEL = 0  # [m]
N_HEAD = 1  # [m]
N_UP = 2  # flow on its upstream side [m³/s]
N_DOWN = 3
N_GAS = 4  # [m³]
N_HIGHEST = 5  # head since the start [m]
N_LOWEST = 6
N_MOST_GAS = 7
N_UP_BEFORE = 8  # one level earlier, with unsteady friction only
N_DOWN_BEFORE = 9
N_CP = 10  # C_p and B_p from the node above
N_BP = 11
N_CM = 12  # C_m and B_m from the node below
N_BM = 13
NODE_KINDS = 14

# Pipes: state.
JUDGED_HEAD = 0  # highest head anywhere in it before a cavity fell in that is felt on its side [m]
JUDGED_AT = 1  # node of that head
SHUT_HEAD = 2  # the same until the last way through the station shut after a trip [m]
SHUT_AT = 3
IS_CLOSED = 4  # 1: the two above it stand for good
FELL = 5  # 1: a cavity fell in in this step
IS_BROKEN = 6  # 1: a head no run has, which was not kept
PIPE_STATE = 7

# Joints: integers.
KIND = 0
ENDS = 1  # first of its ends
END_COUNT = 2
JOINT_RELIEF = 3  # its relief valve; −1: none
JOINT_LINKS = 4
HELD = 0  # kind: a head is held, a reservoir
FREE = 1  # kind: the head follows from what meets there
# Ends of pipes at joints: integers.
PIPE = 0
IS_TAIL = 1  # 1: water arrives from the pipe, 0: it leaves into it
END_LINKS = 2
# Joints: floats.
HELD_PRESSURE = 0  # of a held head [Pa]
DEMAND = 1  # k of the consumers [m³/(s·√Pa)]
EXPONENT = 2  # n of the demand law [1]
DRAWN = 3  # imposed flow; NaN where the demand law rules [m³/s]
ELASTICITY = 4  # V β of the zone not modelled as pipes [m³/Pa]
VESSEL = 5  # air volume times absolute pressure to 1/n; 0: no vessel [m³·Pa^(1/n)]
VESSEL_EXPONENT = 6
LEVEL = 7  # [m]
JOINT_GAS = 8  # M ρ g of the half nodes that meet there [Pa·m³]
ENTRY = 9  # resistance between the joint and the lumped zone; 0: none [Pa s/m³]
INERTANCE = 10  # of the water that goes around it [Pa s²/m³]
JOINT_VALUES = 11
# Joints: state.
PRESSURE = 0  # [Pa]
GAS_VOLUME = 1  # [m³]
AIR = 2  # in the vessel [m³]
OUTFLOW = 3  # consumers, zone, vessel and relief valve together [m³/s]
DRAW = 4  # consumers alone [m³/s]
LIQUID_HEAD = 5  # head above vapour [Pa]: keeps its digits beside a cavity
BEHIND = 6  # pressure of the lumped zone behind its entry [Pa]
THROUGH = 7  # flow that goes around the resistance of the entry [m³/s]
JOINT_STATE = 8

# Kinds of chain row; above LOSS and CHECK all have a stem.
GAP = -2  # keeps the nodes of branches apart
GROUP = -1  # streams side by side
LOSS = 0  # isolating valve, strainer, meter
CHECK = 1  # check valve
REDUCER = 2  # pilot-operated reducer
DIRECT = 3  # direct-acting reducer
SHUT_OFF = 4

# Chain rows: integers.
TAP = 0  # chain node its pilot senses
CURVE = 1  # first point of its lift table
CURVE_POINTS = 2  # 0: no table
SPAN = 3  # of a group: first of its branches
BRANCHES = 4
ROW_LINKS = 5
# Branches: first row, one past the last.
FROM_ROW = 0
TO_ROW = 1
SPAN_LINKS = 2
# Chain rows: floats. A column keeps its meaning in every kind that has it.
FULL = 0  # k fully open [m³/(s·√Pa)]
OPENING = 1  # of an isolating valve, 0 … 1
POWER = 2  # of its characteristic
FLOOR = 3  # numerical tightness [1]
CLOGGING = 4  # factor on the loss of a strainer [1]
SHAPE = 5  # b of the lift characteristic
LEAK = 6  # k of a seat leak
RECOVERY = 7  # F_L; 0: never chokes
STROKE = 8  # [m]
AREA = 9  # A_d [m²]
SEAT_RATIO = 10  # r0
FLOW_FORCE = 11  # r1
SPRING_SHUT = 12  # s0 [Pa]
SPRING_RISE = 13  # s1 [Pa]
LOWEST = 14  # lift share on the seat; above 0 with debris
LIFT = 15  # prescribed share of lift; NaN where the stem is free
LAG = 16  # of the sensing line, or of a direct-acting stem [s]
COCK = 17  # of the sensing line: 1 open, 0 shut
FEED = 18  # feed restriction, pilot filter not included
FILTER = 19  # pilot filter, infinite where it does not resist
PILOT = 20  # pilot wide open
NEEDLE = 21  # opening-speed needle, infinite where absent
TEAR = 22  # torn diaphragm
CLOSING = 23  # pressure at the tap at which the pilot is just shut [Pa]
BAND = 24  # proportional band [Pa]
SCREW = 25  # turns in; NaN where CLOSING is given
PER_TURN = 26  # [Pa/turn]
TURNS_FREE = 27
SCREW_PLAY = 28  # whole play [turn]
PILOT_PLAY = 29  # half the hysteresis [Pa]
FRICTION = 30  # stem friction over A_d [Pa]
STUCK = 31  # pilot held at this opening; NaN where free
AIR_VOLUME = 32  # air in the chamber at its reference pressure [m³]; 0: none
AIR_EXPONENT = 33
DAMPING = 34  # c_v of a stem that rides on air [N s/m]
DEAD_VOLUME = 35  # of the chamber [m³]
RUNAWAY = 36  # speed at which the stem is driven open; 0: it is not [strokes/s]
HYDRAULIC = 37  # of a shut-off: 1 driven by line pressure, 0 timed
CLOSE_TIME = 38  # of a timed shut-off; of a check valve [s]
OPEN_TIME = 39  # [s]
CLOSE_NEEDLE = 40  # k of the needle that feeds the closing chamber
VENT = 41  # k that vents it
TRIP = 42  # [Pa]
RELEASE = 43  # falling pressure that releases it; NaN where reset by hand [Pa]
SWITCH_MAKES = 44  # lift share at or below which the limit switch makes
SWITCH_BREAKS = 45  # lift share at or above which it breaks
TRIP_AT = 46  # tripped by hand at this time; NaN: not [s]
RESET_AT = 47  # reset by hand at this time; NaN: not [s]
ROW_VALUES = 48
# Chain rows: state.
X = 0  # stem [m]; of a check valve: share of k it still passes back
SPEED = 1  # of the stem at the last level [m/s]
SENSE = 2  # behind the lag of the sensing line [Pa]
FELT = 3  # behind the pilot's hysteresis [Pa]
PILOT_OPEN = 4  # y
CHAMBER = 5  # p_c [Pa]
TURNS = 6  # where the spring stands after the play of the screw
WATER = 7  # in a chamber with air [m³]
AIR_CONSTANT = 8  # absolute chamber pressure times air volume to n
BLEED = 9  # k_d, chamber to outlet
TRIPPED = 10  # 0 or 1
TRIPS = 11  # how often it tripped
T_TRIP = 12  # first trip [s]
T_SWITCH = 13  # limit switch first made at or after the first trip [s]
T_CLOSED = 14  # first shut at or after the first trip [s]
SWITCH = 15  # 0 or 1
TAP_BEFORE = 16  # pressure at the tap at the last level [Pa]
FEEDING = 17  # k_f with the filter in series
CLOSING_NOW = 18  # closing pressure after screw and play [Pa]
SPEED_BEFORE = 19  # of the stem one level earlier [m/s]
STEM_SLOPE = 20  # dG/dx of the last step; 0: not known
CARRIED = 21  # of the gap of a branch: flow at its outlet at the last level [m³/s]
ROW_STATE = 22

# Chain nodes: floats.
COMPLIANCE = 0  # V/K [m³/Pa]
DRAIN = 1  # k of what is drained to atmosphere there
NODE_GAS = 2  # free gas there times its absolute pressure above vapour [Pa·m³]; 0: none
NODE_VALUES = 3
# Chain nodes: integers.
NODE_RELIEF = 0  # its relief valve; −1: none
NODE_SIDE = 1  # 0: ahead of the shut-off, with the supply; 1: behind it
NODE_LINKS = 2
# Chain nodes: state.
NOW = 0  # pressure [Pa]
HIGHEST = 1
LOWEST_SEEN = 2
T_HIGHEST = 3
JUDGED = 4  # highest before a cavity fell in that is felt on its side
ABOVE = 5  # head above vapour pressure [Pa]: keeps its digits beside a cavity
UNTIL_SHUT = 6  # the same until the last way through the station shut after a trip
MOST_VOLUME = 7  # most gas there [m³]
NODE_STATE = 8

# Relief valves: integers, floats, state.
RELIEF_CURVE = 0
RELIEF_POINTS = 1
RELIEF_LINKS = 2
RELIEF_K = 0
CRACK = 1
WIDE = 2
RESEAT = 3
STROKE_TIME = 4
RELIEF_VALUES = 5
ASKED = 0
DISC = 1
MOST_DISC = 2
LET_OFF = 3  # [m³]
RELIEF_FLOW = 4
RELIEF_STATE = 5

# Water and numbers of one run.
DENSITY = 0
WEIGHT = 1  # ρ g [N/m³]
ATMOSPHERE = 2
VAPOUR = 3  # vapour pressure, gauge [Pa]
THROAT = 4  # F_F p_v, abs
REFERENCE = 5  # of the demand law
STEP = 6  # dt [s]
VAPOUR_HEAD = 7  # H_v [m]
WEIGHTING = 8  # ψ
PARTED = 9  # gas at one node that counts as a parted column [m³]
COUPLED = 10  # lift of a shut-off above which a fall on one side is felt on the other [1]
WATER_VALUES = 11

# Pipe ends at the station and the march's account.
IN_GAS = 0  # M ρ g of the half node where the supply main arrives [Pa·m³]
OUT_GAS = 1
IN_LEVEL = 2
OUT_LEVEL = 3
STATION_VALUES = 4
HAS_STATION = 0
IN_PIPE = 1
OUT_PIPE = 2
LINE_ROWS = 3  # rows of the line; those of branches follow
STATION_LINKS = 4

# What a run keeps.
TIME = 0
ENTERED = 1  # through held heads [m³]
LEFT = 2  # through free joints
SHUNTED = 3  # drains and relief valves of the station
CHAMBERED = 4  # net into chambers
H_OUT = 5  # head above vapour of chain node 0 [Pa]
INFLOW = 6  # Q_U
OUTLET_FLOW = 7  # Q_D
STEPS = 8
EVALUATIONS = 9
SWEEPS = 10  # of the stems, all steps
MOST_SWEEPS = 11
UNSETTLED = 12  # steps whose stems did not settle
OPEN_NODES = 13  # steps whose node equation did not close
WORST_STEM = 14  # largest |G| left [m]
FALLEN = 15  # 1: a cavity has stood in a main and has closed again
SPLITS = 16  # looks at how streams share a flow
HARD_SPLITS = 17  # flows shared by halving, where Newton did not close
OPEN_SPLITS = 18  # flows whose sharing did not close
FELL_SUPPLY = 19  # when a cavity fell in that is felt on that side; 0: none did [s]
FELL_CONSUMER = 20
T_SHUT = 21  # when the last way through the station shut after a trip; 0: it has not [s]
BROKEN = 22  # when a figure left all bounds, and the run stood still; 0: none did [s]
RUN_STATE = 23

# The march's own table, one row per chain row; pressures in it are heads above vapour pressure [Pa].
M_LOSS = 0  # 1/k² forwards
M_BACK = 1  # 1/k² backwards
M_CHOKE = 2  # 1/F_L²; 0: never chokes
M_STORE = 3  # C/dt of the node above
M_OLD = 4  # its pressure before
M_DRAIN = 5
M_FEED = 6  # k that leaves the node above into a chamber
M_FEED_AT = 7  # pressure of that chamber
M_BLEED = 8  # k that enters the node above from a chamber
M_BLEED_AT = 9
M_FLOW = 10  # found: flow through the row
M_ABOVE = 11  # found: pressure of the node above
M_RELIEF = 12  # number of the relief valve at the node above; −1: none
M_GAS = 13  # free gas of the node above, as in its values
M_GAS_OLD = 14  # volume of that gas before [m³]
# Of the gap of a branch: what one look at the branch showed.
B_FLOW = 15  # flow at its outlet [m³/s]
B_TOP = 16  # pressure it asks at its inlet [Pa]
B_TOP_FLOW = 17  # flow that enters it there
B_STEEP = 18  # slope of the pressure with the flow
B_PASSES = 19  # slope of the pressure with that of the outlet joint
B_RISE = 20  # slope of the entering flow with the flow
B_DRAWS = 21  # slope of the entering flow with the pressure of the outlet joint
B_FIRST_CUT = 22  # its first and last shut seat; 0: none
B_LAST_CUT = 23
B_LOWER = 24  # below a shut seat: slope of the flow at its outlet with the pressure of the outlet joint
B_UPPER = 25  # above one: slope of the entering flow with the pressure of the inlet joint
M_SHUT = 26  # 1: the row stands on its seat
M_CUT = 27  # 1: the march ends below the row and begins anew above it
M_LEAK = 28  # what then passes the seat, from the pressures before [m³/s]
B_WHOLE = 29  # of a group: branches without a shut seat
M_SWEPT = 30  # of a free stem: where the last sweep left it [m]
M_MOVED = 31  # by how much that sweep moved it [m]
M_MOVED_NOW = 32  # by how much this one did [m]
MARCH = 33

# What one march is told besides its table.
F_CP = 0
F_BP = 1
F_CM = 2
F_BM = 3
F_IN_OLD = 4  # gas volume before, where the supply main arrives [m³]
F_OUT_OLD = 5
F_IN_GAS = 6  # as in the row of the station
F_OUT_GAS = 7
F_IN_LEVEL = 8
F_OUT_LEVEL = 9
F_STEP = 10
F_WEIGHT = 11
F_VAPOUR = 12
F_CHOKING = 13  # F_F p_v − p_v, by which choking begins above vapour pressure [Pa]
F_SLOPE = 14  # found: slope of what is left over
F_CAREFUL = 15  # 1: slopes of roots are taken so steep that a search passes none
F_WIDTH = 16

# Columns of a record, before those of nodes, rows, joints and relief valves.
R_TIME = 0
R_IN = 1
R_OUT = 2
R_FIRST_NODE = 3
# Per row, per joint, per relief valve.
R_ROW = 4  # lift share, pilot opening, chamber pressure, tripped
R_JOINT = 2  # pressure, consumers' flow
R_RELIEF = 2  # lift, flow

# Live inputs: what is written into which table while time runs.
TARGET = 0
ROW = 1
COLUMN = 2
POINTS_AT = 3
POINTS = 4
IS_HELD = 5  # 1: steps, 0: straight between its points
LIVE_LINKS = 6
INTO_ROWS = 0
INTO_NODES = 1
INTO_JOINTS = 2


class Pipes(NamedTuple):
    """All pipes and their nodes; ``nodes[what][pipe][place]``."""

    links: IntegerTable
    values: FloatTable
    factors: Floats
    nodes: FloatBlock
    state: FloatTable


class Joints(NamedTuple):
    """Joints, the pipe ends that meet there, relief valves."""

    links: IntegerTable
    ends: IntegerTable
    values: FloatTable
    state: FloatTable
    relief_links: IntegerTable
    relief_values: FloatTable
    relief_state: FloatTable


class Chain(NamedTuple):
    """What stands in the station, from the consumer side upstream."""

    kinds: Integers
    links: IntegerTable
    values: FloatTable
    state: FloatTable
    node_links: IntegerTable
    node_values: FloatTable
    node_state: FloatTable
    march: FloatTable
    station_links: Integers
    station: Floats
    stems: Integers  # rows whose stems are solved with the node
    spans: IntegerTable  # branches of groups
    xs: Floats  # lift curves, laid end to end
    ys: Floats
    work: FloatTable  # equations of the station beside a cavity; then 4 rows: see `balance`


class Live(NamedTuple):
    """Inputs that change while time runs."""

    links: IntegerTable
    times: Floats
    values: Floats
