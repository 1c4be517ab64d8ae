"""Lines that a hand has set node by node: the smooth line that their nodes mean.

Such a line has a node every 5 to 40 mm, each a few tenths of a millimetre beside what it was set
upon, and straight ways between them. The ways cut across every curve; the smooth line goes
through the nodes. Where the line turns by more than a curve would that nodes so far apart can
follow, it has a corner, which stays.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np

from drafting_core.ink.polylines import Flags, Numbers, Points, diagonals, without_repeats

#: A hand sets at most so many nodes on one line …
_MOST_NODES = 250
#: … and most of them this far from each other (mm), on lines of at least this size (mm).
_APART, _SMALLEST = 4.0, 20.0
#: A curve lies beside the straight way between two of its nodes by at most so much (mm), …
_BOW = 0.7
#: … and a node beside its place.
_BESIDE = 0.3
#: A corner turns by at least this (radians), …
_LEAST_TURN = math.radians(20.0)
#: … and so many times as much as the curve does at its neighbours.
_SHARPER = 2.5
#: Points on a smooth line lie about so far apart (mm).
_STEP = 0.75
#: Two ends of lines that would meet at less than this (radians) meet halfway between the ends if
#: these lie no further apart than this (mm): where such lines cross is known far worse.
_NARROW = math.radians(45.0)
_SAME_END = 0.75


def hand_set(lines: Sequence[Points], *, closed: bool) -> list[Points]:
    """Return lines with those that a hand has set node by node made smooth.

    Args:
        lines: each of shape (n,), in true mm, closed ones without their first point again.
        closed: whether they are closed.
    """
    found = list(lines)
    for k in np.flatnonzero(diagonals(lines) >= _SMALLEST).tolist():
        if 3 <= len(found[k]) <= _MOST_NODES and _is_set(found[k]):
            found[k] = through_nodes(found[k], closed=closed)
    return found


def _is_set(line: Points) -> bool:
    return float(np.median(np.abs(np.diff(line)))) >= _APART


def through_nodes(nodes: Points, *, closed: bool) -> Points:
    """Return points along the smooth line through nodes, straight between two corners.

    Args:
        nodes: shape (n,), in mm.
        closed: whether the last is joined to the first.
    """
    nodes = without_repeats(nodes)
    corner = _corners(nodes, closed=closed)
    if closed and not corner.any():
        # Anywhere will do: the line goes on there as elsewhere.
        padded = np.concatenate([nodes[-3:], nodes, nodes[:4]])
        return _run(padded)[1][3 : len(nodes) + 3].ravel()
    if closed:
        first = int(np.argmax(corner))
        nodes = np.roll(nodes, -first)
        nodes, corner = np.append(nodes, nodes[0]), np.append(np.roll(corner, -first), True)
    at = np.flatnonzero(corner)
    parts = [_run(nodes[a : b + 1])[0] for a, b in itertools.pairwise(at)]
    whole = np.concatenate([part[:-1] for part in parts])
    return whole if closed else np.append(whole, nodes[-1])


def _corners(nodes: Points, *, closed: bool) -> Flags:
    """Tell which nodes are corners; the ends of an open line are."""
    whole = np.concatenate([nodes[-1:], nodes, nodes[:1]]) if closed else nodes
    ways = np.diff(whole)
    sizes = np.abs(ways)
    turns = np.angle(ways[1:] * np.conj(ways[:-1]))
    around = (sizes[1:] + sizes[:-1]) / 2
    most = (4 * _BOW + 2 * _BESIDE) * (1 / sizes[1:] + 1 / sizes[:-1])
    bend = turns / around
    # How a curve bends at the nodes beside it: a corner there says nothing of that.
    bend = np.where(np.abs(turns) > np.maximum(most, _LEAST_TURN), 0.0, bend)
    beside = _beside(bend, closed=closed)
    expected = np.maximum(np.sign(turns) * beside, 0.0).max(axis=0) * around
    sharp = (np.abs(turns) > most) | (np.abs(turns) > _SHARPER * expected + 4 * _BESIDE / around)
    corner = sharp & (np.abs(turns) >= _LEAST_TURN)
    return corner if closed else np.concatenate([[True], corner, [True]])


def _beside(values: Numbers, *, closed: bool) -> Numbers:
    """Return the values before and after each, shape (2, n)."""
    before, after = np.roll(values, 1), np.roll(values, -1)
    if not closed:
        before[:1] = after[-1:] = 0.0
    return np.stack([before, after])


def _run(nodes: Points) -> tuple[Points, Points]:
    """Return points on the smooth line through nodes, from the first to the last.

    Returns:
        The points; and as many on every way between two nodes, shape (n - 1, m), the last of
        each left out.
    """
    ways = np.diff(nodes)
    sizes = np.abs(ways)
    if len(nodes) == 2:
        return nodes, nodes[:1, None]
    units = ways / sizes
    inner = _tangents(units, sizes)
    first = units[0] * units[0] * np.conj(inner[0])
    last = units[-1] * units[-1] * np.conj(inner[-1])
    tangents = np.concatenate([[first], inner, [last]])
    leaving = np.angle(tangents[:-1] * np.conj(units))
    arriving = np.angle(tangents[1:] * np.conj(units))
    # No curve lies further beside its chord: a straight way stays one beside a curve.
    bow = np.maximum((np.abs(leaving) + np.abs(arriving)) * sizes / 8, 1e-12)
    share = np.minimum(1.0, _BOW / bow)
    b = nodes[:-1] + units * np.exp(1j * leaving * share) * sizes / 3
    c = nodes[1:] - units * np.exp(1j * arriving * share) * sizes / 3
    count = max(2, round(float(sizes.max()) / _STEP))
    t = np.arange(count) / count
    s = 1.0 - t
    points = (
        np.outer(nodes[:-1], s**3)
        + np.outer(b, 3 * s * s * t)
        + np.outer(c, 3 * s * t * t)
        + np.outer(nodes[1:], t**3)
    )
    return np.append(points.ravel(), nodes[-1]), points


def _tangents(units: Points, sizes: Numbers) -> Points:
    """Return the tangents at the inner nodes of a line.

    Args:
        units: the directions of the ways between its nodes, shape (n,).
        sizes: their lengths, in mm.
    """
    before, after = sizes[:-1], sizes[1:]
    bend = np.angle(units[1:] * np.conj(units[:-1]))
    # On a circle the tangent turns from the chords as their lengths. But nodes stand close where
    # a line is round: the longer of two chords is the straighter.
    turn = bend * before / (before + after)
    longer = np.maximum(before, after)
    most = 4 * _BOW * np.minimum(1.0, 2.0 * np.minimum(before, after) / longer) / longer
    from_first = np.clip(turn, -most, most)
    from_second = bend - np.clip(bend - turn, -most, most)
    return np.asarray(units[:-1] * np.exp(1j * np.where(before >= after, from_first, from_second)))


def with_shared_ends(strokes: Sequence[Points]) -> list[Points]:
    """Return open lines of which ends that nearly lie on one another, as at a dart's point, do.

    Two lines that run side by side toward their ends cross at a place that depends on every
    tenth of a millimetre; halfway between the ends is known as well as the ends are.

    Args:
        strokes: each of shape (n,), in true mm.
    """
    found = [stroke.copy() for stroke in strokes]
    ends = [(k, last) for k, stroke in enumerate(found) if len(stroke) > 1 for last in (0, -1)]
    if not ends:
        return found
    tips = np.array([found[k][last] for k, last in ends])
    inward = np.array([_inward(found[k], at_end=last == -1) for k, last in ends])
    away = np.abs(tips[:, None] - tips[None, :])
    np.fill_diagonal(away, np.inf)
    nearest = away.argmin(axis=1)
    for one, other in enumerate(nearest.tolist()):
        if other < one or nearest[other] != one or away[one, other] > _SAME_END:
            continue
        angle = abs(float(np.angle(inward[one] * np.conj(inward[other]))))
        if angle <= _NARROW and ends[one][0] != ends[other][0]:
            for number in (one, other):
                stroke, last = ends[number]
                found[stroke][last] = (tips[one] + tips[other]) / 2
    return found


def _inward(stroke: Points, *, at_end: bool) -> complex:
    """Return the direction in which a line leaves its end."""
    line = stroke[::-1] if at_end else stroke
    far = np.flatnonzero(np.abs(line - line[0]) >= 5.0)
    return complex(line[far[0]] - line[0]) if len(far) else complex(line[-1] - line[0])
