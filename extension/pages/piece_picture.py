"""One picture of a comparison: a finished piece drawn small, its block behind it."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from drafting_core.dart.marks import fold_line
from drafting_core.finished.pattern_piece import Draft, DrawnDart
from drafting_core.model.stretches import Stretch, stretches
from drafting_core.plane.curves import Line, PointMap, Segment, backward, unit
from drafting_core.plane.motions import readable
from drafting_core.text.words import N_
from extension.look.set_text import DROP, RISE, SMALLEST_TEXT, text_width
from extension.look.strokes import INK, Stroke
from extension.look.text_places import Clearings, at_share

# What is drawn in a picture.
BEFORE = "before"
STITCH = "stitch"
CUT = "cut"
LEG = "leg"
FOLD = "fold"
WINDOW = "window"
ARROW = "arrow"
APEX = "apex"
#: What the key of a page calls it.
KEY_WORDS = {
    BEFORE: N_("block before the move"),
    STITCH: N_("stitch line"),
    CUT: N_("cut line"),
    LEG: N_("dart leg"),
    FOLD: N_("fold line"),
    WINDOW: N_("trimmed away"),
    ARROW: N_("excess folded this way"),
    APEX: N_("apex"),
}
GREY = "#888888"
#: Strokes of the printed page; lines are told apart by dash, what is behind by its grey.
PICTURE_STROKES = {
    BEFORE: Stroke(0.25, ink=GREY),
    WINDOW: Stroke(0.25, (0.7, 0.7), fill=INK, fill_opacity=0.2),
    STITCH: Stroke(0.3, (1.8, 0.8)),
    CUT: Stroke(0.55),
    LEG: Stroke(0.3),
    FOLD: Stroke(0.25, (2.4, 0.6, 0.5, 0.6)),
    APEX: Stroke(0.3),
    ARROW: Stroke(0.6),
}
#: What the key explains, in its order.
KEY = (BEFORE, STITCH, CUT, LEG, FOLD, APEX, WINDOW, ARROW)

#: The fold arrow on paper (mm): how far its tip lies beyond the leg, how long it is at least.
ARROW_REACH = 4.5
SHORTEST_ARROW = 9.0
HEAD_LENGTH = 3.2
HEAD_WIDTH = 2.6
#: Where along the leg it crosses, from the dart point.
ARROW_SHARE = 0.6
#: Half the size of the cross on the apex (mm on paper).
APEX_ARM = 1.2
#: Lines are sampled this much more finely for names on a small picture than on a pattern.
FINENESS = 3.0
#: Free room about a seam's name (mm on paper).
NAME_ROOM = 0.5


class Arrow(NamedTuple):
    """A fold arrow on paper: its tail, the foot of its head, and the head's corners.

    Attributes:
        tail: where it begins.
        foot: where its head begins.
        head: the corners of its head.
    """

    tail: complex
    foot: complex
    head: tuple[complex, complex, complex]


class Drawn(NamedTuple):
    """Something drawn in a picture, on paper.

    Attributes:
        kind: one of the strokes.
        chain: its segments.
        closed: whether they form a ring.
    """

    kind: str
    chain: tuple[Segment, ...]
    closed: bool = False


class SeamName(NamedTuple):
    """A seam's name: its text, the middle of its base line, and the way it is read.

    Attributes:
        text: the seam's name.
        at: the middle of its base line.
        direction: the way it is read, of length 1.
    """

    text: str
    at: complex
    direction: complex


class Picture(NamedTuple):
    """A picture on paper: lines from the back to the front, arrows over them, seam names.

    Attributes:
        lines: the lines, from the back to the front.
        arrows: the fold arrows.
        names: the names of the seams.
    """

    lines: tuple[Drawn, ...]
    arrows: tuple[Arrow, ...]
    names: tuple[SeamName, ...]


def lines_to_hold(draft: Draft) -> list[Segment]:
    """Return the lines that a picture has to hold: the block and the finished piece, in mm."""
    segments = [edge.segment for edge in draft.block.outline]
    segments += [*draft.stitch_line, *draft.cut_line]
    for item in draft.darts:
        segments += [edge.segment for edge in item.dart.cap]
        segments += item.window or ()
    return segments


def picture_of(draft: Draft, to: PointMap, more: Sequence[Sequence[Segment]] = ()) -> Picture:
    """Draw a piece on paper.

    Args:
        draft: the finished piece.
        to: from its millimetres to those of the paper; it shrinks and shifts.
        more: other lines on paper, which the seams' names keep clear of.
    """
    lines = [Drawn(BEFORE, _on_paper([edge.segment for edge in draft.block.outline], to), True)]
    lines += [
        Drawn(WINDOW, _on_paper(item.window, to), True) for item in draft.darts if item.window
    ]
    lines += [
        Drawn(STITCH, _on_paper([edge.segment for edge in run], to)) for run in draft.piece.runs
    ]
    for item in draft.darts:
        dart = item.dart
        lines.append(Drawn(STITCH, _on_paper([edge.segment for edge in dart.cap], to)))
        there, back = dart.legs
        legs = [*there, *backward(back)]
        lines.append(Drawn(LEG, _on_paper(legs, to)))
        fold = [Line(dart.point, item.window[0].start)] if item.window else fold_line(dart)
        lines.append(Drawn(FOLD, _on_paper(fold, to)))
    lines.append(Drawn(CUT, _on_paper(draft.cut_line, to), True))
    for apex in draft.apexes:
        lines += apex_cross(to(apex))
    arrows = [arrow_on_paper(item, to) for item in draft.darts]
    kept_clear = [*(drawn.chain for drawn in lines), *more]
    names = _names(draft, to, kept_clear, arrows)
    return Picture(tuple(lines), tuple(arrows), tuple(names))


def _on_paper(chain: Sequence[Segment], to: PointMap) -> tuple[Segment, ...]:
    return tuple(segment.mapped(to) for segment in chain)


def apex_cross(at: complex) -> list[Drawn]:
    """Return the cross that marks an apex on paper."""
    return [Drawn(APEX, (Line(at - arm, at + arm),)) for arm in (APEX_ARM + 0j, APEX_ARM * 1j)]


def arrow_on_paper(item: DrawnDart, to: PointMap) -> Arrow:
    """Return the arrow across a dart, over the leg to which its excess is folded.

    It has the pattern's direction, but sizes of the paper.
    """
    dart = item.dart
    crossing, other = (
        to(dart.point + (dart.ends[leg] - dart.point) * ARROW_SHARE)
        for leg in (dart.fold.leg, 1 - dart.fold.leg)
    )
    return arrow_across(crossing, other)


def arrow_across(crossing: complex, other: complex) -> Arrow:
    """Return an arrow on paper from one line of a dart or tuck over the other.

    Args:
        crossing: where it crosses the line over which the excess is folded.
        other: where it crosses the other line.
    """
    along = unit(crossing - other)
    tip = crossing + along * ARROW_REACH
    behind = max(0.75 * abs(crossing - other), SHORTEST_ARROW - ARROW_REACH)
    return arrow(crossing - along * behind, tip)


def arrow(tail: complex, tip: complex) -> Arrow:
    """Return an arrow from its tail to its tip."""
    along = unit(tip - tail)
    foot = tip - along * HEAD_LENGTH
    side = 1j * along * HEAD_WIDTH / 2
    return Arrow(tail, foot, (tip, foot + side, foot - side))


def _names(
    draft: Draft, to: PointMap, lines: Iterable[Sequence[Segment]], arrows: Iterable[Arrow]
) -> list[SeamName]:
    """Return the seams' names inside the piece, each where it stands free, else left out."""
    chains = list(lines)
    for one in arrows:
        chains.append([Line(one.tail, one.head[0])])
        chains.append([Line(a, b) for a, b in itertools.pairwise((*one.head, one.head[0]))])
    clear = Clearings([[s.mapped(lambda z: z * FINENESS) for s in chain] for chain in chains])
    names = []
    for stretch in stretches(draft.piece):
        name = _name(draft, stretch, to, clear)
        if name is not None:
            names.append(name)
            clear.add_box(name.at * FINENESS, name.direction, *_name_box(name.text))
    return names


def _name_box(text: str) -> tuple[float, float, float]:
    half = text_width(text, SMALLEST_TEXT) / 2 + NAME_ROOM
    return (
        half * FINENESS,
        (RISE * SMALLEST_TEXT + NAME_ROOM) * FINENESS,
        (DROP * SMALLEST_TEXT + NAME_ROOM) * FINENESS,
    )


def _name(draft: Draft, stretch: Stretch, to: PointMap, clear: Clearings) -> SeamName | None:
    segments = _on_paper(stretch.segments(draft.piece), to)
    lengths = [segment.length() for segment in segments]
    text = stretch.seam.shown
    if text_width(text, SMALLEST_TEXT) > sum(lengths):
        return None
    for gap in (NAME_ROOM + 0.4, 1.8, 2.8, 4.0):
        for share in (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82):
            at, tangent = at_share(segments, lengths, share)
            inward = 1j * tangent
            direction = readable(tangent)
            # The letters rise to the left of their direction, where the page's y points down.
            above = abs(inward + 1j * direction) < 1.0
            base = gap + (DROP if above else RISE) * SMALLEST_TEXT
            place = at + inward * base
            if not clear.hits(place * FINENESS, direction, *_name_box(text)):
                return SeamName(text, place, direction)
    return None
