"""The command that walks seams along their mates: a drawing in, what was measured out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.errors import DraftingError, OutlineError
from drafting_core.found_block import take_block
from drafting_core.fullness import standing
from drafting_core.lengths import in_words
from drafting_core.piece_kinds import piece_title
from drafting_core.seam_balance import (
    DIFFERS,
    MATCHES,
    Comparison,
    MeasuredSeam,
    NotchPair,
    compare,
    seams_with_mates,
)
from extension.block_marks import core_block
from extension.read_blocks import read_drawing
from extension.read_outline import member_label
from extension.roles import name_of
from extension.shapes import drawn_elements
from extension.source_block import Drawing, SourceBlock

MARKING = (
    'Label a mark on each of the two seams with the same mate, like "seam side seam mate A" '
    '(or give it the attribute dartswing:mate="A").'
)


class SeamBalance(NamedTuple):
    """What came of comparing mates.

    Attributes:
        comparisons: the pairs, by the mates' first appearance.
        warnings: what could not be compared, and why.
        drawing: the drawing as it was read.
    """

    comparisons: list[Comparison]
    warnings: list[str]
    drawing: Drawing


class _Found(NamedTuple):
    """A seam with a mate, whose piece it is of, and whether that is a result."""

    measured: MeasuredSeam
    piece: str
    is_result: bool


def compare_seams(root: etree._Element) -> SeamBalance:
    """Compare all seams of a drawing that are marked as mates.

    Raises:
        DraftingError: if there are none, or if no pair of them can be compared.
    """
    drawing = read_drawing(root)
    found: dict[str, list[_Found]] = {}
    for item in _with_mates(drawing):
        found.setdefault(item.measured.seam.mate, []).append(item)
    if not found:
        raise OutlineError(_("no seams are marked as mates."), remedy=MARKING, thing=_("The drawing"))
    comparisons: list[Comparison] = []
    warnings: list[str] = []
    for mate, items in found.items():
        pairs = _pairs(items)
        warnings += _faults(mate, items, found_pair=bool(pairs))
        comparisons += [compare(mate, one.measured, other.measured) for one, other in pairs]
    if not comparisons:
        raise OutlineError(" ".join(warnings), remedy=MARKING, thing=_("The drawing"))
    return SeamBalance(comparisons, warnings, drawing)


def _with_mates(drawing: Drawing) -> Iterable[_Found]:
    """Yield every seam with a mate; of several results of a piece only those of the newest."""
    newest: dict[str, list[_Found]] = {}
    for source in drawing.blocks:
        if not _has_mates(source):
            continue
        try:
            block = core_block(source, drawing)
            is_result = source.layer is not None
            read = take_block(block, equalise=not is_result)
            piece = piece_title(block.name, read.piece) or name_of(source.outline)
            found = [
                _Found(measured, piece, is_result)
                for measured in seams_with_mates(
                    read.piece,
                    f"{piece} (finished)" if is_result else piece,
                    read.down,
                    block.notches,
                    notched_darts=is_result,
                    fullness=[
                        standing(read.piece, mark.kind, mark.paths) for mark in block.fullness
                    ],
                )
            ]
        except DraftingError as error:
            raise error.about(source.thing).noted(source.size_sentence) from None
        if is_result:
            newest[piece] = found
        else:
            yield from found
    for found in newest.values():
        yield from found


def _has_mates(source: SourceBlock) -> bool:
    """Tell whether a mark or a path of the outline says a mate: other blocks are not looked at."""
    if any(mark.role.label and mark.role.label.mate for mark in source.marks):
        return True
    if source.layer is not None:
        return False
    labels = (member_label(child)[0] for child in drawn_elements(source.outline))
    return any(label is not None and label.mate for label in labels)


def _pairs(items: Sequence[_Found]) -> list[tuple[_Found, _Found]]:
    """Return which of the seams of one mate are compared.

    Blocks with blocks and results with results. Where only one of two pieces is finished yet,
    its result is compared with the other piece's block.
    """
    blocks = [item for item in items if not item.is_result]
    results = [item for item in items if item.is_result]
    pairs = [(group[0], group[1]) for group in (blocks, results) if len(group) == 2]
    if len(results) == 1 and len(blocks) <= 2:
        # A part of a block that was cut in two is called after it.
        whole = f"{results[0].piece},"
        others = [item for item in blocks if not whole.startswith(f"{item.piece},")]
        if len(others) == 1:
            pairs.append((results[0], others[0]))
    return pairs


def _faults(mate: str, items: Sequence[_Found], *, found_pair: bool) -> list[str]:
    """Return what is wrong with the seams that share a mate's name."""
    blocks = [item for item in items if not item.is_result]
    results = [item for item in items if item.is_result]
    faults = [
        f'the mate "{mate}" is on {len(group)} seams: {_places(group)}. Leave it on the two that '
        "are sewn together, and give the others another name."
        for group in (blocks, results)
        if len(group) > 2
    ]
    if not faults and not found_pair:
        faults.append(
            f'the mate "{mate}" is on one seam only: {_places(items)}. Mark the seam that it is '
            "sewn to as well."
        )
    return faults


def _places(items: Sequence[_Found]) -> str:
    return ", ".join(f"{item.measured.seam.spoken} of {item.measured.block}" for item in items)


def balance_report(balance: SeamBalance) -> dict[str, object]:
    """Return the comparison, ready for JSON."""

    def side(measured: MeasuredSeam) -> dict[str, object]:
        return {
            "block": measured.block,
            "seam": measured.seam.name,
            "length_mm": measured.length,
            "notches_mm": list(measured.notches),
        }

    return {
        "pairs": [
            {
                "mate": pair.mate,
                "first": side(pair.first),
                "second": side(pair.second),
                "difference_mm": pair.difference,
                "ease_mm": pair.ease,
                "verdict": pair.verdict,
            }
            for pair in balance.comparisons
        ],
        "warnings": balance.warnings,
    }


def balance_lines(balance: SeamBalance) -> list[str]:
    """Return the comparison in words, line by line."""
    lines: list[str] = []
    for pair in balance.comparisons:
        lines += [*_pair_lines(pair), ""]
    lines += [f"{text[:1].upper()}{text[1:]}" for text in balance.warnings]
    return lines if lines[-1] else lines[:-1]


def _pair_lines(pair: Comparison) -> list[str]:
    first, second = pair.first, pair.second
    lines = [
        f'Mates "{pair.mate}": '
        f"{first.seam.name} of {first.block}, {first.length:.1f} mm; "
        f"{second.seam.name} of {second.block}, {second.length:.1f} mm.",
        f"  {_difference(pair)} {_verdict(pair)}",
    ]
    if pair.notch_pairs:
        end = ", the second from its lower end" if pair.other_end else ""
        lines.append(f"  Notches, from the upper end{end}:")
        lines += [f"    {_notch_line(notches)}" for notches in pair.notch_pairs]
    return lines


def _difference(pair: Comparison) -> str:
    if abs(pair.difference) < 0.05:
        return "Equally long."
    longer = pair.first if pair.difference > 0 else pair.second
    return f"{_called(longer)} is longer by {in_words(abs(pair.difference))}."


def _verdict(pair: Comparison) -> str:
    wanted = ""
    if pair.ease:
        eased = pair.first if pair.ease > 0 else pair.second
        wanted = f" with the {in_words(abs(pair.ease))} of ease wanted on {eased.seam.spoken}"
        wanted += f" of {eased.block}"
    if pair.verdict == MATCHES:
        return f"This matches{wanted} (within 1/16 in)."
    if pair.verdict != DIFFERS:
        return f"This is acceptable{wanted} (within 1/8 in)."
    if pair.ease:
        too = "too much" if (pair.excess > 0) == (pair.ease > 0) else "too little"
        return f"That is {in_words(abs(pair.excess))} {too}{wanted}: correct one of the seams."
    return (
        "Ease or gather it in if that is wanted, and say so in that seam's label (like "
        f'"ease {in_words(abs(pair.difference)).replace(" ", "")}"); else correct one of the seams.'
    )


def _called(measured: MeasuredSeam) -> str:
    words = measured.seam.spoken
    return f"{words[:1].upper()}{words[1:]} of {measured.block}"


def _notch_line(notches: NotchPair) -> str:
    def place(at: float | None) -> str:
        return "none" if at is None else in_words(at)

    by = notches.difference
    told = "without a partner" if by is None else f"off by {in_words(abs(by))}"
    return f"{place(notches.first)} and {place(notches.second)}: {told}"
