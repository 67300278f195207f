"""Findings of a register: what in it is not as it was kept."""

from __future__ import annotations

from typing import Final

from steadyhead.findings.catalogue.entry import Entry

_OWN = "own reasoning"
_CHAIN = "RFC 8785; hash chain, architecture of the register"
_BACK = "Go back to an archive or copy from before, and compare the two."

ENTRIES: Final[tuple[Entry, ...]] = (
    Entry(
        "REG-01",
        "database that cannot be read",
        "{subject} cannot be read: {what}.",
        "What cannot be read is lost unless a copy has it. The rest was looked at as far as it can be read.",
        "Copy the folder as it is, before anything else is tried. Then go back to an archive or copy, and "
        "put the disk in question.",
        sources=(_OWN,),
    ),
    Entry(
        "REG-02",
        "link changed",
        "Link {link} ({what}) was changed: its words give the hash {got}…, it holds {asked}….",
        "The chain tells who did what and when. A link whose words were changed proves nothing.",
        _BACK,
        equation="hash = SHA-256(canonical link without hash)",
        sources=(_CHAIN,),
    ),
    Entry(
        "REG-03",
        "link that does not follow the one before",
        "Link {link} ({what}) names {got}… as the hash of the link before it, which is {asked}….",
        "The link before it was changed together with its hash, or others stood between the two.",
        _BACK,
        equation="previous(n) = hash(n − 1)",
        sources=(_CHAIN,),
    ),
    Entry(
        "REG-04",
        "links left out",
        "Between link {before} and link {link} ({what}), {count} are missing.",
        "What they told of cannot be proved any more.",
        _BACK,
        sources=(_CHAIN,),
    ),
    Entry(
        "REG-05",
        "row changed",
        "{subject} was changed after link {link} told of it ({what}).",
        "Rows of this kind are only added, never changed; it was changed past the program.",
        _BACK,
        equation="digest = SHA-256(canonical table and row)",
        sources=(_CHAIN,),
    ),
    Entry(
        "REG-06",
        "row gone",
        "{subject} is not there; link {link} tells of it ({what}).",
        "Nothing that was kept may go away.",
        _BACK,
        sources=(_CHAIN,),
    ),
    Entry(
        "REG-07",
        "row that no link tells of",
        "{subject} is there, and no link tells of it.",
        "It was put in past the program, or the end of the chain was cut off.",
        "See whether a certificate names a later link. " + _BACK,
        sources=(_CHAIN,),
    ),
    Entry(
        "REG-08",
        "bytes changed",
        "{subject}: the bytes kept under {asked}… have the hash {got}….",
        "They are not the file that was given.",
        _BACK,
        sources=(_CHAIN,),
    ),
    Entry(
        "REG-09",
        "bytes gone",
        "{subject} names the bytes {asked}…, which are not there.",
        "A file that was given is lost.",
        _BACK,
        sources=(_OWN,),
    ),
    Entry(
        "REG-10",
        "station that shows another revision than its last",
        "{subject} shows revision {got}; the last one kept is {asked}.",
        "Lists and pages would show an older design than the one kept.",
        "Save the station file again; what is shown is worked out anew.",
        sources=(_OWN,),
    ),
    Entry(
        "REG-11",
        "table without its guard",
        "{subject} has no guard against {what}.",
        "The database refuses such a change only where the guard stands.",
        "Export an archive and import it into a new folder, which has every guard.",
        sources=(_OWN,),
    ),
    Entry(
        "REG-12",
        "tables of another version",
        "The tables are of step {got}; this version knows {asked}.",
        "An older register is brought up to date when it is opened; of a newer one only what is known here "
        "was looked at.",
        "Look at a newer register with the version that made it.",
        sources=(_OWN,),
    ),
    Entry(
        "REG-13",
        "certificate of a link that is not there",
        "{subject} was issued when link {link} was the last, with the hash {asked}…; the chain {what}.",
        "The end of the chain was cut off, or the chain was written anew. The certificate proves that there "
        "was more.",
        _BACK,
        sources=(_CHAIN,),
    ),
    Entry(
        "REG-14",
        "release that is not of its revision",
        "{subject}: its record holds a station file with the hash {got}…; revision {what} has {asked}….",
        "A release freezes one revision, byte for byte.",
        _BACK,
        sources=(_OWN,),
    ),
    Entry(
        "REG-15",
        "file of an archive that is damaged",
        "{subject} {what}",
        "A damaged archive is not taken in.",
        "Take another copy of the archive, or make a new one.",
        sources=(_OWN,),
    ),
    Entry(
        "REG-16",
        "station on the list, or off it, against what was told",
        "{subject} is {got}; what was told last says {asked}.",
        "A station that nobody took off the list would be missed on it, and one that was, be looked after.",
        "Take it off the list or bring it back on its page; both are told with a reason.",
        sources=(_OWN,),
    ),
    Entry(
        "REG-17",
        "file of logger data that is not as it was kept",
        "{subject} {what}.",
        "Figures read from loggers rest on these bytes; a file that is changed or lost proves nothing "
        "any more.",
        "Put it back from an archive or a copy. Samples that are gone come again: undo the import, read its "
        "files anew.",
        sources=(_OWN,),
    ),
)
