"""What a hand does to the words of a result, and what has to become of it."""

from __future__ import annotations

from tests.help.hand import on_parts as parts
from tests.help.hand.on_layer import both
from tests.help.hand.row import AGAIN, ANEW, FOLLOWED, OBEYED, REFUSED, TOLD, Row, on

_HEM, _IS_HEM = {"waist": "hem"}, '"waist" is "hem" now'


def _typed() -> list[Row]:
    typed = parts.retyped
    rows = on(
        "front, front again, back", "waist typed hem", typed("waist", "hem"), OBEYED, _IS_HEM, _HEM
    )
    rows += on(
        "front, back", "waist typed HEM", typed("waist", "HEM"), OBEYED, f"(?i){_IS_HEM}",
        {"waist": "HEM"}, {"HEM": 35.0},
    )  # fmt: skip
    rows += on(
        "front, front again", "waist typed hem 30mm", typed("waist", "hem 30mm"), OBEYED, _IS_HEM,
        _HEM, {"hem": 30.0},
    )  # fmt: skip
    rows += on(
        "front, skirt", "side seam typed with 1in", typed("side seam", "side seam 1in"), OBEYED,
        r"allowance was .* 25\.4 mm", {}, {"side seam": 25.4},
    )  # fmt: skip
    rows += on(
        "sleeve", "wrist typed hem", typed("wrist", "hem 30mm"), OBEYED, '"wrist" is "hem" now',
        {"wrist": "hem"}, {"hem": 30.0},
    )  # fmt: skip
    rows += on(
        "front", "centre typed a fold", typed("centre front", "centre front fold"), OBEYED,
        "centre front: its allowance was 12 mm, is 0 mm", {}, {"centre front": 0.0},
    )  # fmt: skip
    rows += on(
        "front", "two words swapped", parts.swapped("shoulder", "armhole"), OBEYED,
        '"shoulder" is "armhole" now', {"shoulder": "armhole", "armhole": "shoulder"},
    )  # fmt: skip
    rows += on(
        "front", "word typed in own words", typed("armhole", "arm edge"), OBEYED,
        '"armhole" is "arm edge" now', {"armhole": "arm edge"}, {"arm edge": 11.0},
    )  # fmt: skip
    empty = typed("armhole", "")
    rows += on(
        "front", "word typed empty", empty, TOLD, AGAIN.format("a seam's name")
    )
    rows += on(
        "front", "width not readable", typed("waist", "waist 30 mmm"), REFUSED,
        "30 mmm.*like 12mm",
    )  # fmt: skip
    return rows


def _labelled() -> list[Row]:
    label, attribute = parts.relabelled, parts.attribute_set
    rows = on(
        "front, back", "label retyped", label("armhole", "seam armhole 20mm"), OBEYED,
        "armhole: its allowance was 9 mm, is 20 mm", {}, {"armhole": 20.0},
    )  # fmt: skip
    rows += on(
        "front", "label without the word seam", label("armhole", "armscye 21mm"), OBEYED,
        "allowance was 9 mm, is 21 mm", {"armhole": "armscye"}, {"armscye": 21.0},
    )  # fmt: skip
    rows += on(
        "front, front again", "attribute set", attribute("shoulder", allowance="18mm"), OBEYED,
        "13 mm, is 18 mm", {}, {"shoulder": 18.0},
    )  # fmt: skip
    rows += on("front", "name set", attribute("waist", name="hem"), OBEYED, _IS_HEM, _HEM)
    a_hem = both(
        parts.own_notch("waist", 0.4),
        parts.marked("own", "--role", "seam", "--seam", "hem", "--allowance", "31mm"),
    )
    said = 'no seam "waist" any more|' + _IS_HEM
    rows += on("front, back", "own mark says hem", a_hem, TOLD, said, _HEM, {"hem": 31.0})
    return rows


def _placed() -> list[Row]:
    moved, name = parts.word_moved, "a seam's name"
    rows = on(
        "front", "word moved to another seam", moved("armhole", "shoulder"), OBEYED,
        '"shoulder" is "armhole" now.*"armhole" is "seam 1" now|"armhole" is "seam 1" now.*'
        '"shoulder" is "armhole" now',
        {"shoulder": "armhole", "armhole": "seam 1"}, {"seam 1": 11.0},
    )  # fmt: skip
    rows += on(
        "front, skirt", "word nudged along its seam", moved("waist", "waist", 0.3), FOLLOWED,
        keeps=parts.place_of("seam-name", "waist"),
    )  # fmt: skip
    inside = moved("shoulder", "shoulder", 0.5, 20)
    rows += on("front, back", "word moved 20 mm inside", inside, TOLD, ANEW.format(name))
    gone = parts.word_deleted("waist")
    rows += on("front, back, skirt", "word deleted", gone, TOLD, AGAIN.format(name))
    rows += on(
        "front, front again", "word copied to another seam",
        parts.word_copied("shoulder", "neckline"), TOLD, 'no seam "neckline" any more',
        {"neckline": "shoulder"},
    )  # fmt: skip
    return rows


def _title() -> list[Row]:
    title, row = {"keeps": parts.rows_of_title}, parts.title_row
    called = row(0, "Stage coat front")
    rows = on("front, yoke", "title typed", called, OBEYED, "Stage coat front: the block", **title)
    rows += on("front, yoke", "title typed Cut 4", row(-1, "Cut 4"), OBEYED, **title)
    sized = parts.title_row_added("Size 40")
    rows += on("front, skirt", "title with a size", sized, OBEYED, **title)
    rows += on(
        "front, skirt", "title moved", parts.title_changed(moved=True), FOLLOWED,
        keeps=parts.place_of("note"),
    )  # fmt: skip
    gone = parts.title_changed(moved=False)
    rows += on("front, skirt", "title deleted", gone, TOLD, AGAIN.format("a note"))
    return rows


def rows_of_the_words() -> list[Row]:
    """Return what is done to words."""
    return [*_typed(), *_labelled(), *_placed(), *_title()]
