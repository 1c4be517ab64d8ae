"""The commands' jobs: what is asked becomes a request, and the request is done to a document.

A job is called with what is asked and returns what is done to a document. Values that make no
sense whatever the drawing are refused by the first call: the terminal then says so before it
reads anything. What a job needs is imported when it is called: a drafter waits for no import that
her command does not use.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from lxml import etree

from drafting_core.text.words import _
from extension.commands.asked import Asked, Done, Pages, Run
from extension.options.options import AS_MADE, MAKING

if TYPE_CHECKING:
    from extension.drafting.move_and_allow import Outcome, Request


def open_drawing(_asked: Asked, source: str) -> etree._ElementTree:
    """Return a drawing from a file, or from standard input for ``-``.

    Raises:
        DocumentError: if it cannot be read or is no SVG.
    """
    from extension.document.svg_document import read_document

    return read_document(source)


def open_scan(asked: Asked, source: str) -> etree._ElementTree:
    """Return a drawing, or a picture as a drawing of its true size.

    Raises:
        DraftingError: if it cannot be read; if a picture does not say its size.
        SettingError: if a drawing is given a resolution.
    """
    from drafting_core.text.errors import SettingError
    from drafting_core.text.words import _
    from extension.document.picture_kinds import is_picture
    from extension.document.svg_document import parsed, read_bytes

    data = read_bytes(source)
    if is_picture(data):
        from extension.cleaning.picture_drawing import dpi_asked_for, picture_drawing

        _check_kept(asked, source)
        return picture_drawing(data, source, dpi_asked_for(asked.text("dpi")))
    if asked.text("dpi"):
        raise SettingError(
            _("--dpi is for a picture, and a drawing says its own size."),
            remedy=_("Leave it out, or mark a known length on the drawing."),
        )
    return parsed(data, source)


def _check_kept(asked: Asked, picture: str) -> None:
    """Refuse to write over a picture.

    Raises:
        SettingError: saying what would be.
    """
    from drafting_core.text.words import _
    from extension.document.write_files import NamedFile, check_targets

    written = asked.text("output")
    if written:
        check_targets(
            [NamedFile(_("the drawing"), written)], [NamedFile(_("the picture"), picture)]
        )


def move_job(asked: Asked) -> Run:
    """Move darts.

    Raises:
        SettingError, PlaceError: if a value makes no sense.
    """
    from extension.drafting.move_and_allow import move
    from extension.reading.blocks_in_play import UnmarkedError

    request = _drafting_request(asked)

    def run(root: etree._Element) -> Done:
        try:
            return _drafted(move(root, request))
        except UnmarkedError as error:
            if not request.to:
                raise
            unmarked = error
        # Seldom needed: its import is left to those who name a place for an unmarked block.
        from extension.marking.marked_first import marked_first

        return _drafted(marked_first(root, request, move, unmarked))

    return run


def allow_job(asked: Asked) -> Run:
    """Finish darts where they are and add allowances.

    Raises:
        SettingError: if a value makes no sense.
    """
    from extension.drafting.move_and_allow import allow

    request = _drafting_request(asked)
    return lambda root: _drafted(allow(root, request))


def compare_job(asked: Asked) -> Run:
    """Draw a block with its dart in several places.

    Raises:
        SettingError, PlaceError: if a value makes no sense.
    """
    from extension.comparing.compare_places import compare

    request = _drafting_request(asked)
    return lambda root: _drafted(compare(root, request))


def _drafting_request(asked: Asked) -> Request:
    from drafting_core.block.target_words import targets_in_words
    from extension.drafting.move_and_allow import Request
    from extension.options.settings_text import is_default, read_settings

    values = asked.values()
    to = asked.given.get("to", "")
    if "target" in values:
        from extension.options.picked_place import place_asked_for

        to = place_asked_for(values, () if asked.in_dialog else asked.given)
    as_made = asked.given.get(AS_MADE.name, AS_MADE.default) == "yes"
    options = {option.name: option for option in MAKING}
    given = {
        name: text
        for name, text in asked.given.items()
        if name in options
        # A dialog cannot tell a default from a choice: what is left at its default does not
        # speak against the settings that a result was made with.
        and not (asked.in_dialog and as_made and is_default(options[name], text, asked.unit))
    }
    request = Request(
        given=given,
        to=to,
        unit=asked.unit,
        selection=list(asked.selection),
        name=asked.text("name"),
        size=asked.text("size"),
        as_made=as_made,
        page=asked.given.get("page", "A4"),
        nest=asked.says("nest"),
        keep_going=asked.says("keep-going"),
        place=asked.given.get("place", "auto"),
    )
    read_settings(request.given, request.unit)
    targets_in_words(request.to)
    return request


def _drafted(outcome: Outcome) -> Done:
    def told() -> list[str]:
        # The table for the terminal: the editor has the note beside the piece.
        from extension.drafting.report import terminal_balance

        return [*outcome.notes, terminal_balance(outcome.drafts, outcome.titles)]

    return Done(told, outcome.left_out_lines(), outcome.report_file, signs=outcome.signed)


def balance_job(asked: Asked) -> Run:
    """Compare seams with their mates: told at the terminal, written down in the editor."""

    def run(root: etree._Element) -> Done:
        if asked.in_dialog:
            # A message would look like an error.
            from extension.comparing.write_seam_balance import write_seam_balance

            write_seam_balance(root)
            return Done()
        from extension.comparing.compare_seams import balance_lines, balance_report, compare_seams

        compared = compare_seams(root)
        return Done(lambda: balance_lines(compared), (), lambda: _as_json(balance_report(compared)))

    return run


def _as_json(report: object) -> bytes:
    # Not every run writes one.
    import json

    return (json.dumps(report, indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def mark_job(asked: Asked) -> Run:
    """Give selected objects a role."""
    from extension.marking.mark_parts import as_the_dialog_means, mark_parts, mark_request

    request = mark_request(asked.values(), asked.selection)
    if asked.in_dialog:
        request = as_the_dialog_means(request)

    def run(root: etree._Element) -> Done:
        told = mark_parts(root, request)
        return Done(lambda: told)

    return run


def mark_block_job(asked: Asked) -> Run:
    """Mark whole blocks by their shape."""
    from extension.marking.mark_block import mark_blocks

    def run(root: etree._Element) -> Done:
        marked = mark_blocks(root, asked.selection)
        lines = "\n".join(marked.lines)
        # What the note on the canvas does not say yet.
        more = dict.fromkeys(str(look) for look in marked.looks if str(look) not in lines)
        return Done(lambda: [*marked.lines, *more], signs=marked.looks)

    return run


def clean_job(asked: Asked) -> Run:
    """Make clean blocks of traces.

    Raises:
        SettingError: if a value makes no sense.
    """
    # Small sums, for which threads only get in one another's way: said before numpy is there.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from extension.cleaning.clean import clean_request, clean_up
    from extension.cleaning.clean_report import clean_lines, clean_report_file
    from extension.cleaning.write_clean import write_clean

    request = clean_request(asked.values(), asked.selection, asked.drawing)

    def run(root: etree._Element) -> Done:
        done = clean_up(root, request)
        write_clean(root, done)
        if done.trace.pictures and not asked.in_dialog:
            from extension.cleaning.picture_drawing import keep

            keep(root)
        return Done(lambda: clean_lines(done), (), lambda: clean_report_file(done))

    return run


def paper_job(asked: Asked) -> Run:
    """Lay finished pieces on pages of true size.

    Raises:
        SettingError: if a value makes no sense.
    """
    from extension.paper.paper import make_paper, paper_request

    request = paper_request(asked.values(), asked.selection)

    def run(root: etree._Element) -> Done:
        done = make_paper(root, request)
        return Done(
            lambda: [*done.told, *_shift_remark(asked, root), *_layers_remark(asked, done.layer)],
            done.remarks,
            pages=Pages(done.layer, done.mm_per_unit, done.title),
        )

    return run


def sew_notes_job(asked: Asked) -> Run:
    """Draw a page for every finished piece that tells how to sew it."""
    from extension.sewing.notes import sew_notes

    def run(root: etree._Element) -> Done:
        done = sew_notes(root, list(asked.selection), asked.text("page"))
        return Done(
            lambda: [*done.told, *_shift_remark(asked, root)],
            done.remarks,
            pages=Pages(done.layer, done.mm_per_unit, _("Sewing notes")),
        )

    return run


def _layers_remark(asked: Asked, layer: etree._Element) -> list[str]:
    """Return what has to be known of a PDF that the editor writes."""
    if not (asked.in_dialog and asked.text("pdf")):
        return []
    from extension.pages.size_layers import editor_advice, has_sizes

    return [editor_advice()] if has_sizes(layer) else []


def _shift_remark(asked: Asked, root: etree._Element) -> list[str]:
    """Return what has to be known of pages that are printed from the drawing itself."""
    if asked.text("pdf"):
        return []
    from extension.pages.editor_pages import shift_remark

    return list(shift_remark(root))
