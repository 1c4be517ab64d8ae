"""The pictures of sewing notes: the numbered piece, and the steps of each dart, drawn from it."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from operator import itemgetter
from typing import NamedTuple

from drafting_core.dart.fullness import Fullness, first_part
from drafting_core.dart.marks import place_along
from drafting_core.finished.fold_edge import fold_lines, lies_on_any
from drafting_core.finished.pattern_piece import Draft, DrawnDart
from drafting_core.plane.curves import (
    Box,
    Line,
    PointMap,
    Segment,
    backward,
    box_about,
    chain_length,
    dot,
    unit,
)
from drafting_core.plane.parallel import parallel
from drafting_core.sewing.cloth_parts import Cloth, parts_inside
from drafting_core.sewing.dart_steps import (
    SECOND_ROW,
    DartCloth,
    cut_away,
    folded,
    fullness_cloth,
    half_of_excess,
    is_little_trimmed,
    pressed,
    trimmed,
)
from extension.look.strokes import Stroke
from extension.pages.piece_picture import arrow
from extension.sewing.fullness import row_gaps
from extension.sewing.steps import FOLD, JOIN, MARK, OPEN, PRESS, STITCH, TRIM, has_drill_hole
from extension.sewing.words import Section

#: Wrong and right side of the cloth; the excess where it lies on more layers.
WRONG, RIGHT, DOUBLED = "#e3e3e3", "#ffffff", "#cfcfcf"
EDGE = Stroke(0.5)
HIDDEN = Stroke(0.35, (1.0, 0.8))
SEAM = Stroke(0.35, (2.2, 1.0))
LEG = Stroke(0.35)
MIDDLE = Stroke(0.35, (2.4, 0.7, 0.5, 0.7))
STITCHES = Stroke(0.7, (1.5, 0.7))
#: Each of the two rows in a sheer cloth.
DOUBLE_STITCHES = Stroke(0.5, (1.5, 0.7))
CUT = Stroke(0.6, (0.6, 0.6))
AWAY = Stroke(0.35, (0.6, 0.6), fill="#000000", fill_opacity=0.22)
TORN = Stroke(0.35, ink="#aaaaaa")
#: The edge on the fold of the cloth, which is not cut.
FOLD_EDGE = Stroke(0.6, (5.0, 1.2, 1.2, 1.2))
SOLID = Stroke(0.35, fill="#000000")
OPEN_RING = Stroke(0.35, fill="#ffffff")
SHAFT = Stroke(0.5)
THREAD = Stroke(0.35)

#: Sizes of signs on paper (mm).
_PIN, _PIN_HEAD = 7.0, 0.6
NOTCH = 2.2
_DOT, _HOLE = 0.7, 0.8
_THREAD_END = 4.0
_BESIDE_STITCHES = 2.6
#: A shorter scrap of a stitch line at the picture's border tells nothing (mm on paper), nor does
#: one not much longer that does not lead to the mouth.
_SCRAP, _STRAY_SCRAP = 2.0, 7.0
#: What ends this near to the mouth leads to it (mm).
_ADJOINING = 1e-3
#: Two rows of stitches are drawn at least this far apart, middle to middle (mm on paper).
ROWS_APART = 1.5
#: Where along a leg, from the mouth, the pins stick.
_PINS = (0.14, 0.42, 0.7)
#: How far short of the point a curved dart is cut open along its middle (mm): 1 in.
_CUT_SHORT = 25.4


class Shape(NamedTuple):
    """Something drawn, on paper: how, its segments, and whether they form a ring.

    Attributes:
        stroke: how it is drawn.
        chain: its segments.
        closed: whether they form a ring.
    """

    stroke: Stroke
    chain: tuple[Segment, ...]
    closed: bool = False


class Disc(NamedTuple):
    """A small circle on paper.

    Attributes:
        stroke: how it is drawn.
        centre: its centre.
        radius: its radius, in mm on paper.
    """

    stroke: Stroke
    centre: complex
    radius: float


Shapes = list[Shape | Disc]


def fill(colour: str) -> Stroke:
    """Return a stroke that fills; its own thin line closes the chinks between parts."""
    return Stroke(0.35, fill=colour, ink=colour)


def step_box(section: Section, kind: str, draft: Draft) -> Box:
    """Return the room in mm, at true size, that a step's picture has to hold."""
    parts: Sequence[Cloth]
    flat = section.cloth
    if flat is None:
        parts = [_fullness_part(section, draft)]
    elif kind in (FOLD, STITCH, TRIM):
        fold = folded(flat)
        parts = [fold.upper, fold.under]
    elif kind in (PRESS, JOIN):
        lies = pressed(flat)
        parts = [lies.base, lies.other, lies.excess]
    else:
        parts = [flat.whole]
    return box_about(z for part in parts for segment in part.ring for z in segment.extreme_points())


def _fullness_part(section: Section, draft: Draft) -> Cloth:
    if not isinstance(section.item, Fullness):
        raise ValueError("a dart has its own cloth")
    return fullness_cloth(section.item, draft.cut_line)


def step_drawing(section: Section, kind: str, draft: Draft, to: PointMap) -> Shapes:
    """Draw one step on paper, from the back to the front.

    Args:
        section: the dart.
        kind: the step's kind.
        draft: its piece.
        to: from the piece's millimetres to those of the paper: it shrinks and shifts.
    """
    flat = section.cloth
    if flat is None:
        return _rows(section, draft, to)
    if kind in (MARK, OPEN):
        return _flat(section, flat, draft, to, is_cut_open=kind == OPEN)
    if kind == PRESS:
        return _pressed(flat, draft, to)
    if kind == JOIN:
        return _joined(flat, draft, to)
    return _folded(flat, draft, to, kind)


def _shape(stroke: Stroke, chain: Iterable[Segment], to: PointMap, closed: bool = False) -> Shape:
    return Shape(stroke, tuple(segment.mapped(to) for segment in chain), closed)


def _cloth_shapes(cloth: Cloth, colour: str, to: PointMap, folds: Sequence[Line]) -> Shapes:
    """Draw a part of the cloth: its side's colour, and its edges, those on the fold as such."""
    if not cloth.bounds:
        return []
    found: Shapes = [_shape(fill(colour), cloth.ring, to, True)]
    for chain in cloth.edges:
        on_fold = [lies_on_any(segment, folds) for segment in chain]
        for is_on, group in itertools.groupby(zip(on_fold, chain, strict=True), itemgetter(0)):
            found.append(_shape(FOLD_EDGE if is_on else EDGE, [part for _, part in group], to))
    return found


def _edges(cloth: Cloth, stroke: Stroke, to: PointMap) -> Shapes:
    return [_shape(stroke, chain, to) for chain in cloth.edges]


def _mapped(folds: Sequence[Line], to: PointMap) -> list[Line]:
    return [Line(to(fold.start), to(fold.end)) for fold in folds]


def _seams(draft: Draft, cloth: Cloth, to: PointMap, ends: Sequence[complex]) -> Shapes:
    """Draw the stitch lines inside a part of the cloth, without scraps at its border.

    Args:
        draft: the piece.
        cloth: the part.
        to: from the piece's millimetres to those of the paper.
        ends: the ends of the mouth, to which even short stitch lines lead.
    """
    folds = fold_lines(draft)
    found: Shapes = []
    for run in draft.piece.runs:
        for part in parts_inside([edge.segment for edge in run], cloth):
            if all(lies_on_any(segment, folds) for segment in part):
                continue
            shape = _shape(SEAM, part, to)
            leads = any(
                abs(z - end) < _ADJOINING for z in (part[0].start, part[-1].end) for end in ends
            )
            if chain_length(shape.chain) >= (_SCRAP if leads else _STRAY_SCRAP):
                found.append(shape)
    return found


def _notches(flat: DartCloth, draft: Draft, to: PointMap, legs: Sequence[int]) -> Shapes:
    found: Shapes = []
    for leg in legs:
        end, other = flat.ends[leg], flat.ends[1 - leg]
        # On a fold edge a leg has no notch; that of the other is not its own.
        own = [one for one in draft.notches if abs(one.end - end) < abs(one.end - other)]
        notch = min(own, key=lambda one: abs(one.start - end), default=None)
        if notch is None or abs(notch.end - end) > abs(end - other):
            continue
        start = to(notch.start)
        found.append(Shape(EDGE, (Line(start, start + unit(to(notch.end) - start) * NOTCH),)))
    return found


def _flat(
    section: Section, flat: DartCloth, draft: Draft, to: PointMap, *, is_cut_open: bool
) -> Shapes:
    found = _cloth_shapes(flat.whole, WRONG, to, fold_lines(draft))
    found += _seams(draft, flat.whole, to, flat.ends)
    item = section.item
    if isinstance(item, DrawnDart):
        cap = [edge.segment for edge in item.dart.cap]
        found += [_shape(SEAM, part, to) for part in parts_inside(cap, flat.whole)]
    if flat.window is not None:
        found.append(_shape(AWAY, flat.window, to, True))
    found += [_shape(LEG, leg, to) for leg in flat.legs]
    middle = [
        part
        for part in parts_inside(_to_the_edge(flat.centre_line), flat.whole)
        if flat.window is None
    ]
    if flat.window_sides:
        middle = [(Line(flat.point, flat.window_sides[0][0].start),)]
    found += [_shape(MIDDLE, part, to) for part in middle]
    is_cut_on = isinstance(item, DrawnDart) and is_little_trimmed(item, flat)
    if is_cut_open and (flat.window is None or is_cut_on):
        for part in middle:
            length = chain_length(part)
            out = list(backward(part))
            kept = first_part(out, max(length - _CUT_SHORT, 0.3 * length))
            found.append(_shape(Stroke(0.7), kept, to))
    found += _notches(flat, draft, to, (0, 1))
    if (
        isinstance(item, DrawnDart)
        and item.drill_hole is not None
        and has_drill_hole(draft.settings.cloth)
    ):
        found.append(Disc(OPEN_RING, to(item.drill_hole), _HOLE))
    if not flat.is_tuck:
        found.append(Disc(SOLID, to(flat.point), _DOT))
    return found


def _to_the_edge(chain: Sequence[Segment]) -> list[Segment]:
    end, way = chain[-1].end, chain[-1].end_tangent()
    return [*chain, Line(end, end + way * 1e3)]


def _folded(flat: DartCloth, draft: Draft, to: PointMap, kind: str) -> Shapes:
    lies, folds = folded(flat), fold_lines(draft)
    found = _cloth_shapes(lies.under, RIGHT, to, _mapped(folds, flat.mirror))
    # Where the picture ends, white cloth would not be seen on the white page.
    found.insert(1, _shape(TORN, lies.under.ring, to, True))
    found += _cloth_shapes(lies.upper, WRONG, to, folds)
    found += _edges(lies.under, HIDDEN, to)
    found.append(_shape(Stroke(0.7), [lies.fold], to))
    leg = flat.fold_leg
    if kind == TRIM:
        away = cut_away(flat, half_of_excess(flat, leg), leg)
        if away.bounds:
            found.append(_shape(AWAY, away.ring, to, True))
        found.append(_shape(CUT, flat.window_sides[leg], to))
    found += _notches(flat, draft, to, (leg,))
    if kind == FOLD:
        found.append(_shape(LEG, flat.stitched, to))
        found += _pins(flat, to)
        if not flat.is_tuck:
            found.append(Disc(SOLID, to(flat.point), _DOT))
    else:
        found += _stitches(flat, draft, to)
        if kind == STITCH:
            found += _way_of_stitching(flat, to)
            found += _knot(flat, to)
    return found


def _stitches(flat: DartCloth, draft: Draft, to: PointMap) -> Shapes:
    row = _second_row(flat, flat.fold_leg, draft, to)
    stroke = DOUBLE_STITCHES if row else STITCHES
    found: Shapes = [_shape(stroke, [*flat.from_edge, *flat.stitched], to)]
    if row:
        found.append(_shape(stroke, row, to))
    return found


def _second_row(flat: DartCloth, leg: int, draft: Draft, to: PointMap) -> tuple[Segment, ...]:
    """Return the second row of a sheer dart, if need be drawn wider apart so that it is seen.

    None where the dart is too narrow for that, and none in another cloth.
    """
    if draft.settings.cloth != "sheer" or flat.is_tuck or not flat.second_row(leg):
        return ()
    per_mm = abs(to(1 + 0j) - to(0j))
    return flat.second_row(leg, max(SECOND_ROW, ROWS_APART / per_mm))


def _garment_side(flat: DartCloth, way: complex) -> complex:
    """Return the unit vector from the stitched leg away from the dart, square to a direction."""
    side = 1j * unit(way)
    inside = flat.ends[1 - flat.fold_leg] - flat.ends[flat.fold_leg]
    return -side if dot(side, inside) > 0.0 else side


def _pins(flat: DartCloth, to: PointMap) -> Shapes:
    found: Shapes = []
    length = chain_length(flat.stitched)
    for share in _PINS:
        at, way = place_along(flat.stitched, share * length)
        side = _garment_side(flat, way)
        middle = to(at)
        tail, tip = middle + side * _PIN * 0.55, middle - side * _PIN * 0.45
        found.append(Shape(Stroke(0.4), (Line(tail, tip),)))
        found.append(Disc(SOLID, tail, _PIN_HEAD))
    return found


def _arrow(tail: complex, tip: complex) -> Shapes:
    drawn = arrow(tail, tip)
    head = [Line(a, b) for a, b in itertools.pairwise((*drawn.head, drawn.head[0]))]
    white = Stroke(1.3, ink="#ffffff")
    return [
        Shape(white, (Line(drawn.tail, drawn.foot),)),
        Shape(Stroke(0.8, fill="#ffffff", ink="#ffffff"), tuple(head), True),
        Shape(SHAFT, (Line(drawn.tail, drawn.foot),)),
        Shape(SOLID, tuple(head), True),
    ]


def _way_of_stitching(flat: DartCloth, to: PointMap, beside: float = _BESIDE_STITCHES) -> Shapes:
    """Draw an arrow beside the stitching, from the mouth toward the point.

    Args:
        flat: the dart.
        to: from the piece's millimetres to those of the paper.
        beside: how far from the stitching, away from the dart (mm on paper).
    """
    length = chain_length(flat.stitched)
    ends = []
    for share in (0.22, 0.68):
        at, way = place_along(flat.stitched, share * length)
        ends.append(to(at) + _garment_side(flat, way) * beside)
    return _arrow(ends[0], ends[1])


def _knot(flat: DartCloth, to: PointMap) -> Shapes:
    """Draw the knot at the dart point and the two ends of thread; of a tuck nothing."""
    if flat.is_tuck:
        return []
    at = to(flat.point)
    out = _garment_side(flat, flat.axis)
    return [
        Disc(SOLID, at, _DOT),
        *(
            Shape(THREAD, (Line(at, at + unit(-out + turn * flat.axis) * _THREAD_END),))
            for turn in (-0.9, -0.3)
        ),
    ]


def _pressed(flat: DartCloth, draft: Draft, to: PointMap) -> Shapes:
    lies = pressed(flat)
    other = 1 - flat.fold_leg
    excess = trimmed(flat, half_of_excess(flat, other), other).mapped(flat.swing)
    found: Shapes = []
    if lies.rounding:
        found.append(_shape(fill(WRONG), _polygon(lies.rounding), to, True))
    folds = fold_lines(draft)
    found += _cloth_shapes(lies.base, WRONG, to, folds)
    found += _cloth_shapes(lies.other, WRONG, to, _mapped(folds, flat.swing))
    if excess.bounds:
        found.append(_shape(Stroke(0.5, fill=DOUBLED), excess.ring, to, True))
    found += _edges(lies.base, HIDDEN, to)
    swung = lies.other.mapped(_back_again(flat))
    found += _seams(draft, lies.base, to, flat.ends)
    found += _seams(draft, swung, lambda z: to(flat.swing(z)), flat.ends)
    row = [segment.mapped(flat.swing) for segment in _second_row(flat, other, draft, to)]
    stroke = DOUBLE_STITCHES if row else STITCHES
    found.append(_shape(stroke, [*flat.from_edge, *flat.stitched], to))
    if row:
        found.append(_shape(stroke, row, to))
    at, way = place_along(flat.stitched, 0.45 * chain_length(flat.stitched))
    side = _garment_side(flat, way)
    width = abs(to(flat.ends[0]) - to(flat.ends[1])) / 2 * 0.55
    found += _arrow(to(at) - side * 3.0, to(at) + side * max(width + 4.0, 7.0))
    return found


def _back_again(flat: DartCloth) -> PointMap:
    start = flat.swing(flat.point)
    factor = unit(flat.swing(flat.point + 1.0) - start)
    return lambda z: flat.point + (z - start) / factor


def _polygon(points: Sequence[complex]) -> list[Segment]:
    return [Line(a, b) for a, b in itertools.pairwise((*points, points[0]))]


def _joined(flat: DartCloth, draft: Draft, to: PointMap) -> Shapes:
    lies = pressed(flat)
    found: Shapes = []
    if lies.rounding:
        found.append(_shape(fill(WRONG), _polygon(lies.rounding), to, True))
    folds = fold_lines(draft)
    found += _cloth_shapes(lies.base, WRONG, to, folds)
    found += _cloth_shapes(lies.other, WRONG, to, _mapped(folds, flat.swing))
    found += _stitches(flat, draft, to)
    found += _pins(flat, to)
    found += _way_of_stitching(flat, to, -2 * _BESIDE_STITCHES)
    found += _knot(flat, to)
    return found


def _rows(section: Section, draft: Draft, to: PointMap) -> Shapes:
    item = section.item
    if not isinstance(item, Fullness):
        raise ValueError("a dart has no rows of gathering stitches")
    cloth = _fullness_part(section, draft)
    found = _cloth_shapes(cloth, WRONG, to, fold_lines(draft))
    found += _seams(draft, cloth, to, item.ends)
    for gap in row_gaps(item, draft):
        for edge in draft.piece.edges():
            if edge.seam is item.seam:
                row = parts_inside(parallel(edge.segment, gap) if gap else [edge.segment], cloth)
                found += [_shape(STITCHES, part, to) for part in row]
    for end in item.ends:
        notch = min(
            [*draft.notches, *draft.seam_notches],
            key=lambda one: abs(one.start - end),
            default=None,
        )
        if notch is not None and abs(notch.start - end) < 60.0:
            start = to(notch.start)
            way = unit(to(notch.end) - start)
            found.append(Shape(EDGE, (Line(start, start + way * NOTCH),)))
    return found
