"""Arguments and options that several commands share."""

from __future__ import annotations

from typing import Annotated

import typer

StationFile = Annotated[
    str, typer.Argument(metavar="FILE", help="Station file (YAML); - reads standard input.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print the full typed result as JSON.")]
Units = Annotated[
    str,
    typer.Option(
        "--units",
        metavar="UNITS",
        help=(
            "metric | metric-m3h | metric-kpa | uk | us, or two as us+metric; yours where left out. "
            "Nothing computed changes."
        ),
    ),
]
WithoutProof = Annotated[
    bool,
    typer.Option("--without-proof", help="Leave the protection proof out; the overshoot is then lumped."),
]
BaselineName = Annotated[
    str,
    typer.Option(
        "--baseline",
        metavar="NAME.baseline.json",
        help="What a run measured goes first, as run fit --save wrote it.",
    ),
]
LoggerFolder = Annotated[
    str,
    typer.Option(
        "--data",
        metavar="FOLDER",
        help="Folder of logger data; the one named last, or beside the register, where left out.",
    ),
]
Pdf = Annotated[str, typer.Option("--pdf", metavar="OUT", help="Write the paper to this PDF file.")]
