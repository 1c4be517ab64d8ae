"""Sizes of one piece that lie on one another: told apart by dash, and by labels on their lines."""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from drafting_core.finished.fold_edge import lies_on_any
from drafting_core.model.outline import signed_area
from drafting_core.model.stretches import stretches
from drafting_core.plane.curves import Box, Segment, dot
from drafting_core.plane.motions import readable
from drafting_core.text.errors import SettingError
from drafting_core.text.words import _
from extension.finished.cut_count import CutCount
from extension.look.set_text import DROP, RISE, text_width, wrapped
from extension.look.text_places import Clearings, at_share
from extension.paper.fold_sign import fold_sign
from extension.paper.paper_piece import PaperLine, PaperPiece, cut_chains, with_lines
from extension.paper.printed_lines import Choice, lines_of
from extension.paper.printed_parts import CUT_LINE, SEAM_NAME, TITLE, PrintedResult, PrintedText

#: Sizes lie on one another where they share at least this part of the smaller one's box.
_SHARED = 0.5
#: Letters of a size beside its line (mm), and how far from the line they stand.
SIZE_LETTERS = 4.0
_SIZE_GAP = 0.7
#: Into how many parts a line is divided for its size's labels, how many places are looked at in
#: each, and over how many sampled points of other lines a label may lie.
_SIZE_LABELS = 6
_SIZE_PLACES = 16
_MOST_HITS = 2
#: How far inside a seam its name may be (mm), and where along it.
_NAME_GAPS = (2.0, 4.0, 7.0, 11.0, 16.0, 22.0)
_NAME_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7)
#: Width of the column of a nest's sizes, in sizes of its letters.
_SIZES_COLUMN = 11.0
#: The row of a nest's title that says how many are cut.
_CUT_ROW = 1
_SIZE_AT_END = re.compile(
    r"(?P<stem>.*?\S)[\s,_-]+(?P<size>\d{1,3}(?:[/-]\d{1,3})?|(?:XX|X|\dX)?[SL]|M)$", re.IGNORECASE
)


class Nest(NamedTuple):
    """Results of one piece in several sizes that lie on one another, the smallest first.

    Attributes:
        name: the piece's name.
        sizes: the sizes, the smallest first.
        results: the results, in the same order.
    """

    name: str
    sizes: tuple[str, ...]
    results: tuple[PrintedResult, ...]


def size_of(result: PrintedResult) -> tuple[str, str]:
    """Return a piece's name without its size, and its size: its own, or what its name ends in."""
    own = result.draft.block.size
    found = _SIZE_AT_END.fullmatch(result.name.strip())
    if own:
        return (found["stem"] if found and found["size"] == own else result.name), own
    return (found["stem"], found["size"]) if found else (result.name, "")


def of_sizes(results: Sequence[PrintedResult], sizes: Sequence[str]) -> list[PrintedResult]:
    """Return the results of the sizes that are wanted; those without a size are in all of them.

    Raises:
        SettingError: if a size is not there.
    """
    if not sizes:
        return list(results)
    there = {size_of(result)[1].casefold(): size_of(result)[1] for result in results}
    sizes = [one for size in sizes for one in _in_range(size, there)]
    for size in sizes:
        if size.casefold() not in there:
            known = [size for size in there.values() if size]
            raise SettingError(
                _('there is no piece of the size "{size}".').format(size=size),
                thing=_("The sizes"),
                remedy=_("Use some of {sizes}.").format(sizes=", ".join(known))
                if known
                else _("No piece here has a size: leave the sizes out."),
            )
    wanted = {size.casefold() for size in sizes} | {""}
    return [result for result in results if size_of(result)[1].casefold() in wanted]


def _in_range(text: str, there: Mapping[str, str]) -> list[str]:
    """Return the sizes that a range like 36-40 takes in, or the text itself."""
    found = re.fullmatch(r"(\d+)\s*[-–]\s*(\d+)", text)
    if text.casefold() in there or not found:
        return [text]
    low, high = sorted((int(found[1]), int(found[2])))
    return [size for size in there.values() if size.isdigit() and low <= int(size) <= high] or [
        text
    ]


def nests_of(results: Sequence[PrintedResult], *, apart: bool = False) -> list[Nest]:
    """Return results as they go on paper: sizes of one piece that lie on one another together.

    Args:
        results: the results, in document order.
        apart: whether every result goes by itself.
    """
    groups: dict[str, list[list[PrintedResult]]] = {}
    order: list[list[PrintedResult]] = []
    for result in results:
        stem, size = size_of(result)
        fitting = (
            group
            for group in groups.get(stem.casefold(), [])
            if size
            and not apart
            and all(size_of(other)[1] not in ("", size) for other in group)
            and _lie_on_one_another(group[0], result)
        )
        group = next(fitting, None)
        if group is None:
            group = []
            groups.setdefault(stem.casefold(), []).append(group)
            order.append(group)
        group.append(result)
    nests = []
    for group in order:
        sized = sorted(group, key=lambda result: abs(signed_area(result.draft.cut_line)))
        stem, _size = size_of(sized[0])
        name = stem if len(sized) > 1 else sized[0].name
        nests.append(Nest(name, tuple(size_of(result)[1] for result in sized), tuple(sized)))
    return nests


def _lie_on_one_another(one: PrintedResult, other: PrintedResult) -> bool:
    first, second = (_box_of(result.draft.cut_line) for result in (one, other))
    across = min(first.right, second.right) - max(first.left, second.left)
    down = min(first.bottom, second.bottom) - max(first.top, second.top)
    least = min((b.right - b.left) * (b.bottom - b.top) for b in (first, second))
    return across > 0 and down > 0 and across * down >= _SHARED * least


def _box_of(segments: Sequence[Segment]) -> Box:
    boxes = [segment.box() for segment in segments]
    return Box(
        min(box.left for box in boxes),
        min(box.top for box in boxes),
        max(box.right for box in boxes),
        max(box.bottom for box in boxes),
    )


def nested(nest: Nest, choice: Choice) -> tuple[PaperPiece, CutCount]:
    """Return the sizes of a piece on one another, told apart by dash and label."""
    smallest = nest.results[0]
    lines: list[PaperLine] = []
    for index, result in enumerate(nest.results):
        own = lines_of(result, choice, index)
        # One grainline is enough for all of them, and the longest fold edge.
        is_last = index == len(nest.results) - 1
        lines += [
            line
            if line.kind in ("grainline", "fold-edge")
            else replace(line, of_size=nest.sizes[index])
            for line in own
            if (index == 0 or line.kind != "grainline") and (is_last or line.kind != "fold-edge")
        ]
    lines.sort(key=lambda line: line.kind in (CUT_LINE, "fold-edge"))
    count = smallest.cut
    texts: list[PrintedText] = []
    clear = Clearings([chain for line in lines for chain, _ in line.chains])
    for text in smallest.texts:
        if text.kind == TITLE:
            texts.append(with_lines(text, _nest_title(nest, text.lines, count)))
    texts += _seam_names(smallest, clear)
    texts += [
        text._replace(of_size=size)
        for size, result in zip(nest.sizes, nest.results, strict=True)
        for text in result.texts
        if text.kind == "own"
    ]
    for index, result in enumerate(nest.results):
        texts += _size_labels(result, nest.sizes[index], clear)
    for fold in smallest.folds if "cut" not in choice.left_out else ():
        sign, words = fold_sign(fold, clear)
        lines.append(sign)
        texts.append(words)
    texts = [text for text in texts if "names" not in choice.left_out]
    if count.line is not None:
        count = count._replace(line=_CUT_ROW)
    largest = nest.results[-1]
    return PaperPiece(nest.name, tuple(lines), tuple(texts), cut_chains(largest)), count


def _nest_title(nest: Nest, title: Sequence[str], count: CutCount) -> tuple[str, ...]:
    cut = [title[count.line]] if count.line is not None else []
    sizes = _("Sizes {sizes}").format(sizes=", ".join(nest.sizes))
    return (nest.name, *cut, *wrapped(sizes, _SIZES_COLUMN, 1.0, bold=True))


def _seam_names(result: PrintedResult, clear: Clearings) -> list[PrintedText]:
    """Return the names of a piece's seams inside of it, clear of the other sizes' lines."""
    texts = []
    sizes = [text.size for text in result.texts if text.kind == SEAM_NAME]
    letters = max(sizes, default=0.0)
    for stretch in stretches(result.draft.piece) if letters else ():
        segments = stretch.segments(result.draft.piece)
        lengths = [segment.length() for segment in segments]
        name = stretch.seam.shown
        half = text_width(name, letters) / 2
        if 2 * half > sum(lengths):
            continue
        box = (half + 0.5, RISE * letters + 0.5, DROP * letters + 0.5)
        places: list[tuple[complex, complex]] = []
        for gap, share in itertools.product(_NAME_GAPS, _NAME_SHARES):
            at, tangent = at_share(segments, lengths, share)
            direction = readable(tangent)
            above = dot(1j * tangent, -1j * direction) > 0.0
            inward = gap + (DROP if above else RISE) * letters
            places.append((at + 1j * tangent * inward, direction))
        best = clear.freest(places, *box)
        clear.add_box(*best, *box)
        texts.append(PrintedText(SEAM_NAME, (name,), *best, letters, "middle", False))
    return texts


def _size_labels(result: PrintedResult, size: str, clear: Clearings) -> list[PrintedText]:
    """Return a size's labels: along its cut line where they are free, and at its dart points."""
    folds = result.folds
    longest = max(cut_chains(result), key=len)
    ring = [s for s in longest if not lies_on_any(s, folds)]
    lengths = [segment.length() for segment in ring]
    half = text_width(size, SIZE_LETTERS) / 2
    box = (half + 0.3, RISE * SIZE_LETTERS + 0.3, DROP * SIZE_LETTERS + 0.3)
    found: list[tuple[complex, complex]] = []
    # One to each part of the line, as far as there is room for it.
    for part in range(_SIZE_LABELS):
        places = []
        for step in range(_SIZE_PLACES):
            at, tangent = at_share(
                ring, lengths, (part + (step + 0.5) / _SIZE_PLACES) / _SIZE_LABELS
            )
            direction = readable(tangent)
            for outward in (1j * tangent, -1j * tangent):
                above = dot(outward, -1j * direction) > 0.0
                gap = _SIZE_GAP + (DROP if above else RISE) * SIZE_LETTERS
                places.append((at + outward * gap, direction))
        best = clear.freest(places, *box)
        if clear.hits(*best, *box) <= _MOST_HITS:
            clear.add_box(*best, *box)
            found.append(best)
    for item in result.draft.darts:
        # Beyond the point, where no other line of the dart is.
        place = item.dart.point - item.dart.middle_ray * (half + 2.0) + 0.3j * SIZE_LETTERS
        if not clear.hits(place, 1 + 0j, *box):
            clear.add_box(place, 1 + 0j, *box)
            found.append((place, 1 + 0j))
    return [
        PrintedText("size", (size,), *place, SIZE_LETTERS, "middle", False, size) for place in found
    ]
