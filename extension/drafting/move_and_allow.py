"""The commands on a document: read its blocks, draft them, write the results."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from lxml import etree

from drafting_core.block.block import Block
from drafting_core.block.target_words import targets_in_words
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.settings import FILLS, Settings
from drafting_core.plane.curves import Box
from drafting_core.text.errors import DraftingError, PlaceError, SettingError
from drafting_core.text.words import N_, _
from extension.document.identities import Identities
from extension.drafting.kept_by_hand import kept_places
from extension.drafting.many_blocks import BlockLeftOut, Drafted, draft_all
from extension.drafting.report import (
    block_report,
    scale_sentence,
)
from extension.drafting.result_labels import (
    LayerLabels,
    allow_label,
    apart,
    move_label,
    settings_by_label,
)
from extension.drafting.result_places import (
    AUTO,
    NewResult,
    neighbours,
    replaced,
    shift_of,
)
from extension.drafting.targets_seen import beaten_marks
from extension.drafting.write_result import ResultWriter
from extension.options.settings_text import moving_anew, read_settings, settings_of
from extension.reading.block_marks import core_block
from extension.reading.blocks_in_play import blocks_to_allow, blocks_to_move
from extension.reading.free_room import FreeRoom
from extension.reading.piece_names import shown_name
from extension.reading.result_memory import result_memory
from extension.reading.source_block import Drawing, SourceBlock

if TYPE_CHECKING:
    from extension.reading.nest_marks import NestMarks


class Request(NamedTuple):
    """What the drafter asks for.

    Attributes:
        given: texts of the settings that she gave, by the option's name.
        to: the places in words, or an empty string.
        unit: the unit of a bare number.
        selection: the ids of the selected objects.
        name: the piece's name, where it is to be another.
        size: the piece's size.
        as_made: whether a result keeps the settings it was made with.
        page: the page that a comparison is drawn on.
        nest: whether a block without marks of its own takes those of the one that has them.
        keep_going: whether blocks that cannot be drafted are left out, not the whole run.
        place: where new results go.
        told: what is to be said of the run before anything else.
    """

    given: Mapping[str, str] = MappingProxyType({})
    to: str = ""
    unit: str = "mm"
    selection: Sequence[str] = ()
    name: str = ""
    size: str = ""
    as_made: bool = True
    page: str = "A4"
    nest: bool = False
    keep_going: bool = False
    place: str = AUTO
    told: Sequence[str] = ()


class Outcome(NamedTuple):
    """What came of a command.

    Attributes:
        drafts: one for each block, in document order.
        report: the report, ready for JSON.
        notes: what was taken for what, and which blocks were left out.
        left_out: the blocks that could not be drafted, where the run was to go on.
        signed: what is signed on the canvas: target marks that no run has seen before and that a
            named place was taken over, and what needs a look in a block that was marked first.
        titles: what the drafts are called where all are of one block, which is told of once.
    """

    drafts: list[Draft]
    report: dict[str, object]
    notes: list[str]
    left_out: Sequence[BlockLeftOut] = ()
    signed: Sequence[DraftingError] = ()
    titles: Sequence[str] = ()

    def left_out_lines(self) -> list[str]:
        """Return what is told of each block that was left out."""
        return _left_out_lines(self.left_out)

    def report_file(self) -> bytes:
        """Return the report as a JSON file."""
        # Not every run writes one.
        import json

        return (json.dumps(self.report, indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def move(root: etree._Element, request: Request) -> Outcome:
    """Move the dart of every block in play and add a layer for each result.

    Raises:
        DraftingError: if anything cannot be drafted; the document is then as it was.
    """
    settings = read_settings(request.given, request.unit)
    drawing, sources = blocks_to_move(
        root, request.selection, request.to, nest=request.nest, takes_selected=True
    )
    places = targets_in_words(request.to) or None
    nest = _nest_marks(drawing, needs_target=places is None) if request.nest else None
    if nest is not None and not request.keep_going:
        nest.check(sources)

    notes = [*request.told, *drawing.notes]
    beaten: list[PlaceError] = []

    def draft(source: SourceBlock) -> Sequence[Draft]:
        block, said = _as_called(core_block(source, drawing), request)
        notes.extend(said)
        if block.style_line is not None and not places:
            # Seldom used: its import is left to those who use it.
            from drafting_core.style.style_line import cut_in_two

            return cut_in_two(block, settings)
        if source.layer is not None and not places and not block.targets:
            raise PlaceError(
                _("this result has no target."),
                remedy=_('Say the place, as in "side seam:0.35".'),
                note=_(RESULT_TARGET),
            )
        if nest is not None and source.layer is None:
            block = nest.completed(source, block)
        if source.layer is not None:
            # What a result was made with holds on, but for how its own dart was moved.
            base = moving_anew(settings_of(source.outline))
            _check_drawn_short(request, base)
            return [move_dart(block, read_settings(request.given, request.unit, base), places)]
        unused = [block.style_line.spoken] if block.style_line is not None else []
        if places:
            unused += [target.spoken for target in block.targets]
            beaten.extend(beaten_marks(source, block.targets, drawing))
        notes.extend(
            _("{mark} was not used, since a place is named.").format(mark=mark) for mark in unused
        )
        return [move_dart(block, settings, places)]

    drafted = draft_all(sources, drawing, draft, keep_going=request.keep_going)
    new = [
        NewResult(source, made, move_label(made), places or made.block.targets)
        for source, made in drafted.results
    ]
    notes += _taken_along(root, drawing, new)
    told = tuple(notes)
    if nest is not None:
        notes += nest.notes([source for source, _ in drafted.results])
    shift = _write_new(root, drawing, new, "move", request.place, told)
    return _outcome(notes, drafted, shift)._replace(signed=beaten)


def _write_new(
    root: etree._Element,
    drawing: Drawing,
    new: Sequence[NewResult],
    command: str,
    place: str,
    told: Sequence[str],
) -> complex:
    """Write new results, in place of those that they are again; return how they were shifted."""
    others = settings_by_label(drawing.blocks, command)
    for made in new:
        if namesakes := others.get(str(made.source.outline.get("id"))):
            made.label = apart(made.label, made.draft, namesakes)
    gone = replaced(drawing, new, command)
    shift = shift_of(root, drawing, new, gone, place)
    for block in gone:
        if block.layer is not None:
            root.remove(block.layer)
    ids, labels = Identities(root), LayerLabels(root)
    room = FreeRoom(root, new[0].source.true_mm_per_unit) if new else None
    if room is not None:
        x, y = shift.real, shift.imag
        for box in (made.box for made in new):
            there = Box(box.left + x, box.top + y, box.right + x, box.bottom + y)
            room.add(there)
            room.add_piece(there)
        for box in neighbours(drawing, new, gone, shift):
            room.add_piece(box)
    for made in new:
        writer = ResultWriter(root, made.source, made.draft, ids, told, shift, room)
        writer.write_new(labels.free(made.label), command, made.artwork, made.asked)
    return shift


def _taken_along(root: etree._Element, drawing: Drawing, new: Sequence[NewResult]) -> list[str]:
    """Find what comes along to new results, where any is to, and return what is said of that."""
    wanting = [
        made for made in new if made.draft.settings.artwork or made.draft.settings.fill != FILLS[0]
    ]
    if not wanting:
        return []
    # Seldom wanted: its import is left to those who do.
    from extension.drafting.with_artwork import take_along

    return take_along(root, drawing, wanting)


def _nest_marks(drawing: Drawing, *, needs_target: bool) -> NestMarks:
    # Seldom used: its import is left to those who use it.
    from extension.reading.nest_marks import NestMarks

    return NestMarks(drawing, needs_target=needs_target)


def allow(root: etree._Element, request: Request) -> Outcome:
    """Finish the darts where they are and add allowances: a result in place, a block anew.

    Raises:
        DraftingError: if anything cannot be drafted; the document is then as it was.
    """
    # A move needs neither.
    from extension.drafting.hand_changes import hand_changes
    from extension.finished.lost_darts import check_no_dart_lost

    drawing, sources = blocks_to_allow(root, request.selection)

    notes = list(drawing.notes)

    def draft(source: SourceBlock) -> Sequence[Draft]:
        block, said = _as_called(core_block(source, drawing, in_place=True), request)
        notes.extend(said)
        base, given = None, request.given
        if source.layer is not None:
            base = settings_of(source.outline, as_finished=request.as_made)
            _check_drawn_short(request, base)
            _check_clearance(request, base if request.as_made else None)
            given, said = _without_artwork(request, base, block.name)
            notes.extend(said)
        result = add_allowances(block, read_settings(given, request.unit, base))
        check_no_dart_lost(source, result)
        memory = result_memory(source)
        if memory is not None:
            kept = kept_places(memory, result, source.true_mm_per_unit)
            notes.extend(hand_changes(memory, result, list(kept.words)))
            if result.settings.artwork or result.settings.fill != FILLS[0]:
                from extension.drafting.with_artwork import stays_as_cut

                notes.extend(stays_as_cut(source, memory, result))
        return [result]

    drafted = draft_all(sources, drawing, draft, keep_going=request.keep_going)
    new = [
        NewResult(source, made, allow_label(made))
        for source, made in drafted.results
        if source.layer is None
    ]
    notes += _taken_along(root, drawing, new)
    ids = Identities(root)
    for source, result in drafted.results:
        if source.layer is not None:
            ResultWriter(root, source, result, ids, notes).write_in_place("allow")
    shift = _write_new(root, drawing, new, "allow", request.place, notes) if new else 0j
    return _outcome(notes, drafted, shift)


def _without_artwork(
    request: Request, base: Settings, name: str
) -> tuple[Mapping[str, str], list[str]]:
    """Return what is asked of a result but for its artwork, and what is said of that."""
    if not {"artwork", "fill"} & request.given.keys():
        return request.given, []
    from extension.drafting.with_artwork import left_alone

    return left_alone(request.given, request.unit, base, name)


def _check_clearance(request: Request, base: Settings | None) -> None:
    if base is not None and "clearance" in request.given:
        asked = read_settings({"clearance": request.given["clearance"]}, request.unit).clearance
        if asked is not None and asked != base.clearance:
            raise SettingError(
                _("the stitch line of a result stands, and its dart point with it."),
                thing=_("The clearance"),
                remedy=_(
                    "Move the point with the node tool, or run Move dart with this clearance."
                ),
            )


def _check_drawn_short(request: Request, base: Settings) -> None:
    """Refuse another apex for a result; that its dart was not lowered can be said of it too.

    Raises:
        SettingError: if it is said to have been drawn short by something else than it was made
            with.
    """
    if "drawn-short" in request.given:
        asked = read_settings({"drawn-short": request.given["drawn-short"]}, request.unit)
        if asked.drawn_short and asked.drawn_short != base.drawn_short:
            raise SettingError(
                _("the apex of a result stands where it was when it was made."),
                thing=_("What the dart was drawn short"),
                remedy=_("Say it of the block that the result was made from."),
            )


RESULT_TARGET = N_(
    "(In a result only attributes count as marks: name the place instead, or give the mark the "
    'attribute dartswing:role="target".)'
)


def _as_called(block: Block, request: Request) -> tuple[Block, list[str]]:
    """Return a block with the name and size that are asked for, and what is said of that."""
    said = []
    if request.name:
        if block.name not in ("", request.name):
            said.append(
                _('The piece is called "{name}", as asked; in the drawing it is "{own}".').format(
                    name=request.name, own=block.name
                )
            )
        block = block._replace(name=request.name)
    if request.size:
        block = block._replace(size=request.size)
    return block, said


def _outcome(told: Sequence[str], drafted: Drafted, shift: complex) -> Outcome:
    report: dict[str, object] = {
        "blocks": [
            block_report(
                draft, source.scale, 0j if source.layer is not None else shift * source.mm_per_unit
            )
            for source, draft in drafted.results
        ]
    }
    if drafted.left_out:
        report["left_out"] = [left._asdict() for left in drafted.left_out]
    drafts = [draft for _, draft in drafted.results]
    scales = [scale_sentence(shown_name(draft), source.scale) for source, draft in drafted.results]
    notes = [*told, *filter(None, scales), *_left_out_lines(drafted.left_out)]
    return Outcome(drafts, report, notes, drafted.left_out)


def _left_out_lines(left_out: Sequence[BlockLeftOut]) -> list[str]:
    return [_("Left out: {message}").format(message=left.message) for left in left_out]
