"""Every bad field at once: place, line, what was got, limit with unit, remedy."""

from __future__ import annotations

import pytest

from steadyhead.station.limits import LARGEST_FILE_BYTES, MOST_ERRORS
from tests.station.files import example, refused

MANY_MISTAKES = example(
    "quillenby-row",
    ("  id: QUR-02", "  id: 9 lives"),
    ("typical: 8.6 bar", "typical: 8.6 baar"),
    ("night: 9.1 bar", "nigth: 9.1 bar"),
    ("average: 7 L/s", "average: -7 L/s"),
    ("level: 84 m", "level: 84"),
    ("{part: tap, id: T1}", "{part: tapp, id: T1}"),
    ("    trip: 5.2 bar", "    trip: 5200 bar"),
    ("    resets: by hand", "    resets: by hnd"),
    ("    senses: T3\n    pilot: {spring_low: 1.5 bar", "    senses: T9\n    pilot: {spring_low: 1.5 bar"),
    ("{part: tap, id: T4}", "{part: tap, id: T3}"),
    ("hand_pump: yes", "hand_pump: maybe"),
)


def test_every_bad_field_is_told_at_once_in_the_order_of_the_file():
    found = refused(MANY_MISTAKES)
    assert [refusal.field for refusal in found] == [
        "station.id",
        "supply.typical",
        "supply.nigth",
        "demand.average",
        "zone.level",
        "T1: part",
        "SO: trip",
        "SO: resets",
        "RV: senses",
        "line[10] T3: id",
        "equipment.hand_pump",
    ]
    lines = MANY_MISTAKES.splitlines()
    assert "8.6 baar" in lines[found[1].line - 1]
    assert "trip: 5200 bar" in lines[found[6].line - 1]
    assert all(refusal.remedy for refusal in found)


@pytest.mark.parametrize(
    ("old", "new", "field", "words"),
    [
        ("typical: 8.6 bar", "typical: 8.6", "supply.typical", "without a unit. Write the unit too"),
        ("typical: 8.6 bar", "typical: 8.6 baar", "supply.typical", "Did you mean 'bar'?"),
        ("typical: 8.6 bar", "typical: 8.6 L/s", "supply.typical", "L/s is a unit of flow"),
        ("typical: 8.6 bar", "typical: 900 bar", "supply.typical", "above the highest usable value 400 bar"),
        (
            "typical: 8.6 bar",
            "typical: {value: 8.6 bar, sauce: x}",
            "supply.typical",
            "got the keys sauce, value",
        ),
        ("typical: 8.6 bar", "typical: {value: [1]}", "supply.typical", "no text where a quantity belongs"),
        (
            "typical: 8.6 bar",
            "typical: {value: 8.6 bar, source: [a]}",
            "supply.typical",
            "no text for source",
        ),
        (
            "typical: 8.6 bar",
            "typical: {value: 8.6 bar, confidence: sure}",
            "supply.typical",
            "got confidence 'sure'",
        ),
        ("typical: 8.6 bar", "typical: {value: 8.6 bar, plus_minus: 5}", "supply.typical", "without a unit"),
        ("typical: 8.6 bar", "typical: {value: 8.6 bar, plus_minus: -1 bar}", "supply.typical", "half-width"),
        ("typical: 8.6 bar", "typical: {value: 8.6 bar, plus_minus: [1]}", "supply.typical", "plus_minus"),
        ("typical: 8.6 bar", "typicl: 8.6 bar", "supply.typicl", "Did you mean 'typical'?"),
        ("typical: 8.6 bar", "zzz: 8.6 bar", "supply.zzz", "Known here: min, typical, night"),
        ("zone: Ashlow East", "zoone:", "station.zoone", "Did you mean 'zone'?"),
        ("  typical: 8.6 bar\n", "", "supply.typical", "Add it: inlet pressure on a usual day"),
        ("kind: utility chamber", "kind: chamber", "station.kind", "Did you mean 'utility chamber'?"),
        ("part: strainer", "part: strainr", "ST: part", "Did you mean 'strainer'?"),
        ("part: strainer", "part: zzz", "ST: part", "Use one of: tap, isolating_valve"),
        ("{part: tap, id: T0}", "{id: T0}", "T0: part", "missing. Use one of: tap"),
        ("{part: tap, id: T0}", "tap", "line[0]", "Write its fields below it"),
        ("{part: tap, id: T0}", "", "line[0]", "where fields belong"),
        (
            "duty: {pressure: 4.0 bar, flow: 5 L/s}",
            "duty: 4 bar",
            "RV: duty",
            "line: pressure, flow.",
        ),
        (
            "hazards: [confined space, traffic, flooding]",
            "hazards: traffic",
            "station.hazards",
            "where a list belongs",
        ),
        ("latitude: 0.0", "latitude: 120", "station.coordinates.latitude", "Write a number of at most 90"),
        ("latitude: 0.0", "latitude: north", "station.coordinates.latitude", "Write a plain number"),
        ("latitude: 0.0", "latitude: nan", "station.coordinates.latitude", "Write a"),
        ("name: Quillenby Row", "name: {a: b}", "station.name", "got fields where text belongs"),
        ("name: Quillenby Row", "name: true", "station.name", "got yes where text belongs"),
        ("name: Quillenby Row", f"name: {'x' * 61}", "station.name", "Write 60 characters at most"),
        ("other_feed: yes", "other_feed: perhaps", "zone.other_feed", "Write yes or no"),
        ("accuracy: 0.6 %", "accuracy: 0.6", "gauges TG-1: accuracy", "Write '0.6 %', or '60 %' if that"),
        ("accuracy: 0.6 %", "accuracy: 60 %", "gauges TG-1: accuracy", "above the highest usable value 10 %"),
        (
            "level: 71 m",
            "derating: 80, level: 71 m",
            "limits PVC-U distribution main: derating",
            "Write '80 %'.",
        ),
        ("turns: 24 turns", "turns: 24", "IV1: turns", "Write the unit too, for example '34 turns'"),
        ("turns: 24 turns", "turns: 0 turns", "IV1: turns", "below the lowest usable value 0.1 turns"),
        (
            "time: 4 s",
            "time: 0 s",
            "SO: closing.time",
            "lowest usable value 0.2 s. Check the number and the unit.",
        ),
        ("roughness: 0.1 mm", "roughness: 0.1 m", "supply.main.roughness", "highest usable value 5 mm"),
        ("bore: 252 mm", "bore: 202", "supply.main.bore", "for example '152 mm' or '6 in'"),
        ("bore: 252 mm", "bore: 202 bar", "supply.main.bore", "bar is a unit of pressure"),
        ('exponent: "0.6"', "exponent: 3", "demand.exponent", "highest usable value 2.5"),
        (
            "within: 2 min",
            "within: 3 days",
            "credited reducer drifts open: within",
            "highest usable value 1 d",
        ),
        ("peak: 18 L/s", "peak: 0 L/s", "demand.peak", "below the lowest usable value 1 mL/min"),
        (
            "spring_low: 3 bar",
            "spring_low: 9.5 bar",
            "SO: pilot",
            "They are reversed, or one is in another unit",
        ),
        ("spring_low: 3 bar", "spring_low: 9 bar", "SO: pilot", "'9 bar' is not below spring_high '9 bar'"),
        (
            "due: 2027-06-30",
            "due: soon",
            "gauges TG-1: due",
            "no day written year first. Write it as 2027-06-30.",
        ),
        ("due: 2027-06-30", "due: 2026-02-31", "gauges TG-1: due", "got '2026-02-31', which is no day"),
        ("due: 2027-06-30", "due: 2027-06", "gauges TG-1: due", "no day written year first"),
        ("date: 2026-08-20", "date: last autumn", "RV: factory.date", "or as 2026-03 or 2026 where the day"),
        ("date: 2026-03-02", "date: 02.03.2026", "supply.min", "no date of the calendar"),
        ("typical: 8.6 bar", "typical: -8.6 bar", "supply.typical", "Delete the minus sign"),
        ("typical: 8.6 bar", "typical: 0.6 bar a", "supply.typical", "a vacuum. Write it without the a"),
        ("owner: Tarrin", f"owner: {'x' * 121}", "station.owner", "Write 120 characters at most"),
        ("zone: Ashlow East", f"zone: {'x' * 121}", "station.zone", "Write 120 characters at most"),
        ("component: lowest draw-off", f"component: {'x' * 81}", "limits xxx", "Write 80 characters at most"),
        ("name: Quillenby Row", "name: …", "station.name", "not filled in. Add it: name people call"),
        ("part: strainer", "part: filter", "ST: part", "Did you mean 'strainer'?"),
        ("part: reducer", "part: PRV", "RV: part", "Did you mean 'reducer'?"),
        ("part: shut_off", "part: slam-shut", "SO: part", "Did you mean 'shut_off'?"),
        ("part: isolating_valve", "part: gate valve", "IV1: part", "Did you mean 'isolating_valve'?"),
        (
            "resets: by hand",
            'resets: "?"',
            "SO: resets",
            "how it opens again, by hand or by itself. Or leave",
        ),
        ("senses: T3", "senses: T33", "SO: senses", "Did you mean 'T3'?"),
        ("id: TG-2", "id: TG-1", "gauges[1] TG-1: id", "already used in line"),
        (
            "min: {value: 7.2 bar",
            "min: {value: ?",
            "supply.min.value",
            "not filled in. Add it: lowest inlet pressure",
        ),
        (
            "typical: 8.6 bar",
            "typical: '?'",
            "supply.typical",
            "not filled in. Add it: inlet pressure on a usual day",
        ),
        ("zone: Ashlow East", "zone: ?", "station.zone", "Or leave it out"),
        ("bore: 252 mm", "bore: 1,52 dm", "supply.main.bore", "the comma before '52 dm' ends the value"),
        ("fire: 30 L/s", "fire: 30 L/s\n  fire: 31 L/s", "demand.fire", "stands twice, in line 34 and again"),
        ("fire: 30 L/s", "[a, b]: c", "demand", "list or map as a key"),
    ],
)
def test_one_bad_field_names_place_and_remedy(old, new, field, words):
    found = refused(example("quillenby-row", (old, new)))
    told = [refusal for refusal in found if refusal.field.startswith(field)]
    assert told, [str(refusal) for refusal in found]
    assert words in str(told[0])


@pytest.mark.parametrize("nothing", ["…", "...", '"?"', '""', "'  '", "-- ", "_"])
@pytest.mark.parametrize("field", ["answer", "by"])
def test_an_answer_line_pasted_unchanged_settles_nothing(field, nothing):
    given = {
        "to": "LAY-12",
        "at": '"SO: closes_by"',
        "value": "abc",
        "answer": "seen",
        "by": "Ada",
        field: nothing,
    }
    line = ", ".join(f"{key}: {value}" for key, value in given.items())
    (refusal,) = refused(example() + f"answers:\n  - {{{line}}}\n")
    assert refusal.field == f"answers[0]: {field}"
    assert refusal.problem == "not filled in."
    assert refusal.line == len(example().splitlines()) + 2


@pytest.mark.parametrize(
    ("source", "line", "column"),
    [
        ("a: [1, 2\nb: 3\n", 2, 2),
        ("a: 1\n\tb: 2\n", 2, 1),
        ("a:\n  b: 1\n \tc: 2\n", 3, 2),
        ("a: 1\n  b: 2\n", 2, 4),
        ("a: !thing y\n", 1, 4),
    ],
)
def test_broken_yaml_names_line_and_column(source, line, column):
    (refusal,) = refused(source)
    assert (refusal.line, refusal.column) == (line, column)
    assert f"(line {line}, column {column})" in str(refusal)


def test_bytes_that_are_no_text_name_their_line():
    (refusal,) = refused(example("quillenby-row").encode().replace(b"Ashlow East", b"Ashl\xf6w East"))
    assert refusal.line == 8
    assert "UTF-8" in refusal.remedy


def test_a_part_is_named_by_its_place_where_its_id_is_used_twice():
    found = refused(example("quillenby-row", ("{part: tap, id: T4}", "{part: tap, id: T3, heigth: 1 m}")))
    assert "line[10] T3: heigth" in [refusal.field for refusal in found]


def test_a_decimal_comma_in_braces_is_explained():
    (refusal,) = refused(example("quillenby-row", ("average: 7 L/s", "average: {value: 7,5 L/s}")))
    assert "Write 7.5 L/s, or put the value in quotes." in str(refusal)
    (refusal,) = refused(example("quillenby-row", ("average: 7 L/s", "average: {value: 1,450 gpm}")))
    assert "Write 1450 gpm or 1.450 gpm." in str(refusal)


@pytest.mark.parametrize(
    ("source", "words"),
    [
        (b"format: \x00", "control character U+0000"),
        (b"format: a\nb: \x07", "(line 2)"),
        (b"format: caf\xe9", "is no UTF-8 text: byte E9 at position 11"),
        (b"\xff\xfea", "is no UTF-16-LE text"),
        (b"x" * (LARGEST_FILE_BYTES + 1), "has at most 1000000 bytes"),
        ("x" * (LARGEST_FILE_BYTES + 1), "has at most 1000000 bytes"),
        ("a: \ud800", "control character U+D800"),
        ("a: 1\n\tb: 2", "is indented with a tab. Use spaces."),
        ("a: [1, 2", "is no YAML from here on"),
        ("a: 'x", "is no YAML from here on"),
        ("a: 1\n---\nb: 2", "second document"),
        ("a: !!python/object:x y", "has no tags"),
        ("a: !thing y", "has no tags"),
        ("a: *nowhere", "stands nowhere above"),
        ("a: &a [*a]", "stands inside itself"),
        ("a: " + "[" * 40 + "]" * 40, "nested more than 24 deep"),
        ("[" * 100_000, "nested more than 24 deep"),
        (
            "a: &a [x,x,x,x,x,x,x,x,x,x]\n"
            + "".join(
                f"{b}: &{b} [{','.join(['*' + a] * 10)}]\n"
                for a, b in zip("abcdefgh", "bcdefghi", strict=True)
            ),
            "values once its aliases are written out",
        ),
    ],
)
def test_a_file_that_is_no_station_file_is_refused_before_anything_is_believed(source, words):
    (refusal,) = refused(source)
    assert words in str(refusal)


def test_errors_are_told_up_to_a_number_a_person_can_read():
    parts = "".join(f"  - {{part: tap, id: T{number}, height: {number}}}\n" for number in range(100))
    gauges = "gauges:\n" + "".join(f"  - {{id: G{number}, span: 5, accuracy: 1}}\n" for number in range(300))
    head = example().partition("line:\n")[0]
    assert len(refused(f"{head}line:\n{parts}{gauges}")) == MOST_ERRORS


def test_parts_inside_branches_are_named_by_their_way_down():
    branch = "{id: BY, role: manual bypass, line: [{part: isolating_valve, id: IV1, size: DN 50}]}"
    main = "{id: A, line: [{part: vent, id: V1, heigth: 1 m}]}"
    group = f"  - {{part: parallel, id: PG, branches: [{main}, {branch}]}}\n"
    found = refused(example("quillenby-row", ("  - {part: tap, id: T2}\n", group)))
    assert [refusal.field for refusal in found] == [
        "V1: heigth",
        "BY: line[0] IV1: id",
    ]


@pytest.mark.parametrize("word", ["joins", "loop"])
def test_whoever_tries_to_close_a_ring_is_told_that_rings_are_not_covered(word: str):
    (told,) = refused(example("quillenby-row", ("{part: tap, id: T4}", f"{{part: tap, id: T4, {word}: T1}}")))
    assert told.problem == "is no field here."
    assert "Rings are not covered" in told.remedy
