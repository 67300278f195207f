"""Every finding code of the house with its words, equation and sources.

One module per room; codes are stable and never reused. Words are templates filled with the
parameters of the finding; amounts are printed in the reader's units.
"""

from steadyhead.findings.catalogue.audit import ENTRIES as AUDIT
from steadyhead.findings.catalogue.beside import ENTRIES as BESIDE
from steadyhead.findings.catalogue.certifying import ENTRIES as CERTIFYING
from steadyhead.findings.catalogue.entry import Entry, collect
from steadyhead.findings.catalogue.fitting import ENTRIES as FITTING
from steadyhead.findings.catalogue.ladder import ENTRIES as LADDER
from steadyhead.findings.catalogue.layout import ENTRIES as LAYOUT
from steadyhead.findings.catalogue.numbers import ENTRIES as NUMBERS
from steadyhead.findings.catalogue.procedure import ENTRIES as PROCEDURE
from steadyhead.findings.catalogue.protection import ENTRIES as PROTECTION
from steadyhead.findings.catalogue.register import ENTRIES as REGISTER
from steadyhead.findings.catalogue.restart import ENTRIES as RESTART
from steadyhead.findings.catalogue.running import ENTRIES as RUNNING
from steadyhead.findings.catalogue.sizing import ENTRIES as SIZING
from steadyhead.findings.catalogue.slips import ENTRIES as SLIPS
from steadyhead.findings.catalogue.station import ENTRIES as STATION
from steadyhead.findings.catalogue.streams import LADDER as STREAMS_LADDER
from steadyhead.findings.catalogue.streams import LAYOUT as STREAMS_LAYOUT
from steadyhead.findings.catalogue.surge import ENTRIES as SURGE
from steadyhead.findings.catalogue.visits import ENTRIES as VISITS

CATALOGUE: dict[str, Entry] = collect(
    STATION,
    SLIPS,
    LAYOUT,
    STREAMS_LAYOUT,
    LADDER,
    STREAMS_LADDER,
    SIZING,
    PROCEDURE,
    VISITS,
    NUMBERS,
    SURGE,
    PROTECTION,
    RESTART,
    RUNNING,
    AUDIT,
    BESIDE,
    CERTIFYING,
    FITTING,
    REGISTER,
)

__all__ = ["CATALOGUE", "Entry"]
