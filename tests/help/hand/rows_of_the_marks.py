"""What a hand does to the marks of a result, and what has to become of it."""

from __future__ import annotations

from tests.help.hand import on_parts as parts
from tests.help.hand.on_layer import both
from tests.help.hand.row import AGAIN, ANEW, FOLLOWED, TOLD, Row, on

_NAMES = {
    "cut-line": "the cut line",
    "dart-leg": "a dart leg",
    "dart-point": "the dart point",
    "dart-fold": "the dart's fold line",
    "fold-arrow": "the fold arrow",
    "cap": "the cap",
    "drill-hole": "the drill hole",
    "notch": "a notch",
    "test-square": "the test square",
}


def _derived() -> list[Row]:
    rows: list[Row] = []
    for part, name in _NAMES.items():
        if part != "test-square":
            dragged = parts.dragged(part)
            rows += on("front, back", f"{part} dragged", dragged, TOLD, ANEW.format(name))
        if part != "dart-point":
            bases = "front, skirt" if part != "drill-hole" else "front, sleeve"
            rows += on(bases, f"{part} deleted", parts.deleted(part), TOLD, AGAIN.format(name))
    for part in ("cut-line", "dart-leg", "notch"):
        edit, said = parts.node_dragged(part), ANEW.format(_NAMES[part])
        rows += on("front", f"node of {part} dragged", edit, TOLD, said)
    window = "the trim window"
    edit = parts.dragged("trim-window")
    rows += on("knit front", "trim window dragged", edit, TOLD, ANEW.format(window))
    edit = parts.deleted("trim-window")
    rows += on("knit front", "trim window deleted", edit, TOLD, AGAIN.format(window))
    return rows


def _own() -> list[Row]:
    place, drawn = parts.place_of, {"keeps": parts.own_things}
    rows: list[Row] = []
    for part, x, y in (("test-square", 60, 30), ("apex", 5, 4), ("grainline", -12, 5)):
        bases = "front, front again" if part == "apex" else "front, skirt"
        edit = parts.dragged(part, x, y)
        rows += on(bases, f"{part} moved", edit, FOLLOWED, keeps=place(part))
    beside = parts.dragged("grainline", -900, 0)
    rows += on("front, skirt", "grainline dragged out", beside, TOLD, "outside the piece")
    turned = parts.node_dragged("grainline")
    rows += on("front", "grainline turned", turned, FOLLOWED, keeps=place("grainline"))
    gone = parts.deleted
    rows += on("front", "apex deleted", gone("apex"), TOLD, AGAIN.format("the apex"))
    rows += on("front", "grainline deleted", gone("grainline"), TOLD, "grain")
    rows += on(
        "front", "test square scaled", parts.square_scaled, TOLD, "test square"
    )
    rows += on("front", "note typed", parts.note_retyped, TOLD, "note")
    for part in ("cut-line", "stitch-line", "notch"):
        edit, style = parts.coloured(part), parts.style_of(part)
        rows += on("front", f"{part} coloured", edit, FOLLOWED, keeps=style)
    rows += on("front", "cut line duplicated", parts.copied("cut-line"), FOLLOWED, **drawn)
    for name in ("inner line", "frill"):
        rows += on("front, skirt", f"own {name} drawn", parts.own_thing(name), FOLLOWED, **drawn)
    lined = both(parts.own_thing("braid"), parts.marked("own", "--role", "inner line"))
    notched = both(parts.own_notch("waist", 0.4), parts.marked("own", "--role", "notch"))
    for name, edit in (("line drawn and marked", lined), ("notch drawn and marked", notched)):
        rows += on("front, skirt", f"own {name}", edit, FOLLOWED, **drawn)
    return rows


def rows_of_the_marks() -> list[Row]:
    """Return what is done to marks."""
    return [*_derived(), *_own()]
