"""Seams of an outline: where they end (corners, measured with darts closed) and their names."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from drafting_core.block.find_darts import CLOSED_MOUTH_TURN, FoundDarts
from drafting_core.block.remembered import KnownSeam
from drafting_core.model.outline import Edge, OutlineEdge, nearest_on
from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import Seam, SeamLabel, seam_kind, seam_name
from drafting_core.plane.curves import PointMap, Segment, pairs_around, turn
from drafting_core.text.errors import OutlineError
from drafting_core.text.lengths import as_typed, told_apart
from drafting_core.text.words import _

#: A turn of more than this is a corner, at which a seam ends.
CORNER_TURN = math.radians(30.0)
#: Where one side lies on the fold, both do, unless the outline turns by more than this.
FOLD_TURN = math.radians(15.0)
#: On outlines of many nodes a turn is measured between chords of this length (mm).
CORNER_CHORD = 10.0
#: An outline has many nodes when there are more than this…
MANY_NODES = 60
#: … and they lie nearer together than this on the average (mm).
MANY_NODES_SPACING = 20.0
#: A node this near to where a seam is known to end is that end (mm).
KNOWN_END_REACH = 0.5
#: A corner within a seam may have been reshaped by this much (mm).
KNOWN_CORNER_REACH = 20.0


class SeamMark(NamedTuple):
    """A mark near a seam that names it, gives it a width or puts it on the fold.

    Attributes:
        at: where it lies.
        label: what it says of the seam.
    """

    at: complex
    label: SeamLabel


def inner_corners(piece: Piece) -> list[complex]:
    """Return the corners of a piece's runs at which its seams go on."""
    runs = piece.runs if piece.openings else [(piece.runs[0][-1], *piece.runs[0])]
    return [
        edge.segment.start
        for run in runs
        for before, edge in pairwise(run)
        if before.seam is edge.seam
        and abs(turn(before.segment.end_tangent(), edge.segment.start_tangent())) > CORNER_TURN
    ]


class _Laid(NamedTuple):
    """An edge as it lies with all darts closed."""

    run: int
    edge: OutlineEdge
    segment: Segment
    after_mouth: bool


def _lay(darts: FoundDarts) -> tuple[list[_Laid], PointMap]:
    placeholder = Seam("", "")
    piece = Piece(
        tuple(tuple(Edge(edge.segment, placeholder) for edge in run) for run in darts.runs),
        darts.openings,
    )
    maps, whole = piece.closing()
    laid = [
        _Laid(k, edge, edge.segment.mapped(maps[k]), index == 0 and bool(darts.openings))
        for k, run in enumerate(darts.runs)
        for index, edge in enumerate(run)
    ]
    return laid, whole


def _joint_turns(laid: Sequence[_Laid], whole: PointMap) -> list[float]:
    """Return the turn in radians at the start of every edge, darts closed."""
    count = len(laid)
    segments = [item.segment for item in laid]
    following = [segment.mapped(whole) for segment in segments]
    lengths = [segment.length() for segment in segments]
    if count <= MANY_NODES or sum(lengths) / count >= MANY_NODES_SPACING:
        turns = []
        for index in range(count):
            after = segments[index] if index else following[0]
            turns.append(turn(segments[index - 1].end_tangent(), after.start_tangent()))
        return turns
    return _chord_turns([*segments, *following], lengths)


def _chord_turns(segments: Sequence[Segment], lengths: Sequence[float]) -> list[float]:
    """Measure turns between chords; of corners within a chord's length only the sharpest stays."""
    count = len(lengths)
    turns = []
    for index in range(count):
        # Joint 0 is looked at where the second round begins, so that both its sides are there.
        joint = index or count
        node = segments[joint].start
        turns.append(
            turn(node - _point_away(segments, joint, -1), _point_away(segments, joint, 1) - node)
        )
    places = [0.0]
    for length in lengths:
        places.append(places[-1] + length)
    perimeter = places[-1]
    sharpest = list(turns)
    order = sorted(range(count), key=lambda index: -abs(turns[index]))
    taken: list[int] = []
    for index in order:
        if abs(turns[index]) <= CORNER_TURN:
            break
        away = min(
            (_round_distance(places[index], places[other], perimeter) for other in taken),
            default=math.inf,
        )
        if away < CORNER_CHORD:
            sharpest[index] = 0.0
        else:
            taken.append(index)
    return sharpest


def _round_distance(a: float, b: float, perimeter: float) -> float:
    return min(abs(a - b), perimeter - abs(a - b))


def _point_away(segments: Sequence[Segment], joint: int, step: int) -> complex:
    """Return the point `CORNER_CHORD` along the outline from a joint, one way."""
    left = CORNER_CHORD
    index = joint if step > 0 else joint - 1
    while 0 <= index < len(segments):
        segment = segments[index] if step > 0 else segments[index].reversed()
        length = segment.length()
        if length >= left:
            return segment.point(segment.parameter_at(left))
        left -= length
        index += step
    return (segments[-1] if step > 0 else segments[0].reversed()).end


def name_seams(
    darts: FoundDarts,
    marks: Sequence[SeamMark],
    ends: Sequence[complex] = (),
    corners: Sequence[complex] = (),
    *,
    standing: bool = False,
    known: Sequence[KnownSeam] = (),
) -> Piece:
    """Divide the outline into seams and name them by path labels and marks.

    Seams without a name get the next free of "seam 1", "seam 2"… in the outline's order.

    Args:
        darts: the outline's runs and darts.
        marks: the drafter's seam marks.
        ends: nodes at which a seam is known to end though there is no corner.
        corners: corners at which a seam is known to go on.
        standing: whether the outline is a result's, in which two neighbouring stretches of one
            name may have two allowances: they stay two seams.
        known: the seams of a result, which are what they were, whatever corners it has now;
            marks name them anew.

    Raises:
        OutlineError: if two marks give different names or allowances to one seam.
    """
    laid, whole = _lay(darts)
    turns = _joint_turns(laid, whole)
    count = len(laid)
    if known:
        corner, said = _known_portions(laid, known, marks)
        return _named(darts, laid, turns, corner, said, standing=standing)
    inner = _known_corners(laid, turns, ends, corners)
    corner = [
        (
            abs(turns[i]) > (CLOSED_MOUTH_TURN if laid[i].after_mouth else CORNER_TURN)
            and i not in inner
        )
        or _labels_differ(laid[i - 1].edge.label, laid[i].edge.label, turns[i])
        or any(abs(end - laid[i].edge.segment.start) < KNOWN_END_REACH for end in ends)
        for i in range(count)
    ]
    said = _marked_portions(laid, corner, marks)
    for i in range(count):
        if laid[i].after_mouth and _are_two(said[i - 1], said[i], standing=standing):
            corner[i] = True
    return _named(darts, laid, turns, corner, said, standing=standing)


def _named(
    darts: FoundDarts,
    laid: Sequence[_Laid],
    turns: Sequence[float],
    corner: Sequence[bool],
    said: Sequence[SeamLabel | None],
    *,
    standing: bool,
) -> Piece:
    """Return the outline with its seams between the joints that are corners."""
    stretches = _stretches(corner)
    labels = [_label_of(stretch, laid, said) for stretch in stretches]
    joints = [
        (laid[i].edge.segment.start, 0.0 if laid[i].after_mouth else turns[i])
        for i in (stretch[0] for stretch in stretches)
    ]
    seams = _numbered(labels, joints, standing=standing)
    seam_at = {i: seam for stretch, seam in zip(stretches, seams, strict=True) for i in stretch}
    runs: list[list[Edge]] = [[] for _ in darts.runs]
    for i, item in enumerate(laid):
        runs[item.run].append(Edge(item.edge.segment, seam_at[i]))
    return Piece(tuple(tuple(run) for run in runs), darts.openings)


def _known_portions(
    laid: Sequence[_Laid], known: Sequence[KnownSeam], marks: Sequence[SeamMark]
) -> tuple[list[bool], list[SeamLabel | None]]:
    """Return at which joints a result's seams start, and what is said of every edge."""
    starts = {}
    for seam in known:
        nearest = min(range(len(laid)), key=lambda i: abs(laid[i].edge.segment.start - seam.start))
        starts[nearest] = seam.label
    corner = [i in starts for i in range(len(laid))]
    said: list[SeamLabel | None] = [None] * len(laid)
    drawn = [item.edge.segment for item in laid]
    named = {nearest_on(drawn, mark.at).segment: mark.label for mark in marks}
    for stretch in _stretches(corner):
        label = starts.get(stretch[0])
        for i in stretch:
            if i in named:
                label = _anew(label, named[i])
        for i in stretch:
            said[i] = label
    return corner, said


def _anew(label: SeamLabel | None, mark: SeamLabel) -> SeamLabel:
    """Return what is said of a result's seam that a mark of the drafter's names anew."""
    if label is None or not mark.name or seam_kind(mark.name) != seam_kind(label.name):
        return mark
    width = label.allowance if mark.allowance is None else mark.allowance
    return mark._replace(allowance=width, fold=mark.fold or label.fold)


def _known_corners(
    laid: Sequence[_Laid],
    turns: Sequence[float],
    ends: Sequence[complex],
    corners: Sequence[complex],
) -> set[int]:
    """Return the joints at which a seam is known to go on: the corner nearest to each place."""
    joints = [
        i
        for i, item in enumerate(laid)
        if abs(turns[i]) > CORNER_TURN
        and not any(abs(end - item.edge.segment.start) < KNOWN_END_REACH for end in ends)
    ]
    found = set()
    for z in corners:
        nearest = min(joints, key=lambda i: abs(laid[i].edge.segment.start - z), default=None)
        if nearest is not None and abs(laid[nearest].edge.segment.start - z) < KNOWN_CORNER_REACH:
            found.add(nearest)
    return found


def _labels_differ(first: SeamLabel | None, second: SeamLabel | None, turning: float) -> bool:
    """Tell whether the labels of two paths that meet end a seam there.

    Two allowances of one name are left to be refused; of nameless paths each is a seam.
    """
    if first is None or second is None:
        return False
    has_names = bool(first.name and second.name)
    return _are_two(first, second, turning) or (not has_names and _widths_differ(first, second))


def _are_two(
    first: SeamLabel | None,
    second: SeamLabel | None,
    turning: float = 0.0,
    *,
    standing: bool = False,
) -> bool:
    """Tell whether what is said of the two sides of a joint makes them two seams.

    Args:
        first: what is said of the one side.
        second: what is said of the other.
        turning: by how much the outline turns there, in radians; 0 at a dart's mouth.
        standing: whether two allowances make two seams.
    """
    if first is None or second is None:
        return False
    return bool(
        (first.name and second.name and seam_kind(first.name) != seam_kind(second.name))
        or (first.mate and second.mate and first.mate != second.mate)
        or (first.fold != second.fold and abs(turning) > FOLD_TURN)
        or (standing and _widths_differ(first, second))
    )


def _widths_differ(first: SeamLabel, second: SeamLabel) -> bool:
    widths = {first.allowance, second.allowance} - {None}
    return len(widths) == 2


def _stretches(ends: Sequence[bool]) -> list[list[int]]:
    """Return the cyclic stretches of indices between places where ``ends`` says so."""
    count = len(ends)
    starts = [i for i in range(count) if ends[i]]
    if not starts:
        return [list(range(count))]
    stretches = []
    for this, following in pairs_around(starts):
        size = (following - this) % count or count
        stretches.append([(this + step) % count for step in range(size)])
    # The outline's first edge belongs to the first seam, wherever that begins.
    return [*stretches[-1:], *stretches[:-1]] if 0 in stretches[-1] else stretches


def _marked_portions(
    laid: Sequence[_Laid], corner: Sequence[bool], marks: Sequence[SeamMark]
) -> list[SeamLabel | None]:
    """Return for every edge what a mark or a path label says of its stretch between mouths."""
    portions = _stretches(
        [ends or item.after_mouth for ends, item in zip(corner, laid, strict=True)]
    )
    portion_of = {i: number for number, portion in enumerate(portions) for i in portion}
    labels: dict[int, SeamLabel] = {}
    for i, item in enumerate(laid):
        if item.edge.label is not None:
            known, label = labels.get(portion_of[i]), item.edge.label
            at = item.edge.segment.start
            labels[portion_of[i]] = _as_one(known, label, at) if known else label
    drawn = [item.edge.segment for item in laid]
    for mark in marks:
        number = portion_of[nearest_on(drawn, mark.at).segment]
        known = labels.get(number)
        if (
            known
            and known.name
            and mark.label.name
            and seam_kind(known.name) != seam_kind(mark.label.name)
        ):
            raise OutlineError(
                _(
                    'two names for one seam: "{one}" and "{other}" lie on the same stretch, '
                    "without a corner of more than 30° between them."
                ).format(one=known.name, other=mark.label.name),
                remedy=_(
                    "Move one of the marks to its own seam, or delete it; where two seams meet "
                    "without a corner, draw them as separate paths with these labels."
                ),
                place=mark.at,
            )
        labels[number] = _as_one(known, mark.label, mark.at) if known else mark.label
    return [labels.get(portion_of[i]) for i in range(len(laid))]


def _as_one(first: SeamLabel, second: SeamLabel, at: complex) -> SeamLabel:
    """Return what two labels say of one seam.

    Raises:
        OutlineError: if they give it two allowances.
    """
    if _widths_differ(first, second):
        widths = [label.allowance or 0.0 for label in (first, second)]
        typed = [as_typed(width) for width in widths]
        one, other = (
            " ".join(filter(None, (label.name, width)))
            for label, width in zip(
                (first, second),
                typed if typed[0] != typed[1] else told_apart(*widths),
                strict=True,
            )
        )
        raise OutlineError(
            _(
                'two allowances for one seam: "{one}" and "{other}". A dart does not end a seam, '
                "and neighbouring stretches of one name are one seam."
            ).format(one=one, other=other),
            remedy=_("Give it one allowance, or give its stretches two names."),
            place=at,
        )
    return SeamLabel(
        first.name or second.name,
        first.allowance if second.allowance is None else second.allowance,
        first.fold or second.fold,
        first.turned or second.turned,
        first.mate or second.mate,
        first.ease if second.ease is None else second.ease,
    )


def _label_of(
    stretch: Sequence[int], laid: Sequence[_Laid], said: Sequence[SeamLabel | None]
) -> SeamLabel:
    label = SeamLabel("")
    for i in stretch:
        found = said[i]
        if found is not None:
            label = _as_one(label, found, laid[i].edge.segment.start)
    return label


def _numbered(
    labels: Sequence[SeamLabel],
    joints: Sequence[tuple[complex, float]],
    *,
    standing: bool,
) -> list[Seam]:
    """Make a seam of every stretch; neighbours of one given name are one seam.

    Args:
        labels: what is said of every stretch.
        joints: where each of them starts, and by how much the outline turns there, 0 at a mouth.
        standing: whether neighbours with two allowances stay two seams.

    Raises:
        OutlineError: if neighbours of one name have two allowances.
    """
    taken = {seam_kind(label.name) for label in labels}
    said = list(labels)
    first_of = list(range(len(labels)))
    for i in [*range(1, len(labels)), 0]:
        before, this = first_of[i - 1], first_of[i]
        at, turning = joints[i]
        if before == this or not (said[before].name and said[this].name):
            continue
        if _are_two(said[before], said[this], turning, standing=standing):
            continue
        keep, drop = min(before, this), max(before, this)
        said[keep] = _as_one(said[keep], said[drop], at)
        first_of = [keep if first == drop else first for first in first_of]
    seams: dict[int, Seam] = {}
    number = 0
    for i in dict.fromkeys(first_of):
        label = said[i]
        if label.name:
            seams[i] = _seam(label, label.name, seam_kind(label.name), named=True)
            continue
        number += 1
        while seam_name(number) in taken:
            number += 1
        name = seam_name(number)
        seams[i] = _seam(label, name, name, named=False)
    return [seams[first] for first in first_of]


def _seam(label: SeamLabel, name: str, kind: str, *, named: bool) -> Seam:
    return Seam(
        name, kind, label.allowance, label.fold, named, label.turned, label.mate, label.ease
    )
