"""What the proof score says in words: its state marks, the moments it shows, and one sentence for it all."""

from __future__ import annotations

from steadyhead.drawings.marks import Mark
from steadyhead.records.proof_score import BarState, ProofScore

MARK_OF: dict[BarState, Mark] = {
    "stands": "holds",
    "accepted": "holds",
    "stale": "slipped",
    "refused": "struck",
    "open": "unknown",
}
"""State mark of each state of a proof."""


def shown_moments(picture: ProofScore) -> list[float]:
    """Return every moment the picture shows. [s]"""
    strings = {one.id for one in picture.strings}
    found = [picture.begin, picture.end]
    found += [bar.at for bar in picture.bars if bar.at is not None]
    found += [bar.until for bar in picture.bars if bar.until is not None]
    return found + [knot.at for knot in picture.knots if knot.string in strings]


def proof_score_text(picture: ProofScore) -> str:
    """Return the picture as one sentence: what does not stand and why first, then what does."""
    amiss = [bar for bar in picture.bars if bar.state not in ("stands", "accepted")]
    said = [f"{bar.words}: {bar.says}{f' {bar.because}' if bar.because else ''}".rstrip(".") for bar in amiss]
    fine = [bar.words for bar in picture.bars if bar.state in ("stands", "accepted")]
    if fine:
        said.append(f"{', '.join(fine)} {'stands' if len(fine) == 1 else 'stand'}")
    names = {one.id: one.words for one in picture.strings}
    said += [
        f"{names.get(one.string, one.string)} touched ({one.words or 'not said how'}), not proved since"
        for one in picture.knots
        if one.kind == "strikes"
    ]
    touched = len(picture.knots)
    said.append(f"{touched} {'touch' if touched == 1 else 'touches'} shown")
    moment = f", {picture.moment}" if picture.moment else ""
    return f"Proofs of {picture.name}{moment}: {'; '.join(said)}."
