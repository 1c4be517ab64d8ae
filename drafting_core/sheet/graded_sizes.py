"""How truly one size is another, stretched: sizes are graded by moving points in proportion.

(Common practice: of real patterns it holds more or less.) An affine map takes a size nearly to the
next one, but not to an outline that is made of pieces of several.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from drafting_core.ink.polylines import Numbers, Points, diagonal, resampled

#: Sizes miss each other, one stretched upon the next, by at most this (mm).
GRADED = 0.3
#: Outlines are compared without the points by which they would stray by less than this (mm).
SIMPLE = 0.2
#: They are laid upon each other in steps of such a part of their size, in so many rounds.
_GRADE_PARTS, _ROUNDS = 120, 5
#: After so many rounds those that miss each other by far are left.
_EARLY = 2
#: The largest distance counts by this part; sizes that are so far off at first (mm) are none.
_OF_MOST, _NEVER = 0.15, 4.0
#: How little a size is stretched where nothing tells (part of the points).
_STIFF = 1e-4


def graded_apart(one: Points, other: Points) -> float:
    """Return how far a size misses another that is stretched to fit it best (mm).

    Sizes are graded by moving every point in proportion, more or less (common practice): an affine
    map takes one nearly to the next, but not to one that is made of pieces of several.

    Args:
        one: closed, its corners among its points; shape (n,).
        other: the same.

    Returns:
        The root of the mean square distance, and of a part of the largest, both ways.
    """
    step = diagonal(one) / _GRADE_PARTS
    source, target = (resampled(ring, step, closed=True) for ring in (one, other))
    # At first the boxes about both are laid upon each other.
    box = _box_to_box(source, target)
    moved, corners = box(source), box(one)
    on, _way = nearest_places(other, moved)
    if np.sqrt(np.mean(np.abs(on - moved) ** 2)) > _NEVER:
        return _NEVER
    for number in range(_ROUNDS):
        on, way = nearest_places(other, moved)
        away = np.abs(on - moved)
        if number == _EARLY and np.sqrt(np.mean(away**2)) > _NEVER * GRADED:
            break
        # A place may slide along the line that it lies on: what counts is how far it is beside.
        across = 1j * way
        off = ((on - moved) * np.conj(across)).real
        base = np.column_stack([moved.real, moved.imag, np.ones(len(moved))])
        rows = np.hstack([base * across.real[:, None], base * across.imag[:, None]])
        fit: Numbers = np.asarray(np.linalg.lstsq(rows, off, rcond=1e-9)[0], dtype=np.float64)
        moved, corners = _mapped(moved, fit), _mapped(corners, fit)
    away = np.abs(nearest_places(other, moved)[0] - moved)
    back = np.abs(nearest_places(corners, target)[0] - target)
    most = max(float(away.max()), float(back.max()))
    return float(np.hypot(np.sqrt(np.mean(away**2)), _OF_MOST * most))


def _mapped(places: Points, fit: Numbers) -> Points:
    """Return places moved by what an affine map of them says, x and y; fit: shape (6,)."""
    base = np.column_stack([places.real, places.imag, np.ones(len(places))])
    return np.asarray(places + base @ fit[:3] + 1j * (base @ fit[3:]))


def with_fewer_points(ring: Points, least: float) -> Points:
    """Return the points of a closed line without which it would stray by more than said (mm).

    Ramer 1972, Douglas and Peucker 1973, from two points far from each other.
    """
    first = int(np.argmax(np.abs(ring - ring.mean())))
    line = np.concatenate([ring[first:], ring[: first + 1]])
    middle = int(np.argmax(np.abs(line - line[0])))
    kept = {0, middle, len(line) - 1}
    left = [(0, middle), (middle, len(line) - 1)]
    while left:
        start, stop = left.pop()
        if stop - start < 2:
            continue
        chord = line[stop] - line[start]
        inner = line[start + 1 : stop] - line[start]
        share = np.clip((inner * np.conj(chord)).real / max(abs(chord) ** 2, 1e-12), 0.0, 1.0)
        away = np.abs(inner - share * chord)
        worst = int(np.argmax(away))
        if away[worst] > least:
            at = start + 1 + worst
            kept.add(at)
            left += [(start, at), (at, stop)]
    return np.asarray(line[sorted(kept)[:-1]])


def stretched(ring: Points, one: Points, other: Points, *, closed: bool = False) -> Points:
    """Return a closed line as it is stretched when a part of it is laid upon another line.

    Args:
        ring: the closed line, shape (n,).
        one: the part of it.
        other: the line that it is laid upon, where both go on.
        closed: whether the part and that line are closed too.
    """
    centre, size = ring.mean(), diagonal(ring)
    part = resampled(one, size / _GRADE_PARTS, closed=closed)
    line = other if closed else other[:: max(1, len(other) // 400)]
    base = np.column_stack([(part - centre).real / size, (part - centre).imag / size,
                            np.ones(len(part))])  # fmt: skip
    shift = np.zeros((3, 2))
    # Where a part tells little, all that can be told is that little is stretched.
    hold = np.diag([_STIFF, _STIFF, 0.0]) * len(part)
    for _round in range(2 * _ROUNDS):
        x, y = (base @ shift).T
        moved = part + x + 1j * y
        nearest, _way = nearest_places(line, moved, closed=closed)
        ends = np.minimum(np.abs(nearest - line[0]), np.abs(nearest - line[-1])) < 1e-6
        used = np.ones(len(part), dtype=np.bool_) if closed else ~ends
        if used.sum() < 4:
            break
        wanted = (nearest - part)[used]
        a = base[used]
        shift = np.linalg.solve(a.T @ a + hold, a.T @ np.column_stack([wanted.real, wanted.imag]))
    away = ring - centre
    x, y = (np.column_stack([away.real / size, away.imag / size, np.ones(len(ring))]) @ shift).T
    return np.asarray(ring + x + 1j * y)


def _box_to_box(source: Points, target: Points) -> Callable[[Points], Points]:
    """Return the map that takes the box about points to that about others."""
    scales = [np.ptp(its) / np.ptp(part) for part, its in
              ((source.real, target.real), (source.imag, target.imag))]  # fmt: skip

    def mapped(points: Points) -> Points:
        x = (points.real - source.real.min()) * scales[0] + target.real.min()
        y = (points.imag - source.imag.min()) * scales[1] + target.imag.min()
        return np.asarray(x + 1j * y)

    return mapped


def nearest_places(ring: Points, places: Points, *, closed: bool = True) -> tuple[Points, Points]:
    """Return the nearest places on a line, and its directions there."""
    along = np.roll(ring, -1) - ring
    if not closed:
        ring, along = ring[:-1], along[:-1]
    away = places[:, None] - ring[None, :]
    share = np.clip((away * np.conj(along)).real / np.abs(along) ** 2, 0.0, 1.0)
    on = ring + share * along
    number = np.abs(on - places[:, None]).argmin(axis=1)
    way = along[number] / np.abs(along[number])
    return np.asarray(on[np.arange(len(places)), number]), np.asarray(way)
