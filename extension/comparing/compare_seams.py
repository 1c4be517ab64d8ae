"""The command that walks seams along their mates: a drawing in, what was measured out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.block.found_block import take_block
from drafting_core.dart.fullness import standing
from drafting_core.finished.mated_seams import (
    ACCEPTABLE,
    DIFFERS,
    MATCHES,
    STRICT,
    Comparison,
    MeasuredSeam,
    NotchPair,
    compare_mates,
    seams_with_mates,
)
from drafting_core.model.piece_kinds import title_for_attributes
from drafting_core.text.errors import DraftingError, OutlineError
from drafting_core.text.lengths import (
    difference_as_typed,
    in_words,
    told_difference,
    told_with_difference,
)
from drafting_core.text.words import N_, _
from extension.document.roles import name_of
from extension.document.shapes import drawn_elements
from extension.document.stored_values import UnusableAttributeError
from extension.reading.block_marks import core_block
from extension.reading.piece_names import shown_title
from extension.reading.read_blocks import read_drawing
from extension.reading.read_outline import member_label
from extension.reading.source_block import Drawing, SourceBlock

#: Lengths that differ by less than this (mm) are called equal.
_EQUAL = 0.05
MARKING = N_(
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
        raise OutlineError(
            _("no seams are marked as mates."), remedy=_(MARKING), thing=_("The drawing")
        )
    comparisons: list[Comparison] = []
    warnings: list[str] = []
    for mate, items in found.items():
        pairs = _pairs(items)
        warnings += _faults(mate, items, found_pair=bool(pairs))
        comparisons += [compare_mates(mate, one.measured, other.measured) for one, other in pairs]
    if not comparisons:
        raise OutlineError(" ".join(warnings), remedy=_(MARKING), thing=_("The drawing"))
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
            piece = title_for_attributes(block.name, read.piece) or name_of(source.outline)
            shown = shown_title(piece, read.piece)
            found = [
                _Found(measured, piece, is_result)
                for measured in seams_with_mates(
                    read.piece,
                    _("{piece} (finished)").format(piece=shown) if is_result else shown,
                    read.down,
                    block.notches,
                    notched_darts=is_result,
                    fullness=[standing(read.piece, mark) for mark in block.fullness],
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
    """Tell whether a mark or a path of the outline says a mate: other blocks are not looked at.

    One of which an attribute cannot be used may have said it there.
    """
    if isinstance(source.fault, UnusableAttributeError):
        return True
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
        _(
            'the mate "{mate}" is on {n} seams: {seams}. Leave it on the two that are sewn '
            "together, and give the others another name."
        ).format(mate=mate, n=len(group), seams=_places(group))
        for group in (blocks, results)
        if len(group) > 2
    ]
    if not faults and not found_pair:
        faults.append(
            _(
                'the mate "{mate}" is on one seam only: {seams}. Mark the seam that it is sewn to '
                "as well."
            ).format(mate=mate, seams=_places(items))
        )
    return faults


def _places(items: Sequence[_Found]) -> str:
    return ", ".join(_of_piece(item.measured.seam.spoken, item.measured.block) for item in items)


def _of_piece(seam: str, piece: str) -> str:
    return _("{seam} of {piece}").format(seam=seam, piece=piece)


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
    first_length, second_length, differ = _told(first.length, second.length)
    said = _(
        'Mates "{mate}": {first} of {first_piece}, {first_length}; {second} of {second_piece}, '
        "{second_length}."
    ).format(
        mate=pair.mate,
        first=first.seam.shown,
        first_piece=first.block,
        first_length=first_length,
        second=second.seam.shown,
        second_piece=second.block,
        second_length=second_length,
    )
    lines = [said, f"  {_difference(pair, differ)} {_verdict(pair)}"]
    if pair.notch_pairs:
        heading = (
            _("Notches, from the upper end, the second from its lower end:")
            if pair.other_end
            else _("Notches, from the upper end:")
        )
        lines.append(f"  {heading}")
        lines += [f"    {_notch_line(notches)}" for notches in pair.notch_pairs]
    return lines


def _told(one: float, other: float) -> tuple[str, str, str]:
    """Return two lengths for a message and their difference, which subtract.

    The lengths read differently unless the message calls them equal.
    """
    if abs(one - other) < _EQUAL:
        return in_words(one), in_words(other), told_difference(abs(one - other))
    return told_with_difference(one, other)


def _difference(pair: Comparison, told: str) -> str:
    if abs(pair.difference) < _EQUAL:
        return _("Equally long.")
    longer = pair.first if pair.difference > 0 else pair.second
    seam = longer.seam.spoken
    return _("{seam} of {piece} is longer by {length}.").format(
        seam=f"{seam[:1].upper()}{seam[1:]}",
        piece=longer.block,
        length=told,
    )


def _verdict(pair: Comparison) -> str:
    if pair.ease:
        return _verdict_with_ease(pair)
    if pair.verdict == MATCHES:
        return _("This matches (within {tolerance}).").format(tolerance=in_words(STRICT))
    if pair.verdict != DIFFERS:
        return _("This is acceptable (within {tolerance}).").format(tolerance=in_words(ACCEPTABLE))
    return _(
        "Ease or gather it in if that is wanted, and say so in that seam's label (like "
        '"ease {length}"); else correct one of the seams.'
    ).format(length=difference_as_typed(pair.difference))


def _verdict_with_ease(pair: Comparison) -> str:
    if pair.verdict == MATCHES:
        said = _(
            "This matches with the {ease} of ease wanted on {seam} of {piece} (within {tolerance})."
        )
    elif pair.verdict != DIFFERS:
        said = _(
            "This is acceptable with the {ease} of ease wanted on {seam} of {piece} (within "
            "{tolerance})."
        )
    elif (pair.excess > 0) == (pair.ease > 0):
        said = _(
            "That is {excess} too much with the {ease} of ease wanted on {seam} of {piece}: "
            "correct one of the seams."
        )
    else:
        said = _(
            "That is {excess} too little with the {ease} of ease wanted on {seam} of {piece}: "
            "correct one of the seams."
        )
    eased = pair.first if pair.ease > 0 else pair.second
    return said.format(
        excess=told_difference(abs(pair.excess)),
        ease=told_difference(abs(pair.ease)),
        seam=eased.seam.spoken,
        piece=eased.block,
        tolerance=in_words(STRICT if pair.verdict == MATCHES else ACCEPTABLE),
    )


def _notch_line(notches: NotchPair) -> str:
    first, second = notches.first, notches.second
    if first is None or second is None:
        one, other = (_("none") if at is None else in_words(at) for at in (first, second))
        differ = ""
    else:
        one, other, differ = _told(first, second)
    said = (
        _("{first} and {second}: without a partner")
        if not differ
        else _("{first} and {second}: off by {difference}")
    )
    return said.format(first=one, second=other, difference=differ)
