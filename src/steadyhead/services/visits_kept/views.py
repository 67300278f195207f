"""What the pages of plans, visits and records show; also their JSON."""

from __future__ import annotations

from steadyhead.services.stations.head import StationHead
from steadyhead.services.visits_kept.asking import View
from steadyhead.services.visits_kept.judged import EntryView, JudgedView


class FiledView(View):
    """A record: what it is, who kept it and when, and why it was struck out; empty where it stands."""

    id: str
    kind: str
    title: str
    name: str
    media: str
    sha256: str
    run: str
    at: str
    who: str
    struck: str
    words: str
    is_picture: bool


class PlanView(View):
    """A plan that is kept; old: what is to be told where the design has changed since."""

    id: str
    title: str
    visit: str
    item: str
    steps: int
    revision: int
    old: str
    against: int
    baseline: str
    paper: str
    text: str
    at: str
    who: str


class PlansView(View):
    """Plans of a station, the newest first, and the visits that can be planned."""

    station: StationHead
    plans: tuple[PlanView, ...]
    visits: tuple[tuple[str, str], ...]


class RunView(View):
    """A visit in one line: where it stands, how far it is, what it is old for; on: its day in words.

    anew: that it is being judged, or judged anew, so that what stands here is the last known; else empty.
    """

    id: str
    station: str
    name: str
    title: str
    kind: str
    begun: str
    on: str
    who: str
    entries: int
    state: str
    mark: str
    words: str
    old: str
    anew: str = ""


class RunsView(View):
    """Visits of a station, those open first; trips that were reported; plans a visit can be begun on."""

    station: StationHead
    runs: tuple[RunView, ...]
    trips: tuple[FiledView, ...]
    plans: tuple[PlanView, ...]
    shut_offs: tuple[str, ...]
    known_by: tuple[tuple[str, str], ...]
    is_tripped: bool


class PhotoView(View):
    """A photo an entry names: of what, at which step, by whom; is_here: whether its bytes came too."""

    of: str
    step: str
    name: str
    sha256: str
    who: str
    is_here: bool


class GaugeView(View):
    """A gauge of the station file, in the words that describe it: from low to high, its class, due when."""

    name: str
    low: str
    high: str
    accuracy: str
    due: str


class OneRunView(View):
    """A visit with all that follows from its entries, and the papers made of it.

    paper: record of its plan on paper, empty where there is none; photos: those its entries name;
    gauges: those of the station file that it has not described yet.
    """

    station: StationHead
    run: RunView
    judged: JudgedView
    certificates: tuple[FiledView, ...]
    refused: tuple[FiledView, ...]
    documents: tuple[FiledView, ...]
    baselines: tuple[FiledView, ...]
    paper: str
    photos: tuple[PhotoView, ...]
    gauges: tuple[GaugeView, ...]


class EntriesView(View):
    """Entries of a visit by number, a page of them."""

    station: StationHead
    run: RunView
    entries: tuple[EntryView, ...]
    first: int
    last: int
    total: int


class PartView(View):
    """A part of a certificate, whether it is as signed, and what is to be said of it."""

    name: str
    proved: bool
    words: str


class CertifiedView(View):
    """One setting or figure of a certificate: design, as found, as left, and where its proof stood."""

    what: str
    tap: str
    design: str
    found: str
    left: str
    mark: str
    state: str


class CertificateView(View):
    """A certificate with what can be proved of it.

    settings: what it says was set and proved; a list of certificates leaves it out.
    """

    filed: FiledView
    number: str
    revision: int
    standing: str
    day: str
    shown: str
    key_words: str
    chain_words: str
    all_proved: bool
    counts: str
    parts: tuple[PartView, ...]
    settings: tuple[CertifiedView, ...] = ()


class ValueView(View):
    """A fitted value with its interval, and what it was before."""

    key: str
    words: str
    former: str
    steps: tuple[str, ...]


class BaselineView(View):
    """A baseline, its values with their intervals, and whether the twin goes by it."""

    filed: FiledView
    values: tuple[ValueView, ...]
    left_open: tuple[str, ...]
    is_chosen: bool


class RecordsView(View):
    """Certificates, papers and documents of a station; what was struck out stays."""

    station: StationHead
    certificates: tuple[CertificateView, ...]
    baselines: tuple[BaselineView, ...]
    papers: tuple[FiledView, ...]
    documents: tuple[FiledView, ...]
    kinds: tuple[str, ...]


class VisitsView(View):
    """Visits of every station, those open first."""

    runs: tuple[RunView, ...]
    first: int
    last: int
    total: int
    open: int
