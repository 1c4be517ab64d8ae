"""What a hand does to the layer of a result, and what has to become of it."""

from __future__ import annotations

from tests.help.hand import on_layer as layer
from tests.help.hand import on_line as line
from tests.help.hand import on_parts as parts
from tests.help.hand.row import FOLLOWED, OBEYED, REFUSED, TOLD, Row, on


def _moved() -> list[Row]:
    rows: list[Row] = []
    for how in ("translate(70,-30)", "scale(-1,1)", "scale(1.1)", "rotate(30) scale(-1.1,1.1)"):
        edit = layer.moved_as_a_layer(how)
        rows += on("front, skirt, sleeve, yoke", f"layer {how}", edit, FOLLOWED, goes_back=True)
    quarter, half = (layer.moved_as_a_layer(f"rotate({by})") for by in (90, 180))
    rows += on("front, skirt, yoke", "layer rotate(90)", quarter, FOLLOWED, goes_back=True)
    rows += on("sleeve", "layer rotate(90)", quarter, FOLLOWED)
    bases = "sleeve as drawn, front as drawn, back"
    rows += on(bases, "layer rotate(180)", half, FOLLOWED, goes_back=True)
    for how, where in (("translate(0,0)", "in place"), ("translate(400,0)", "aside")):
        edit = layer.duplicated(how)
        name = f"layer duplicated {where}"
        rows += on("front, back, skirt", name, edit, FOLLOWED)
    whole, cut = "whole layer", "drawn anew: the cut line"
    edit = layer.sublayer_moved("Stitch line", "translate(8,8)")
    rows += on("front", "sublayer Stitch line moved", edit, REFUSED, whole)
    edit = layer.sublayer_moved("Cut line", "translate(8,8)")
    rows += on("front", "sublayer Cut line moved", edit, TOLD, cut)
    return rows


def _regrouped() -> list[Row]:
    rows = on("front, back", "layer renamed", layer.renamed, FOLLOWED)
    rows += on("front, sleeve", "layer put into a group", layer.grouped, FOLLOWED)
    rows += on("front, skirt", "regrouped", layer.regrouped, FOLLOWED)
    rows += on("front, skirt", "ungrouped", layer.ungrouped, REFUSED, "layer or a group of its own")
    rows += on("front, sleeve", "all in one group", layer.all_in_one_group, FOLLOWED)
    every = "front, front again, back, skirt, sleeve, knit front, french front, yoke, side part"
    rows += on(every, "saved as plain SVG", layer.plain_svg, FOLLOWED)
    rows += on("front, back, skirt", "object to path", layer.object_to_path, FOLLOWED)
    for new in (False, True):
        name = f"pasted into inches{', new ids' if new else ''}"
        rows += on("front, skirt, yoke", name, layer.pasted_into_inches(new_ids=new), FOLLOWED)
    rows += on("front", "block hidden", layer.hidden_block, FOLLOWED)
    rows += on("front, skirt", "block deleted", layer.block_deleted, FOLLOWED)
    return rows


def _together() -> list[Row]:
    """Return what is done in one go: reshaped, retyped, moved and saved."""
    both, longer = layer.both, line.longer(60, "waist")
    retyped = both(longer, parts.retyped("waist", "hem 30mm"))
    rows = on(
        "front, front again, back", "longer, and the waist a hem", retyped, OBEYED,
        '"waist" is "hem" now', {"waist": "hem"}, {"hem": 30.0},
    )  # fmt: skip
    turned = both(longer, layer.moved_as_a_layer("rotate(70) scale(-1,1)"))
    rows += on("front, back", "longer, turned and flipped", turned, FOLLOWED)
    plain = both(both(longer, line.reversed_ring), layer.plain_svg)
    rows += on("front, back", "longer, reversed, plain SVG", plain, FOLLOWED)
    legs = both(line.legs_shaped(2.5, mirrored=True), layer.pasted_into_inches(new_ids=True))
    rows += on("front", "legs shaped, pasted into inches", legs, FOLLOWED)
    rows += on(
        "front, back", "longer, all made paths", both(longer, layer.object_to_path), FOLLOWED
    )
    twin = both(line.reversed_ring, layer.duplicated("translate(500,0)"))
    rows += on("skirt, sleeve", "reversed, its layer duplicated", twin, FOLLOWED)
    return rows


def rows_of_the_layer() -> list[Row]:
    """Return what is done to the layer."""
    return [*_moved(), *_regrouped(), *_together()]
