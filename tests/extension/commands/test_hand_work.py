"""Three stories of work by hand, each in the real editor with the packaged extension."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from shapely.geometry import LineString, Point, Polygon

from drafting_core.plane.curves import Line, Segment
from extension.document.path_data import parse
from tests.help.editor.editor import RealEditor
from tests.help.editor.hand_work import (
    SAMPLE,
    SVG,
    as_the_node_tool_writes,
    designers_drawing,
    reshaped,
    traced_drawing,
)

DARTSWING = "{urn:dartswing:1}"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
MODE = "{http://www.inkscape.org/namespaces/inkscape}groupmode"
HALF_INCH = 12.7
DRAGGED = 31.750001 - 12.25j


def root_of(drawing: Path) -> Any:
    return etree.parse(str(drawing)).getroot()


def result(root: Any) -> Any:
    (layer,) = [group for group in root if group.get(f"{DARTSWING}result")]
    return layer


def part(layer: Any, name: str) -> list[Segment]:
    (found,) = [thing for thing in layer.iter() if thing.get(f"{DARTSWING}part") == name]
    return list(parse(found.get("d"))[0].segments)


def points(segments: list[Segment], each: int = 50) -> list[tuple[float, float]]:
    spots = [segment.point(i / each) for segment in segments for i in range(each)]
    return [(z.real, z.imag) for z in spots]


def layers(root: Any) -> dict[str, bytes]:
    """Return every layer that is no result, to the byte, by its label."""
    return {
        str(group.get(LABEL)): etree.tostring(group, method="c14n", exclusive=True)
        for group in root.iter(f"{SVG}g")
        if group.get(MODE) == "layer"
        and not group.get(f"{DARTSWING}result")
        and not any(parent.get(f"{DARTSWING}result") for parent in group.iterancestors())
    }


@pytest.mark.thorough
def test_the_designer_finds_each_of_her_layers_as_it_was(
    editor: RealEditor, tmp_path: Path
) -> None:
    drawing = tmp_path / "Lamplighter, Entwurf.svg"
    drawing.write_text(designers_drawing(), encoding="utf-8")
    saved, moved = tmp_path / "saved.svg", tmp_path / "moved.svg"
    assert editor.run_action(drawing, "select-clear", saved).stderr == ""
    assert editor.run_action(drawing, "dartswing.move.noprefs", moved).stderr == ""
    before, after = root_of(saved), root_of(moved)
    assert len(layers(before)) == 11, "ten layers and the block's own"
    assert layers(after) == layers(before)
    # In the order that they had, with the result above all of them.
    own = [child for child in after if child is not result(after)]
    assert [child.get("id") for child in own] == [child.get("id") for child in before]
    assert after[-1] is result(after)
    hidden = [g for g in after.iter(f"{SVG}g") if "display:none" in (g.get("style") or "")]
    assert len(hidden) == 3
    # The result is the one of the block by itself.
    alone = tmp_path / "alone.svg"
    assert editor.run_action(SAMPLE, "dartswing.move.noprefs", alone).stderr == ""
    assert part(result(root_of(alone)), "cut-line") == part(result(after), "cut-line")


@pytest.mark.thorough
def test_the_hobbyist_reshapes_the_side_seam_and_the_allowances_follow(
    editor: RealEditor, tmp_path: Path
) -> None:
    moved, edited, allowed = (tmp_path / f"{name}.svg" for name in ("moved", "edited", "allowed"))
    assert editor.run_action(SAMPLE, "dartswing.move.noprefs", moved).stderr == ""
    root = root_of(moved)
    old_cut = part(result(root), "cut-line")
    drawn = reshaped(root)
    edited.write_bytes(etree.tostring(root))
    # Once through the editor, for the file to be as the editor itself writes it.
    saved = tmp_path / "saved.svg"
    assert editor.run_action(edited, "select-clear", saved).stderr == ""
    assert editor.run_action(saved, "dartswing.allow.noprefs", allowed).stderr == ""
    before, after = result(root_of(saved)), result(root_of(allowed))
    stitch = next(e for e in after.iter() if e.get(f"{DARTSWING}part") == "stitch-line")
    same = next(e for e in before.iter() if e.get(f"{DARTSWING}part") == "stitch-line")
    assert stitch.get("d") == same.get("d"), "what she drew stays to the last digit"
    assert after.get("transform") == before.get("transform")
    # The new cut line is drawn where the stitch line lies on the page.
    cut = [segment.mapped(_on_the_page(after, "cut-line")) for segment in part(after, "cut-line")]
    (curve,) = [
        s for s, t in zip(drawn, _sample_lines(moved), strict=True) if type(s) is not type(t)
    ]
    ring = LineString([*points(cut, 400), points(cut, 400)[0]])
    for i in range(20, 81):
        z = curve.point(i / 100) + DRAGGED
        assert ring.distance(Point(z.real, z.imag)) == pytest.approx(HALF_INCH, abs=0.02)
    # It has moved with the seam: the handles stand 6 mm out, the curve's belly 4.5 mm.
    middle = curve.point(0.5) + DRAGGED
    chord = (curve.point(0) + curve.point(1)) / 2 + DRAGGED
    assert abs(middle - chord) == pytest.approx(4.5, abs=1e-6)
    grown = Polygon(points(cut)).area - Polygon(points(old_cut)).area
    length = abs(curve.point(1) - curve.point(0))
    # Between chord and curve lies half of 6 mm times the chord (the weights 3t(1-t) of both
    # handles have the mean 1/2); the cap, which copies the seam beside it, adds some of it again.
    assert 1.0 < grown / (6.0 / 2 * length) < 2.0


def _sample_lines(moved: Path) -> list[Segment]:
    return part(result(root_of(moved)), "stitch-line")


def _on_the_page(layer: Any, name: str) -> Any:
    """Return the map of a derived line to the page: the layer's drag, and the line's own."""
    (element,) = [thing for thing in layer.iter() if thing.get(f"{DARTSWING}part") == name]
    shift = 0j
    for thing in (element, *element.iterancestors()):
        text = thing.get("transform") or ""
        if text.startswith("translate("):
            x, y = text[len("translate(") : -1].replace(",", " ").split()
            shift += complex(float(x), float(y))
        elif text.startswith("matrix(1"):
            numbers = text[len("matrix(") : -1].replace(",", " ").split()
            assert [float(n) for n in numbers[:4]] == [1, 0, 0, 1]
            shift += complex(float(numbers[4]), float(numbers[5]))
        else:
            assert not text
    return lambda z: z + shift


@pytest.mark.thorough
def test_the_digitizers_nodes_all_move_and_only_the_cuts_change(
    editor: RealEditor, tmp_path: Path
) -> None:
    drawing, moved = tmp_path / "traced.svg", tmp_path / "moved.svg"
    drawing.write_text(traced_drawing(400), encoding="utf-8")
    assert editor.run_action(drawing, "dartswing.move.noprefs", moved).stderr == ""
    root = root_of(moved)
    (outline,) = [thing for thing in root.iter() if thing.get("id") == "front-block"]
    before = parse(outline.get("d"))[0].segments
    assert len(before) == 400
    after = part(result(root), "stitch-line")
    old, new = _without_legs(before, 94 + 248j), _without_legs(after, _dart_point(result(root)))
    # The shape of each segment, wherever it was turned to: its chord and how its handles lie.
    known, kept = Counter(map(shape, old)), Counter(map(shape, new))
    lost, added = known - kept, kept - known
    assert len(new) == len(old) + 1, "the one segment that the new dart cuts in two"
    # Where the old dart closes, its two mouth ends meet in the middle (they were 0.03 mm apart
    # in their distance from the apex): the last nodes of two segments give way by that.
    assert (sum(lost.values()), sum(added.values())) == (3, 4)
    assert sum(s.length() for s in new) == pytest.approx(sum(s.length() for s in old), abs=0.05)


def shape(segment: Segment) -> tuple[float, ...]:
    chord = segment.end - segment.start
    handles = () if isinstance(segment, Line) else (segment.control1, segment.control2)
    numbers = [abs(chord)]
    for z in handles:
        along = (z - segment.start) / chord
        numbers += [along.real, along.imag]
    return tuple(round(number, 5) for number in numbers)


def _dart_point(layer: Any) -> complex:
    legs = [thing for thing in layer.iter() if thing.get(f"{DARTSWING}part") == "dart-leg"]
    ends = [{s.end, s.start} for leg in legs for s in parse(leg.get("d"))[0].segments]
    (point,) = set.intersection(*ends)
    return point


def _without_legs(segments: list[Segment], point: complex) -> list[Segment]:
    """Leave out the dart's legs: the straight pieces that lead to its point, and run on so."""
    number = next(i for i, s in enumerate(segments) if abs(s.end - point) < 1e-6)
    turned = [*segments[number + 1 :], *segments[: number + 1]]
    # From the point outward on both sides, as long as the direction stays.
    first, last = turned[0], turned[-1]
    while turned and _parallel(turned[0], first):
        turned.pop(0)
    while turned and _parallel(turned[-1], last):
        turned.pop()
    return turned


def _parallel(one: Segment, other: Segment) -> bool:
    turn = (one.end - one.start) / (other.end - other.start)
    return abs(turn.imag) < 1e-6 * abs(turn) and turn.real > 0


def test_the_node_tools_path_data_is_read_as_the_same_line() -> None:
    segments = list(parse("M 0,76 C 36,76 65.2681,33.6691 70,0 L 186,36 L 0,76 Z")[0].segments)
    data, types = as_the_node_tool_writes(segments)
    again = parse(data)[0].segments
    assert len(types) == len(segments) + 1
    for one, other in zip(segments, again, strict=True):
        assert abs(one.point(0.5) - other.point(0.5)) < 1e-5
