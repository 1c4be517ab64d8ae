"""One set of marks for a nest: what is marked on one block, taken over to a block without marks.

The blocks of a nest are one pattern in several sizes: their seams follow the dart in one order.
So a place is carried over by its seam and its fraction of that seam's sewn length, and the apex
by its place on the dart's own bisector.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from drafting_core.block.block import Block, DartMark
from drafting_core.block.find_darts import find_wedges, take_apart
from drafting_core.block.found_block import FoundBlock, take_block
from drafting_core.block.places import Target, resolve
from drafting_core.block.seams import SeamMark, name_seams
from drafting_core.block.source_darts import source_darts
from drafting_core.model.outline import checked
from drafting_core.model.piece import Piece
from drafting_core.model.seam_names import SeamLabel
from drafting_core.model.stretches import stretches
from drafting_core.plane.curves import Segment, chain_length, unit
from drafting_core.text.errors import DartError, DraftingError, OutlineError, PlaceError
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _

#: The model's apex may lie this far beside its dart's bisector (mm).
APEX_ASIDE = 1.0
#: Blocks of one nest look alike: a seam's chord runs at most this far from the model's (rad).
LIKE = math.radians(50.0)
#: A mirror image is clearly the better fit when its misfit is this many times smaller.
CLEARLY = 4.0
_NO_MISFIT = 1e-6

#: A part of the outline from one corner or mouth to the next: its edges by run and index.
Portion = tuple[tuple[int, int], ...]


class Order(NamedTuple):
    """A block in the order of its outline, from the dart that is moved.

    Attributes:
        piece: the block, its seams ending at every corner, whatever they are called.
        dart: the number of the opening from which the order starts.
        portions: the parts of the outline between corners and mouths, run by run from there.
        apex: the pivot.
    """

    piece: Piece
    dart: int
    portions: tuple[tuple[Portion, ...], ...]
    apex: complex

    def segments(self, number: int) -> list[Segment]:
        """Return the segments of a portion."""
        return [self.piece.runs[k][i].segment for k, i in self.flat()[number]]

    def flat(self) -> list[Portion]:
        """Return all portions in order."""
        return [portion for run in self.portions for portion in run]

    def opening(self, step: int) -> int:
        """Return the number of the opening that comes so many openings after the first."""
        return (self.dart + step) % len(self.piece.openings)

    def chords(self) -> list[complex]:
        """Return the chord of every portion."""
        return [
            chain[-1].end - chain[0].start
            for chain in (self.segments(number) for number in range(len(self.flat())))
        ]


class Model(NamedTuple):
    """The block of a nest whose marks are used for the others.

    Attributes:
        block: the block.
        found: the block taken apart.
        order: the order of its seams.
        sources: its darts to close and how much of each, by number.
    """

    block: Block
    found: FoundBlock
    order: Order
    sources: dict[int, float]


def read_model(block: Block) -> Model:
    """Take the model's block apart.

    Raises:
        DraftingError: if it has no apex, or cannot be read.
    """
    if block.apex is None:
        raise DartError(
            _("its marks are to be used for other blocks, but it has no apex."),
            remedy=_('Put a small mark labelled "apex" on its bust point.'),
        )
    if block.more_apexes:
        raise DartError(
            _("its marks are to be used for other blocks, but it has several apexes."),
            remedy=_("Mark every block of the nest by itself."),
        )
    found = take_block(block, equalise=False)
    sources = source_darts(found.piece, block.dart_marks)
    order = _order(block, block.apex, next(iter(sources)))
    return Model(block, found, order, sources)


def with_model_marks(model: Model, block: Block, *, needs_target: bool = True) -> Block:
    """Return a block with the marks of the model for what it does not mark itself.

    Apex, targets, names of seams and darts to close are looked at each by itself.

    Args:
        model: the block whose marks are used.
        block: the block that lacks some.
        needs_target: whether targets are taken over.

    Raises:
        DraftingError: if the two blocks are not alike.
    """
    order = _like(model, block)
    completed = block._replace(apex=order.apex)
    if not names_seams(block) and names_seams(model.block):
        completed = completed._replace(seam_marks=_seam_marks(model, order))
    if needs_target and not block.targets:
        completed = completed._replace(
            targets=[_target(model, order, target) for target in model.block.targets]
        )
    if not block.dart_marks and len(model.found.piece.openings) > 1:
        completed = completed._replace(dart_marks=_dart_marks(model, order))
    return completed


def names_seams(block: Block) -> bool:
    """Tell whether a block says anything of its seams by marks or by path labels."""
    return bool(block.seam_marks) or any(
        edge.label is not None and edge.label != SeamLabel("") for edge in block.outline
    )


# What corresponds


def _order(block: Block, apex: complex, dart: int | complex) -> Order:
    """Return a block's order from a dart: its number, or its point where that is not known.

    Raises:
        DraftingError: if the outline is at fault, or the dart does not point at the apex.
    """
    ring = checked(block.outline)
    darts = take_apart(ring, [apex], equalise=False)
    plain = darts._replace(
        runs=tuple(tuple(edge._replace(label=None) for edge in run) for run in darts.runs)
    )
    # Where path labels differ a seam ends, though there may be no corner.
    ends = [
        edge.segment.start
        for before, edge in zip([ring[-1], *ring[:-1]], ring, strict=True)
        if before.label is not None and edge.label is not None and before.label != edge.label
    ]
    piece = name_seams(plain, (), [*block.seam_ends, *ends])
    if not isinstance(dart, int):
        at = [k for k, o in enumerate(piece.openings) if o.in_fan and o.point == dart]
        if not at:
            raise _no_dart()
        dart = at[0]
    count = len(piece.runs)
    runs = []
    for step in range(count):
        k = (dart + 1 + step) % count
        run: list[Portion] = []
        for i, edge in enumerate(piece.runs[k]):
            if i and edge.seam is piece.runs[k][i - 1].seam:
                run[-1] = (*run[-1], (k, i))
            else:
                run.append(((k, i),))
        runs.append(tuple(run))
    return Order(piece, dart, tuple(runs), apex)


def _like(model: Model, block: Block) -> Order:
    """Return the order of a block that is most like the model's.

    Raises:
        DraftingError: if there is none: other seams, another way round, or no dart.
    """
    orders = list(_possible_orders(model, block))
    if not orders:
        raise _no_dart()
    counts = [len(run) for run in model.order.portions]
    same = [order for order in orders if [len(run) for run in order.portions] == counts]
    if not same:
        raise _unlike(model, block, orders[0])
    best = min(same, key=lambda order: _difference(model.order, order))
    if _difference(model.order, best) > LIKE or _is_mirrored(model.order, best):
        raise OutlineError(
            _(
                'its seams do not run like those of "{block}": one of the two is mirrored, or '
                "another piece."
            ).format(block=model.block.name or _("the marked block")),
            remedy=_("Give it marks of its own, or mirror it."),
        )
    return best


def _possible_orders(model: Model, block: Block) -> Sequence[Order]:
    if block.apex is not None:
        count = len(take_apart(checked(block.outline), [block.apex], equalise=False).openings)
        return [_order(block, block.apex, k) for k in range(count)]
    distance = _apex_beyond_point(model)
    ring = checked(block.outline)
    orders = []
    for wedge in find_wedges(ring):
        apex = wedge.point + distance * _bisector(wedge.point, wedge.ends)

        try:
            orders.append(_order(block, apex, wedge.point))
        except DraftingError:
            # A wedge that cannot be the dart; another one may.
            continue
    return orders


def _apex_beyond_point(model: Model) -> float:
    """Return how far beyond its dart's point the model's apex lies, on the bisector."""
    k = next(iter(model.sources))
    opening = model.found.piece.openings[k]
    away = opening.apex - opening.point
    along = away * _bisector(opening.point, model.found.piece.mouth(k)).conjugate()
    if abs(along.imag) > APEX_ASIDE:
        raise DartError(
            _(
                "its apex lies {distance} beside the middle of its dart, so that it cannot be "
                "taken over to other blocks."
            ).format(distance=in_words(abs(along.imag))),
            thing=_called(model.block),
            remedy=_("Put an apex mark on each block."),
            place=opening.apex,
            other_block=bool(model.block.name),
        )
    return along.real


def _bisector(point: complex, ends: tuple[complex, complex]) -> complex:
    """Return the unit vector from a dart's mouth along its middle."""
    return -unit(unit(ends[0] - point) + unit(ends[1] - point))


def _difference(one: Order, other: Order) -> float:
    """Return the widest angle in radians between chords of two orders, the blocks laid alike."""
    pairs = list(zip(one.chords(), other.chords(), strict=True))
    turned = sum(b * a.conjugate() / (abs(a) or 1.0) for a, b in pairs)
    if abs(turned) < 1e-9:
        return math.pi
    back = unit(turned).conjugate()
    angles = [b * back * a.conjugate() for a, b in pairs if abs(a) > 1.0 and abs(b) > 1.0]
    return max(abs(math.atan2(z.imag, z.real)) for z in angles) if angles else math.pi


def _is_mirrored(one: Order, other: Order) -> bool:
    """Tell whether a block is clearly more like the model's mirror image than like the model."""
    if [len(run) for run in other.portions] != [len(run) for run in reversed(one.portions)]:
        return False
    image = [-z.conjugate() for z in reversed(one.chords())]
    straight, mirrored = (_misfit(chords, other.chords()) for chords in (one.chords(), image))
    return straight > CLEARLY * mirrored + _NO_MISFIT


def _misfit(some: Sequence[complex], others: Sequence[complex]) -> float:
    """Return how badly chords fit once scaled and turned onto each other: 0 well, 1 not at all."""
    product = abs(sum(b * a.conjugate() for a, b in zip(some, others, strict=True))) ** 2
    norms = sum(abs(a) ** 2 for a in some) * sum(abs(b) ** 2 for b in others)
    return 1.0 - product / norms if norms else 1.0


def _called(block: Block) -> str:
    if not block.name:
        return _("The marked block")
    return _('The block "{block}"').format(block=block.name)


def _no_dart() -> DartError:
    return DartError(
        _("it has no dart like the block whose marks are used."),
        remedy=_("Give it marks of its own, or leave it out by selecting the others."),
    )


def _unlike(model: Model, block: Block, order: Order) -> OutlineError:
    mine, theirs = (len(stretches(item.piece)) for item in (order, model.order))
    name, other = (f'"{b.name}"' if b.name else _("a block") for b in (block, model.block))
    how = (
        _(
            "{block} has {count} seams and {other} has {others}, so that the marks of {other} "
            "cannot be taken over."
        )
        if mine != theirs
        else _(
            "the {count} seams of {block} do not lie about its dart like those of {other}, so that "
            "the marks of {other} cannot be taken over."
        )
    )
    return OutlineError(
        how.format(block=name, count=mine, other=other, others=theirs),
        remedy=_("Give this block marks of its own, or the same corners as the other."),
    )


# What is taken over


def _seam_marks(model: Model, order: Order) -> list[SeamMark]:
    """Return a mark for every portion whose seam the model names."""
    marks = []
    for portion, own in zip(model.order.flat(), order.flat(), strict=True):
        k, i = portion[0]
        seam = model.found.piece.runs[k][i].seam
        if not (seam.named or seam.fold or seam.allowance is not None):
            continue
        label = SeamLabel(seam.name if seam.named else "", seam.allowance, seam.fold)
        longest = max(
            (order.piece.runs[k][i].segment for k, i in own), key=lambda segment: segment.length()
        )
        marks.append(SeamMark(longest.point(0.5), label))
    return marks


def _dart_marks(model: Model, order: Order) -> list[DartMark]:
    count = len(model.found.piece.openings)
    marks = []
    for k, share in model.sources.items():
        opening = order.opening(k - model.order.dart)
        first, second = order.piece.mouth(opening)
        middle = (first + second + order.piece.openings[opening].point) / 3
        marks.append(DartMark(middle, share))
    return marks if count > 1 else []


def _target(model: Model, order: Order, target: Target) -> Target:
    """Return the model's target as it lies on another block."""
    if target.slash:
        raise PlaceError(
            _("only a mark or a straight slash line can be taken over to other blocks."),
            thing=target.spoken,
            remedy=_("Draw it straight, or draw one on each block."),
        )
    if target.at is None:
        return target
    piece = model.found.piece
    reached = resolve(piece, target, model.found.down, list(model.sources))
    if reached.mouth is not None:
        mouth = order.opening(reached.mouth - model.order.dart)
        return target._replace(at=order.piece.mouth(mouth)[0])
    spot = reached.spot
    if spot is None:
        raise ValueError("a target is at a mouth or at a spot")
    seam = next(s for s in stretches(piece) if (spot.run, spot.edge) in s.edges)
    numbers = {edge: n for n, portion in enumerate(model.order.flat()) for edge in portion}
    before = 0.0
    for k, i in seam.edges:
        segment = piece.runs[k][i].segment
        if (k, i) == (spot.run, spot.edge):
            before += (
                segment.split(spot.t)[0].length() if 0 < spot.t < 1 else (spot.t * segment.length())
            )
            break
        before += segment.length()
    whole = chain_length(seam.segments(piece))
    own = [
        segment
        for n in dict.fromkeys(numbers[edge] for edge in seam.edges)
        for segment in order.segments(n)
    ]
    return target._replace(at=_along(own, before / whole))


def _along(segments: Sequence[Segment], fraction: float) -> complex:
    """Return the point at a fraction of a chain's length."""
    lengths = [segment.length() for segment in segments]
    left = fraction * sum(lengths)
    for segment, length in zip(segments, lengths, strict=True):
        if left < length:
            return segment.point(segment.parameter_at(left))
        left -= length
    return segments[-1].end
