"""The certificate asked for by a device: made as from the page of the visit, and told to be kept there."""

from __future__ import annotations

from contextlib import suppress
from typing import Literal

from pydantic import BaseModel, ConfigDict

from steadyhead.errors import InputError, InputErrors
from steadyhead.findings import tell
from steadyhead.register import Register
from steadyhead.services.certificates.making import NotCertified
from steadyhead.services.field.syncing import Against, against_of
from steadyhead.services.visits_kept import baselines, certificates
from steadyhead.units import METRIC, UnitSet

FORMAT: Literal["steadyhead/issued/1"] = "steadyhead/issued/1"
PROVE = (
    "steadyhead verify {name} proves page, record, plan and entries, and names the key.",
    "Compare the fingerprint {finger} with the owner of the register by telephone, once.",
    "The register's own page of the certificate proves the same, and its link of the chain.",
)
"""How somebody who was given the certificate proves it, without trusting who gave it."""


class Issued(BaseModel):
    """A certificate as a device keeps and shows it.

    id, pdf, name: of its record and file; entries: how many it covers; link, head: number
    and hash of the register's chain it was made at,
    0 and empty where it names none; sha256: of the PDF; finger: of the key; prove: how it is verified.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    format: Literal["steadyhead/issued/1"] = FORMAT
    id: str
    number: str
    revision: int
    standing: str
    day: str
    entries: int
    link: int
    head: str
    sha256: str
    finger: str
    pdf: str
    name: str
    prove: tuple[str, ...]
    is_new: bool


class NotIssued(BaseModel):
    """What stands against a certificate, in words."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    against: tuple[Against, ...]
    more: int


def issue(register: Register, key: str, run: str, who: str, units: UnitSet = METRIC) -> Issued | NotIssued:
    """Make the certificate of a signed run, or say what stands against it; the same run gives the same one.

    Raises
    ------
    NotKept
        No such run.
    """
    try:
        made = certificates.certify(register, key, run, who, units=units)
    except NotCertified as refused:
        told = [tell(one, units) for one in refused.findings]
        against = against_of(told)
        return NotIssued(against=against, more=len(told) - len(against))
    # a run that is provisional or determines nothing has no baseline
    with suppress(InputError, InputErrors):
        baselines.fit(register, key, run, who)
    kept, about = made.filed, made.filed.about
    chain = about.get("chain") or {}
    return Issued(
        id=kept.id,
        number=str(about["number"]),
        revision=int(about["revision"]),
        standing=str(about["standing"]),
        day=str(about["day"]),
        entries=int(about["entries"]),
        link=int(chain.get("seq", 0)),
        head=str(chain.get("hash", "")),
        sha256=kept.digest,
        finger=str(about["finger"]),
        pdf=f"/stations/{key}/records/{kept.id}?as=file",
        name=kept.name,
        prove=tuple(words.format(name=kept.name, finger=about["finger"]) for words in PROVE),
        is_new=made.is_new,
    )
