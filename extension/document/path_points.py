"""Path data of many nodes read at once to points: lines and cubics as tracers write them."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from drafting_core.ink.polylines import Flags, Numbers, Points

Counts = NDArray[np.int64]
#: The map from a path's coordinates: (a, c, e), (b, d, f), as a transform's matrix.
Affine = tuple[tuple[float, float, float], tuple[float, float, float]]

#: A curve becomes at most so many chords …
MOST_CHORDS = 64
#: … and a whole path at most so many points: no pen line has more.
MOST_POINTS = 4_000_000
_NONE, _OF_NUMBER, _LETTER, _OTHER = range(4)
_LETTERS = b"MmLlHhVvCcZz"
#: What stands before every path where several are read at once.
_PATH = "!"
#: How many numbers each letter takes; "Z" takes none, and is done once all the same.
_TAKES = np.zeros(256, dtype=np.int64)
_KINDS = np.full(256, _OTHER, dtype=np.uint8)
_KINDS[list(b" ,\n\r\t")] = _NONE
_KINDS[list(b"0123456789.-eE")] = _OF_NUMBER
_KINDS[list(_LETTERS)] = _LETTER
for _letter, _taken in (("m", 2), ("l", 2), ("h", 1), ("v", 1), ("c", 6), ("z", 1)):
    _TAKES[[ord(_letter), ord(_letter.upper())]] = _taken
_KINDS[ord(_PATH)] = _LETTER
_TO_SPACES = bytes(32 if code in _LETTERS + b",!" else code for code in range(256))


class SubpathPoints(NamedTuple):
    """One subpath as points.

    Attributes:
        points: along it, none of them twice in a row; of a closed one the first is not repeated;
            shape (n,).
        closed: whether it closes or ends where it starts.
        nodes: how many nodes it was drawn with.
    """

    points: Points
    closed: bool
    nodes: int


class _Commands(NamedTuple):
    """The commands of a path one by one, each with the place where it ends.

    Attributes:
        letters: their lower-case letters, shape (n,).
        paths: the number of the path that each belongs to; shape (n,).
        ends: where they end; shape (n,).
        controls: the two handles of every curve; shape (curves, 2).
    """

    letters: NDArray[np.uint8]
    paths: Counts
    ends: Points
    controls: Points


def simple_points(
    data: Sequence[str], to: Affine, chord: float, same: float
) -> list[list[SubpathPoints]] | None:
    """Return the subpaths of paths of simple data as points, mapped.

    Simple is what tracers write: M, L, H, V, C and Z of either case, numbers with a space, a
    comma or a sign between them, and a moveto at the beginning of every subpath.

    Args:
        data: the data of paths that are mapped alike.
        to: the map of their coordinates.
        chord: curves are followed in chords of about this length, measured after the map.
        same: ends this near to each other, measured after the map, are one.

    Returns:
        The subpaths of each that have any length, or None where data is not simple, such as
        faulty.

    Raises:
        TooManyPointsError: if there are more than `MOST_POINTS`.
    """
    found: list[list[SubpathPoints]] = [[] for _ in data]
    commands = _mapped_commands(data, to)
    if commands is None or not len(commands.letters):
        return None if commands is None else found
    for path, subpath in _subpaths(commands, chord, same):
        found[path].append(subpath)
    return found


def reach_to_the_right(data: str, to: Affine) -> float | None:
    """Return how far right a path's nodes and handles reach once mapped.

    Returns:
        None where its data is not simple, or it has no nodes.
    """
    commands = _mapped_commands([data], to)
    if commands is None or not len(commands.letters):
        return None
    reach = float(commands.ends.real.max())
    return max(reach, float(commands.controls.real.max())) if len(commands.controls) else reach


def _mapped_commands(data: Sequence[str], to: Affine) -> _Commands | None:
    """Return the commands of simple path data with places mapped, or None."""
    commands = None if any(_PATH in one for one in data) else _commands(data)
    if commands is None or to == ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)):
        return commands
    (a, c, e), (b, d, f) = to
    ends, controls = (
        (a * z.real + c * z.imag + e) + 1j * (b * z.real + d * z.imag + f)
        for z in (commands.ends, commands.controls)
    )
    return commands._replace(ends=ends, controls=controls)


class TooManyPointsError(ValueError):
    """A path is longer in nodes than anything that a pen draws."""


def _commands(data: Sequence[str]) -> _Commands | None:
    """Return the commands of simple path data, or None where it is not simple."""
    read = _tokens(data)
    if read is None:
        return None
    letters, counts, values = read
    begins = np.flatnonzero(letters == ord(_PATH))
    if counts[begins].any():
        return None
    paths = np.cumsum(letters == ord(_PATH))[letters != ord(_PATH)] - 1
    is_first = np.append(True, letters[:-1] == ord(_PATH))[letters != ord(_PATH)]
    counts, letters = counts[letters != ord(_PATH)], letters[letters != ord(_PATH)]
    if not len(letters):
        nowhere = np.zeros(0, dtype=np.complex128)
        return _Commands(letters, paths, nowhere, nowhere.reshape(0, 2))
    takes = _TAKES[letters]
    is_end = (letters | 32) == ord("z")
    wrong = np.where(is_end, counts != 0, (counts == 0) | (counts % takes != 0))
    if wrong.any():
        return None
    times = np.where(is_end, 1, counts // takes)
    number = np.repeat(np.arange(len(letters)), times)
    first = np.cumsum(times) - times
    repeated = np.arange(number.size) - first[number]
    each = letters[number]
    # More pairs after a moveto are linetos.
    each = np.where((repeated > 0) & ((each | 32) == ord("m")), each - 1, each).astype(np.uint8)
    at = (np.cumsum(counts) - counts)[number] + repeated * takes[number]
    kinds = each | 32
    moves, closes = kinds == ord("m"), kinds == ord("z")
    begins_path = is_first[number] & (repeated == 0)
    if not moves[begins_path].all() or not moves[1:][closes[:-1]].all():
        return None
    # A path's first moveto says its place, whatever its case.
    is_relative = (each >= ord("a")) & ~begins_path
    return _placed(kinds, is_relative, paths[number], at, values)


def _tokens(data: Sequence[str]) -> tuple[NDArray[np.uint8], Counts, Numbers] | None:
    """Return the letters, how many numbers follow each of them, and all numbers, or None."""
    try:
        raw = (_PATH + _PATH.join(data)).encode("ascii")
    except UnicodeEncodeError:
        return None
    raw = raw.replace(b"-", b" -")
    if b"e" in raw or b"E" in raw:
        raw = raw.replace(b"e -", b"e-").replace(b"E -", b"E-")
    if b",," in raw:
        return None
    kinds = _KINDS[np.frombuffer(raw, dtype=np.uint8)]
    if (kinds == _OTHER).any():
        return None
    in_number = kinds == _OF_NUMBER
    starts = np.flatnonzero(in_number & ~np.concatenate([[False], in_number[:-1]]))
    places = np.flatnonzero(kinds == _LETTER)
    letters = np.frombuffer(raw, dtype=np.uint8)[places]
    del kinds, in_number
    before = np.searchsorted(starts, np.append(places, len(raw)))
    if before[0] != 0:
        return None
    count = len(starts)
    del starts
    with warnings.catch_warnings():
        # Where a number cannot be read it stops with a warning: there are too few then.
        warnings.simplefilter("ignore", DeprecationWarning)
        try:
            text = raw.translate(_TO_SPACES)
            values = np.fromstring(text, sep=" ") if count else np.zeros(0)
        except ValueError:
            return None
    if len(values) != count or not np.isfinite(values).all():
        return None
    return letters, np.diff(before), values


def _placed(
    kinds: NDArray[np.uint8], is_relative: Flags, paths: Counts, at: Counts, values: Numbers
) -> _Commands:
    """Return commands with the places where they end."""
    moves, closes, curves = (kinds == ord(letter) for letter in "mzc")
    flat, upright = kinds == ord("h"), kinds == ord("v")
    # Where a command's x stands among the numbers, and its y.
    last = np.where(curves, 4, 0)
    padded = np.append(values, [0.0, 0.0])
    xs = np.where(upright | closes, 0.0, padded[np.minimum(at + last, len(values))])
    ys = padded[np.minimum(at + np.where(upright, 0, last + 1), len(values))]
    ys = np.where(flat | closes, 0.0, ys)
    x = _running(xs, is_relative | upright, moves, closes)
    y = _running(ys, is_relative | flat, moves, closes)
    ends = x + 1j * y
    chosen = np.flatnonzero(curves)
    pairs = values[at[chosen][:, None] + np.arange(4)]
    controls = pairs[:, ::2] + 1j * pairs[:, 1::2]
    controls += np.where(is_relative[chosen], ends[chosen - 1], 0.0)[:, None]
    return _Commands(kinds, paths, ends, controls)


def _running(values: Numbers, is_relative: Flags, moves: Flags, closes: Flags) -> Numbers:
    """Return one coordinate of the place at which every command ends.

    Args:
        values: what each command says of it, shape (n,).
        is_relative: whether it says so from where it begins.
        moves: whether it begins a subpath.
        closes: whether it closes one: it ends where that began.
    """
    numbers = np.arange(len(values))
    steps = np.where(is_relative & ~moves, values, 0.0)
    sums = np.cumsum(steps)
    last_said = np.maximum.accumulate(np.where(is_relative & ~moves, 0, numbers))
    since = sums - sums[last_said]
    firsts = np.flatnonzero(moves)
    path = np.cumsum(moves) - 1
    lasts = np.append(firsts[1:], len(values)) - 1
    # A subpath begins where it says, or by a step from where the one before it ended, which is
    # where that began, plus what it went since, or a place that it said.
    begun = values[firsts].copy()
    from_before = is_relative[firsts]
    ended = np.where(closes[lasts], 0.0, since[lasts])
    is_said = ~closes[lasts] & ~moves[last_said[lasts]]
    ended[is_said] += values[last_said[lasts]][is_said]
    begun[1:] += np.where(from_before[1:], ended[:-1], 0.0)
    begun = _summed(begun, from_before & ~np.append(False, is_said[:-1]))
    base = np.where(moves[last_said], begun[path], values[last_said])
    return np.asarray(np.where(closes, begun[path], base + since))


def _summed(values: Numbers, goes_on: Flags) -> Numbers:
    """Return running sums that begin anew wherever they do not go on."""
    sums = np.cumsum(values)
    start = np.maximum.accumulate(np.where(goes_on, 0, np.arange(len(values))))
    return np.asarray(sums - sums[start] + values[start])


def _subpaths(
    commands: _Commands, chord: float, same: float
) -> Iterator[tuple[int, SubpathPoints]]:
    """Yield every subpath that has any length, with the number of its path."""
    letters, _paths, ends, controls = commands
    moves, closes = letters == ord("m"), letters == ord("z")
    chosen = np.flatnonzero(letters == ord("c"))
    before = np.append(ends[:1], ends[:-1])
    hull = np.column_stack([before[chosen], controls, ends[chosen]])
    lengths = np.abs(np.diff(hull, axis=1)).sum(axis=1)
    counts = np.where(closes, 0, 1)
    counts[chosen] = np.clip(np.ceil(lengths / chord), 1, MOST_CHORDS).astype(np.int64)
    if counts.sum() > MOST_POINTS:
        raise TooManyPointsError
    points = np.repeat(ends, counts)
    first = np.cumsum(counts) - counts
    _follow(points, hull, counts[chosen], first[chosen])
    firsts = first[moves]
    kept = np.append(True, np.abs(np.diff(points)) > 1e-9)
    kept[firsts] = True
    lasts = np.append(firsts[1:], len(points)) - 1
    apart = np.abs(points[firsts] - points[lasts])
    closed_at = np.zeros(len(firsts), dtype=np.bool_)
    path = np.cumsum(moves) - 1
    closed_at[path[closes]] = True
    is_round = closed_at | ((apart < same) & (lasts > firsts))
    sizes = np.add.reduceat(kept.astype(np.int64), firsts)
    # Lines of no length are no segments.
    is_segment = ~moves & ((np.abs(ends - before) > 0.0) | (letters == ord("c")))
    segments = np.bincount(path[is_segment], minlength=len(firsts))
    nodes = segments + np.where(closed_at, 0, 1)
    repeats = is_round & (apart < 1e-9)
    each = zip(
        commands.paths[moves].tolist(),
        np.split(points[kept], np.cumsum(sizes)[:-1]),
        repeats.tolist(),
        is_round.tolist(),
        nodes.tolist(),
        segments.tolist(),
        strict=True,
    )
    for path, one, repeated, goes_round, count, length in each:
        if length:
            whole = one[:-1] if repeated and len(one) > 1 else one
            yield path, SubpathPoints(whole, goes_round, count)


def _follow(points: Points, hull: Points, counts: Counts, first: Counts) -> None:
    """Fill in the points along curves.

    Args:
        points: all points of a path, which are filled in; shape (n,).
        hull: the four points of every curve, shape (curves, 4).
        counts: how many points are along each of them, its end among them.
        first: the number of the first of these.
    """
    number = np.repeat(np.arange(len(counts)), counts)
    nth = np.arange(number.size) - (np.cumsum(counts) - counts)[number]
    t = (nth + 1) / counts[number]
    s = 1.0 - t
    a, b, c, d = hull[number].T
    at = s * s * s * a + 3 * s * s * t * b + 3 * s * t * t * c + t * t * t * d
    points[first[number] + nth] = at
