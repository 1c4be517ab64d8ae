"""The command ``paper``: finished pieces on pages of true size, ready to print."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.pages.tiling import Tiling
from drafting_core.text.errors import SettingError
from drafting_core.text.lengths import in_words, parse_measure
from drafting_core.text.paper_sizes import CUSTOM, Paper, paper_named
from drafting_core.text.words import N_, _, listed, ngettext
from extension.document.svg_document import units
from extension.finished.results_in_play import results_in_play, visible
from extension.look.strokes import Stroke
from extension.options.settings_text import too_long
from extension.pages.editor_pages import PageSet
from extension.paper.first_page import (
    FirstPage,
    block_size,
    least_width,
    part_size,
    used_lines,
)
from extension.paper.layout import PAD, PaperLayout, check_roll, lay_out, undivided
from extension.paper.page_texts import with_free_titles
from extension.paper.paper_piece import PaperPiece
from extension.paper.paper_strokes import of_size
from extension.paper.piece_table import piece_rows, printing_day
from extension.paper.printed_lines import CHOICES, Choice
from extension.paper.printed_parts import PrintedResult
from extension.paper.printed_pieces import paper_pieces
from extension.paper.read_printed import read_printed
from extension.paper.sizes_nest import nests_of, of_sizes
from extension.paper.write_pages import PaperWriter

#: What the attribute ``dartswing:sheet`` says of the layer.
KIND = "paper"
#: Wider than this no margin or overlap is meant (mm).
WIDEST = 200.0
#: What many desk printers can leave free at least (mm: common practice).
NARROW_MARGIN = 5.0
_AS_OFTEN = N_(
    "Each piece is there as often as it is cut; --copies once prints it once (in the dialog: "
    "Pieces)."
)

_CAREFUL = N_(
    "Print at 100 %, measure the squares on the first page before cutting, and sew a trial in "
    "cheap cloth first."
)


class PaperRequest(NamedTuple):
    """What the drafter asks for.

    Attributes:
        paper: the paper.
        margin: what of every page stays free, in mm.
        overlap: the strip that neighbouring pages share, in mm.
        choice: what is printed.
        inside: whether empty pages inside a piece are printed.
        each_apart: whether every piece has pages of its own.
        selection: the ids of the selected objects.
    """

    paper: Paper
    margin: float
    overlap: float
    choice: Choice
    inside: bool = False
    each_apart: bool = False
    selection: Sequence[str] = ()


class Printed(NamedTuple):
    """What came of a run.

    Attributes:
        layer: the layer of the pages.
        mm_per_unit: millimetres on paper to a unit of the root.
        told: what is told of it, sentence by sentence.
        remarks: those of these sentences that the drafter has to look at.
        title: the names of the pieces.
    """

    layer: etree._Element
    mm_per_unit: float
    told: tuple[str, ...]
    remarks: tuple[str, ...]
    title: str


def paper_request(values: Mapping[str, str], selection: Sequence[str]) -> PaperRequest:
    """Return the request that the options of a command line or a dialog describe.

    Raises:
        SettingError: if a value cannot be read.
    """
    unit = values["unit"]
    paper = paper_named(values["paper"], values["width"], values["height"], unit)
    lengths = []
    for name, what in (("margin", _("The margin")), ("overlap", _("The overlap"))):
        length = parse_measure(values[name], what, unit)
        if length > WIDEST:
            raise too_long(length, WIDEST, what, unit)
        lengths.append(length)
    sizes = tuple(part.strip() for part in values["sizes"].replace(";", ",").split(","))
    choice = Choice(
        left_out=frozenset(word for word in CHOICES if values[word] == "no"),
        cut_only=values["cut-only"] == "yes",
        pairs=values["copies"] == "said",
        sizes=tuple(size for size in sizes if size),
        apart=values["apart"] == "yes",
        unfold=values["unfold"] == "yes"
        or (values["unfold"] == "auto" and values["cut-only"] == "yes"),
    )
    if choice.cut_only and "cut" in choice.left_out:
        raise SettingError(
            _("it is all that a cutting machine follows, and cannot be left out."),
            thing=_("The cut line"),
            remedy=_("Let it be printed, or choose pages to print instead of the cutting machine."),
        )
    is_inside, is_apart = (values[word] == "yes" for word in ("inside", "each-apart"))
    return PaperRequest(paper, lengths[0], lengths[1], choice, is_inside, is_apart, selection)


def make_paper(root: etree._Element, request: PaperRequest) -> Printed:
    """Add the pages of all results in play to a document, as a layer and pages of the editor.

    Raises:
        DraftingError: if they cannot be printed as asked; the document is then as it was.
    """
    drawing, sources = results_in_play(root, request.selection)
    shown, remarks = visible(sources, selected=bool(request.selection))
    results = [read_printed(source, drawing) for source in shown]
    remarks += [remark for result in results for remark in result.remarks]
    pieces = paper_pieces(results, request.choice)
    if request.paper.is_roll:
        check_roll(pieces, request.paper, request.margin)
    if request.choice.cut_only:
        remarks += _halves_in_words(results, request.choice)
        layout = undivided(pieces, request.paper, request.margin)
        if not request.paper.is_roll and layout.tiling.width not in request.paper[1:]:
            remarks.append(_enlarged(layout, request.paper))
        first, saved = None, 0
    else:
        layout, first, saved = _laid_out(pieces, results, request, remarks)
    mm = units(root)
    pages = PageSet(root, mm, KIND, [str(source.outline.get("id")) for source in shown])
    writer = PaperWriter(pages, layout)
    count = layout.page_count
    # A layer's label is English in any language, as that of a result is.
    names = ", ".join(_counts(pieces))
    label = f"Paper: {names}, {request.paper.name}, {count} pages"  # not read by drafters
    if first is None:
        writer.write_for_the_machine(label)
    else:
        writer.write(first, label)
    told = (
        *(
            _("{pieces}: {pages}").format(pieces=_pieces_in_words(pieces), pages=sentence)
            if number == 0
            else sentence
            for number, sentence in enumerate(_pages_in_words(layout, request.paper))
        ),
        *_inside_in_words(layout),
        *_saved_in_words(saved),
        *([_(_AS_OFTEN)] if request.choice.pairs and max(_counts(pieces).values()) > 1 else []),
        *remarks,
        _(_CAREFUL) if first is not None else _("Cut and sew a trial in cheap cloth first."),
    )
    return Printed(pages.layer, mm, told, tuple(remarks), listed(_counts(pieces)))


def _counts(pieces: Sequence[PaperPiece]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for piece in pieces:
        counts[piece.name] = counts.get(piece.name, 0) + 1
    return counts


def _pieces_in_words(pieces: Sequence[PaperPiece]) -> str:
    return listed(
        name if n == 1 else _("{name} ({n} pieces)").format(name=name, n=n)
        for name, n in _counts(pieces).items()
    )


def _pages_in_words(layout: PaperLayout, paper: Paper) -> list[str]:
    """Return on how many pages the pieces are, and how these lie, in sentences."""
    tiling = layout.tiling
    width, height = in_words(tiling.width), in_words(tiling.height)
    count = layout.page_count
    if paper.is_roll:
        return [
            _("one page of {width} × {height} from the roll.").format(width=width, height=height)
        ]
    if paper.name == CUSTOM or tiling.width not in paper[1:]:
        said = ngettext(
            "{n} page of {width} × {height}.", "{n} pages of {width} × {height}.", count
        )
        return [said.format(n=count, width=width, height=height), *_rows_in_words(layout)]
    upright = tiling.width <= tiling.height
    said = (
        ngettext(
            "{n} page {paper} ({width} × {height}), held upright.",
            "{n} pages {paper} ({width} × {height}), held upright.",
            count,
        )
        if upright
        else ngettext(
            "{n} page {paper} ({width} × {height}), held sideways.",
            "{n} pages {paper} ({width} × {height}), held sideways.",
            count,
        )
    )
    said = said.format(n=count, paper=paper.name, width=width, height=height)
    return [said, *_rows_in_words(layout)]


def _rows_in_words(layout: PaperLayout) -> list[str]:
    if not layout.joined:
        return []
    found = [
        (
            _("Rows of pages: {rows}; columns: {columns}.")
            if not layout.has_first_page
            else _("After the first page, rows of pages: {rows}; columns: {columns}.")
        ).format(
            rows=1 + max(place.row for place in layout.pages),
            columns=1 + max(place.column for place in layout.pages),
        )
    ]
    if layout.left_out:
        found.append(
            ngettext(
                "{n} empty page is left out.", "{n} empty pages are left out.", layout.left_out
            ).format(n=layout.left_out)
        )
    return found


def _inside_in_words(layout: PaperLayout) -> list[str]:
    if not layout.inside:
        return []
    said = ngettext(
        "{n} empty page lies inside a piece: --inside prints it (in the dialog: More), so that "
        "all can be glued.",
        "{n} empty pages lie inside a piece: --inside prints them (in the dialog: More), so that "
        "all can be glued.",
        layout.inside,
    )
    return [said.format(n=layout.inside)]


def _saved_in_words(saved: int) -> list[str]:
    if saved <= 0:
        return []
    said = ngettext(
        "With margins of {margin}, if the printer can have them, there is {n} page less (--margin; "
        "in the dialog: Margin).",
        "With margins of {margin}, if the printer can have them, there are {n} pages fewer "
        "(--margin; in the dialog: Margin).",
        saved,
    )
    return [said.format(n=saved, margin=in_words(NARROW_MARGIN))]


def _halves_in_words(results: Sequence[PrintedResult], choice: Choice) -> list[str]:
    halves = [] if choice.unfold else [result.name for result in results if result.folds]
    if not halves:
        return []
    return [
        _(
            "{pieces}: written as a half, its fold edge part of the contour. Lay it on the fold of "
            "the cloth, or have it opened out (--unfold auto; in the dialog: Pieces)."
        ).format(pieces=listed(halves))
    ]


def _enlarged(layout: PaperLayout, paper: Paper) -> str:
    return _(
        "What a machine cuts is not divided among pages, and the pieces do not fit on {paper}: "
        "they lie on one page of {width} × {height}."
    ).format(
        paper=paper.name,
        width=in_words(layout.tiling.width),
        height=in_words(layout.tiling.height),
    )


def _laid_out(
    pieces: Sequence[PaperPiece],
    results: Sequence[PrintedResult],
    request: PaperRequest,
    remarks: Sequence[str],
) -> tuple[PaperLayout, FirstPage, int]:
    """Return the pieces on their pages, what the first page says, and what less margin would save.

    That is how many pages fewer there are with margins of 5 mm, as many printers can have them.
    """
    paper, margin, overlap = request.paper, request.margin, request.overlap
    if not paper.is_roll:
        Tiling(paper.width, paper.height, margin, overlap).check()
    room = paper.width - 2 * (margin + PAD)
    if room < least_width():
        raise SettingError(
            _("its printable width of {room} has no room for the 2 in test square.").format(
                room=in_words(max(0.0, paper.width - 2 * margin))
            ),
            thing=_("The page"),
            remedy=_("Take a larger paper or a smaller margin."),
        )
    page = FirstPage(
        listed(_counts(pieces)),
        # As long as it can become: the block's room is set before the pages are counted.
        " ".join(["m" * 70] if paper.is_roll else ["m" * 140]),
        (
            _(
                "Where a page joins another at its left or its top, cut it off along its frame. "
                "Lay it on the other one up to the dashed line, so that the marks meet, and glue."
            ),
            _("Sew a trial in cheap cloth first."),
        ),
        tuple(remarks),
        used_lines(pieces, _sizes_in_key(results, request.choice)),
        (
            *piece_rows(results, request.choice),
            _("Printed on {day}.").format(day=printing_day()),
        ),
    )

    def laid(margin: float, *, quick: bool = False) -> PaperLayout:
        block = block_size(page, paper.width - 2 * (margin + PAD))
        return lay_out(
            pieces,
            paper,
            margin,
            overlap,
            block,
            functools.partial(part_size, page),
            inside=request.inside,
            each_apart=request.each_apart,
            quick=quick,
        )

    layout = with_free_titles(laid(margin))
    under = " ".join(_pages_in_words(layout, paper))
    page = page._replace(under=f"{under[:1].upper()}{under[1:]}")
    if not layout.joined:
        page = page._replace(
            sentences=page.sentences[1:],
            key=tuple(entry for entry in page.key if entry.kind != "join"),
        )
    saved = 0
    if margin > NARROW_MARGIN and layout.page_count > 2 and not paper.is_roll:
        saved = layout.page_count - laid(NARROW_MARGIN, quick=True).page_count
    return layout, page, saved


def _sizes_in_key(results: Sequence[PrintedResult], choice: Choice) -> list[tuple[Stroke, str]]:
    chosen = of_sizes(results, choice.sizes)
    nests = [nest for nest in nests_of(chosen, apart=choice.apart) if len(nest.results) > 1]
    longest = max(nests, key=lambda nest: len(nest.sizes), default=None)
    if longest is None:
        return []
    return [
        (of_size("cut-line", k), _("size {size}").format(size=size))
        for k, size in enumerate(longest.sizes)
    ]
