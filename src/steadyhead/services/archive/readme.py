"""The words an archive begins with, for somebody who has nothing but the archive."""

from __future__ import annotations

from steadyhead import __version__
from steadyhead.services.exports.lists import LISTS

_WORDS = """\
STEADYHEAD ARCHIVE

This is a whole register of pressure-reducing stations. Everything in it can be read without
the program: with a text editor, a PDF reader and a table program.

stations/KEY/revisions/0001.yaml    each saving of a station file, byte for byte as it was given
stations/KEY/revisions/0001.json    the same as canonical JSON (RFC 8785)
stations/KEY/releases/              releases r1, r2 ... with the file as it was released
stations/KEY/records/               certificates, plans, papers, documents, under their names
stations/KEY/runs/ID.plan           the plan a visit followed
stations/KEY/runs/ID.entries.jsonl  what was entered on it, line by line as it came
stations/KEY/logger/0001/           files of loggers, byte for byte as given with import 1
stations/KEY/logger/samples/        what was read from them, as Parquet by channel and month (UTC):
                                    step, microseconds since the row before; v, SI; flag; rows,
                                    row of the file less the one before. When the first sample was
                                    and its row stand in the import's manifest (rebuild/blobs/,
                                    named by rebuild/logger_import.jsonl)
stations.geojson                    where the stations are (WGS 84); those without coordinates
                                    are listed without geometry
history/chain.jsonl                 everything that was done, one link a line
tables/                             lists for table programs: CSV (UTF-8) and Parquet
{lists}
rebuild/                            the rows of the database, one JSON object a line, and bytes
                                    that nothing else gives a name
contents.jsonl                      every file with its size and SHA-256; "kept": the register is
                                    made again from it
manifest.json                       format, counts, the last link of the chain, and the SHA-256
                                    of contents.jsonl

What the chain proves. Each link holds the hash of the one before. A link's hash is the SHA-256
of its canonical JSON without "hash". A link that tells of a row holds the row's digest: the
SHA-256 of the canonical JSON of {{"table": NAME, "row": ROW}}, where bytes stand as their SHA-256. So nobody
can change or leave out an earlier link without changing every later one. Certificates
print the hash the chain had when they were issued.

Not in here: passwords and people's accounts, keys of sessions, the signing key, pictures that
are worked out again when they are looked at.

Back into a register:   steadyhead import THIS.zip NEW-FOLDER
To check it:            steadyhead verify THIS.zip

In tables, a text that begins like a formula (= + - @) has an apostrophe in front, so that no
table program runs it. The files under rebuild/ have every text as it is.

Station files, findings and figures are aids for people who know the work. The owner's rules,
the suppliers' instructions and licensed practice come first.

Written by steadyhead {version}.
"""


def readme() -> bytes:
    """Return README.txt of an archive."""
    lists = "\n".join(f"    {one.name + '.csv':<32}{one.words}" for one in LISTS.values())
    return _WORDS.format(lists=lists, version=__version__).encode()
