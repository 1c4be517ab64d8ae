"""What a hand does to the stitch line of a result, and what has to become of it."""

from __future__ import annotations

from tests.help.hand import on_line as line
from tests.help.hand.row import FOLLOWED, REFUSED, TOLD, Row, on

_WITH_DART = "front, front again, back, skirt, sleeve"
_ALL = f"{_WITH_DART}, front as drawn, knit front, french front, yoke, side part"


def _darts() -> list[Row]:
    rows = on(_ALL, "nothing changed", lambda drawing: None, FOLLOWED)
    for by in (1.0, 2.5, 4.0):
        for way in ("mirrored", "turned"):
            edit = line.legs_shaped(by, mirrored=way == "mirrored")
            rows += on(_WITH_DART, f"legs {way} by {by} mm", edit, FOLLOWED, goes_back=True)
    rows += on("front, skirt", "one leg bent by 2.5 mm", line.one_leg_bent(2.5), FOLLOWED)
    rows += on("front, skirt", "one leg bent by 7 mm", line.one_leg_bent(7), REFUSED, "bow by 7.0")
    along, unequal = line.mouth_end_along_its_leg, r"unequal: [\d.]+ mm and [\d.]+ mm"
    for sign in (-1, 1):
        where = "in" if sign < 0 else "out"
        rows += on(
            _WITH_DART, f"mouth end 2 mm {where}", along(2.0 * sign), TOLD,
            r"differ by 2(\.0)? mm", uneven=2.0,
        )  # fmt: skip
        rows += on(_WITH_DART, f"mouth end 5 mm {where}", along(5.0 * sign), REFUSED, unequal)
    wider, point = line.mouth_wider(10), line.dart_point_moved
    rows += on("front, skirt, sleeve", "mouth 10 mm wider", wider, TOLD, "intake was")
    rows += on("front, back, skirt", "point 1 mm aside", point(1), FOLLOWED, uneven=1.0)
    rows += on("front", "point 4 mm aside", point(4), TOLD, "differ by 1.9 mm", uneven=2.0)
    rows += on("front", "point 10 mm aside", point(10), REFUSED, unequal)
    rows += on("front", "point 8 mm deeper", point(deeper=8), FOLLOWED)
    rows += on("skirt, sleeve", "point 8 mm deeper", point(deeper=8), FOLLOWED)
    rows += on("front, skirt, sleeve", "point 8 mm out", point(deeper=-8), FOLLOWED)
    closed, away = line.dart_closed, line.dart_closed_and_its_point_deleted
    rows += on("front, back, skirt", "dart closed", closed, REFUSED, 'delete its "dart point"')
    rows += on("front, back, skirt", "dart closed, its point deleted", away, TOLD, "is none any")
    drawn = line.second_dart
    rows += on(
        "front", "dart drawn into the centre", drawn("centre front", 20, 60), TOLD,
        "Dart on the centre front: 20 mm",
    )  # fmt: skip
    rows += on(
        "front", "dart drawn into the armhole", drawn("armhole", 14, 25, 0.4), TOLD,
        "Dart on the armhole",
    )  # fmt: skip
    rows += on(
        "skirt", "dart drawn into the side seam", drawn("side seam", 20, 60), TOLD,
        "Dart on the side seam",
    )  # fmt: skip
    return rows


def _shape() -> list[Row]:
    rows: list[Row] = []
    for by in (5, 148, 300):
        for bases, seam in (
            ("front, front again, back", "waist"),
            ("skirt", "hem"),
            ("sleeve", "wrist"),
        ):
            edit = line.longer(by, seam)
            rows += on(bases, f"{by} mm longer", edit, FOLLOWED, goes_back=True)
    back = {"goes_back": True}
    node, moved = line.node_added, line.corner_moved
    fronts = "front, front again, front as drawn"
    rows += on(fronts, "deep V neck", line.deep_neckline, FOLLOWED, **back)
    hip = node("side seam", 25, 0.6)
    rows += on("front, front again", "hip point 25 mm out", hip, FOLLOWED, **back)
    rows += on("back", "hip point 25 mm in", node("side seam", -25), FOLLOWED)
    rows += on("skirt", "hip point 40 mm out", node("side seam", 40), FOLLOWED)
    rows += on("sleeve", "elbow 40 mm out", node("underarm seam", 40), FOLLOWED)
    rows += on("yoke", "point in the shoulder", node("shoulder", 15), FOLLOWED)
    pieces = "front, back, yoke, side part"
    rows += on(pieces, "node added on the line", node("armhole", 0), FOLLOWED, **back)
    rows += on("front, back", "node added 6 mm in", node("armhole", -6), FOLLOWED)
    curve = line.made_a_curve
    rows += on("front", "centre made a curve", curve("centre front", 9), FOLLOWED, **back)
    rows += on("skirt", "hem made a curve", curve("hem", -9), FOLLOWED)
    bent = curve("centre front", 9)
    rows += on("skirt", "fold edge made a curve", bent, REFUSED, "fold")
    tip = moved("shoulder", "armhole", 12 - 7j)
    rows += on("front", "shoulder tip moved", tip, FOLLOWED, **back)
    underarm = moved("armhole", "side seam", 10 + 20j)
    rows += on("front, front again", "underarm point moved", underarm, FOLLOWED, **back)
    top = moved("princess seam", "armhole", -4 - 6j)
    rows += on("side part", "princess corner moved", top, FOLLOWED)
    rows += on("front, back", "node deleted", line.node_deleted("armhole"), FOLLOWED, **back)
    rows += on("front, skirt", "node made smooth", line.made_smooth("waist"), FOLLOWED)
    cusp = line.made_a_cusp("armhole", 0.6 + 0.8j)
    rows += on("front, back", "node made a cusp", cusp, FOLLOWED)
    off = line.corner_cut_off("waist", "centre front", 30)
    rows += on("front", "corner cut off", off, FOLLOWED)
    for step in (8, 15, 25):
        bases = "front, back, sleeve" + (", skirt" if step < 25 else "")
        rows += on(bases, f"fitted anew, {step} mm", line.simplified(step), FOLLOWED)
    rows += on(
        "skirt", "fitted anew, 25 mm", line.simplified(25), REFUSED, "cannot be cut on the fold"
    )
    return rows


def _path() -> list[Row]:
    alone = "stitch line.*moved, turned or flipped as a whole.*whole layer"
    both = "2 stitch lines.*dartswing-1-stitch-line.*path99"
    rows = on(_ALL, "path reversed", line.reversed_ring, FOLLOWED, goes_back=True)
    rows += on(_ALL, "ring started elsewhere", line.started_elsewhere, FOLLOWED, goes_back=True)
    rows += on(_ALL, "written as the editor does", line.as_the_editor_writes, FOLLOWED)
    for by in (0.05, 0.4):
        name = f"broken at one node, {by} mm open"
        rows += on("front, skirt", name, line.open_by(by), FOLLOWED, loose=by)
    rows += on("front", "broken at one node, 6 mm open", line.open_by(6), REFUSED, r"6(\.0)? mm")
    for by in (0.0, 0.4):
        name, edit = f"broken at nodes, {by} mm open", line.broken_and_joined(by)
        rows += on("front, skirt", name, edit, FOLLOWED, loose=by)
    rows += on("front", "broken apart", line.broken_apart, REFUSED, "stitch line")
    rows += on("front", "a segment deleted", line.left_open, REFUSED, "not closed|open")
    rows += on("front", "corner dragged across", line.self_crossing, REFUSED, "cross")
    rows += on("front, back", "stitch line duplicated", line.twice, REFUSED, both)
    for how in ("translate(9,0)", "rotate(20)", "scale(-1,1)", "scale(1.1)"):
        rows += on("front, sleeve", f"stitch line alone {how}", line.alone(how), REFUSED, alone)
    return rows


def rows_of_the_line() -> list[Row]:
    """Return what is done to the stitch line."""
    return [*_darts(), *_shape(), *_path()]
