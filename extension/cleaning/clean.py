"""Clean up a scan: traced lines become a block that *Move dart* wants."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from lxml import etree

from drafting_core.block.block import DartMark
from drafting_core.block.seams import SeamMark
from drafting_core.ink.apex_signs import apex_signs, signs_beside
from drafting_core.ink.double_strokes import without_spots
from drafting_core.ink.hand_set import hand_set, with_shared_ends
from drafting_core.ink.pen_line import is_inside
from drafting_core.ink.polylines import NearPoints, Points, diagonal
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import flattened
from drafting_core.sheet.trace_sheet import (
    LARGEST_GAP,
    SMALL_PART,
    TracedBlock,
    TraceSheet,
    UnusedShape,
    read_sheet,
)
from drafting_core.text.errors import DraftingError, NothingClosedError, SettingError
from drafting_core.text.lengths import (
    as_typed,
    most_in_words,
    parse_measure,
    place_in_words,
    told_length,
)
from drafting_core.text.words import _, listed
from drafting_core.trace.bounded_ink import checked_shapes, mapped_all
from drafting_core.trace.clean_block import CleanBlock, CleanSettings, TraceMarks, clean_block
from drafting_core.trace.verdict import BlockVerdict
from extension.cleaning.judge_blocks import judged_blocks
from extension.cleaning.read_trace import (
    Trace,
    TrueScale,
    grain_of,
    read_trace,
    true_scale,
    without_known_lines,
)
from extension.cleaning.size_marks import sizes_named
from extension.document import roles
from extension.document.namespaces import CLEAN
from extension.document.shapes import centre_of, is_similarity, transform_of
from extension.document.svg_document import DocumentError
from extension.options.options import CLEANING, CUT_EDGE, KEEP
from extension.reading.drawn_extent import right_edge
from extension.reading.source_block import Marked

if TYPE_CHECKING:
    from drafting_core.trace.inner_lines import KeptLine

#: A mark is a block's if it lies in it or this near to it (true mm).
MARK_REACH = 20.0
#: An object is part of a block's line if half of its points lie this near to it (true mm).
_ON_LINE = 3.0
#: That share is told from so many of its points.
_SHARE_POINTS = 200
#: Blocks lie on their trace if they are so nearly as large (part of it) …
_SAME_SIZE = 0.05
#: … else so far to the right of all that is drawn (mm).
_BESIDE = 20.0
#: A tolerance of more than this (mm) is a slip of unit.
_LARGEST_TOLERANCE = 5.0
#: Less of a sheet's lines drawn with two strokes (mm) is not worth a word.
_TWO_STROKES = 50.0
#: What a trace can tell (mm).
_LEAST_TOLERANCE = 0.05
#: A tolerance that is given as an example (mm).
_USUAL_TOLERANCE = 0.5
#: Nothing that is larger (mm) is a block: a scale that makes one so is wrong.
_LARGEST_SHAPE = 10_000.0


class CleanRequest(NamedTuple):
    """What the drafter asks for.

    Attributes:
        settings: how a trace is cleaned up.
        gap: the largest gap that is closed, in mm.
        selection: the ids of the selected objects.
        idle_allowance: whether an allowance was given for a line that is no cut line.
        folder: the drawing's folder, from where it links pictures; empty if it has none yet.
        keeps_inner: whether lines that are drawn on a block are kept.
        dpi: a picture's dots to the inch as the drafter says them, or None.
    """

    settings: CleanSettings
    gap: float
    selection: Sequence[str] = ()
    idle_allowance: bool = False
    folder: str = ""
    dpi: float | None = None
    keeps_inner: bool = False


@dataclass
class Cleaned:
    """A block that was cleaned up, and where it goes.

    Attributes:
        block: the block, in true mm where the trace lies.
        made_of: the objects that its line was traced in.
        marks: the drafter's marks on it.
        nodes: how many nodes its trace had.
        inner: what else is drawn on it, where that was asked for.
        size: which size it is: the name that the drafter gave it, else its number among sizes that
            are nested, from 1 for the innermost; empty where it is alone.
    """

    block: CleanBlock
    made_of: list[etree._Element]
    marks: list[Marked]
    nodes: int
    inner: list[KeptLine] = field(default_factory=list)
    size: str = ""


@dataclass
class CleanUp:
    """What came of a clean-up.

    Attributes:
        trace: what was read.
        scale: how the drawing's units become true mm.
        sheet: what the sheet shows.
        cleaned: its blocks.
        remarks: what concerns all of them.
        told: what is told of the size of pictures that were traced, where it counts.
        shift: by how much they are moved off their trace, in the root's units.
        is_bent: whether a photo's lens may have bent them by more than can be taken out.
        verdicts: the verdict on each of them.
    """

    trace: Trace
    scale: TrueScale
    sheet: TraceSheet
    cleaned: list[Cleaned] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    shift: complex = 0j
    is_bent: bool = False
    verdicts: list[BlockVerdict] = field(default_factory=list)

    @property
    def left_out(self) -> UnusedShape:
        """What was taken for no part of a block: signs that became an apex are none of it."""
        signs = sum(
            proposal.number is not None
            for cleaned in self.cleaned
            for proposal in cleaned.block.apexes
        )
        left = self.sheet.left_out
        return left._replace(small=max(0, left.small - signs))

    @property
    def true_mm_per_mm(self) -> float:
        """The scale found: true mm to a mm of the drawing, at the middle of the blocks."""
        if not self.scale.is_photo:
            return float(self.scale.to_true.matrix[0, 0]) / self.trace.mm
        return self.scale.to_true.scale_at(self._drawn_middle) / self.trace.mm

    @cached_property
    def _drawn_middle(self) -> complex:
        """The middle of all blocks' lines in the root's units, as they are drawn."""
        return self.scale.to_true.inverse.at(self.middle)

    @cached_property
    def middle(self) -> complex:
        """The middle of all blocks' lines, in true mm."""
        points = np.concatenate([block.ring.points for block in self.sheet.blocks])
        return complex(
            (points.real.min() + points.real.max()) / 2,
            (points.imag.min() + points.imag.max()) / 2,
        )

    def to_units(self, cleaned: Cleaned, z: complex) -> complex:
        """Return where a point of a trace, in true mm, comes to lie in the root's units.

        Blocks stay where they were drawn, with what a new scale needs about their common middle;
        where they come out much larger or smaller than they were drawn, they lie beside it all.
        """
        return complex(self.points_to_units(cleaned, np.array([z]))[0])

    def points_to_units(self, cleaned: Cleaned, points: Points) -> Points:
        """Return where points of a trace, in true mm, come to lie in the root's units."""
        placed = cleaned.block.placed(points)
        if self._keeps_place:
            return placed / self.trace.mm
        return self.shift + self._drawn_middle + (placed - self.middle) / self.trace.mm

    @cached_property
    def _keeps_place(self) -> bool:
        matrix = self.scale.to_true.matrix
        return bool(np.array_equal(matrix, np.diag([self.trace.mm, self.trace.mm, 1.0])))


def clean_request(
    values: Mapping[str, str], selection: Sequence[str], drawing: str = ""
) -> CleanRequest:
    """Return the request that options make.

    Args:
        values: texts by the option's name; what is missing is at its default.
        selection: the ids of the selected objects.
        drawing: the file of the drawing; empty if it has none.

    Raises:
        SettingError: if a value makes no sense.
    """
    texts = {option.name: values.get(option.name) or option.default for option in CLEANING}
    unit = values.get("unit") or "mm"
    gap = parse_measure(texts["gap"], _("The gap"), unit)
    tolerance = parse_measure(texts["tolerance"], _("The tolerance"), unit)
    for length, text, what, most in (
        (gap, texts["gap"], _("The gap"), LARGEST_GAP),
        (tolerance, texts["tolerance"], _("The tolerance"), _LARGEST_TOLERANCE),
    ):
        if length > most:
            raise SettingError(
                _('"{text}" is more than {most}.').format(text=text, most=most_in_words(most)),
                thing=what,
                remedy=_("Check its unit."),
            )
    if tolerance < _LEAST_TOLERANCE:
        raise SettingError(
            _('"{text}" is less than the {least} that a trace can tell.').format(
                text=texts["tolerance"], least=told_length(_LEAST_TOLERANCE, 2)
            ),
            thing=_("The tolerance"),
            remedy=_("Write a length such as {length}.").format(length=as_typed(_USUAL_TOLERANCE)),
        )
    half = "" if texts["half"] == "no" else texts["half"]
    taken_off = None
    if texts["edge"] == CUT_EDGE:
        taken_off = Allowances.parse(
            texts["allowance"], unit, Allowances(math.nan, {}, frozenset())
        )
    settings = CleanSettings(
        tolerance, texts["square"] == "yes", texts["upright"] == "yes", half, taken_off
    )
    dpi = None
    if values.get("dpi"):
        from extension.cleaning.picture_drawing import dpi_asked_for

        dpi = dpi_asked_for(values["dpi"])
    is_idle = bool(texts["allowance"]) and taken_off is None
    keeps_inner = texts["inner"] == KEEP
    folder = os.path.dirname(drawing)
    return CleanRequest(settings, gap, selection, is_idle, folder, dpi, keeps_inner)


def clean_up(root: etree._Element, request: CleanRequest) -> CleanUp:
    """Make clean blocks of a traced sheet; nothing is written yet.

    Args:
        root: the root of the document.
        request: what is asked for.

    Raises:
        DraftingError: if it cannot be done.
    """
    trace = read_trace(root, request.selection, request.folder)
    scale = true_scale(trace)
    trace = without_known_lines(trace, scale)
    closed = mapped_all(trace.closed, scale.to_true, closed=True)
    strokes = mapped_all(trace.open, scale.to_true, closed=False)
    kept = checked_shapes(closed, strokes)
    dust = len(closed) - len(kept)
    if dust:
        closed = [closed[k] for k in kept]
        trace = trace.without_dust(kept)
    _check_size([*closed, *strokes], scale)
    try:
        lines, sheet, twice = _read(closed, strokes, request.gap)
    except NothingClosedError as error:
        # Most sheets need none of it.
        from drafting_core.trace.broken_lines import told_what_is_missing

        told = told_what_is_missing(error, closed, strokes)
        if trace.pictures:
            from extension.cleaning.picture_words import told_of_edges

            told = told_of_edges(trace.pictures, told)
        raise _placed(told, scale, trace.mm) from None
    except DraftingError as error:
        raise _placed(error, scale, trace.mm) from None
    specks = sheet.left_out.specks + dust
    sheet = sheet._replace(left_out=sheet.left_out._replace(specks=specks))
    done = CleanUp(trace, scale, sheet, remarks=list(scale.remarks))
    _remark(done, root, request, twice)
    signs = apex_signs(sheet.small)
    if not signs:
        signs = signs_beside(closed, [block.ring.points for block in sheet.blocks])
    shares = _shares(sheet.blocks, [*closed, *strokes])
    for number, traced in enumerate(sheet.blocks):
        marks = [mark for mark in trace.marks if _is_of(mark, number, sheet.blocks, scale)]
        owners = list(
            dict.fromkeys(
                owner
                for owner, share in zip(trace.owners, shares[number], strict=True)
                if share >= 0.5
            )
        )
        try:
            block = clean_block(traced, _core_marks(marks, signs, scale, owners), request.settings)
        except DraftingError as error:
            thing = roles.name_of(owners[0]) if owners else ""
            raise _placed(error.about(thing), scale, trace.mm) from None
        nodes = sum(
            count for count, share in zip(trace.nodes, shares[number], strict=True) if share >= 0.5
        )
        done.cleaned.append(Cleaned(block, owners, marks, nodes))
    _name_sizes(done, is_part=bool(request.selection))
    _judge(done, lines, request, signs)
    if abs(done.true_mm_per_mm - 1.0) > _SAME_SIZE:
        left = min(
            done.to_units(cleaned, z).real
            for cleaned in done.cleaned
            for segment in cleaned.block.segments
            for z in segment.extreme_points()
        )
        done.shift = complex(right_edge(root) + _BESIDE / trace.mm - left)
    return done


def _name_sizes(done: CleanUp, *, is_part: bool) -> None:
    """Name the sizes as the drafter's marks do, else number them.

    Args:
        done: gets the sizes.
        is_part: whether a part of the sheet was chosen.

    Raises:
        SettingError: if a mark contradicts another or its size cannot be told.
    """
    rings = [block.ring.points for block in done.sheet.blocks]
    marks = [(mark, done.scale.to_true.at(centre_of(mark))) for mark in done.trace.sizes]
    owners = [cleaned.made_of for cleaned in done.cleaned]
    numbers = [block.size for block in done.sheet.blocks]
    names = sizes_named(marks, rings, owners, numbers, is_part=is_part)
    for cleaned, name in zip(done.cleaned, names, strict=True):
        cleaned.size = name


def _read(
    closed: Sequence[Points], strokes: Sequence[Points], gap: float
) -> tuple[tuple[list[Points], list[Points]], TraceSheet, float]:
    """Return a sheet's lines, what they show, and how much of them has two strokes (mm).

    Raises:
        DraftingError: if they show no block.
    """
    undoubled = without_spots(closed)
    open_lines = with_shared_ends(hand_set(strokes, closed=False))
    lines = (hand_set(undoubled.closed, closed=True), open_lines)
    sheet: TraceSheet | DraftingError
    try:
        sheet = read_sheet(*lines, gap)
        if not undoubled.gone or all(block.size == 0 for block in sheet.blocks):
            return lines, sheet, undoubled.length
    except DraftingError as fault:
        if not undoubled.gone:
            raise
        sheet = fault
    # Sizes run as near to each other for a stretch as two strokes of one line do.
    parted = (hand_set(closed, closed=True), open_lines)
    try:
        sizes = read_sheet(*parted, gap)
        if any(block.size for block in sizes.blocks):
            return parted, sizes, 0.0
    except DraftingError:
        # What the first reading found holds, or why it found nothing.
        pass
    if isinstance(sheet, DraftingError):
        raise sheet
    return lines, sheet, undoubled.length


def _judge(
    done: CleanUp,
    lines: tuple[Sequence[Points], Sequence[Points]],
    request: CleanRequest,
    signs: Sequence[complex],
) -> None:
    """Find what else is drawn on every block, where that is asked for, and judge all blocks.

    Raises:
        DraftingError: if a block's outline is none.
    """
    blocks = [cleaned.block for cleaned in done.cleaned]
    known = []
    if request.keeps_inner:
        from drafting_core.trace.inner_lines import inner_lines

        taken = {apex.number for block in blocks for apex in block.apexes}
        rest = [sign for number, sign in enumerate(signs) if number not in taken]
        found = inner_lines(*lines, request.gap, done.sheet.blocks, rest)
        for cleaned, inner in zip(done.cleaned, found, strict=True):
            cleaned.inner = inner
            known += [
                np.array([*flattened(line.segments, 16), line.segments[-1].end])
                for line in inner
            ]
    try:
        done.verdicts = judged_blocks(*lines, blocks, request.gap, known)
        doubts = [_("how far the photo's lens may have bent it")] if done.is_bent else []
        if done.trace.pictures:
            from extension.cleaning.picture_words import doubts_of_shadows

            doubts += doubts_of_shadows(done.trace.pictures)
        done.verdicts = [v._replace(look_at=(*v.look_at, *doubts)) for v in done.verdicts]
    except DraftingError as error:
        owners = done.cleaned[-1].made_of
        thing = roles.name_of(owners[0]) if owners else ""
        raise _placed(error.about(thing), done.scale, done.trace.mm) from None


def _remark(done: CleanUp, root: etree._Element, request: CleanRequest, doubled: float) -> None:
    """Add what the drafter should know of all blocks of a sheet.

    Args:
        done: gets the remarks.
        root: the root of the document.
        request: what was asked for.
        doubled: the length in mm of lines that were drawn with two strokes.
    """
    trace, scale = done.trace, done.scale
    done.remarks += _remarks_on(root, trace, scale)
    if scale.figure is not None:
        rings = np.concatenate([block.ring.points for block in done.sheet.blocks])
        off = scale.figure.off_words(scale.to_true.inverse(rings))
        done.remarks += [off] if off else []
        done.is_bent = bool(off)
    if request.idle_allowance:
        done.remarks.append(
            _(
                "The allowance that was given was not taken off: the traced line was taken as the "
                "stitch line, not as the cut line ({option})."
            ).format(option=f"--edge {CUT_EDGE}")  # not read by drafters
        )
    if doubled >= _TWO_STROKES:
        done.remarks.append(
            _("Lines were drawn with two strokes over {length}: their middle was taken.").format(
                length=told_length(doubled, 0)
            )
        )
    if trace.pictures or trace.untraced:
        # A drawing of traced lines waits for no words on pictures.
        from extension.cleaning.picture_words import said_of_pictures

        done.told, remarks = said_of_pictures(trace, scale, request.dpi)
        done.remarks += remarks


def _check_size(paths: Sequence[Points], scale: TrueScale) -> None:
    """Refuse what no scale of a block makes so large.

    Raises:
        DocumentError: if anything is.
    """
    largest = max(map(diagonal, paths))
    if largest > _LARGEST_SHAPE:
        marks = listed(roles.name_of(mark.element) for mark in scale.marks)
        raise DocumentError(
            _("the trace would be {size} across.").format(size=told_length(largest, 0)),
            thing=marks,
            remedy=_("Check the known length or rectangle, or the drawing's own scale."),
        )


def _remarks_on(root: etree._Element, trace: Trace, scale: TrueScale) -> list[str]:
    """Return what the drafter should know of the drawing before she uses its clean blocks."""
    remarks = []
    earlier = [
        child
        for child in root
        if isinstance(child.tag, str) and CLEAN in roles.our_attributes(child)
    ]
    if earlier:
        remarks.append(
            _(
                "The drawing already had a clean block, on the layer {layer}: delete the one that "
                "you do not want, since a move takes both."
            ).format(layer=listed(map(roles.name_of, earlier)))
        )
    stretched = [e for e in dict.fromkeys(trace.owners) if not is_similarity(transform_of(e))]
    if stretched and not scale.is_photo:
        remarks.append(
            _(
                "{thing} is stretched: it is scaled differently in two directions, or skewed, and "
                "the block is so too. A known rectangle would set it right."
            ).format(thing=roles.name_of(stretched[0]))
        )
    return remarks


def _placed(error: DraftingError, scale: TrueScale, mm: float) -> DraftingError:
    """Return an error with its place in mm of the drawing, as it lies there."""
    if error.place is None:
        return error
    place = scale.to_true.inverse.at(error.place) * mm
    return error.replaced(place=place).noted(
        _("(It is at {place} of the drawing.)").format(place=place_in_words(place))
    )


def _shares(blocks: Sequence[TracedBlock], paths: Sequence[Points]) -> list[list[float]]:
    """Return for every block which part of each path lies on its line."""
    shares = []
    sizes = [diagonal(path) for path in paths]
    for block in blocks:
        near = NearPoints(block.ring.points, max(_ON_LINE, 2.0 * block.ring.pen))
        least = SMALL_PART * diagonal(block.ring.points)
        shares.append(
            [
                float((near.nearest(_some(path))[0] >= 0).mean()) if size >= least else 0.0
                for path, size in zip(paths, sizes, strict=True)
            ]
        )
    return shares


def _some(path: Points) -> Points:
    """Return points spread over a path: enough to tell what share of it lies somewhere."""
    return path[:: max(1, len(path) // _SHARE_POINTS)]


def _is_of(mark: Marked, number: int, blocks: Sequence[TracedBlock], scale: TrueScale) -> bool:
    """Tell whether a mark is a block's: it lies in it or nearest to it."""
    if mark.role.word in (roles.KNOWN_LENGTH, roles.KNOWN_RECTANGLE, roles.KNOWN_GRID):
        return False
    place = scale.to_true(np.array([centre_of(mark.element)]))
    away = [float(np.abs(block.ring.points - place[0]).min()) for block in blocks]
    within = [is_inside(block.ring.points, place) for block in blocks]
    if any(within):
        return within[number]
    return away[number] == min(away) and away[number] <= MARK_REACH


def _core_marks(
    marks: Sequence[Marked],
    signs: Sequence[complex],
    scale: TrueScale,
    owners: Sequence[etree._Element],
) -> TraceMarks:
    """Return a block's marks as the core takes them, in true mm."""

    def places(word: str) -> list[tuple[Marked, complex]]:
        return [
            (mark, scale.to_true.at(centre_of(mark.element)))
            for mark in marks
            if mark.role.word == word
        ]

    return TraceMarks(
        apexes=[at for _mark, at in places(roles.APEX)],
        seams=[SeamMark(at, m.role.label) for m, at in places(roles.SEAM) if m.role.label],
        darts=[
            DartMark(at, 1.0 if mark.role.share is None else mark.role.share)
            for mark, at in places(roles.DART)
        ],
        grain=grain_of(marks, scale.to_true),
        signs=signs,
        name=_piece_name(owners),
    )


def _piece_name(owners: Sequence[etree._Element]) -> str:
    """Return what the drafter calls the piece, if its outline says so."""
    for owner in owners:
        name = roles.our_attributes(owner).get("name", "").strip()
        if name:
            return name
    return ""
