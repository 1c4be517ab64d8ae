"""Which objects of a drawing are artwork on a block: seen, drawn by hand, and nothing by itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

from lxml import etree

from drafting_core.plane.curves import Box
from drafting_core.text.errors import DraftingError
from extension.artwork.affine import SAME, Affine
from extension.artwork.rough_boxes import RoughBoxes, merged
from extension.artwork.style_rules import StyleRules
from extension.document.namespaces import LABEL, ours, svg
from extension.document.roles import (
    is_layer,
    is_result,
    is_shown_only,
    role_of,
)
from extension.document.shapes import NOT_DRAWN
from extension.reading.source_block import Drawing, SourceBlock, ancestors

#: The parts of a result that are copies of artwork, and of its block's fill.
ARTWORK, FILL = "artwork", "fill"
#: What holds other objects, and is taken with those of them alone that reach a sector.
_HOLDERS = frozenset((svg("g"), svg("a")))
#: Labels and ids that begin otherwise say no role; most need no closer look.
_FIRST_WORDS = (
    *("outline", "block", "apex", "bust", "target", "seam", "hold", "dart", "grain", "known"),
    *("notch", "inner", "style"),
)
_PART, _ROLE, _SELF = ours("part"), ours("role"), ours("self")
_EFFECTS = ("filter", "clip-path", "mask")


class ArtworkNode:
    """An object of the artwork, or a group around some.

    Attributes:
        element: the object.
        box: a box about it in units of the root, at least as large as what is seen of it.
        children: of a group what of it is artwork; None for an object that is taken as it is.
        is_whole: whether all of a group is taken where any of it is, since an effect on it goes
            by all that it holds.
    """

    __slots__ = ("box", "children", "element", "is_whole")

    def __init__(
        self,
        element: etree._Element,
        box: Box,
        children: list[ArtworkNode] | None = None,
        *,
        is_whole: bool = False,
    ) -> None:
        """Keep what is given."""
        self.element, self.box, self.children, self.is_whole = element, box, children, is_whole


class DrawnArt:
    """What is drawn in a document, looked through once for all blocks of a run."""

    def __init__(self, root: etree._Element, drawing: Drawing) -> None:
        """Prepare to look through a document.

        Args:
            root: its root.
            drawing: the blocks that were found in it.
        """
        self.root, self._drawing = root, drawing
        self.rules = StyleRules(root)
        self._has_rules = bool(self.rules)
        self._boxes = RoughBoxes(root, self.rules, lambda: self.named)
        self._meant = {block.outline for block in drawing.blocks}
        self._meant |= {mark.element for block in drawing.blocks for mark in block.marks}
        self._results = {block.layer for block in drawing.blocks if block.layer is not None}
        self._known: dict[etree._Element, list[ArtworkNode]] = {}

    @property
    def unread(self) -> list[etree._Element]:
        """The objects that were met and could not be read."""
        return list(self._boxes.unread)

    @cached_property
    def named(self) -> Mapping[str, etree._Element]:
        """The elements of the document by their ids."""
        return {str(e.attrib["id"]): e for e in self.root.iter("*") if "id" in e.attrib}

    @cached_property
    def _holders(self) -> dict[etree._Element, set[etree._Element]]:
        """The outlines that every group and layer holds, results left out."""
        found: dict[etree._Element, set[etree._Element]] = {}
        for block in self._drawing.blocks:
            if block.layer is None:
                for ancestor in ancestors(block.outline):
                    found.setdefault(ancestor, set()).add(block.outline)
        return found

    def artwork_of(self, block: SourceBlock) -> list[ArtworkNode]:
        """Return what is drawn on a block, or about it, bottom first.

        That is what the block's own nearest group or layer holds, and what stands in none that
        holds a block. Of a result it is what its layer holds beside what Dartswing derives.
        """
        if block.layer is not None:
            return list(self._of_result(block.layer, ARTWORK))
        return self._chosen(block.outline, self.root, SAME, frozenset())

    def fill_of(self, block: SourceBlock) -> list[ArtworkNode]:
        """Return what fills a block: its outline, or in a result the copies of its block's."""
        if block.layer is not None and (copies := list(self._of_result(block.layer, FILL))):
            return copies
        outline = block.outline
        members = [e for e in outline.iter() if isinstance(e.tag, str) and e.tag != svg("g")]
        if all(self.rules.value(e, "fill", "black") == "none" for e in members):
            return []
        to = self._map_to_root(outline.getparent())
        box = self._boxes.box(outline)
        if to is None or box is None:
            return []
        return self._wrapped(outline, [ArtworkNode(outline, to.box(box))])

    def _of_result(self, layer: etree._Element, part: str) -> Iterator[ArtworkNode]:
        to = self._map_to_root(layer.getparent())
        if to is None:
            return
        node = self._node(layer, to, inside=part)
        if node is not None:
            yield from self._wrapped(layer, [node])

    def _map_to_root(self, element: etree._Element) -> Affine | None:
        """Return the map from the coordinates within a group to the root's."""
        total = SAME
        current = element
        while current is not None and current is not self.root:
            own = self._boxes.own_map(current)
            if own is None or current.tag == svg("svg"):
                return None
            total = own.after(total)
            current = current.getparent()
        return total

    def _wrapped(self, element: etree._Element, nodes: list[ArtworkNode]) -> list[ArtworkNode]:
        """Return nodes within the groups that stand around an element."""
        for ancestor in element.iterancestors():
            if ancestor is self.root:
                break
            box = merged(node.box for node in nodes)
            if box is not None:
                nodes = [ArtworkNode(ancestor, box, nodes, is_whole=self._has_effect(ancestor))]
        return nodes

    def _chosen(
        self,
        outline: etree._Element,
        parent: etree._Element,
        to: Affine,
        scope: frozenset[etree._Element],
    ) -> list[ArtworkNode]:
        """Return what of a group is artwork of the block with an outline.

        Args:
            outline: the block's outline.
            parent: the group.
            to: the map from its coordinates to the root's.
            scope: the outlines whose artwork it may be: those that the nearest group around it
                holds that holds any.
        """
        scope = frozenset(self._holders.get(parent, ())) or scope
        if outline not in scope:
            return []
        found = []
        for child in parent:
            if child in self._holders:
                own = self._boxes.own_map(child)
                if own is None or self._is_hidden(child):
                    continue
                nodes = self._chosen(outline, child, to.after(own), scope)
                box = merged(node.box for node in nodes)
                if box is not None:
                    found.append(ArtworkNode(child, box, nodes, is_whole=self._has_effect(child)))
            elif (node := self._seen(child, to)) is not None:
                found.append(node)
        return found

    def _seen(self, element: etree._Element, to: Affine) -> ArtworkNode | None:
        """Return an object of the drawing, measured once for all blocks of a run."""
        if element not in self._known:
            node = self._node(element, to, inside="")
            self._known[element] = [] if node is None else [node]
        return next(iter(self._known[element]), None)

    def _node(self, element: etree._Element, to: Affine, *, inside: str) -> ArtworkNode | None:
        """Return an object with what of it is artwork, or None.

        Args:
            element: the object.
            to: the map from its parent's coordinates to the root's.
            inside: in a result the part that is looked for, among what the drafter has added for
                artwork; else an empty string.
        """
        if self._is_no_artwork(element, inside):
            return None
        if element.tag not in _HOLDERS:
            if inside == FILL:
                return None
            box = self._boxes.box(element)
            return None if box is None else ArtworkNode(element, to.box(box))
        own = self._boxes.own_map(element)
        if own is None:
            self._boxes.unread[element] = None
            return None
        here = to.after(own)
        if inside and element.attrib.get(_PART) == inside:
            # All that is in it is a copy of the kind that is looked for.
            inside = ""
        children = [
            node
            for child in element
            if (node := self._node(child, here, inside=inside)) is not None
        ]
        box = merged(node.box for node in children)
        if box is None:
            return None
        if self._has_effect(element):
            # The region of a filter and the edge of a clip are told in the group's own units.
            local = self._boxes.with_effects(element, _back(here).box(box))
            return ArtworkNode(element, here.box(local), children, is_whole=True)
        return ArtworkNode(element, box, children)

    def _is_no_artwork(self, element: etree._Element, inside: str) -> bool:
        """Tell whether an object is hidden, ours, or something by itself."""
        if not isinstance(element.tag, str) or element.tag in NOT_DRAWN or element in self._meant:
            return True
        attributes = element.attrib
        part = attributes.get(_PART)
        if part or _ROLE in attributes or _SELF in attributes:
            # In a result the copies of the kind that is looked for, else nothing of ours.
            return not inside or part != inside
        if self._is_hidden(element):
            return True
        if inside:
            return False
        if element.tag == svg("g") and (
            element in self._results or is_result(element) or is_shown_only(element)
        ):
            return True
        return _says_a_role(element)

    def _is_hidden(self, element: etree._Element) -> bool:
        # Not `get`: that of the editor library's elements is slow, and there may be thousands.
        attributes = element.attrib
        style = str(attributes.get("style") or "")
        if self._has_rules or "display" in style or "visibility" in style:
            said = self.rules.style_of(element)
            values = {said[name].value for name in ("display", "visibility") if name in said}
            if values & {"none", "hidden", "collapse"}:
                return True
        return bool(attributes.get("display") == "none" or attributes.get("visibility") == "hidden")

    def _has_effect(self, element: etree._Element) -> bool:
        said = self.rules.style_of(element)
        values = (
            said[name].value if name in said else str(element.attrib.get(name) or "none")
            for name in _EFFECTS
        )
        return any(value != "none" for value in values)


def _back(to: Affine) -> Affine:
    """Return the map that undoes another; that of one that flattens everything does nothing."""
    a, b, c, d, e, f = to
    whole = a * d - b * c
    if whole == 0.0:
        return SAME
    turned = Affine(d / whole, -b / whole, -c / whole, a / whole)
    return turned.after(Affine(e=-e, f=-f))


def _says_a_role(element: etree._Element) -> bool:
    """Tell whether a label or an id says a role, be it one that cannot be read."""
    attributes = element.attrib
    label = str(attributes.get(LABEL) or "").strip() or str(attributes.get("id") or "")
    if not label.casefold().startswith(_FIRST_WORDS) or is_layer(element):
        return "dartswing:role" in attributes
    try:
        return role_of(element) is not None
    except DraftingError:
        return True


def objects_of(nodes: Sequence[ArtworkNode]) -> list[ArtworkNode]:
    """Return all objects of artwork that are no groups, bottom first."""
    found: list[ArtworkNode] = []
    for node in nodes:
        found += [node] if node.children is None else objects_of(node.children)
    return found
