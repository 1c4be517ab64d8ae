"""Mark a block: its dart found, its apex proposed, its seams named, all marks written at once."""

from __future__ import annotations

import contextlib
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from lxml import etree

from drafting_core.block.block import Block, DartMark
from drafting_core.block.drawn_short import drawn_short_question, may_be_drawn_short
from drafting_core.block.find_darts import ON_APEX
from drafting_core.block.found_block import FoundBlock, take_block
from drafting_core.block.guess_names import guess_names
from drafting_core.block.mouth_seam import mouth_seam
from drafting_core.block.places import TARGET_REACH
from drafting_core.block.propose_apex import (
    DRAWN,
    MEETING,
    POINT,
    ProposedApex,
    propose_apexes,
)
from drafting_core.block.seam_word_places import seam_word_place
from drafting_core.block.seams import SeamMark
from drafting_core.block.source_darts import source_darts
from drafting_core.model.outline import extent, flattened
from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import Seam, SeamLabel, seam_kind, shown_seam_name
from drafting_core.model.stretches import Stretch, stretches
from drafting_core.plane.curves import Box, box_about
from drafting_core.text.errors import DartError, DraftingError
from drafting_core.text.lengths import told_length
from drafting_core.text.words import _, capital, listed, ngettext
from extension.document import roles
from extension.document.namespaces import LABEL, ours, svg
from extension.document.path_data import number
from extension.document.roles import (
    is_layer,
    is_result,
    is_shown_only,
    misread_labels,
    name_of,
    our_attributes,
    role_of,
)
from extension.document.shapes import CLONE, NOT_DRAWN, SHAPES, box_of, centre_of
from extension.document.stored_values import stored_point
from extension.document.svg_document import units
from extension.document.visibility import is_hidden_itself, is_locked_itself
from extension.look.set_text import text_width
from extension.marking.block_selection import is_outline, outlines_meant
from extension.marking.mark_parts import name_kept
from extension.marking.mark_signs import LETTERS, glyph, lettering, sign_size
from extension.marking.marks_layer import MarksWriter, marks_layer
from extension.marking.said_role import Saying, say
from extension.reading.block_marks import core_block
from extension.reading.read_blocks import read_drawing
from extension.reading.selected_objects import (
    closed_path,
    refused,
)
from extension.reading.source_block import Drawing, Marked, SourceBlock

#: A drafter's object that may be meant as the apex is at most this part of the block's diagonal.
SMALL_OBJECT = 1 / 20
#: … and at least so much of its own width high, or the other way round: a dot, a cross, a ring.
ROUND_OBJECT = 0.5


@dataclass
class _Plan:
    """What is to be written for one block, in true mm."""

    source: SourceBlock
    found: FoundBlock
    core: Block
    size: float
    uneven: DartError | None = None
    apexes: list[tuple[complex, str]] = field(default_factory=list)
    adopted: list[etree._Element] = field(default_factory=list)
    seams: list[tuple[Stretch, str]] = field(default_factory=list)
    darts: list[tuple[complex, complex]] = field(default_factory=list)


#: So many labels that are not read as marks are shown.
MOST_MISREAD = 5
#: How far below a block the note on it begins (mm): further than a usual hem allowance.
_NOTE_BELOW = 60.0


class MarkedBlocks(NamedTuple):
    """What came of marking blocks.

    Attributes:
        lines: two lines for every block: what was found, and how its seams are called.
        looks: what needs a look, each with its place, in mm of the drawing.
    """

    lines: list[str]
    looks: list[DraftingError]


def mark_block(root: etree._Element, selection: Sequence[str]) -> list[str]:
    """Mark the selected closed paths as blocks; see `mark_blocks`.

    Returns:
        Two lines for every block: what was found, and how its seams are called.

    Raises:
        DraftingError: if nothing is selected that can be a block; the document is then as it was.
    """
    return mark_blocks(root, selection).lines


def mark_blocks(root: etree._Element, selection: Sequence[str]) -> MarkedBlocks:
    """Mark the selected closed paths as blocks, with all that their shape tells.

    What the drafter marked herself stays as it is and is not doubled. A block that is marked
    already is left as it is, to the byte.

    Args:
        root: the root of the document.
        selection: the ids of the selected objects.

    Raises:
        DraftingError: if nothing is selected that can be a block; the document is then as it was.
    """
    mm = units(root)
    outlines = outlines_meant(root, selection, mm)
    fresh = [element for element in outlines if not is_outline(element)]
    drawing = read_drawing(root, outlines_to_be=fresh)
    kept = {element: name_kept(root, element, fresh, mm) for element in fresh}
    drawing = drawing.with_names({element: name for element, name in kept.items() if name})
    sources = [block for block in drawing.blocks if block.outline in outlines]
    plans = [_plan(root, source, drawing) for source in sources]
    writer = MarksWriter(root)
    for element in fresh:
        say(element, Saying(roles.OUTLINE))
        if element in drawing.names:
            element.set(ours("name"), drawing.names[element])
    for plan in plans:
        _write(plan, writer)
    writer.refresh_signs([element for plan in plans for element in plan.adopted])
    paragraphs = [_paragraph(plan) for plan in plans]
    if marks_layer(root) is not None:
        new = writer.describe(paragraphs)
        for plan, paragraph in zip(plans, paragraphs, strict=True):
            if paragraph in new:
                _write_note(plan, paragraph, writer)
    lines = [line for paragraph in paragraphs for line in paragraph.split("\n")]
    looks = [
        DraftingError(words, remedy="", place=place)
        for plan in plans
        for place, words in _looks(root, plan)
    ]
    return MarkedBlocks(lines, looks)


def _write_note(plan: _Plan, paragraph: str, writer: MarksWriter) -> None:
    """Write what was found below a block, where no allowance and no note of a result comes."""
    box = box_of(plan.source.outline)
    size = LETTERS * plan.size / plan.source.scale
    corner = complex(box.left, box.bottom + _NOTE_BELOW / plan.source.true_mm_per_unit)
    writer.note(str(plan.source.outline.get("id") or ""), paragraph, corner, size)


def _plan(root: etree._Element, source: SourceBlock, drawing: Drawing) -> _Plan:
    """Work out the marks of one block.

    Raises:
        DraftingError: if it cannot be read, or has no dart.
    """
    if source.fault is not None:
        raise source.fault.about(source.thing)
    try:
        core = core_block(source, drawing)
        found, uneven = _taken_apart(core)
    except DraftingError as error:
        said = error.about(source.thing).noted(source.size_sentence)
        if said.place is not None and source.edges:
            # For a sign there, as the drawing has it.
            said = said.replaced(place=said.place / source.scale)
        raise said from None
    if not found.piece.openings:
        raise _no_dart(source, found)
    size = _sign_size(core)
    plan = _Plan(source, found, core, size, uneven)
    if not core.apexes:
        _propose(root, plan)
    _choose_dart(plan)
    _name(plan)
    return plan


def _taken_apart(core: Block) -> tuple[FoundBlock, DartError | None]:
    """Return a block taken apart, and what is said of legs that a move has to make equal first.

    Raises:
        DraftingError: if it cannot be taken apart even so.
    """
    try:
        return take_block(core, equalise=False), None
    except DartError as error:
        try:
            return take_block(core, equalise=True, even_legs=True), error
        except DraftingError:
            raise error from None


def _sign_size(core: Block) -> float:
    return sign_size(abs(complex(*extent(edge.segment for edge in core.outline))))


def _no_dart(source: SourceBlock, found: FoundBlock) -> DraftingError:
    segments = [edge.segment for run in found.piece.runs for edge in run]
    width, height = extent(segments)
    error = refused(
        [
            closed_path(name_of(source.outline), len(found.piece.runs[0]), height, width),
            *found.warnings,
        ],
        _(
            "a dart: two straight legs, equally long, that meet in a sharp corner inside the "
            "outline."
        ),
        _(
            "Draw its legs as parts of the outline with the node tool, straight and equally long. "
            "If it is a dart whose legs differ, mark its apex by Extensions > Dartswing > Mark "
            "parts."
        ),
    )
    # What nearly is a dart, else the middle of the block.
    at = next((place for place, _words in found.places), None)
    if at is None:
        at = box_about([end for segment in segments for end in (segment.start, segment.end)]).centre
    return error.replaced(place=at / source.scale)


def _propose(root: etree._Element, plan: _Plan) -> None:
    """Find an apex for every dart that turns about none yet."""
    wholes, parts = _small_objects(root, plan)
    proposals = _proposed(plan, wholes)
    if parts and any(proposal.number is None for proposal, _object in proposals):
        # What is beside a sign in its group must not hide it.
        nearer = _proposed(plan, parts)
        proposals = [
            whole if whole[1] is not None else part
            for whole, part in zip(proposals, nearer, strict=True)
        ]
    for proposal, element in proposals:
        plan.apexes.append((proposal.at, proposal.why))
        if element is not None:
            plan.adopted.append(element)
    pivots = [at for at, _why in plan.apexes]
    plan.core = plan.core._replace(apex=pivots[0], more_apexes=pivots[1:])
    plan.found, plan.uneven = _taken_apart(plan.core)


def _proposed(
    plan: _Plan, objects: Sequence[etree._Element]
) -> list[tuple[ProposedApex, etree._Element | None]]:
    """Return the apexes that are proposed, each with the drafter's object that lies there."""
    factor = plan.source.true_mm_per_unit
    places = [centre_of(element) * factor for element in objects]
    return [
        (proposal, None if proposal.number is None else objects[proposal.number])
        for proposal in propose_apexes(plan.found.piece, places)
    ]


def _small_objects(
    root: etree._Element, plan: _Plan
) -> tuple[list[etree._Element], list[etree._Element]]:
    """Return the objects without a role that are drawn like a dot, a cross or a ring.

    Returns:
        Those that stand for themselves, groups among them; and those within such groups.
    """
    farthest = abs(complex(*extent(edge.segment for edge in plan.core.outline))) * SMALL_OBJECT
    most = farthest / plan.source.true_mm_per_unit
    layer = marks_layer(root)
    wholes: list[etree._Element] = []
    parts: list[etree._Element] = []

    def look(parent: etree._Element, found: list[etree._Element]) -> None:
        for child in parent:
            if not isinstance(child.tag, str) or child.tag in NOT_DRAWN or child is layer:
                continue
            if is_result(child) or is_shown_only(child) or child is plan.source.outline:
                continue
            if role_of(child) is not None or is_hidden_itself(child) or is_locked_itself(child):
                continue
            is_group = child.tag in (svg("g"), svg("a"))
            is_one = is_group and not is_layer(child) and len(child) > 0
            sides = _sides(child) if is_one or child.tag in SHAPES or child.tag == CLONE else None
            is_small = sides is not None and 0 < sides[1] <= most
            if sides is not None and is_small and sides[0] >= ROUND_OBJECT * sides[1]:
                found.append(child)
            if is_group:
                look(child, parts if is_small else found)

    look(root, wholes)
    return wholes, parts


def _sides(element: etree._Element) -> tuple[float, float] | None:
    """Return the shorter and the longer side of the box about an object, if it has a place."""
    try:
        box = box_of(element)
    except DraftingError:
        return None
    across, down = box.right - box.left, box.bottom - box.top
    return min(across, down), max(across, down)


def _choose_dart(plan: _Plan) -> None:
    """Mark the dart that a move would close, where it could close another."""
    openings = plan.found.piece.openings
    candidates = [k for k, opening in enumerate(openings) if opening.in_fan]
    if len(candidates) < 2 or plan.core.dart_marks:
        return
    fans = {openings[k].fan for k in candidates}
    if len(fans) > 1:
        chosen = max(candidates, key=lambda k: openings[k].angle)
    else:
        chosen = next(iter(source_darts(plan.found.piece, ())))
    ends = plan.found.piece.mouth(chosen)
    middle = (ends[0] + ends[1]) / 2
    along = openings[chosen].point - middle
    at = middle + along * 0.3
    plan.darts.append((at, along))
    plan.core = plan.core._replace(dart_marks=[DartMark(at)])


def _name(plan: _Plan) -> None:
    """Give names to the seams that have none, where the shape leaves no doubt."""
    piece = plan.found.piece
    guessed = piece if plan.found.guessed else guess_names(piece, plan.core.name)
    hers = {seam: bool(seam.named) for seam in piece.seams()}
    names = {} if guessed is None else _told(piece, guessed)
    agreed = all(seam_kind(names[seam]) == seam.kind for seam in names if hers[seam])
    polygon = flattened(piece.ring(lambda opening: opening.point))
    marks = list(plan.core.seam_marks)
    for stretch in stretches(piece):
        name = names.get(stretch.seam, "")
        if not name or hers[stretch.seam] or not agreed:
            continue
        plan.seams.append((stretch, name))
        letters = LETTERS * plan.size
        at, _reading = seam_word_place(piece, stretch, text_width(name, letters), letters, polygon)
        marks.append(SeamMark(at, SeamLabel(name)))
    if plan.seams:
        plan.core = plan.core._replace(seam_marks=marks)
        # What was planned is read as it will be read from the drawing.
        plan.found, plan.uneven = _taken_apart(plan.core)


def _told(piece: Piece, guessed: Piece) -> dict[Seam, str]:
    """Return the names that a guess gave, by the seam that they are for."""
    return {
        edge.seam: other.seam.name
        for edge, other in zip(piece.edges(), guessed.edges(), strict=True)
        if other.seam.is_known
    }


def _write(plan: _Plan, writer: MarksWriter) -> None:
    """Write a block's marks into the layer of marks."""
    factor = plan.source.true_mm_per_unit
    unit_mm = writer.unit
    of = str(plan.source.outline.get("id"))
    # Signs are as large as the block is on the paper, which a known length does not change.
    size = plan.size / plan.source.scale
    for element in plan.adopted:
        say(element, Saying(roles.APEX))
    for at, why in plan.apexes:
        if why != DRAWN:
            sign = glyph(roles.APEX, at / factor, size, unit_mm)
            _add(writer, sign, Saying(roles.APEX), {"of": of, "why": why, "put": _put(at / factor)})
    polygon = flattened(plan.found.piece.ring(lambda opening: opening.point))
    for at, along in plan.darts:
        turn = math.degrees(math.atan2(-along.real, along.imag))
        sign = glyph(roles.DART, at / factor, size, unit_mm, degrees=turn)
        _add(writer, sign, Saying(roles.DART), {"of": of})
    for stretch, name in plan.seams:
        # The piece was read anew with the marks: its edges are the same.
        words, letters = shown_seam_name(name), LETTERS * plan.size
        at, reading = seam_word_place(
            plan.found.piece, _again(plan, stretch), text_width(words, letters), letters, polygon
        )
        degrees = math.degrees(math.atan2(reading.imag, reading.real))
        word = lettering(words, at / factor, LETTERS * size, unit_mm, degrees=degrees)
        _add(writer, word, Saying(roles.SEAM, {"name": name}), {"of": of, "shown": words})


def _again(plan: _Plan, stretch: Stretch) -> Stretch:
    k, i = stretch.edges[0]
    return stretch._replace(seam=plan.found.piece.runs[k][i].seam)


def _add(
    writer: MarksWriter, element: etree._Element, saying: Saying, more: dict[str, str]
) -> None:
    element.set(LABEL, saying.label)
    writer.add(element, "mark", {**saying.attributes, "said": saying.label, **more})


def _paragraph(plan: _Plan) -> str:
    """Return what is told of a block: its darts and apex; its seams."""
    source, piece = plan.source, plan.found.piece
    width, height = extent(edge.segment for edge in plan.core.outline)
    name = (plan.core.name or str(source.outline.get("id"))).replace(":", " ")
    darts = list(dict.fromkeys(mouth_seam(piece, k).spoken for k in range(len(piece.openings))))
    first = ngettext(
        "{name}: {height} high and {width} wide, one dart found, on {seams}.",
        "{name}: {height} high and {width} wide, {n} darts found, on {seams}.",
        len(piece.openings),
    ).format(
        name=name,
        height=told_length(height),
        width=told_length(width),
        n=len(piece.openings),
        seams=listed(darts),
    )
    seams = piece.seams()
    known = list(dict.fromkeys(seam.shown for seam in seams if seam.named))
    unknown = [seam.shown for seam in seams if not seam.named]
    parts = []
    if known:
        parts.append(_("Seams named: {seams}.").format(seams=listed(known)))
    if unknown:
        parts.append(_nameless(unknown))
    return "\n".join((" ".join([first, *_apex_sentences(plan)]), " ".join(parts)))


def _sentence(error: DartError) -> str:
    return capital(f"{error.what} {error.remedy}")


def _nameless(seams: Sequence[str]) -> str:
    return _(
        "Seams without a name: {seams}; Extensions > Dartswing > Mark parts gives an object near "
        "one its name."
    ).format(seams=listed(seams))


def _looks(root: etree._Element, plan: _Plan) -> Iterator[tuple[complex, str]]:
    """Yield what needs the drafter's look, each with its place in mm of the drawing."""
    piece, scale = plan.found.piece, plan.source.scale
    for place, words in plan.found.places:
        yield place / scale, words
    if plan.uneven is not None and plan.uneven.place is not None:
        yield plan.uneven.place / scale, _sentence(plan.uneven)
    if not any(opening.in_fan for opening in piece.openings):
        for apex in plan.core.apexes:
            yield apex / scale, _("No dart points at this apex: a move would find none.")
    nameless = [stretch for stretch in stretches(piece) if not stretch.seam.named]
    if nameless:
        longest = max(nameless, key=lambda s: sum(e.length() for e in s.segments(piece)))
        segments = longest.segments(piece)
        middle = segments[len(segments) // 2]
        shown = dict.fromkeys(stretch.seam.shown for stretch in nameless)
        yield middle.point(0.5) / scale, _nameless(list(shown))
    box = box_of(plan.source.outline)
    for element in itertools.islice(misread_labels(root), MOST_MISREAD):
        with contextlib.suppress(DraftingError):
            at = centre_of(element)
            if box.meets(
                Box(at.real, at.imag, at.real, at.imag), TARGET_REACH / plan.source.mm_per_unit
            ):
                yield (
                    at * plan.source.mm_per_unit,
                    _("{name} is read as no mark: something else stands in its label too.").format(
                        name=name_of(element)
                    ),
                )


def _apex_sentences(plan: _Plan) -> Iterator[str]:
    """Yield what is told of the apexes and of the dart that moves, as the drawing now says it."""
    whys = [why for _at, why in plan.apexes]
    for mark in plan.source.marked(roles.APEX):
        whys.append(_why(plan, mark))
    if (own := whys.count(POINT)) > 0:
        yield ngettext(
            "The apex is put at the dart's own point: if the dart was drawn short of its pivot, "
            "such as the bust point, drag the apex there.",
            "{n} apexes are put at the darts' own points: if a dart was drawn short of its pivot, "
            "such as the bust point, drag its apex there.",
            own,
        ).format(n=own)
    if MEETING in whys:
        yield _("The apex is put where the middle lines of the darts meet.")
    if DRAWN in whys:
        yield _("The apex is where you marked it.")
    yield from _leg_sentences(plan)
    if sum(opening.in_fan for opening in plan.found.piece.openings) > 1:
        yield _("The dart mark says which dart moves: drag it to another to move that one.")


def _leg_sentences(plan: _Plan) -> Iterator[str]:
    """Yield what a move will do to the darts as they are drawn, or ask of them."""
    piece = plan.found.piece
    if may_be_drawn_short(piece):
        yield drawn_short_question()
    if plan.uneven is not None:
        yield _sentence(plan.uneven)
    else:
        yield from plan.found.of_darts
    for k, opening in enumerate(piece.openings):
        if opening.sides is None:
            continue
        seam = mouth_seam(piece, k).spoken
        if opening.is_mirrored:
            yield _(
                "The legs of the dart on {seam} are curved as mirror images: it can stay, but not "
                "move."
            ).format(seam=seam)
        else:
            yield _(
                "The legs of the dart on {seam} are curved, one as the other turned: it can move, "
                "and is trimmed."
            ).format(seam=seam)


def _put(at: complex) -> str:
    """Return the place at which a mark was put, in units of the root, as an attribute says it."""
    return f"{number(at.real)},{number(at.imag)}"


def _why(plan: _Plan, mark: Marked) -> str:
    """Return why an apex mark lies where it lies; one that was dragged away is the drafter's."""
    attributes = our_attributes(mark.element)
    box = box_of(mark.element)
    at = box.centre
    put = stored_point("put", attributes, name_of(mark.element))
    if put is None:
        return DRAWN
    moved = abs(at - put) * plan.source.true_mm_per_unit > ON_APEX
    return DRAWN if moved else attributes.get("why", DRAWN)
