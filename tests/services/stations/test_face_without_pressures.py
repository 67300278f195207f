"""A station whose pressures at no flow cannot be worked out keeps its face; a finding says what is amiss."""

from __future__ import annotations

from pathlib import Path

from steadyhead.register import open_register
from steadyhead.services.stations.face import face, prepare
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read


def test_a_reducer_that_senses_ahead_of_itself_leaves_the_face_standing(tmp_path: Path):
    source = read("dunmarrow-bottom").replace(b"    senses: T2\n", b"    senses: T0\n")
    register = open_register(tmp_path / "register")
    try:
        key = save(register, source, "Ilse Marrow").key
        prepare(register, key)
        view, strips = face(register, key)
    finally:
        register.close()
    assert "Dunmarrow Bottom" in view.says
    assert strips.drawn
