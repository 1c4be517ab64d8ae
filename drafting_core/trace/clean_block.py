"""A block made of a traced ring: clean seams, darts, apex, names, square corners, upright.

Corners are where short chords turn as much as long ones; a tight curve turns less between short
ones. Seams are fitted each by itself, clear of the corners, and the corners put where neighbours
meet; then the fit is done again clear of these. A curve is a cubic B-spline of few even spans, so
that tangent and curvature go on where cubics join; points may slide along it while it is fitted.
Straight or curved is decided by the shape that is left when a hand's wobble is averaged away,
against the wobble measured on the longer seams. A dart's point is where its legs meet, weighed
against where the ink ends: legs of a narrow dart meet badly.

How truly this follows a scan is measured by ``tests/benchmarks/bench_clean.py``, whose head keeps
the figures.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from drafting_core.block.block import Block, DartMark
from drafting_core.block.found_block import FoundBlock, take_block
from drafting_core.block.propose_apex import DRAWN, ProposedApex, propose_apexes
from drafting_core.block.seams import SeamMark
from drafting_core.ink.polylines import Points
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import OutlineEdge, extent, nearest_on
from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import (
    CENTRE_SEAMS,
    HEM,
    NECKLINE,
    SHOULDER,
    WAIST,
    Seam,
    SeamLabel,
    seam_kind,
)
from drafting_core.plane.curves import Line, PointMap, Segment, box_about, dot, turn, unit
from drafting_core.sheet.trace_sheet import EDGE, TracedBlock
from drafting_core.text.errors import DraftingError, OutlineError
from drafting_core.text.lengths import told_with_difference
from drafting_core.text.words import _, listed
from drafting_core.trace.allowance_widths import (
    SeamAllowance,
    say_allowances,
    seam_allowances,
)
from drafting_core.trace.clean_outline import CleanOutline, clean_outline, interior_left
from drafting_core.trace.halves import Halved, halved
from drafting_core.trace.seam_runs import SeamRun
from drafting_core.trace.square_corners import Squared, square_corners

if TYPE_CHECKING:
    from drafting_core.trace.punched_notches import Notch

#: The default of `--tolerance`, in mm.
TOLERANCE = 0.5
#: A seam that may be the centre of a piece without names is at least this part of its height, …
_CENTRE_PART = 0.6
#: … stands within this of upright, …
_NEARLY_UPRIGHT = math.radians(6.0)
#: … and meets a neighbour within this of a right angle.
_SQUARE_END = math.radians(3.0)
#: A notch lies on a half of a piece if it is this near to its line (mm).
_NOTCH_REACH = 3.0
#: A centre seam this near to the vertical stands upright (radians).
_UPRIGHT = 1e-6


class TraceMarks(NamedTuple):
    """What the drafter marked on a traced block, and what may be an apex. Places in true mm.

    Attributes:
        apexes: the apexes that she marked.
        seams: the seams that she named.
        darts: which darts she chose.
        grain: the grainline that she drew, or None.
        signs: centres of small dots and crosses of the trace.
        name: the piece's name, or an empty string.
    """

    apexes: Sequence[complex] = ()
    seams: Sequence[SeamMark] = ()
    darts: Sequence[DartMark] = ()
    grain: Line | None = None
    signs: Sequence[complex] = ()
    name: str = ""


class CleanSettings(NamedTuple):
    """How a trace is cleaned up.

    Attributes:
        tolerance: how far a seam may stray from the trace, in mm.
        square: whether nearly right angles at the centre are made right.
        upright: whether the block is turned so that its grain is vertical.
        half: which half of an unfolded piece is kept (see `halves`), or an empty string.
        taken_off: the allowances within the traced line, where that is a cut line; else None.
    """

    tolerance: float = TOLERANCE
    square: bool = True
    upright: bool = True
    half: str = ""
    taken_off: Allowances | None = None


@dataclass
class CleanBlock:
    """A clean block. All places in true mm, the block upright where that was asked.

    Attributes:
        outline: its runs and darts.
        found: what a move would find in it, or None where it finds no block (see ``warnings``).
        apexes: its apexes, each with the reason for its place.
        turn: by how much it was turned, in radians.
        centre: the point about which it was turned.
        squared: the corners that were made square.
        halved: how the halves of an unfolded piece differed, or None.
        notches: the notches that were taken off its edge, those of another half left out.
        taken_off: the seams within a cut line and the widths that were taken off, in mm.
        cut_runs: the traced cut line's runs, one for each of the outline's, where it has one.
        traced: what it was made of.
        seams: the seam of every run, None for legs.
        allowances: what a drawn cut line gives each seam.
        warnings: what the drafter should know.
        is_turned: whether something said what is upright.
        is_guessed: whether that was only a seam that looks like a centre.
    """

    outline: CleanOutline
    traced: TracedBlock
    found: FoundBlock | None = None
    apexes: list[ProposedApex] = field(default_factory=list)
    turn: float = 0.0
    centre: complex = 0j
    squared: list[Squared] = field(default_factory=list)
    halved: Halved | None = None
    notches: list[Notch] = field(default_factory=list)
    taken_off: list[tuple[Seam, float]] = field(default_factory=list)
    cut_runs: list[SeamRun] = field(default_factory=list)
    seams: list[Seam | None] = field(default_factory=list)
    allowances: list[SeamAllowance] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    is_turned: bool = True
    is_guessed: bool = False

    @property
    def runs(self) -> list[SeamRun]:
        """Its seams and legs from corner to corner."""
        return self.outline.runs

    @property
    def traced_runs(self) -> list[SeamRun]:
        """Its runs where they were traced: those of its cut line, if that was traced."""
        return self.cut_runs or self.runs

    @property
    def piece(self) -> Piece | None:
        """It as a piece, or None where a move would find no block in it."""
        return self.found.piece if self.found is not None else None

    @property
    def segments(self) -> list[Segment]:
        """Its outline."""
        return self.outline.segments

    @property
    def to_place(self) -> PointMap:
        """The map from where the trace lies to where the block lies."""
        factor, centre = cmath.exp(1j * self.turn), self.centre
        return lambda z: centre + (z - centre) * factor

    def placed(self, points: Points) -> Points:
        """Return points of the trace where the block lies, shape kept."""
        return np.asarray(self.centre + (points - self.centre) * cmath.exp(1j * self.turn))

    @property
    def size(self) -> tuple[float, float]:
        """Its width and height in mm, before it is put in place."""
        to = self.to_place
        return extent(segment.mapped(to) for segment in self.segments)


def clean_block(traced: TracedBlock, marks: TraceMarks, settings: CleanSettings) -> CleanBlock:
    """Make a clean block of a traced ring.

    The outline stays where the trace lies; `CleanBlock.to_place` turns it upright.

    Args:
        traced: the ring.
        marks: what is marked on it.
        settings: how it is cleaned up.

    Raises:
        OutlineError: if it has no corners, or no alike halves where a half is asked for.
    """
    ring, cut = traced.ring, None
    notches: list[Notch] = []
    if traced.made_of == EDGE:
        # No pen line needs it.
        from drafting_core.trace.punched_notches import without_notches

        ring, notches = without_notches(interior_left(ring))
    if settings.half:
        cut = halved(ring, settings.half)
        ring = cut.ring
    outline = clean_outline(ring, settings.tolerance)
    if not outline.runs:
        raise OutlineError(
            _("the closed line has no corners: a block's seams end at corners."),
            remedy=_("Select the trace of a block."),
            place=complex(ring.points[0]),
        )
    block = CleanBlock(outline, traced, halved=cut)
    block.notches = [notch for notch in notches if _is_near(notch.at, ring.points)]
    _take(block, marks)
    if settings.taken_off is not None:
        marks = _take_off(block, marks, settings.taken_off)
        _take(block, marks)
    centre = centre_seam(block)
    if settings.square and centre is not None:
        block.squared = square_corners(block.runs, block.seams, centre, settings.tolerance)
        if block.squared:
            _take(block, marks)
    if traced.cut_line is not None:
        _take_allowances(block, traced.cut_line, marks)
    _note_legs(block)
    if traced.made_of == EDGE:
        from drafting_core.trace.edge_doubts import edge_doubts

        block.warnings += edge_doubts(block.outline, ring)
    _turn_upright(block, marks, settings)
    return block


def _take_off(block: CleanBlock, marks: TraceMarks, allowances: Allowances) -> TraceMarks:
    """Put a block's seams within its cut line, and return its marks with the widths beside them.

    Raises:
        OutlineError: if a width is not said, or there is no stitch line at such widths.
    """
    # Only an edge that is a cut line needs it.
    from drafting_core.trace.cut_edge import moved_inward, stitch_outline

    cut = block.outline
    widths = []
    for seam, run in zip(block.seams, cut.runs, strict=True):
        width = 0.0 if run.leg else allowances.default if seam is None else allowances.width(seam)
        if math.isnan(width):
            raise OutlineError(
                _("its edge is the cut line, but the width of the allowance of {seam} is not said.")
                .format(seam=_("part of the outline") if seam is None else seam.spoken),
                remedy=_("Say it, like {option}, or in a mark on the seam.").format(
                    option='--allowance "10mm, hem=40mm"'  # not read by drafters
                ),
                place=run.start,
            )  # fmt: skip
        widths.append(width)
    block.outline, block.cut_runs = stitch_outline(cut, widths)
    block.notches = [
        notch._replace(at=moved_inward(cut, widths, notch.at)) for notch in block.notches
    ]
    found: dict[Seam, tuple[float, complex]] = {}
    for seam, run, width in zip(block.seams, cut.runs, widths, strict=True):
        if seam is not None:
            middle = run.segments[len(run.segments) // 2].point(0.5)
            found.setdefault(seam, (width, moved_inward(cut, widths, middle)))
    block.taken_off = [(seam, width) for seam, (width, _at) in found.items()]
    said = [
        SeamMark(at, SeamLabel(seam.name if seam.is_known else "", width,
                               turned=allowances.is_turned(seam)))
        for seam, (width, at) in found.items()
        if not seam.fold and seam.allowance is None
    ]  # fmt: skip
    return marks._replace(seams=[*marks.seams, *said])


def _is_near(place: complex, ring: Points) -> bool:
    """Tell whether a notch lies on a ring: one of the other half of a piece does not."""
    return float(np.abs(ring - place).min()) <= _NOTCH_REACH


def _edges(block: CleanBlock) -> list[OutlineEdge]:
    return [OutlineEdge(segment) for segment in block.segments]


def _take(block: CleanBlock, marks: TraceMarks) -> None:
    """Find the darts, apexes and seams of a block, as a move will."""
    seam_marks = [*marks.seams, *_marks_by_shape(block, marks)]
    core = Block(
        _edges(block),
        apex=marks.apexes[0] if marks.apexes else None,
        more_apexes=marks.apexes[1:],
        seam_marks=seam_marks,
        dart_marks=marks.darts,
        grain=marks.grain,
        name=marks.name,
    )
    block.found, block.seams, block.apexes = None, [None] * len(block.runs), []
    try:
        found = take_block(core, equalise=False)
        if not marks.apexes:
            block.apexes = [
                _on_middle_line(proposal, found.piece)
                for proposal in propose_apexes(found.piece, marks.signs)
            ]
            pivots = [proposal.at for proposal in block.apexes]
            if pivots:
                core = core._replace(apex=pivots[0], more_apexes=pivots[1:])
                found = take_block(core, equalise=False)
    except DraftingError as error:
        block.warnings = [str(error)]
        return
    block.found = found
    block.warnings = list(found.warnings)
    block.seams = _seams_of_runs(block, found.piece)


def _take_allowances(block: CleanBlock, cut_line: Points, marks: TraceMarks) -> None:
    """Give every seam the width between it and the drawn cut line."""
    block.allowances = seam_allowances(block.runs, block.seams, cut_line)
    folds = [drawn.seam.shown for drawn in block.allowances if drawn.width == 0.0]
    if len(folds) > 1:
        raise OutlineError(
            _(
                "a cut line is drawn round it, and the two lines meet along several seams, "
                "{seams}: a block has one edge on the fold. A part of the stitch line was not "
                "found."
            ).format(seams=listed(folds)),
            remedy=_("Draw the stitch line over where it is faint or dashed, or trace it alone."),
        )
    runs = list(zip(block.runs, block.seams, strict=True))
    hers: dict[Seam, bool] = {}
    for mark in marks.seams:
        near = [segment for run, _seam in runs for segment in run.segments]
        owners = [seam for run, seam in runs for _segment in run.segments]
        seam = owners[nearest_on(near, mark.at).segment]
        if seam is not None and (mark.label.allowance is not None or mark.label.fold):
            hers[seam] = True
    if not hers:
        _check_no_size(block, cut_line)
    say_allowances(block.allowances, hers)


def _check_no_size(block: CleanBlock, cut_line: Points) -> None:
    """Refuse a cut line that may as well be the next size.

    Raises:
        OutlineError: if it may.
    """
    # Few sheets need it.
    from drafting_core.sheet.drawn_allowance import may_be_a_size

    if may_be_a_size(block.traced.ring.points, cut_line):
        raise OutlineError(
            _(
                "two lines run round it, and whether the outer one is its cut line or another "
                "size cannot be told."
            ),
            remedy=_(
                "If it is the cut line, mark one seam with its width, such as seam hem 30mm; if "
                "it is a size, select each line alone."
            ),
        )


def _on_middle_line(proposal: ProposedApex, piece: Piece) -> ProposedApex:
    """Return an apex that a small sign marks, put on the middle line of its only dart.

    A sign is seen to a few tenths of a millimetre; the legs, which are equal, tell better on
    which line the dart's pivot lies.
    """
    if proposal.why != DRAWN or len(proposal.darts) != 1:
        return proposal
    (number,) = proposal.darts
    ends, point = piece.mouth(number), piece.openings[number].point
    along = unit(point - (ends[0] + ends[1]) / 2)
    return proposal._replace(at=point + along * dot(along, proposal.at - point))


def _marks_by_shape(block: CleanBlock, marks: TraceMarks) -> list[SeamMark]:
    """Return marks for what nobody marked: names by the shape, and a halved piece's fold.

    One mark of the drafter's would else leave all other seams without a name; names by the shape
    stand beside hers only where they agree with it.
    """
    if not marks.seams and block.halved is None:
        return []
    try:
        piece = take_block(Block(_edges(block), name=marks.name), equalise=False).piece
    except DraftingError:
        piece = None
    middle = None if block.halved is None else sum(block.halved.axis) / 2
    found: list[SeamMark] = []
    hers: set[Seam] = set()
    if piece is not None:
        edges = list(piece.edges())
        for mark in marks.seams:
            near = edges[nearest_on([edge.segment for edge in edges], mark.at).segment].seam
            if mark.label.name and near.is_known and seam_kind(mark.label.name) != near.kind:
                return found if middle is None else [SeamMark(middle, SeamLabel("", fold=True))]
            hers.add(near)
        for seam in piece.seams():
            edge = max(
                (edge for edge in edges if edge.seam is seam),
                key=lambda edge: edge.segment.length(),
            )
            at = edge.segment.point(0.5)
            is_fold = middle is not None and abs(at - middle) < 1.0
            if is_fold and seam not in hers:
                found.append(SeamMark(at, SeamLabel(seam.name if seam.is_known else "", fold=True)))
            elif seam.is_known and seam not in hers:
                found.append(SeamMark(at, SeamLabel(seam.name)))
    elif middle is not None:
        found.append(SeamMark(middle, SeamLabel("", fold=True)))
    return found


def _seams_of_runs(block: CleanBlock, piece: Piece) -> list[Seam | None]:
    """Return the seam of every run: None for legs of darts."""
    edges = {(edge.segment.start, edge.segment.end): edge.seam for edge in piece.edges()}
    found: list[Seam | None] = []
    for run in block.runs:
        first = run.segments[0]
        seam = edges.get((first.start, first.end)) or edges.get((first.end, first.start))
        if seam is None and not run.leg:
            seam = next(
                (
                    seam
                    for ends, seam in edges.items()
                    if all(
                        min(abs(z - end) for end in ends) < 1e-6 for z in (first.start, first.end)
                    )
                ),
                None,
            )
        found.append(None if run.leg else seam)
    return found


def _note_legs(block: CleanBlock) -> None:
    """Say which darts' legs could not be made equal."""
    for dart in block.outline.darts:
        if dart.equal:
            continue
        legs = [block.runs[(dart.first + k) % len(block.runs)] for k in (0, 1)]
        lengths = [abs(leg.end - leg.start) for leg in legs]
        one, other, by = told_with_difference(*lengths)
        block.warnings.append(
            _(
                "The legs of a dart differ by {by} ({one} and {other}) and were left so: true them "
                "before moving it."
            ).format(by=by, one=one, other=other)
        )


def _turn_upright(block: CleanBlock, marks: TraceMarks, settings: CleanSettings) -> None:
    """Decide by how much the block is turned."""
    block.centre = box_about(z for s in block.segments for z in s.extreme_points()).centre
    if not settings.upright:
        return
    along = _vector(marks.grain) if marks.grain is not None else _centre_vector(block)
    if along is None:
        along = _edge_like_a_centre(block)
        block.is_guessed = along is not None
    if along is not None:
        block.turn = math.pi / 2 - cmath.phase(_down(block, along))
    elif block.halved is not None:
        first, last = block.halved.axis
        way = last - first if (last - first).imag > 0 else first - last
        block.turn = math.pi / 2 - cmath.phase(way)
    else:
        block.is_turned = False
    block.turn = math.remainder(block.turn, 2 * math.pi)
    if abs(block.turn) < _UPRIGHT:
        block.turn = 0.0


def centre_seam(block: CleanBlock) -> Seam | None:
    """Return the seam that is a block's straight centre, or None.

    Of a skirt the shape tells its centre, but not whether it is that of the front or the back:
    such a seam has no name, lies between waist and hem, and is straight.
    """
    count = len(block.runs)
    for k, seam in enumerate(block.seams):
        if seam is None or not block.runs[k].fit.is_straight:
            continue
        if seam is block.seams[k - 1] or seam is block.seams[(k + 1) % count]:
            continue
        if seam.kind in CENTRE_SEAMS or seam.fold:
            return seam
        around = {
            other.kind for other in (block.seams[k - 1], block.seams[(k + 1) % count]) if other
        }
        if not seam.is_known and not seam.named and around == {WAIST, HEM}:
            return seam
    return None


def _down(block: CleanBlock, along: complex) -> complex:
    """Return a vector along a grain, downward: away from the neck, toward the hem.

    One of both is enough. Where neither is named, the sheet lies as it should: a waist alone may
    be a bodice's lower or a skirt's upper edge.
    """

    def middle_of(*kinds: str) -> complex | None:
        points = [
            z
            for seam, run in zip(block.seams, block.runs, strict=True)
            if seam is not None and seam.kind in kinds
            for segment in run.segments
            for z in segment.flattened(4)
        ]
        return complex(np.mean(points)) if points else None

    middle = complex(np.mean([z for segment in block.segments for z in segment.flattened(4)]))
    neck, hem = middle_of(NECKLINE, SHOULDER), middle_of(HEM)
    if neck is not None:
        way = middle - neck
    elif hem is not None:
        way = hem - middle
    else:
        way = 1j
    return along if dot(along, way) >= 0 else -along


def _centre_vector(block: CleanBlock) -> complex | None:
    """Return a vector along a block's straight centre, or None."""
    centre = centre_seam(block)
    for seam, run in zip(block.seams, block.runs, strict=True):
        if seam is centre and seam is not None:
            return run.end - run.start
    return None


def _edge_like_a_centre(block: CleanBlock) -> complex | None:
    """Return a vector along the only seam that can be a centre where none is known, or None.

    That is a straight seam at the edge of the piece, nearly upright, most of its height long,
    and square to a neighbour.
    """
    points = np.array([z for s in block.segments for z in s.flattened(8)])
    found = []
    for k, run in enumerate(block.runs):
        way = run.end - run.start
        if not run.fit.is_straight or run.leg or abs(way) < _CENTRE_PART * np.ptp(points.imag):
            continue
        if abs(way.real) > math.sin(_NEARLY_UPRIGHT) * abs(way):
            continue
        beside = ((points - run.start) * np.conj(way / abs(way))).imag
        before, after = block.runs[k - 1], block.runs[(k + 1) % len(block.runs)]
        ends = (
            turn(before.segments[-1].end_tangent(), way),
            turn(way, after.segments[0].start_tangent()),
        )
        is_square = any(abs(abs(bend) - math.pi / 2) <= _SQUARE_END for bend in ends)
        if is_square and beside.min() >= -1.0:
            found.append(way)
    return found[0] if len(found) == 1 else None


def _vector(line: Line) -> complex:
    return line.end - line.start


def runs_of_seams(block: CleanBlock) -> list[tuple[Seam | None, list[int]]]:
    """Return the runs of every seam, then those of every dart, each in the outline's order."""
    seams: dict[Seam, list[int]] = {}
    for k, seam in enumerate(block.seams):
        if seam is not None:
            seams.setdefault(seam, []).append(k)
    count = len(block.runs)
    darts = [[dart.first, (dart.first + 1) % count] for dart in block.outline.darts]
    rest = [[k] for k in range(count) if block.seams[k] is None and not block.runs[k].leg]
    found: list[tuple[Seam | None, list[int]]] = list(seams.items())
    return found + [(None, numbers) for numbers in [*rest, *darts]]
