"""What speaks against an outline by itself: ink that it should lie on, and how far that is off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from drafting_core.ink.polylines import Flags, fit_line
from drafting_core.plane.curves import Segment
from drafting_core.text.lengths import in_words, told_length
from drafting_core.text.words import _
from drafting_core.trace.ink_cover import NEAR, Cover

#: A line wider than this (mm) is told.
_WIDE_PEN = 2.5
#: A stretch of a seam without ink that is longer than this (mm), and than the gap, is told, …
_LONGEST_OFF = 10.0
#: … and so is a seam of which no more than this part lies on ink, …
_LEAST_ON_INK = 0.5
#: … and one whose ink lies further beside it than this (mm): a hand's wobble is less.
_STRAY = 0.4
#: A corner further from ink than this (mm), past its lines' gaps, is told.
_CORNER_OFF = 1.2
#: Of a seam's length, this part drawn twice or with a line beside it is told …
_BESIDE = 0.25
#: … if it is so long (mm).
_LONG_BESIDE = 30.0
#: A dart of less than this depth (mm) may be a notch.
_NOTCH = 15.0
#: A dart's point this far (mm) from where the ink of its legs crosses is told: …
_POINT_OFF = 0.8
#: … their ink so far (mm) from their ends, of which there are so many places, …
_CLEAR, _FEW = 6.0, 5
#: … unless they cross at an angle of less than this (its sine).
_PARALLEL = 0.04
#: A point that is known worse than this (mm, one standard deviation) is told: …
_POINT_KNOWN = 0.6
#: … a hand's wobble goes to and fro over such a length (mm).
_WOBBLE = 12.0
#: Sides of a rectangle are straight within these parts of their length, and square within this
#: cosine.
_STRAIGHT, _FLAT, _SQUARE = 1.001, 0.01, 0.05


class JudgedOutline(NamedTuple):
    """A block's outline that is to be judged.

    Attributes:
        runs: the segments of its seams and legs from corner to corner, in true mm.
        names: of every run, the seam as the drafter reads it, or an empty string.
        legs: which of the runs are legs of darts.
        pen: the width of its line in mm, 0 where it is an edge or has no ink.
        bridged: the longest gap that was closed in it with a word, in mm.
        is_size: whether it is one of several sizes, beside whose lines run those of the others.
    """

    runs: Sequence[Sequence[Segment]]
    names: Sequence[str]
    legs: Sequence[bool]
    pen: float
    bridged: float = 0.0
    is_size: bool = False


class OutlineNear(NamedTuple):
    """What runs near an outline.

    Attributes:
        beside: of every run, the share beside which a line runs along that no block explains.
        shared: at which of its places another block's outline runs near.
        gap: the largest gap in mm that was to be closed.
    """

    beside: Sequence[float]
    shared: Flags
    gap: float


def doubts_of(outline: JudgedOutline, cover: Cover, near: OutlineNear) -> list[str]:
    """Return what is to be looked at on an outline, in words.

    Args:
        outline: the outline.
        cover: how it lies on ink.
        near: what runs near it.
    """
    return [
        *_off_ink(outline, cover, near.gap),
        *_corners_off(outline, cover),
        *_doubled(outline, cover, near),
        *_wide(outline),
        *_notches(outline),
        *_points_off(outline, cover),
    ]


def _wide(outline: JudgedOutline) -> list[str]:
    if outline.pen <= _WIDE_PEN:
        return []
    return [_("its line is {pen} wide: is it one line?").format(pen=in_words(outline.pen))]


def is_rectangle(outline: JudgedOutline) -> bool:
    """Tell whether an outline has four straight sides at right angles."""
    if len(outline.runs) != 4:
        return False
    ways = []
    for run in outline.runs:
        way = run[-1].end - run[0].start
        if sum(abs(s[-1] - s[0]) for s in run) > _STRAIGHT * abs(way) or any(
            len(s) == 4 and not _is_flat(s) for s in run
        ):
            return False
        ways.append(way / max(abs(way), 1e-9))
    return all(
        abs((a.conjugate() * b).real) <= _SQUARE
        for a, b in zip(ways, [*ways[1:], ways[0]], strict=True)
    )


def _is_flat(segment: Segment) -> bool:
    chord = segment[-1] - segment[0]
    return all(
        abs(((z - segment[0]) * chord.conjugate()).imag) <= _FLAT * abs(chord) ** 2 for z in segment
    )


def _off_ink(outline: JudgedOutline, cover: Cover, gap: float) -> list[str]:
    longest = max(_LONGEST_OFF, 1.2 * gap, 1.2 * outline.bridged)
    told = []
    for name, is_leg, run in zip(outline.names, outline.legs, cover.runs, strict=True):
        if run.longest_off > longest:
            told.append(
                _("{seam}: {length} of its line are not on ink").format(
                    seam=shown_run(name, is_leg=is_leg), length=in_words(run.longest_off)
                )
            )
        elif run.stray > _STRAY:
            told.append(
                _("{seam}: its ink is up to {off} beside it").format(
                    seam=shown_run(name, is_leg=is_leg), off=in_words(run.stray)
                )
            )
        elif run.on_ink < _LEAST_ON_INK:
            told.append(
                _("{seam}: only {share} % of it lies on ink").format(
                    seam=shown_run(name, is_leg=is_leg), share=round(100 * run.on_ink)
                )
            )
    return told


def _corners_off(outline: JudgedOutline, cover: Cover) -> list[str]:
    """Tell corners that lie on no ink, further than the gaps of their lines."""
    told = []
    for k, away in enumerate(cover.corners.tolist()):
        if outline.legs[k] and outline.legs[k - 1]:
            continue
        gaps = max(cover.runs[k].longest_off, cover.runs[k - 1].longest_off, outline.bridged)
        if away > _CORNER_OFF + gaps:
            told.append(
                _("the corner of {one} and {other} is not on ink").format(
                    one=shown_run(outline.names[k - 1], is_leg=outline.legs[k - 1]),
                    other=shown_run(outline.names[k], is_leg=outline.legs[k]),
                )
            )
    return told


def _doubled(outline: JudgedOutline, cover: Cover, near: OutlineNear) -> list[str]:
    told = []
    doubled = cover.shares(cover.doubled & ~near.shared)
    together = cover.shares(cover.doubled & near.shared)
    for k, (name, is_leg, run) in enumerate(
        zip(outline.names, outline.legs, cover.runs, strict=True)
    ):
        share = near.beside[k]
        if is_leg:
            if together[k] >= _BESIDE:
                told.append(_("a dart's leg runs into that of another block"))
        elif doubled[k] >= _BESIDE and doubled[k] * run.length >= _LONG_BESIDE:
            told.append(_("{seam} is drawn twice").format(seam=shown_run(name, is_leg=False)))
        elif share >= _BESIDE and share * run.length >= _LONG_BESIDE:
            told.append(
                _("{length} of a line less than {near} beside {seam} are part of no block").format(
                    length=told_length(share * run.length, 0),
                    near=in_words(NEAR),
                    seam=shown_run(name, is_leg=False),
                )
            )
    return told


def shown_run(name: str, *, is_leg: bool) -> str:
    """Return a run's name as it is told: its seam's, or what else it is."""
    return _("a dart's leg") if is_leg else name or _("a part of the outline")


def _points_off(outline: JudgedOutline, cover: Cover) -> list[str]:
    """Tell dart's points that lie elsewhere than where the ink of the legs crosses."""
    told = []
    count = len(outline.runs)
    for k in range(count):
        if not (outline.legs[k] and outline.legs[(k + 1) % count]):
            continue
        point = outline.runs[k][-1].end
        one, other = (_ink_line(cover, leg) for leg in (k, (k + 1) % count))
        if one is None or other is None:
            continue
        sine = (one.way.conjugate() * other.way).imag
        if abs(sine) < _PARALLEL:
            continue
        along = ((other.middle - one.middle).conjugate() * other.way).imag / sine
        off = abs(one.middle + one.way * along - point)
        known = 2.0 * math.hypot(one.unsure, other.unsure) / abs(sine)
        if off > _POINT_OFF:
            told.append(
                _("a dart's point lies {off} from where the ink of its legs crosses").format(
                    off=in_words(off)
                )
            )
        elif known > _POINT_KNOWN:
            told.append(
                _("the point of a narrow dart is known to {known} only").format(
                    known=in_words(2.0 * known)
                )
            )
    return told


class _InkLine(NamedTuple):
    """The middle of a leg's ink: a place on it, a unit vector, how badly it is known (mm)."""

    middle: complex
    way: complex
    unsure: float


def _ink_line(cover: Cover, number: int) -> _InkLine | None:
    """Return the line through the middle of a leg's ink, or None where there is little of it."""
    places = cover.places
    chosen = (places.runs == number) & np.isfinite(cover.shift)
    points = places.points[places.runs == number]
    for end in (points[0], points[-1]):
        chosen &= np.abs(places.points - end) > _CLEAR
    if chosen.sum() < _FEW:
        return None
    ink = places.points[chosen] + 1j * places.ways[chosen] * cover.shift[chosen]
    line = fit_line(ink)
    length = max(abs(line.end - line.start), 1e-9)
    way = (line.end - line.start) / length
    beside = ((ink - line.start) * np.conj(way)).imag
    # So many readings of it are independent: a hand's wobble is as long.
    readings = max(length, _WOBBLE / 2) / _WOBBLE
    return _InkLine(complex(ink.mean()), way, float(np.std(beside)) / math.sqrt(readings))


def _notches(outline: JudgedOutline) -> list[str]:
    legs = [
        abs(run[-1].end - run[0].start)
        for run, is_leg in zip(outline.runs, outline.legs, strict=True)
        if is_leg
    ]
    if not legs or min(legs) >= _NOTCH:
        return []
    return [_("a dart only {depth} deep: is it a notch?").format(depth=in_words(min(legs)))]
