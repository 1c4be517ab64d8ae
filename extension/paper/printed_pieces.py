"""Results made ready for paper: each as often as its title says, turned to its grain."""

from __future__ import annotations

from collections.abc import Sequence

from drafting_core.model.outline import encloses, flattened, nearest_on
from drafting_core.plane.curves import Segment, rotation_about, turn
from drafting_core.text.errors import SettingError
from drafting_core.text.words import _
from extension.document.svg_document import DocumentError
from extension.finished.cut_count import CutCount
from extension.look.text_places import Clearings
from extension.paper.fold_sign import fold_sign
from extension.paper.fullness_words import KIND as FULLNESS_WORDS
from extension.paper.fullness_words import fullness_words
from extension.paper.paper_piece import PaperLine, PaperPiece, cut_chains, read_rightly, with_lines
from extension.paper.paper_strokes import HAIRLINE
from extension.paper.printed_lines import Choice, is_printed, lines_of
from extension.paper.printed_parts import CUT_LINE, TITLE, PrintedResult
from extension.paper.sizes_nest import nested, nests_of, of_sizes
from extension.paper.unfolded import unfolded

#: What a cutting machine follows.
_FOR_MACHINE = frozenset({CUT_LINE, "notch", "drill-hole"})
#: A notch this near to the cut line all along is part of it (mm).
ON_CUT = 0.05
#: A grainline that is off the upright by less than this is upright (rad).
_UPRIGHT = 1e-6


def paper_pieces(results: Sequence[PrintedResult], choice: Choice) -> list[PaperPiece]:
    """Return the pieces to be laid on paper: copies and mirrored ones each by itself.

    Raises:
        SettingError: if nothing is left to print, or a size is not there.
    """
    chosen = of_sizes(results, choice.sizes)
    if "cut" not in choice.left_out:
        for result in chosen:
            _check_cut_line(result)
    if choice.unfold:
        chosen = [unfolded(result) for result in chosen]
    pieces: list[PaperPiece] = []
    for nest in nests_of(chosen, apart=choice.apart or choice.cut_only):
        first = nest.results[0]
        if len(nest.results) > 1:
            piece, count = nested(nest, choice)
        else:
            piece = _for_the_machine(first) if choice.cut_only else _single(first, choice)
            count = first.cut
        piece = _upright(piece, first)
        if choice.pairs and count.number > 1:
            pieces += _copies(piece, count)
        else:
            pieces.append(piece)
    pieces = [piece for piece in pieces if piece.lines or piece.texts]
    if not pieces:
        raise SettingError(
            _("everything is left out."),
            thing=_("The pages"),
            remedy=_("Let at least the cut line be printed."),
        )
    return pieces


def _check_cut_line(result: PrintedResult) -> None:
    """Refuse a piece without its cut line, which would be cut without allowances.

    Raises:
        DocumentError: naming the piece.
    """
    if not any(line.kind == CUT_LINE for line in result.lines):
        raise DocumentError(
            _("its cut line is hidden or deleted."),
            thing=_('The piece "{name}"').format(name=result.name),
            remedy=_(
                "Show it, or run Allowances, which draws it anew; or leave the cut line out of "
                "what is printed."
            ),
        )


def _single(result: PrintedResult, choice: Choice) -> PaperPiece:
    lines = lines_of(result, choice)
    texts = [text for text in result.texts if is_printed(text.kind, choice, names=True)]
    clear = Clearings([chain for line in lines for chain, _ in line.chains])
    if result.draft.fullness and is_printed(FULLNESS_WORDS, choice):
        texts += fullness_words(result.draft, clear)
    for fold in result.folds if "cut" not in choice.left_out else ():
        sign, words = fold_sign(fold, clear)
        lines.append(sign)
        texts += [] if "names" in choice.left_out else [words]
    return PaperPiece(result.name, tuple(lines), tuple(texts), cut_chains(result))


def _for_the_machine(result: PrintedResult) -> PaperPiece:
    cut = [
        s
        for line in result.lines
        if line.kind == CUT_LINE
        for chain, _ in line.chains
        for s in chain
    ]
    lines = []
    for line in result.lines:
        if line.kind not in _FOR_MACHINE:
            continue
        # A notch that runs along the side of a window is cut already.
        chains = [
            (chain, closed)
            for chain, closed in line.chains
            if line.kind != "notch" or not _is_cut(chain, cut)
        ]
        if line.kind == CUT_LINE:
            # What falls out of a piece is cut while the piece still lies fast.
            chains = _inner_first(chains)
        if chains:
            lines.append(PaperLine(line.kind, HAIRLINE, tuple(chains)))
    lines.sort(key=lambda line: line.kind == CUT_LINE)
    return PaperPiece(result.name, tuple(lines), (), cut_chains(result))


def _inner_first(
    chains: Sequence[tuple[tuple[Segment, ...], bool]],
) -> list[tuple[tuple[Segment, ...], bool]]:
    """Return chains in the order in which they are cut: those within another before it."""
    outlines = [flattened(chain, 8) for chain, _closed in chains]
    depths = [
        sum(
            encloses(outline, chain[0].start)
            for other, outline in enumerate(outlines)
            if other != number and chains[other][1]
        )
        for number, (chain, _closed) in enumerate(chains)
    ]
    return [chains[k] for k in sorted(range(len(chains)), key=lambda k: -depths[k])]


def _is_cut(notch: Sequence[Segment], cut: Sequence[Segment]) -> bool:
    return all(
        nearest_on(cut, segment.point(t)).distance <= ON_CUT
        for segment in notch
        for t in (0.0, 0.5, 1.0)
    )


def _upright(piece: PaperPiece, result: PrintedResult) -> PaperPiece:
    """Return a piece with its grain along the sheet, down the page."""
    grain = result.draft.grain
    angle = turn(grain.end - grain.start, 1j)
    if abs(angle) >= _UPRIGHT:
        piece = piece.moved(rotation_about(0j, angle))
    return piece.with_texts([read_rightly(text) for text in piece.texts])


def _copies(piece: PaperPiece, count: CutCount) -> list[PaperPiece]:
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
                text = with_lines(text, (*rows, said))
            texts.append(text)
        copy = piece.with_texts(texts)
        copies.append(copy.mirrored() if mirrored else copy)
    return copies
