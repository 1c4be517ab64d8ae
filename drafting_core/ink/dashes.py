"""Dashes and dots chained to lines: each end goes on to that end of another in its direction.

A dash is a small contour, long and narrow, without anything in it; a dot is as long as it is wide.
A chain has at least three of them: a lone one is a letter's stroke or a speck. A dash that goes
round a corner is bent; letters are too, so it counts only between two others.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.pen_line import length_round, mean_width
from drafting_core.ink.polylines import NearPoints, Numbers, Points, area_of, diagonal, resampled

#: Specks smaller than this (mm) are no dots of a line.
LEAST = 0.2
#: The longest and the widest dash, in mm.
LONGEST, _WIDEST = 26.0, 2.6
#: A dash fills at least this part of the box along it.
_FILLS = 0.42
#: What is less long than so many times its width has no direction that can be told.
_HAS_DIRECTION = 1.8
#: … nor what is shorter than this (mm).
_LEAST_DASH = 1.3
#: The gap after a dash is at most so many times its length, or of the longer of both, …
_GAP_SHARE = 1.25
#: … and at least this is allowed (mm), and at most this.
_GAP_LEAST, _GAP_MOST = 3.2, 10.0
#: A dash goes on in its direction, give or take this (radians); between dots a line turns less.
_TURN = math.radians(38.0)
_DOTS_TURN = math.radians(34.0)
#: A dash goes on to a dot, its like but for its length, with less of a turn: it may be a speck.
_TO_DOT = math.radians(20.0)
#: The edges of all else are looked at in such steps (mm).
_EDGE_STEP = 0.5
#: What turns by less than this (radians) goes straight on, whatever else is there.
_STRAIGHT_ON = math.radians(15.0)
#: A bent dash is at least so many times as long as wide; its edges are so many widths apart at
#: most, and its two arms are at least this part of its length: it has one corner.
_LEAST_BENT, _EDGES_APART, _TWO_ARMS = 4.0, 3.2, 0.86
#: Its direction at an end is that of its ink between so many widths from there.
_ARM = (1.0, 2.5)
#: The width of a bent dash and of short remains, in that of the other dashes.
_BENT_WIDTH, _SHORT_WIDTH = (0.6, 1.6), (0.5, 1.8)
#: A chain has so many pieces at least, and is so long (mm).
_LEAST_PIECES, _LEAST_LENGTH = 3, 12.0
#: Dots are at least so wide (mm), and apart as they usually are, give or take this part of it.
_LEAST_DOT = 0.12
_UNEVEN = 0.45
#: Gaps are the same give or take this part; where a line of dots ends, so much speaks against it.
_SAME_GAP, _ENDS_THERE = 0.25, 1.2
#: Dots of one line are alike: between these parts of the usual size.
_ALIKE = (0.55, 1.8)


class Dash(NamedTuple):
    """A dash or a dot.

    Attributes:
        number: of its contour.
        ends: the ends of its middle line, in mm.
        outs: the directions in which it goes on at them.
        length: of that line in mm.
        width: of its ink in mm.
        is_dot: whether its direction cannot be told.
    """

    number: int
    ends: tuple[complex, complex]
    outs: tuple[complex, complex]
    length: float
    width: float
    is_dot: bool


class Chain(NamedTuple):
    """Dashes that are one line.

    Attributes:
        numbers: of the contours, in order.
        bridges: the ways from each to the next, as their two ends in mm.
        period: the usual length of a dash and the gap after it, in mm.
    """

    numbers: tuple[int, ...]
    bridges: tuple[tuple[complex, complex], ...]
    period: float


def dash_of(contour: Points, number: int) -> Dash | None:
    """Return a small contour as a dash, or None where it is none."""
    area = abs(area_of(contour))
    centre = complex(contour.real.min() + contour.real.max(),
                     contour.imag.min() + contour.imag.max()) / 2  # fmt: skip
    away = contour - centre
    axis = np.sqrt(complex(np.mean(away**2)))
    axis = axis / abs(axis) if abs(axis) > 1e-9 else 1.0 + 0j
    along, across = (away * np.conj(axis)).real, (away * np.conj(axis)).imag
    reach, breadth = float(np.ptp(along)), float(np.ptp(across))
    if reach < breadth:
        axis, along, across, reach, breadth = axis * 1j, across, -along, breadth, reach
    if breadth <= 0 or reach > LONGEST or area < _FILLS * reach * breadth:
        return None
    width = min(breadth, area / reach)
    if width > _WIDEST or breadth > max(_WIDEST, 0.25 * reach):
        return None
    is_dot = reach < max(_HAS_DIRECTION * breadth, _LEAST_DASH)
    if is_dot:
        return Dash(number, (centre, centre), (0j, 0j), 0.0, width, True)
    ends = []
    for place in (along.min(), along.max()):
        near = np.abs(along - place) <= max(width, 0.05 * reach)
        inward = width / 2 if place < 0 else -width / 2
        ends.append(centre + axis * (place + inward + 1j * float(np.mean(across[near]))))
    way = complex(ends[1] - ends[0])
    return Dash(number, (complex(ends[0]), complex(ends[1])), (-way, way), abs(way), width, False)


def bent_dash_of(contour: Points, number: int) -> Dash | None:
    """Return a small contour as a dash that goes round a corner, or None where it is none."""
    width = mean_width(abs(area_of(contour)), length_round(contour))
    if not 0.0 < width <= _WIDEST or diagonal(contour) < _LEAST_BENT * width / 2:
        return None
    edge = resampled(contour, width / 4, closed=True)
    step = length_round(edge) / len(edge)
    half = len(edge) // 2
    length = half * step - width
    if not _LEAST_BENT * width <= length <= 2 * LONGEST:
        return None
    edge = np.roll(edge, -int(np.argmax(np.abs(edge - edge.mean()))))
    near, far = (max(1, round(widths * width / step)) for widths in _ARM)
    # The edge inside of the corner is the shorter one: the other tip is not half-way round.
    corner = _corner_of(_sides(edge, half).mean(axis=0))
    around = np.arange(half - 2 * near, half + 2 * near + 1)
    sides = _sides(edge, int(around[np.argmax(np.abs(edge[around] - corner))]))
    middle = sides.mean(axis=0)
    corner, tips = _corner_of(middle), middle[[0, -1]]
    outs = tips - np.array([middle[near:far].mean(), middle[-far:-near].mean()])
    if (
        float(np.abs(sides[0] - sides[1]).max()) > _EDGES_APART * width
        or float(np.abs(tips - corner).sum()) < _TWO_ARMS * (length + width)
        or float(np.abs(outs).min()) < 1e-9
    ):
        return None
    ends = tips - width / 2 * outs / np.abs(outs)
    return Dash(number, (complex(ends[0]), complex(ends[1])), (complex(outs[0]), complex(outs[1])),
                length, width, False)  # fmt: skip


def _sides(edge: Points, tip: int) -> Points:
    """Return both edges of a stroke from its first point to its other tip; shape (2, n)."""
    places = np.linspace(0.0, 1.0, len(edge) // 2 + 1)
    both = edge[: tip + 1], np.concatenate([edge[:1], edge[tip:][::-1]])
    return np.stack([np.interp(places, np.linspace(0.0, 1.0, len(one)), one) for one in both])


def _corner_of(middle: Points) -> complex:
    """Return the point of a line that is farthest from the chord between its ends."""
    return complex(middle[np.argmax(np.abs(((middle - middle[0])
                                            * np.conj(middle[-1] - middle[0])).imag))])  # fmt: skip


def chains(contours: Sequence[Points]) -> list[Chain]:
    """Chain small contours to dashed and dotted lines.

    Args:
        contours: closed, each of shape (n,), in mm, none within another.
    """
    found = [dash_of(contour, number) for number, contour in enumerate(contours)]
    dashes = [dash for dash in found if dash is not None and not dash.is_dot]
    dots = [dash for dash in found if dash is not None and dash.is_dot]
    pieces, links = _dashed(contours, found, dashes, dots) if dashes else ([], [])
    chained = _chains(pieces, links)
    used = {number for chain in chained for number in chain.numbers}
    rest = [dot for dot in dots if dot.number not in used and dot.width > _LEAST_DOT]
    return chained + _dotted(rest)


def _dashed(
    contours: Sequence[Points],
    found: Sequence[Dash | None],
    dashes: Sequence[Dash],
    dots: Sequence[Dash],
) -> tuple[list[Dash], list[_Link]]:
    """Return the pieces of dashed lines, and the links by which they are lines.

    Args:
        contours: all small contours.
        found: what each is: a straight dash, a dot, or None for anything else.
        dashes: the straight dashes, at least one.
        dots: the dots.
    """
    usual = float(np.median([dash.width for dash in dashes]))
    others = [
        bent_dash_of(contour, number)
        for number, contour in enumerate(contours)
        if found[number] is None
    ]
    bent = [d for d in others if d is not None and _is_within(d.width / usual, _BENT_WIDTH)]
    # Short remains of dashes at the ends of a line.
    short = [dot for dot in dots if _is_within(dot.width / usual, _SHORT_WIDTH)]
    pieces = {dash.number for dash in (*dashes, *dots, *bent)}
    edges = [
        resampled(contour, _EDGE_STEP, closed=True)
        for number, contour in enumerate(contours)
        if number not in pieces
    ]
    obstacles = np.concatenate(edges) if edges else np.zeros(0, dtype=np.complex128)
    return _linked(dashes, bent, short, obstacles)


def _is_within(number: float, bounds: tuple[float, float]) -> bool:
    return bounds[0] <= number <= bounds[1]


class _Link(NamedTuple):
    """That an end of one piece goes on to an end of another, and what speaks against it."""

    to_dot: bool
    cost: float
    one: tuple[int, int]
    other: tuple[int, int]


def _linked(
    dashes: Sequence[Dash], bent: Sequence[Dash], short: Sequence[Dash], obstacles: Points
) -> tuple[list[Dash], list[_Link]]:
    """Return dashes with those bent and short ones, and the links by which they are lines.

    Args:
        dashes: the straight ones.
        bent: those round a corner.
        short: dots that may be their remains.
        obstacles: the edges of all else: where lines meet, letters; shape (n,).
    """
    pieces = [*dashes, *bent, *short]
    options = sorted(_options(pieces, obstacles))
    left_out: set[int] = set()
    while True:
        links = []
        taken: set[tuple[int, int]] = set()
        beside: dict[int, list[complex]] = {}
        for link in options:
            if link.one in taken or link.other in taken:
                continue
            taken |= {link.one, link.other}
            links.append(link)
            for (one, end), (other, its_end) in ((link.one, link.other), (link.other, link.one)):
                way = pieces[other].ends[its_end] - pieces[one].ends[end]
                beside.setdefault(one, []).append(way)
        strange = {
            number
            for number, ways in beside.items()
            if number >= len(dashes)
            and (_turns_at_dot(ways) if pieces[number].is_dot else len(ways) < 2)
        }
        if not strange:
            return pieces, links
        left_out |= strange
        options = [
            link
            for link in options
            if link.one[0] not in left_out and link.other[0] not in left_out
        ]


def _turns_at_dot(ways: Sequence[complex]) -> bool:
    """Tell whether a line turns more at a dot than lines do: a speck beside a corner."""
    return len(ways) == 2 and abs(float(np.angle(-ways[0] / ways[1]))) > _TURN


def _options(pieces: Sequence[Dash], obstacles: Points) -> list[_Link]:
    """Return which ends of dashes may go on to which, by their places in the list."""
    tips = np.array([end for piece in pieces for end in piece.ends], dtype=np.complex128)
    if len(tips) < 2:
        return []
    is_dot = np.repeat([piece.is_dot for piece in pieces], 2)
    outs = np.array([out for piece in pieces for out in piece.outs], dtype=np.complex128)
    outs = np.where(is_dot, 1.0, outs / np.maximum(np.abs(outs), 1e-9))
    lengths = np.repeat([piece.length for piece in pieces], 2)
    widths = np.repeat([piece.width for piece in pieces], 2)
    # Two dots are no part of a dashed line: each is looked for beside dashes alone.
    ends = np.flatnonzero(~is_dot)
    if not len(ends):
        return []
    near, b = NearPoints(tips, _GAP_MOST).pairs(tips[ends])
    a = ends[near]
    apart = (a // 2 != b // 2) & ((a < b) | is_dot[b])
    a, b = a[apart], b[apart]
    gap = tips[b] - tips[a]
    size = np.abs(gap)
    most = _GAP_SHARE * np.maximum(lengths[a], lengths[b]) + (widths[a] + widths[b]) / 2
    bends = np.abs(np.angle(gap / outs[a])), np.abs(np.angle(-gap / outs[b]))
    bends = bends[0], np.where(is_dot[b], 0.0, bends[1])
    limit = np.where(is_dot[b], _TO_DOT, _TURN)
    fits = (size <= np.minimum(np.maximum(_GAP_LEAST, most), _GAP_MOST)) & (size >= 1e-9)
    fits &= (bends[0] <= limit) & (bends[1] <= limit)
    cost = size * (1.0 + 2.0 * (bends[0] + bends[1]))
    aside = [(bend > _STRAIGHT_ON) & fits for bend in bends]
    for first, second, turns in ((a, b, aside[0]), (b, a, aside[1])):
        for k in np.flatnonzero(turns).tolist() if len(obstacles) else ():
            end, to = int(first[k]), int(second[k])
            ahead = (obstacles - tips[end]) * outs[end].conjugate()
            strip = (ahead.real > 0) & (np.abs(ahead.imag) <= widths[end])
            # A line does not turn to a place where its dash leads to something else.
            fits[k] &= not (strip & (ahead.real < abs(tips[to] - tips[end]))).any()
    return [
        _Link(bool(is_dot[y]), c, (x // 2, x % 2), (y // 2, y % 2))
        for x, y, c in zip(a[fits].tolist(), b[fits].tolist(), cost[fits].tolist(), strict=True)
    ]


def _chains(dashes: Sequence[Dash], links: Sequence[_Link]) -> list[Chain]:
    to: dict[tuple[int, int], tuple[int, int]] = {}
    for link in links:
        to[link.one], to[link.other] = link.other, link.one
    done: set[int] = set()
    found = []
    starts = [(k, e) for k in range(len(dashes)) for e in (0, 1) if (k, e) not in to]
    # Closed lines have no such start.
    starts += [(k, 0) for k in range(len(dashes))]
    for start in starts:
        if start[0] in done:
            continue
        chain, bridges, end = [start[0]], [], (start[0], 1 - start[1])
        done.add(start[0])
        while end in to:
            following = to[end]
            bridges.append((dashes[end[0]].ends[end[1]], dashes[following[0]].ends[following[1]]))
            if following[0] in done:
                break
            done.add(following[0])
            chain.append(following[0])
            end = (following[0], 1 - following[1])
        pieces = [dashes[k] for k in chain]
        length = sum(piece.length for piece in pieces) + sum(abs(b - a) for a, b in bridges)
        if len(pieces) >= _LEAST_PIECES and length >= _LEAST_LENGTH:
            gaps: Numbers = np.array([abs(b - a) for a, b in bridges])
            period = float(np.median([piece.length for piece in pieces]) + np.median(gaps))
            found.append(Chain(tuple(p.number for p in pieces), tuple(bridges), period))
    return found


def _dotted(dots: Sequence[Dash]) -> list[Chain]:
    """Chain dots: each goes on to those two that lie most evenly on opposite sides of it."""
    if len(dots) < 2 * _LEAST_PIECES:
        return []
    usual = float(np.median([dot.width for dot in dots]))
    alike = [d for d in dots if _ALIKE[0] * usual <= d.width <= _ALIKE[1] * usual]
    places = np.array([dot.ends[0] for dot in alike], dtype=np.complex128)
    if len(places) < 2 * _LEAST_PIECES:
        return []
    which, others = NearPoints(places, _GAP_MOST).pairs(places)
    real = which != others
    which, others = which[real], others[real]
    gap = _usual_gap(np.abs(places[which] - places[others]), which, len(places))
    near = np.abs(np.abs(places[which] - places[others]) - gap) <= _UNEVEN * gap
    which, others = which[near], others[near]
    cost = _evenness(places, which, others, gap)
    beside: list[list[int]] = [[] for _ in places]
    for k in np.argsort(cost, kind="stable").tolist():
        a, b = int(which[k]), int(others[k])
        if a >= b or not np.isfinite(cost[k]):
            continue
        if all(_goes_on(places, x, y, beside[x]) for x, y in ((a, b), (b, a))):
            beside[a].append(b)
            beside[b].append(a)
    for first in range(len(places)):
        if len(beside[first]) == 1:
            _go_on(places, beside, first, gap)
    return _dotted_chains(alike, places, beside)


def _usual_gap(apart: Numbers, which: Numbers, count: int) -> float:
    """Return how far dots of a line usually lie from the next, in mm, whatever specks lie about."""
    nearest = np.full(count, np.inf)
    np.minimum.at(nearest, which.astype(np.int64), apart)
    known = np.sort(nearest[np.isfinite(nearest)])
    if not len(known):
        return 0.0
    like = np.searchsorted(known, known * (1.0 + _SAME_GAP)) - np.arange(len(known))
    first = int(np.argmax(like))
    return float(np.median(known[first : first + int(like[first])]))


def _evenness(places: Points, which: Numbers, others: Numbers, gap: float) -> Numbers:
    """Return what speaks against each of pairs of dots that follow each other in a line.

    Nothing does where the line goes on beyond both of them, straight and as far; all does (inf)
    where it does beyond neither. Shape (n,), like the pairs.
    """
    order = np.argsort(which, kind="stable")
    first = np.searchsorted(which[order], np.arange(len(places) + 1))
    # Each pair with all that follow it: from its other dot on.
    counts = np.diff(first)[others]
    pair = np.repeat(np.arange(len(which)), counts)
    starts = np.repeat(first[others] - np.concatenate([[0], np.cumsum(counts)[:-1]]), counts)
    following = order[np.arange(len(pair)) + starts]
    way = places[others] - places[which]
    turn = np.abs(np.angle(way[following] / way[pair]))
    uneven = turn + np.abs(np.abs(way[following]) - np.abs(way[pair])) / gap
    best = np.full(len(which), _ENDS_THERE)
    straight = turn <= _DOTS_TURN
    np.minimum.at(best, pair[straight], uneven[straight])
    numbers = {pair: k for k, pair in enumerate(zip(which.tolist(), others.tolist(), strict=True))}
    back = np.array([numbers[b, a] for a, b in zip(which.tolist(), others.tolist(), strict=True)],
                    dtype=np.int64)  # fmt: skip
    cost = best + best[back] if len(which) else best
    return np.where((best >= _ENDS_THERE) & (cost >= 2 * _ENDS_THERE), np.inf, cost)


def _go_on(places: Points, beside: list[list[int]], end: int, gap: float) -> None:
    """Chain more dots to the end of a row, each where the row leads to; one may be missing."""
    while len(beside[end]) == 1:
        row = [end]
        while len(row) < 4:
            back = [k for k in beside[row[-1]] if k not in row]
            if not back:
                break
            row.append(back[0])
        way = (places[row[0]] - places[row[-1]]) / (len(row) - 1)
        way *= gap / abs(way)
        for steps, reach in ((1, 0.5), (2, 0.7)):
            away = np.abs(places - (places[end] + steps * way))
            away[row] = np.inf
            following = int(np.argmin(away))
            if away[following] <= reach * gap and len(beside[following]) < 2:
                break
        else:
            return
        if not _goes_on(places, following, end, beside[following]):
            return
        beside[end].append(following)
        beside[following].append(end)
        if len(beside[following]) == 2:
            return
        end = following


def _goes_on(places: Points, dot: int, other: int, beside: Sequence[int]) -> bool:
    if not beside:
        return True
    if len(beside) > 1:
        return False
    back, on = places[beside[0]] - places[dot], places[other] - places[dot]
    return abs(float(np.angle(-on / back))) <= _DOTS_TURN


def _dotted_chains(
    dots: Sequence[Dash], places: Points, beside: Sequence[Sequence[int]]
) -> list[Chain]:
    done: set[int] = set()
    found = []
    order = sorted(range(len(dots)), key=lambda k: len(beside[k]))
    for first in order:
        if first in done or not beside[first]:
            continue
        chain, bridges, at = [first], [], first
        done.add(first)
        while True:
            following = [k for k in beside[at] if k not in done]
            if not following:
                if len(chain) > 2 and first in beside[at]:
                    bridges.append((complex(places[at]), complex(places[first])))
                break
            bridges.append((complex(places[at]), complex(places[following[0]])))
            at = following[0]
            done.add(at)
            chain.append(at)
        gaps = [abs(b - a) for a, b in bridges]
        if len(chain) >= 2 * _LEAST_PIECES and sum(gaps) >= _LEAST_LENGTH:
            period = float(np.median(gaps))
            found.append(Chain(tuple(dots[k].number for k in chain), tuple(bridges), period))
    return found
