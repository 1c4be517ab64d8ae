"""The command ``sew-notes``: for every finished piece a page that tells how to sew it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from lxml import etree

from drafting_core.finished.pattern_piece import Draft, JoinedSeam
from drafting_core.text.errors import DraftingError, SettingError
from drafting_core.text.paper_sizes import DESK_PAGES
from drafting_core.text.words import _
from extension.document.svg_document import units
from extension.finished.old_cut_line import drawn_cut_line, old_cut_line
from extension.finished.results_in_play import drafted, piece_called, results_in_play, visible
from extension.pages.editor_pages import PageBox, PageSet
from extension.pages.page_surface import PageSurface
from extension.reading.piece_names import block_name, shown_name
from extension.sewing.page import Page, notes_laid_out, write_page

#: What ``dartswing:sheet`` says of the layer.
KIND = "sew-notes"
#: Between two pages on the canvas (mm).
PAGE_GAP = 20.0


class Notes(NamedTuple):
    """Pages of sewing notes in a document.

    Attributes:
        layer: their layer.
        mm_per_unit: millimetres on paper to a unit of the root.
        pages: the pages.
        told: what was done, a line for every piece.
        remarks: those of these lines that the drafter has to look at.
    """

    layer: etree._Element
    mm_per_unit: float
    pages: tuple[Page, ...]
    told: tuple[str, ...]
    remarks: tuple[str, ...] = ()


def paper_of(text: str) -> str:
    """Return the paper that a text names.

    Raises:
        SettingError: if it is none of those that the notes are made for.
    """
    for name in DESK_PAGES:
        if name.casefold() == text.strip().casefold():
            return name
    raise SettingError(
        _('"{text}" is not known.').format(text=text),
        thing=_("The page"),
        remedy=_("Use one of {pages}.").format(pages=", ".join(DESK_PAGES)),
    )


def sew_notes(root: etree._Element, selection: Sequence[str], paper: str) -> Notes:
    """Add a layer with a page of sewing notes for every finished piece in play.

    Args:
        root: the root of the document.
        selection: the ids of the selected objects.
        paper: the paper's name.

    Raises:
        DraftingError: if there is no finished piece, or one cannot be told of; the document is
            then as it was.
    """
    name = paper_of(paper)
    drawing, sources = results_in_play(root, selection)
    results, left_out = visible(sources, selected=bool(selection))
    drafts = [drafted(source, drawing) for source in results]
    pages = []
    for source, (draft, mate) in zip(results, _joined(drafts), strict=True):
        try:
            pages.append(notes_laid_out(draft, name, mate))
        except DraftingError as error:
            raise error.about(piece_called(source, drawing)) from None
    mm = units(root)
    layers = [str(source.layer.get("id")) for source in results if source.layer is not None]
    page_set = PageSet(root, mm, KIND, layers)
    boxes = []
    for number, page in enumerate(pages):
        corner = complex(number * (page.layout.width + PAGE_GAP), 0.0)
        label = block_name(page.draft)
        write_page(PageSurface(page_set, page_set.sublayer(label), corner), page)
        boxes.append(PageBox(corner, page.layout.width, page.layout.height, label))
    names = ", ".join(block_name(page.draft) for page in pages)
    # A layer's label is English in any language, as that of a result is.
    page_set.finish(f"Sewing notes: {names}", boxes)  # not read by drafters
    # The page shows what its stitch line gives now: a pattern cut by an older line is another.
    remarks = [
        *left_out,
        *(
            remark
            for source, draft in zip(results, drafts, strict=True)
            for remark in old_cut_line(drawn_cut_line(source), draft)
        ),
    ]
    told = [*drawing.notes, *(_told(page, name) for page in pages), *remarks]
    return Notes(page_set.layer, mm, tuple(pages), tuple(told), tuple(remarks))


def _told(page: Page, paper: str) -> str:
    """Return what the terminal is told of a page."""
    name = shown_name(page.draft)
    if not page.sections:
        return _("{name}: no dart to sew; one page ({page}).").format(name=name, page=paper)
    titles = "; ".join(section.title for section in page.sections)
    said = _("{name}, on one page ({page}): {titles}.")
    return said.format(name=name, page=paper, titles=titles)


def _joined(drafts: Sequence[Draft]) -> list[tuple[Draft, Draft | None]]:
    """Return drafts that know their seam to the other part of the block, and that other part.

    Both results name that seam alike, by a name that no usual seam has.
    """
    found = []
    for draft in drafts:
        mates = [
            (seam, other, theirs)
            for seam in draft.piece.seams()
            if not seam.is_known
            for other in drafts
            if other is not draft
            for theirs in other.piece.seams()
            if theirs.name == seam.name
        ]
        mate = None
        if len(mates) == 1:
            ((seam, mate, theirs),) = mates
            lengths = draft.piece.seam_lengths()[seam], mate.piece.seam_lengths()[theirs]
            if draft.joined is None:
                joined = JoinedSeam(seam.shown, *lengths, shown_name(mate), 0.0)
                draft = draft._replace(joined=joined)
        found.append((draft, mate))
    return found
