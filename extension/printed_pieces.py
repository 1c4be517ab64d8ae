"""Results made ready for paper: what of them is printed, how often, mirrored, sizes in a nest."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.curves import Box, Segment, dot, rotation_about, turn
from drafting_core.errors import SettingError
from drafting_core.outline import nearest_on, signed_area
from drafting_core.words import _
from extension.cut_count import CutCount, count_said
from extension.fold_edge import fold_lines, fold_sign, lies_on, runs_of, split_at_folds
from extension.labels import Clearings, at_share
from extension.paper_strokes import HAIRLINE, STROKES, of_size
from extension.read_printed import (
    CUT_LINE,
    SEAM_NAME,
    STITCH_LINE,
    TITLE,
    PrintedLine,
    PrintedResult,
    PrintedText,
)
from extension.set_text import DROP, LEADING, RISE, text_width
from extension.sheet_piece import SheetLine, SheetPiece

#: What can be left out, and which parts of a result that is.
CHOICES: dict[str, frozenset[str]] = {
    "cut": frozenset({CUT_LINE, "fold-edge", "fold-sign"}),
    "stitch": frozenset({STITCH_LINE}),
    "dart": frozenset(
        {
            "dart-leg", "dart-fold", "dart-point", "fold-arrow", "cap",
            "gathers", "ease", "flare", "tuck",
        }
    ),
    "window": frozenset({"trim-window"}),
    "marks": frozenset({"notch", "drill-hole", "apex", "grainline", "inner-line", "own"}),
    "names": frozenset({SEAM_NAME, TITLE, "size", "own"}),
}  # fmt: skip
#: What a cutting machine follows.
_CUT = frozenset({CUT_LINE, "notch", "drill-hole"})
#: A segment this near to a dart's leg is that leg (mm).
ON_LEG = 0.02
#: A grainline that is off the upright by less than this is upright (rad).
_UPRIGHT = 1e-6
#: Sizes lie on one another where they share at least this part of the smaller one's box.
_SHARED = 0.5
#: Letters of a size beside its line (mm), and how far from the line they stand.
SIZE_LETTERS = 3.2
_SIZE_GAP = 0.7
#: How often a size is written along its line, of how many places that are looked at.
_SIZE_LABELS = 3
_SIZE_PLACES = 60
#: A title that becomes longer shrinks at most to this share.
_SMALLEST_TITLE = 0.55
#: Letters to a line of a nest's sizes.
_SIZES_WIDTH = 20
#: The row of a nest's title that says how many are cut.
_CUT_ROW = 1
_SIZE_AT_END = re.compile(
    r"(?P<stem>.*?\S)[\s,_-]+(?P<size>\d{1,3}(?:[/-]\d{1,3})?|(?:XX|X|\dX)?[SL]|M)$", re.IGNORECASE
)


class Choice(NamedTuple):
    """What is printed.

    Attributes:
        left_out: the words of `CHOICES` that are not.
        cut_only: whether only what a machine cuts is.
        pairs: whether a piece that is cut twice is printed twice, once mirrored.
        sizes: the sizes of a nest that are; all where none are named.
        apart: whether the sizes of a nest lie beside one another.
    """

    left_out: frozenset[str] = frozenset()
    cut_only: bool = False
    pairs: bool = True
    sizes: tuple[str, ...] = ()
    apart: bool = False


class Nest(NamedTuple):
    """Results of one piece in several sizes that lie on one another, the smallest first."""

    name: str
    sizes: tuple[str, ...]
    results: tuple[PrintedResult, ...]


def sheet_pieces(results: Sequence[PrintedResult], choice: Choice) -> list[SheetPiece]:
    """Return the pieces to be laid on paper: copies and mirrored ones each by itself.

    Raises:
        SettingError: if nothing is left to print, or a size is not there.
    """
    chosen = _of_sizes(results, choice.sizes)
    pieces: list[SheetPiece] = []
    for nest in nests_of(chosen, apart=choice.apart or choice.cut_only):
        piece, count = _nested(nest, choice) if len(nest.results) > 1 else _single(nest, choice)
        piece = _upright(piece, nest.results[0])
        if choice.pairs and count.number > 1:
            pieces += _copies(piece, count)
        else:
            pieces.append(piece)
    if not any(piece.lines or piece.texts for piece in pieces):
        raise SettingError(
            _("everything is left out."),
            thing=_("The pages"),
            remedy=_("Let at least the cut line be printed."),
        )
    return pieces


def size_of(result: PrintedResult) -> tuple[str, str]:
    """Return a piece's name without its size, and its size: its own, or what its name ends in."""
    own = result.draft.block.size
    found = _SIZE_AT_END.fullmatch(result.name.strip())
    if own:
        return (found["stem"] if found and found["size"] == own else result.name), own
    return (found["stem"], found["size"]) if found else (result.name, "")


def _of_sizes(results: Sequence[PrintedResult], sizes: Sequence[str]) -> list[PrintedResult]:
    """Return the results of the sizes that are wanted; those without a size are in all of them.

    Raises:
        SettingError: if a size is not there.
    """
    if not sizes:
        return list(results)
    there = {size_of(result)[1].casefold(): size_of(result)[1] for result in results}
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


def _single(nest: Nest, choice: Choice) -> tuple[SheetPiece, CutCount]:
    result = nest.results[0]
    count = count_said(_title(result), result.draft)
    if choice.cut_only:
        return _for_the_machine(result), count
    lines = _lines_of(result, choice)
    texts = [text for text in result.texts if _is_printed(text.kind, choice, names=True)]
    folds = fold_lines(result.draft)
    if folds and "cut" not in choice.left_out:
        clear = Clearings([chain for line in lines for chain, _ in line.chains])
        for fold in folds:
            sign, words = fold_sign(fold, clear)
            lines.append(sign)
            texts += [] if "names" in choice.left_out else [words]
    piece = SheetPiece(nest.name, tuple(lines), tuple(texts), (result.draft.cut_line,))
    return piece, count


def _title(result: PrintedResult) -> tuple[str, ...]:
    return next((text.lines for text in result.texts if text.kind == TITLE), ())


def _is_printed(kind: str, choice: Choice, *, names: bool = False) -> bool:
    """Tell whether a part is printed; the drafter's own texts go with the names."""
    if kind == "own":
        return ("names" if names else "marks") not in choice.left_out
    return not any(kind in CHOICES[word] for word in choice.left_out)


def _for_the_machine(result: PrintedResult) -> SheetPiece:
    lines = [
        SheetLine(line.kind, HAIRLINE, line.chains) for line in result.lines if line.kind in _CUT
    ]
    return SheetPiece(result.name, tuple(lines), (), (result.draft.cut_line,))


def _lines_of(result: PrintedResult, choice: Choice, index: int | None = None) -> list[SheetLine]:
    """Return the lines of a result that are printed.

    Args:
        result: the result.
        choice: what is printed.
        index: the number of its size in a nest, or None.
    """
    legs = [
        segment
        for line in result.lines
        if line.kind == "dart-leg"
        for chain, _ in line.chains
        for segment in chain
    ]
    folds = fold_lines(result.draft)
    lines: list[SheetLine] = []

    def add(kind: str, chains: Sequence[tuple[tuple[Segment, ...], bool]]) -> None:
        if chains and _is_printed(kind, choice):
            stroke = STROKES.get(kind, STROKES["own"]) if index is None else of_size(kind, index)
            lines.append(SheetLine(kind, stroke, tuple(chains)))

    for line in result.lines:
        if line.kind == STITCH_LINE and legs:
            add(STITCH_LINE, _without(line, legs))
        elif line.kind == CUT_LINE and folds:
            for chain, closed in line.chains:
                cut, fold = split_at_folds(chain, folds) if closed else ([chain], [])
                if not fold:
                    add(CUT_LINE, [(chain, closed)])
                    continue
                add(CUT_LINE, [(part, False) for part in cut])
                add("fold-edge", [(part, False) for part in fold])
        else:
            add(line.kind, line.chains)
    # What is cut is drawn over everything else.
    return sorted(lines, key=lambda line: line.kind in (CUT_LINE, "fold-edge"))


def _without(
    line: PrintedLine, others: Sequence[Segment]
) -> list[tuple[tuple[Segment, ...], bool]]:
    """Return a line without those of its segments that lie on other lines."""
    kept: list[tuple[tuple[Segment, ...], bool]] = []
    for chain, closed in line.chains:
        flags = [
            all(
                nearest_on(others, segment.point(t)).distance <= ON_LEG
                for t in (0.0, 0.3, 0.7, 1.0)
            )
            for segment in chain
        ]
        if not any(flags) or not closed:
            kept.append((chain, closed))
        else:
            kept += [(run, False) for run in runs_of(chain, flags, False)]
    return kept


def _upright(piece: SheetPiece, result: PrintedResult) -> SheetPiece:
    """Return a piece with its grain along the sheet, down the page."""
    grain = result.draft.grain
    angle = turn(grain.end - grain.start, 1j)
    return piece if abs(angle) < _UPRIGHT else piece.moved(rotation_about(0j, angle))


def _copies(piece: SheetPiece, count: CutCount) -> list[SheetPiece]:
    """Return a piece as often as it is cut, every second one mirrored where it is no half."""
    copies = []
    for number in range(1, count.number + 1):
        mirrored = number % 2 == 0 and not count.on_fold
        said = (
            _("Piece {number} of {count}, mirrored") if mirrored else _("Piece {number} of {count}")
        ).format(number=number, count=count.number)
        texts = []
        for text in piece.texts:
            if text.kind == TITLE:
                rows = [row for k, row in enumerate(text.lines) if k != count.line]
                text = _with_lines(text, (*rows, said))
            texts.append(text)
        copy = piece.with_texts(texts)
        copies.append(copy.mirrored() if mirrored else copy)
    return copies


def _nested(nest: Nest, choice: Choice) -> tuple[SheetPiece, CutCount]:
    """Return the sizes of a piece on one another, told apart by dash and label."""
    smallest = nest.results[0]
    lines: list[SheetLine] = []
    for index, result in enumerate(nest.results):
        own = _lines_of(result, choice, index)
        # One grainline is enough for all of them, and the longest fold edge.
        is_last = index == len(nest.results) - 1
        lines += [
            line
            for line in own
            if (index == 0 or line.kind != "grainline") and (is_last or line.kind != "fold-edge")
        ]
    lines.sort(key=lambda line: line.kind in (CUT_LINE, "fold-edge"))
    count = count_said(_title(smallest), smallest.draft)
    texts: list[PrintedText] = []
    clear = Clearings([chain for line in lines for chain, _ in line.chains])
    for text in smallest.texts:
        if text.kind == TITLE:
            texts.append(_with_lines(text, _nest_title(nest, text.lines, count)))
        elif text.kind == SEAM_NAME:
            texts.append(text)
    texts += [text for result in nest.results for text in result.texts if text.kind == "own"]
    for index, result in enumerate(nest.results):
        texts += _size_labels(result, nest.sizes[index], clear)
    for fold in fold_lines(smallest.draft) if "cut" not in choice.left_out else ():
        sign, words = fold_sign(fold, clear)
        lines.append(sign)
        texts.append(words)
    texts = [text for text in texts if "names" not in choice.left_out]
    if count.line is not None:
        count = count._replace(line=_CUT_ROW)
    largest = nest.results[-1]
    return SheetPiece(nest.name, tuple(lines), tuple(texts), (largest.draft.cut_line,)), count


def _nest_title(nest: Nest, title: Sequence[str], count: CutCount) -> tuple[str, ...]:
    cut = [title[count.line]] if count.line is not None else []
    sizes = _("Sizes {sizes}").format(sizes=", ".join(nest.sizes))
    return (nest.name, *cut, *textwrap.wrap(sizes, _SIZES_WIDTH))


def _size_labels(result: PrintedResult, size: str, clear: Clearings) -> list[PrintedText]:
    """Return a size's label, a few times along its cut line, where it is free."""
    folds = fold_lines(result.draft)
    ring = [s for s in result.draft.cut_line if not any(lies_on(s, fold) for fold in folds)]
    lengths = [segment.length() for segment in ring]
    half = text_width(size, SIZE_LETTERS) / 2
    box = (half + 0.3, RISE * SIZE_LETTERS + 0.3, DROP * SIZE_LETTERS + 0.3)
    rated: list[tuple[int, float, complex, complex]] = []
    for step in range(_SIZE_PLACES):
        share = (step + 0.5) / _SIZE_PLACES
        at, tangent = at_share(ring, lengths, share)
        direction = tangent if (tangent.real, -tangent.imag) > (0.0, 0.0) else -tangent
        for outward in (1j * tangent, -1j * tangent):
            above = dot(outward, -1j * direction) > 0.0
            gap = _SIZE_GAP + (DROP if above else RISE) * SIZE_LETTERS
            place = at + outward * gap
            rated.append((clear.hits(place, direction, *box), share, place, direction))
    rated.sort(key=lambda place: place[0])
    taken: list[float] = []
    texts = []
    for _hits, share, place, direction in rated:
        if any(abs(share - other) < 0.7 / _SIZE_LABELS for other in taken):
            continue
        taken.append(share)
        clear.add_box(place, direction, *box)
        texts.append(PrintedText("size", (size,), place, direction, SIZE_LETTERS, "middle", False))
        if len(texts) == _SIZE_LABELS:
            break
    return texts


def _with_lines(title: PrintedText, lines: Sequence[str]) -> PrintedText:
    """Return a title with other lines, smaller where these are longer than its own were."""
    was, is_now = (
        max(text_width(line, title.size, bold=title.bold) for line in rows)
        for rows in (title.lines, lines)
    )
    size = title.size * max(_SMALLEST_TITLE, min(1.0, was / is_now))
    # Further lines go above: below it there may be anything.
    up = max(0.0, LEADING * (size * len(lines) - title.size * len(title.lines)))
    return title._replace(lines=tuple(lines), size=size, at=title.at - 1j * title.direction * up)
