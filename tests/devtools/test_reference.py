from __future__ import annotations

from dataclasses import dataclass

from devtools.reference import evidence, findings, station_file

SCHEMA = {
    "type": "object",
    "description": "One station.",
    "required": ["supply"],
    "properties": {
        "supply": {"$ref": "#/$defs/SupplySide"},
        "note": {"type": "string", "default": ""},
        "line": {
            "type": "array",
            "items": {"oneOf": [{"$ref": "#/$defs/ShutOff"}, {"$ref": "#/$defs/SupplySide"}]},
        },
    },
    "$defs": {
        "ShutOff": {
            "properties": {"latching": {"type": "boolean", "default": True}},
            "description": "Closes.",
        },
        "SupplySide": {
            "description": "What stands in front.",
            "properties": {
                "static": {
                    "anyOf": [
                        {"x-quantity": "pressure", "x-low": "0 bar", "x-high": "400 bar"},
                        {"type": "null"},
                    ],
                    "default": None,
                    "description": "Highest | no flow.",
                }
            },
        },
    },
}


@dataclass
class Entry:
    code: str = "LAD-1"
    title: str = "Window empty"
    statement: str = "The window is empty by {short_by}."
    why: str = "Why."
    cure: str = "Cure."
    equation: str = ""
    sources: tuple[str, ...] = ()


def test_blocks_of_the_station_file_stand_in_the_order_a_reader_meets_them():
    text = station_file.pages(SCHEMA)
    assert text.index("## The file") < text.index("## Supply side") < text.index("## Shut-off")


def test_a_quantity_shows_its_range_and_a_bar_in_a_text_does_not_break_the_table():
    text = station_file.pages(SCHEMA)
    assert r"| `static` | pressure, 0 bar to 400 bar | no | Highest \| no flow. |" in text


def test_a_field_that_is_a_block_says_what_the_block_says():
    assert (
        "| `supply` | [supply side](#file-supply-side) | yes | What stands in front. |"
        in station_file.pages(SCHEMA)
    )


def test_a_yes_or_no_shows_what_holds_when_it_is_left_out():
    assert "| `latching` | yes or no | no; `yes` |  |" in station_file.pages(SCHEMA)


def test_a_finding_shows_places_to_fill_as_words():
    text = findings.pages({"LAD-1": Entry()})
    assert "(finding-lad-1)=\n## LAD-1: Window empty" in text
    assert "The window is empty by *short by*." in text


def test_the_evidence_page_says_so_when_no_campaign_was_run():
    assert evidence.pages([]) == "No campaign has been run yet.\n"
