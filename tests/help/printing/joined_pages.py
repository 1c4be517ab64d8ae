"""Printed pages put together as a drafter does it, by their marks, and compared with the whole.

Points are complex numbers in pixels, as in `tests.help.printing.printed_marks`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tests.help.printing.pdf_pages import INCH, THRESHOLD, Mask, Raster, dilated
from tests.help.printing.printed_marks import BOTTOM, LEFT, RIGHT, TOP, frame_of, inside, marks_at

#: Marks that are laid on one another miss each other by less than this (mm).
MEET = 0.3
#: The side of a square in which what is missing of a line or a word is counted (pixels).
SPOT = 32


class Place(NamedTuple):
    """The row and column written on a page, from 1."""

    row: int
    column: int


def place_said(text: str) -> Place | None:
    """Return the row and column that a page's text says."""
    found = re.search(r"Row (\d+), column (\d+)", text)
    return Place(int(found[1]), int(found[2])) if found else None


class Joined(NamedTuple):
    """How pages lie when their marks are laid on one another.

    Attributes:
        corners: where the corner of each page lies, in pixels from that of the first one.
        worst: by how much two marks that are laid on one another miss each other, in pixels.
        joints: how many joints there are.
    """

    corners: Mapping[Place, complex]
    worst: float
    joints: int


def join(pages: Mapping[Place, Raster], dpi: int) -> Joined:
    """Lay pages on one another by their marks, from the first one on, joint by joint."""
    frames = {place: frame_of(page) for place, page in pages.items()}
    shifts: dict[tuple[Place, Place], list[complex]] = {}
    for place in pages:
        for other, out, back in (
            (place._replace(column=place.column + 1), RIGHT, LEFT),
            (place._replace(row=place.row + 1), BOTTOM, TOP),
        ):
            if other not in pages:
                continue
            ours = marks_at(pages[place], frames[place], out, dpi)
            theirs = marks_at(pages[other], frames[other], back, dpi)
            # What looks like a mark on one page alone is none: most of them meet.
            met = _meeting([a - b for a in ours for b in theirs], MEET * dpi / INCH)
            assert len(met) >= 2, f"no two marks of {place} and {other} meet: {ours}, {theirs}"
            shifts[place, other] = met
    first = min(pages)
    corners = {first: 0j}
    while True:
        for (one, other), found in shifts.items():
            step = sum(found) / len(found)
            if one in corners and other not in corners:
                corners[other] = corners[one] + step
                break
            if other in corners and one not in corners:
                corners[one] = corners[other] - step
                break
        else:
            break
    assert set(corners) == set(pages), "pages that no mark joins to the others"
    misses = [
        abs(corners[one] + shift - corners[other])
        for (one, other), found in shifts.items()
        for shift in found
    ]
    return Joined(corners, max(misses, default=0.0), len(shifts))


def _meeting(shifts: Sequence[complex], near: float) -> list[complex]:
    """Return the shifts on which most agree."""
    return max(
        ([other for other in shifts if abs(other - shift) < near] for shift in shifts),
        key=len,
        default=[],
    )


class Compared(NamedTuple):
    """What pages that are put together show, against the drawing in one piece.

    Attributes:
        lines: line pixels of either that can be compared.
        different: those without a line pixel of the other within a pixel.
        together: how many of these lie together at most, in a square of the size of some letters.
        hidden: line pixels of the whole drawing that only lie under frames, marks and labels.
    """

    lines: int
    different: int
    together: int
    hidden: int


def compare(
    pages: Mapping[Place, Raster],
    furniture: Mapping[Place, Raster],
    corners: Mapping[Place, complex],
    whole: Raster,
) -> Compared:
    """Compare pages that are put together with the drawing in one piece.

    Args:
        pages: the pages.
        furniture: the same without the pattern: what is left out of the comparison.
        corners: where they lie.
        whole: the drawing in one piece.
    """
    within = {place: inside(frame_of(page), page.shape) for place, page in pages.items()}
    clear = {place: within[place] & ~dilated(furniture[place] > 0.02, 1) for place in pages}
    shown = {place: page * clear[place] for place, page in pages.items()}
    # Before the best place is sought, no page begins left of or above the sheet.
    low = complex(min(z.real for z in corners.values()), min(z.imag for z in corners.values()))
    corners = {place: corner - low for place, corner in corners.items()}
    by = complex(
        _best_shift(
            [(z.real, shown[p].sum(axis=0)) for p, z in corners.items()], whole.sum(axis=0)
        ),
        _best_shift(
            [(z.imag, shown[p].sum(axis=1)) for p, z in corners.items()], whole.sum(axis=1)
        ),
    )
    moved = {place: corner + by for place, corner in corners.items()}
    joined, hidden = _laid(shown, within, clear, moved, whole.shape)
    ours, theirs = joined > THRESHOLD, whole > THRESHOLD
    missing = theirs & ~hidden & ~dilated(ours | hidden, 1)
    too_much = ours & ~hidden & ~dilated(theirs, 1)
    different = missing | too_much
    return Compared(
        int(((ours | theirs) & ~hidden).sum()),
        int(different.sum()),
        _together(different),
        int((theirs & hidden).sum()),
    )


def _laid(
    shown: Mapping[Place, Raster],
    within: Mapping[Place, Mask],
    clear: Mapping[Place, Mask],
    corners: Mapping[Place, complex],
    shape: tuple[int, ...],
) -> tuple[Raster, Mask]:
    """Lay pages on a sheet, every page whole.

    Args:
        shown: what of the pattern they show.
        within: their pixels within the frame.
        clear: those of them that show the pattern and nothing else.
        corners: where they lie on the sheet.
        shape: that of the sheet.

    Returns:
        What they show together, and what no page shows since all have something else there.
    """
    laid = np.zeros(shape, np.float32)
    seen, covered = np.zeros(shape, np.bool_), np.zeros(shape, np.bool_)
    for place, page in shown.items():
        at = corners[place]
        x, y = int(np.floor(at.real)), int(np.floor(at.imag))
        assert x >= 0
        assert y >= 0
        moved = _moved(page, at.real - x, at.imag - y)
        on_sheet = slice(y, y + page.shape[0]), slice(x, x + page.shape[1])
        assert laid[on_sheet].shape == page.shape, "a page that does not lie on the sheet whole"
        np.maximum(laid[on_sheet], moved, out=laid[on_sheet])
        seen[on_sheet] |= clear[place]
        covered[on_sheet] |= within[place]
    return laid, dilated(covered & ~seen, 1)


def _together(mask: Mask) -> int:
    """Return the most pixels of a mask that lie in one square of `SPOT` pixels."""
    rows, columns = (-(-side // SPOT) for side in mask.shape)
    whole = np.zeros((rows * SPOT, columns * SPOT), np.int32)
    whole[: mask.shape[0], : mask.shape[1]] = mask
    return int(whole.reshape(rows, SPOT, columns, SPOT).sum(axis=(1, 3)).max())


def _moved(page: Raster, x: float, y: float) -> Raster:
    """Return a page moved by parts of a pixel to the right and down."""
    across: Raster = page * np.float32(1 - x)
    across[:, 1:] += page[:, :-1] * np.float32(x)
    down: Raster = across * np.float32(1 - y)
    down[1:] += across[:-1] * np.float32(y)
    return down


def _best_shift(
    parts: Sequence[tuple[float, NDArray[np.float32]]], target: NDArray[np.float32]
) -> float:
    """Return by how many pixels profiles have to be moved together to lie best on another one.

    Args:
        parts: the profiles, each with where it begins.
        target: the other one.
    """
    size = 2 * len(target)
    one = np.zeros(size)
    for start, profile in parts:
        whole, part = divmod(start, 1.0)
        for first, share in ((int(whole), 1 - part), (int(whole) + 1, part)):
            one[first : first + len(profile)] += share * profile
    spectrum = np.conj(np.fft.rfft(one)) * np.fft.rfft(target, size)
    likeness = np.fft.irfft(spectrum, size)
    best = int(likeness.argmax())
    before, at, after = (likeness[(best + k) % size] for k in (-1, 0, 1))
    best -= size if best > size // 2 else 0
    return float(best + 0.5 * (before - after) / (before - 2 * at + after))
