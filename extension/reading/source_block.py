"""A block as it stands in the drawing: its outline's element, its marks, its scale."""

from __future__ import annotations

import contextlib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from types import MappingProxyType
from typing import NamedTuple

from lxml import etree

from drafting_core.model.outline import OutlineEdge, extent
from drafting_core.text.errors import DraftingError
from drafting_core.text.figures import significant
from drafting_core.text.lengths import told_length
from drafting_core.text.words import _
from extension.document import roles
from extension.document.namespaces import CLEANED_FROM
from extension.document.roles import Role, name_of, our_attributes
from extension.document.shapes import SHAPES, centre_of, mapped_subpaths
from extension.document.stored_values import stored_scale
from extension.document.svg_document import DocumentError


class Marked(NamedTuple):
    """An object of the drawing that carries a role.

    Attributes:
        element: the object.
        role: its role.
        fault: why its role cannot be read, or None.
    """

    element: etree._Element
    role: Role
    fault: DraftingError | None = None


def mark_key(mark: Marked) -> str:
    """Return by what a mark is known again: its id, or else what it is and where it lies."""
    identity = mark.element.get("id")
    if identity:
        return str(identity)
    at = centre_of(mark.element)
    return f"{mark.role.word.replace(' ', '-')}@{at.real:.3f},{at.imag:.3f}"


class SourceBlock:
    """An outline in the drawing and the marks that belong to it.

    Attributes:
        outline: the element that carries the role of outline.
        layer: the result layer that it stands in, or None.
        marks: its marks, in document order.
        edges: its edges in mm of the drawing, before a known length is looked at.
        mm_per_unit: millimetres to a unit of the root, as the drawing says.
        name: the piece's name where the block has to be told from others, else empty.
        fault: why its outline or one of its marks cannot be read, or None.
    """

    def __init__(
        self, outline: etree._Element, layer: etree._Element | None, mm_per_unit: float
    ) -> None:
        """Take an outline; edges and marks are read after it."""
        self.outline, self.layer, self.mm_per_unit = outline, layer, mm_per_unit
        self.edges: list[OutlineEdge] = []
        self.marks: list[Marked] = []
        self.name = ""
        self.fault: DraftingError | None = None

    @cached_property
    def traced_marks(self) -> frozenset[str]:
        """The keys of the marks and outlines of the trace that it was made of, none of its own."""
        return frozenset(our_attributes(self.outline).get(CLEANED_FROM, "").split())

    @cached_property
    def scale(self) -> float:
        """True millimetres to a millimetre of the drawing, as a known length or a result says.

        Raises:
            DraftingError: if that cannot be used, or two known lengths contradict each other.
        """
        if self.layer is not None:
            attributes = our_attributes(self.outline)
            stored = stored_scale("true-scale", attributes, name_of(self.outline))
            if stored is not None:
                return stored
        scales = []
        for mark in self.marked(roles.KNOWN_LENGTH):
            paths = mapped_subpaths(mark.element) if mark.element.tag in SHAPES else []
            drawn = sum(s.length() for path in paths for s in path.segments) * self.mm_per_unit
            if not mark.role.length or mark.role.length <= 0 or drawn <= 0:
                raise DocumentError(
                    _(
                        "a known length has to be a path of some length, labelled like "
                        '"known length 100mm".'
                    ),
                    thing=name_of(mark.element),
                    remedy=_("Draw a line over a length that you know and write it in the label."),
                )
            scales.append(mark.role.length / drawn)
        if not scales:
            return 1.0
        if max(scales) - min(scales) > 0.005 * max(scales):
            raise DocumentError(
                _("its known lengths give different scales: {least} and {most}.").format(
                    least=significant(min(scales), 4), most=significant(max(scales), 4)
                ),
                remedy=_("Delete the wrong one."),
            )
        return sum(scales) / len(scales)

    def marked(self, word: str) -> list[Marked]:
        """Return the marks of one role."""
        return [mark for mark in self.marks if mark.role.word == word]

    @property
    def thing(self) -> str:
        """What the drafter calls the block in messages: a result's line by its piece's name."""
        name = our_attributes(self.outline).get("name", "").strip()
        if self.layer is not None and name:
            return _('The stitch line of "{name}"').format(name=name)
        return thing_called(self.name, self.outline)

    @property
    def size_sentence(self) -> str:
        """The block's size in words, or an empty string before its outline was read."""
        if not self.edges:
            return ""
        width, height = extent(edge.segment for edge in self.edges)
        # Where the scale itself is at fault, the size is the drawing's.
        with contextlib.suppress(DraftingError):
            height, width = height * self.scale, width * self.scale
        return _("(The block is {height} high and {width} wide.)").format(
            height=told_length(height), width=told_length(width)
        )

    @property
    def true_mm_per_unit(self) -> float:
        """True millimetres to a unit of the root."""
        return self.mm_per_unit * self.scale


class Drawing:
    """What a drawing holds for Dartswing.

    Attributes:
        blocks: every block, in document order.
        notes: what was taken for what, where the drafter may not expect it.
        lost: result layers in which no stitch line is found.
        names: names of pieces that are yet to be written on their outlines.
    """

    def __init__(
        self,
        blocks: Sequence[SourceBlock],
        notes: Sequence[str] = (),
        lost: Sequence[etree._Element] = (),
        names: Mapping[etree._Element, str] = MappingProxyType({}),
    ) -> None:
        """Take what was read; it does not change any more."""
        self.blocks, self.notes, self.lost, self.names = blocks, notes, lost, names

    def with_notes(self, notes: Sequence[str]) -> Drawing:
        """Return the same drawing with other notes."""
        return Drawing(self.blocks, notes, self.lost, self.names)

    def with_names(self, names: Mapping[etree._Element, str]) -> Drawing:
        """Return the same drawing with other names that are yet to be written."""
        return Drawing(self.blocks, self.notes, self.lost, names)

    @cached_property
    def blocks_within(self) -> Counter[etree._Element]:
        """How many blocks, results left out, every group and layer holds."""
        return Counter(
            ancestor
            for block in self.blocks
            if block.layer is None
            for ancestor in ancestors(block.outline)
        )


def thing_called(name: str, outline: etree._Element) -> str:
    """Return what messages call a block.

    Args:
        name: its piece's name, or an empty string.
        outline: its outline, which names it where the piece has no name.
    """
    if name:
        return _('The block "{name}"').format(name=name)
    return _("The block {outline}").format(outline=name_of(outline))


def ancestors(element: etree._Element) -> Iterable[etree._Element]:
    """Yield the groups and layers around an element, the nearest first."""
    current = element.getparent()
    while current is not None:
        yield current
        current = current.getparent()
