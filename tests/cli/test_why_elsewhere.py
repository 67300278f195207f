"""`why` of a finding that another command tells names that command."""

from __future__ import annotations

import pytest

from steadyhead.cli.app import run
from steadyhead.cli.why_text import OF_RUNS, TOLD_BY
from steadyhead.findings import CATALOGUE
from steadyhead.station import examples


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("SUR-14", "a finding of steadyhead surge"),
        ("SUR-39", "a finding of steadyhead stability"),
        ("SUR-38", "a finding of steadyhead chances"),
        ("SUR-50", "a finding of steadyhead plan"),
        ("LAD-62", "does not stand at this station"),
    ],
)
def test_a_finding_of_another_command_is_explained_and_the_command_named(code, words, tmp_path, capsys):
    file = tmp_path / "station.yaml"
    file.write_bytes(examples.read("pinnock-yard"))
    assert run(["why", str(file), code, "--without-proof"]) == 0
    assert words in " ".join(capsys.readouterr().out.split())


def test_every_code_named_there_is_one_of_the_catalogue():
    assert {*OF_RUNS, *TOLD_BY} <= set(CATALOGUE)
