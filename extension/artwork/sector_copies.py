"""Copies of what is drawn on a block: for each sector what lies on it, cut at its edge and turned.

A copy stands in groups like those of its original, so that it looks as that does, in a group with
the sector's outline for a clip and its motion for a transform. What a copy refers to is another
copy of the same result where there is one; else what it was. What may go with the drafter's old
layer (a path that a text runs along, a clip that is kept among drawn things) is copied as well.
Of a large picture there is one copy to a result, and clones of it in the other sectors.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from lxml import etree

from drafting_core.model.outline import flattened
from drafting_core.move.sectors import Sector
from drafting_core.plane.curves import Segment
from extension.artwork.affine import Affine
from extension.artwork.found_artwork import ARTWORK, FILL, ArtworkNode, DrawnArt, objects_of
from extension.artwork.reached_cells import ReachedCells
from extension.artwork.rough_boxes import HREFS
from extension.artwork.style_rules import NOT_INHERITED, Said, declarations, style_text
from extension.document.identities import Identities
from extension.document.namespaces import (
    DARTSWING,
    GROUP_MODE,
    INKSCAPE,
    LABEL,
    PREFIXES,
    SODIPODI,
    ours,
    svg,
)
from extension.document.path_data import path_data
from extension.document.roles import is_layer, our_attributes, parse_label
from extension.document.shapes import NOT_DRAWN

#: The label of the sub-layer.
ARTWORK_LAYER = "Artwork"
#: The attribute of a stitch line that tells whether a hand has changed the copies since.
ARTWORK_MARK = "artwork-mark"
#: The attribute by which a group of copies and its clip know each other.
_SECTOR = "sector"
#: In the place of a sector's name: all of them, cut by the outline of the piece.
_PIECE = "all"
#: Pictures with more letters of data than this are written once for all sectors.
LARGE_PICTURE = 20_000

_XLINK = "http://www.w3.org/1999/xlink"
_ID = "{http://www.w3.org/XML/1998/namespace}id"
_PATH, _IMAGE = svg("path"), svg("image")
_LINK = re.compile(r"(url\(\s*[\"']?#)([^)\"']+)")
_COPIED = re.compile(r"dartswing-\d+-(?:(?:artwork|fill)-\d+-)?")
#: What of the editor's would draw a copy anew by other things than its own data.
_LEFT_OUT = frozenset(
    (
        *(_ID, GROUP_MODE, f"{{{SODIPODI}}}insensitive"),
        *(
            f"{{{INKSCAPE}}}{name}"
            for name in (
                *("path-effect", "original-d", "original", "connector-type", "connection-start"),
                *("connection-end", "connector-curvature", "connection-start-point"),
                *("connection-end-point", "export-filename", "highlight-color"),
            )
        ),
    )
)
_OURS = (f"{{{DARTSWING}}}", "dartswing:")
#: An outline that is copied for its fill has no line, and is seen though its block be hidden.
_FILL_ALONE = dict.fromkeys(("stroke", "marker-start", "marker-mid", "marker-end"), "none") | {
    "display": "inline",
    "visibility": "visible",
}


class SectorPart(NamedTuple):
    """A part of a piece that turns as one, in units of the root.

    Attributes:
        outlines: its outlines, move by move, each as it lay before that move.
        maps: the moves.
        cells: the grids by which it is told what may lie on it.
    """

    outlines: tuple[tuple[Segment, ...], ...]
    maps: tuple[Affine, ...]
    cells: tuple[ReachedCells, ...]


def sector_part(chain: Sequence[Sector], unit: float) -> SectorPart:
    """Return a sector in units of the root.

    Args:
        chain: the sector, move by move, in true mm.
        unit: true mm to a unit of the root.
    """
    outlines = tuple(
        tuple(segment.mapped(lambda z: z / unit) for segment in sector.outline) for sector in chain
    )
    maps = []
    for sector in chain:
        spin, by = sector.motion.spin, sector.motion.shift / unit
        maps.append(Affine(spin.real, spin.imag, -spin.imag, spin.real, by.real, by.imag))
    return SectorPart(outlines, tuple(maps), tuple(ReachedCells(flattened(o)) for o in outlines))


def _shifted(part: SectorPart, shift: complex) -> SectorPart:
    """Return a sector that goes further by a shift."""
    *others, last = part.maps
    return part._replace(maps=(*others, Affine(e=shift.real, f=shift.imag).after(last)))


class ArtworkCopies:
    """What comes along to one result."""

    def __init__(
        self,
        art: DrawnArt,
        fill: Sequence[ArtworkNode],
        artwork: Sequence[ArtworkNode],
        parts: Sequence[SectorPart],
        edge: Sequence[Segment] = (),
    ) -> None:
        """Keep what comes along.

        Args:
            art: the drawing that it is from.
            fill: what fills the block.
            artwork: what else is drawn on it.
            parts: the sectors.
            edge: the outline of the piece, where it has a seam that runs through its sectors; in
                units of the root.
        """
        self._art, self._parts, self._edge = art, parts, edge
        self._kinds = ((FILL, fill), (ARTWORK, artwork))

    @property
    def has_artwork(self) -> bool:
        """Whether any of the artwork may lie on a sector."""
        return any(
            _may_reach(node, part)
            for _kind, nodes in self._kinds[1:]
            for node in objects_of(nodes)
            for part in self._parts
        )

    def write(
        self, layer: etree._Element, prefix: str, ids: Identities, shift: complex
    ) -> str | None:
        """Write the copies into a result, above its lowest sub-layer.

        Args:
            layer: the layer of the result, in the document.
            prefix: what the ids of the result begin with.
            ids: the ids of the document.
            shift: by how much the result lies beside its block, in units of the root.

        Returns:
            The mark of the copies, or None where nothing lies on any sector.
        """
        parts = [_shifted(part, shift) for part in self._parts]
        edge = [segment.mapped(lambda z: z + shift) for segment in self._edge]
        copies = _Writer(self._art, prefix, ids).drawn(self._kinds, parts, edge)
        if not len(copies):
            return None
        if not self._art.rules:
            # As long as it is no part of a document of the editor's own classes, which are slow.
            mark = artwork_mark(copies)
            layer.insert(1, copies)
            return mark
        layer.insert(1, copies)
        hold_off_rules(copies, self._art)
        return artwork_mark(copies)


class _Reference(NamedTuple):
    """An attribute of a copy that refers to another object, and the sector that it is in."""

    copy: etree._Element
    name: str
    place: tuple[str, int]


class _Writer:
    """Writes the copies of one result."""

    def __init__(self, art: DrawnArt, prefix: str, ids: Identities) -> None:
        self._art, self._prefix, self._ids = art, prefix, ids
        #: The new ids of what was copied, by sector and by the id of the original.
        self._of_sector: dict[tuple[str, int], dict[str, str]] = {}
        self._anywhere: dict[str, str] = {}
        self._references: list[_Reference] = []
        self._pictures: dict[etree._Element, str] = {}
        self._here = ("", 0)
        self._extra: Mapping[str, str] = {}
        self._layer = etree.Element(svg("g"), nsmap={**PREFIXES, "xlink": _XLINK})
        self._defs = etree.SubElement(self._layer, svg("defs"))

    def drawn(
        self,
        kinds: Sequence[tuple[str, Sequence[ArtworkNode]]],
        parts: Sequence[SectorPart],
        edge: Sequence[Segment],
    ) -> etree._Element:
        layer = self._layer
        layer.set(GROUP_MODE, "layer")
        layer.set(LABEL, ARTWORK_LAYER)
        layer.set("id", self._ids.unused(f"{self._prefix}-artwork-layer"))
        clips: dict[tuple[int, int], str] = {}
        for kind, nodes in kinds:
            for number, part in enumerate(parts, start=1):
                self._here = (kind, number)
                self._of_sector[self._here] = {}
                self._extra = _FILL_ALONE if kind == FILL else {}
                self._sector(kind, number, part, nodes, clips)
        if edge and len(self._defs):
            layer.set("clip-path", f"url(#{self._clip(edge, _PIECE)})")
            layer.set(ours(_SECTOR), _PIECE)
        self._follow_references()
        return layer

    def _sector(
        self,
        kind: str,
        number: int,
        part: SectorPart,
        nodes: Sequence[ArtworkNode],
        clips: dict[tuple[int, int], str],
    ) -> None:
        """Copy what lies on a sector, if anything does."""
        # A copy of a fill in a result is dressed already.
        group = etree.Element(svg("g"))
        for node in nodes:
            self._copy(node, group, part)
        if not len(group):
            return
        for move in range(len(part.maps)):
            if move:
                outer = etree.Element(svg("g"))
                outer.append(group)
                group = outer
            if (number, move) not in clips:
                clips[number, move] = self._clip(part.outlines[move], _sector_name(number, move))
            group.attrib["transform"] = part.maps[move].text()
            group.set("clip-path", f"url(#{clips[number, move]})")
            group.set(ours(_SECTOR), _sector_name(number, move))
        identity = self._ids.unused(f"{self._prefix}-{kind}-{number}")
        group.set("id", identity)
        group.set(LABEL, f"{kind} {number}")  # not read by drafters
        group.set(ours("part"), kind)
        group.set(ours("self"), identity)
        self._layer.append(group)

    def _clip(self, outline: Sequence[Segment], sector: str) -> str:
        name = f"{self._prefix}-sector-{sector}"
        clip = etree.SubElement(self._defs, svg("clipPath"))
        clip.set("id", self._ids.unused(name))
        clip.set(ours(_SECTOR), sector)
        clip.set("clipPathUnits", "userSpaceOnUse")
        path = etree.SubElement(clip, svg("path"))
        path.set("id", self._ids.unused(f"{name}-outline"))
        path.set("d", path_data(outline, closed=True))
        return str(clip.get("id"))

    def _copy(self, node: ArtworkNode, parent: etree._Element, part: SectorPart | None) -> None:
        """Copy an object, or what of a group may lie on a sector; all of it where none is given."""
        if part is not None and not _may_reach(node, part):
            return
        if node.children is None:
            self._rebuilt(node.element, parent)
            return
        attributes = self._attributes(node.element)
        group = parent
        if not (is_layer(node.element) and _is_plain(attributes)):
            group = etree.SubElement(parent, node.element.tag, attributes)
            self._take_note(node.element, group, attributes)
        before = len(group)
        for child in node.children:
            self._copy(child, group, None if node.is_whole else part)
        if group is not parent and len(group) == before:
            parent.remove(group)

    def _rebuilt(self, element: etree._Element, parent: etree._Element) -> etree._Element:
        """Copy an object with all that is in it."""
        if element.tag == _IMAGE and (clone := self._clone(element, parent)) is not None:
            return clone
        attributes = self._attributes(element, self._extra)
        copy = etree.SubElement(parent, element.tag, attributes)
        self._take_note(element, copy, attributes)
        copy.text = element.text
        for child in element:
            if isinstance(child.tag, str):
                self._rebuilt(child, copy).tail = child.tail
            elif child.tail:
                # A comment is left out, not the letters behind it.
                if len(copy):
                    copy[-1].tail = (copy[-1].tail or "") + child.tail
                else:
                    copy.text = (copy.text or "") + child.tail
        return copy

    def _clone(self, picture: etree._Element, parent: etree._Element) -> etree._Element | None:
        """Return a clone of a large picture that was copied already, or None."""
        if picture not in self._pictures:
            if _length_of_link(picture) > LARGE_PICTURE:
                self._pictures[picture] = ""
            return None
        clone = etree.SubElement(parent, svg("use"))
        clone.set(f"{{{_XLINK}}}href", f"#{self._pictures[picture]}")
        self._name(picture, clone)
        if label := picture.attrib.get(LABEL):
            clone.set(LABEL, str(label))
        return clone

    def _attributes(
        self, element: etree._Element, extra: Mapping[str, str] = MappingProxyType({})
    ) -> dict[str, str]:
        """Return the attributes that a copy keeps, with what style rules say of its original."""
        kept: dict[str, str] = {}
        for name, text in element.attrib.items():
            if ":" not in name:
                # Of those without a namespace only the id is left out.
                if name != "id":
                    kept[name] = text
            elif (
                name not in _LEFT_OUT
                and not name.startswith(_OURS)
                and (name != LABEL or not _reads_as_role(text))
            ):
                kept[name] = text
        said = self._art.rules.said_of(element)
        if said or extra:
            merged = dict(said)
            for name, own in declarations(kept.get("style", "")).items():
                if own.is_important or name not in merged or not merged[name].is_important:
                    merged[name] = own
            for name, value in extra.items():
                merged[name] = Said(value, name in merged and merged[name].is_important)
            kept["style"] = style_text(merged)
        return kept

    def _take_note(
        self, element: etree._Element, copy: etree._Element, attributes: Mapping[str, str]
    ) -> None:
        """Give a copy its id, and remember what it refers to."""
        self._name(element, copy)
        for key, value in attributes.items():
            is_link = key in HREFS and copy.tag != svg("a")
            if value.startswith("#") if is_link else "url(" in value:
                self._references.append(_Reference(copy, key, self._here))

    def _name(self, element: etree._Element, copy: etree._Element) -> None:
        original = str(element.attrib.get("id") or "")
        is_first = self._pictures.get(element) == "" if self._pictures else False
        if not original and not is_first:
            return
        kind, number = self._here
        short = _COPIED.sub("", original) or "picture"
        identity = self._ids.unused(f"{self._prefix}-{kind}-{number}-{short}")
        copy.set("id", identity)
        if is_first:
            self._pictures[element] = identity
        if original:
            self._of_sector[self._here].setdefault(original, identity)
            self._anywhere.setdefault(original, identity)

    # What copies refer to

    def _follow_references(self) -> None:
        """Let copies refer to copies, and copy what may go with the drafter's old layer."""
        done = 0
        while done < len(self._references):
            reference = self._references[done]
            done += 1
            copy, name, place = reference
            text = str(copy.attrib[name])
            if name in HREFS:
                is_clone = copy.tag == svg("use")
                copy.attrib[name] = f"#{self._referred(text[1:], place, is_clone=is_clone)}"
            else:
                copy.attrib[name] = _LINK.sub(
                    lambda found, place=place: (  # type: ignore[misc]
                        found[1] + self._referred(found[2], place, is_clone=False)
                    ),
                    text,
                )
        if not len(self._defs):
            self._layer.remove(self._defs)

    def _referred(self, identity: str, place: tuple[str, int], *, is_clone: bool) -> str:
        """Return the id that a copy refers to in the place of another one."""
        known = self._of_sector[place].get(identity) or self._anywhere.get(identity)
        if known:
            return known
        original = self._art.named.get(identity)
        if original is None or self._stays(original, is_clone=is_clone):
            return identity
        self._here, before = place, self._here
        extra, self._extra = self._extra, {}
        self._rebuilt(original, self._defs)
        self._here, self._extra = before, extra
        return self._anywhere.get(identity, identity)

    def _stays(self, original: etree._Element, *, is_clone: bool) -> bool:
        """Tell whether an object stays where it is when the drafter deletes her old layer.

        What is kept among the definitions of the document does. The original of a clone may not,
        but then the editor makes a copy of every clone of it.
        """
        above = [original, *original.iterancestors()]
        if len(above) > 1 and above[-2].tag in NOT_DRAWN:
            return True
        return is_clone and not any(each.tag in NOT_DRAWN for each in above)


def _sector_name(number: int, move: int) -> str:
    return f"{number}-{move + 1}" if move else f"{number}"


def _may_reach(node: ArtworkNode, part: SectorPart) -> bool:
    box = node.box
    if not part.cells[0].may_reach(box):
        return False
    for cells, to in zip(part.cells[1:], part.maps, strict=False):
        box = to.box(box)
        if not cells.may_reach(box):
            return False
    return True


def _is_plain(attributes: Mapping[str, str]) -> bool:
    """Tell whether a layer changes nothing of what is in it."""
    return not any(
        name not in (LABEL, "style")
        or (name == "style" and text.replace(" ", "").rstrip(";") not in ("", "display:inline"))
        for name, text in attributes.items()
    )


def _reads_as_role(label: str) -> bool:
    # Inside a result labels say nothing; a copy that is taken out of it must not either.
    try:
        return parse_label(label) is not None
    except Exception:  # whatever is wrong with it, it began as a role does
        return True


def hold_off_rules(layer: etree._Element, art: DrawnArt) -> None:
    """Let no style rule say of a copy what none said of its original.

    Args:
        layer: the sub-layer of copies, in its place in the document.
        art: the drawing with its rules.
    """
    if not art.rules:
        return
    for copy in layer.iter():
        if not isinstance(copy.tag, str):
            continue
        own = declarations(str(copy.attrib.get("style") or ""))
        more = {
            name: Said(
                str(copy.attrib.get(name) or NOT_INHERITED.get(name, "inherit")), said.is_important
            )
            for name, said in art.rules.said_of(copy).items()
            if name not in own
        }
        if more:
            copy.attrib["style"] = style_text({**own, **more})


def artwork_layer(layer: etree._Element) -> etree._Element | None:
    """Return the sub-layer of a result that holds copies of artwork, or None."""
    for child in layer:
        if isinstance(child.tag, str) and child.get(LABEL) == ARTWORK_LAYER:
            return child
    return None


def artwork_mark(layer: etree._Element) -> str:
    """Return a short mark of a sub-layer of copies, by which a change of it is seen."""
    words: list[str] = []
    for element in layer.iter():
        if not isinstance(element.tag, str):
            continue
        words.append(element.tag)
        if element.tag == _PATH:
            # There may be thousands of them.
            attributes = element.attrib
            words += [str(attributes.get(name)) for name in ("d", "style", "transform", "fill")]
        else:
            links = () if element.tag == _IMAGE else HREFS
            words += [
                f"{name} {value}"
                for name, value in element.attrib.items()
                if name in links or (name != "id" and not name.startswith("{"))
            ]
        if element.tag == _IMAGE:
            words.append(str(_length_of_link(element)))
        if element.text and not element.text.isspace():
            words.append(element.text)
    return f"{zlib.crc32(chr(10).join(words).encode()):08x}"


def _length_of_link(picture: etree._Element) -> int:
    """Return the number of letters of what a picture shows, without taking it in hand."""
    return int(picture.xpath("string-length(@*[local-name()='href'])"))


def mend_clips(layer: etree._Element) -> None:
    """Let the copies in a result be cut by clips of its own.

    In a layer that the editor has duplicated they still go by those of the first one, and would
    lose them with it.
    """
    copies = artwork_layer(layer)
    if copies is None:
        return
    sector = ours(_SECTOR)
    clips = {c.get(sector): c.get("id") for c in copies.iter(svg("clipPath")) if c.get(sector)}
    for group in copies.iter(svg("g")):
        own = clips.get(group.get(sector))
        if own and group.get("clip-path") != f"url(#{own})":
            group.set("clip-path", f"url(#{own})")


def untouched_copies(layer: etree._Element, stitch: etree._Element) -> set[etree._Element] | None:
    """Return all that is in a result's sub-layer of copies; None where it is not as it was.

    Args:
        layer: the layer of the result.
        stitch: its stitch line, which has their mark.
    """
    copies = artwork_layer(layer)
    if copies is None or artwork_mark(copies) != our_attributes(stitch).get(ARTWORK_MARK):
        return None
    return set(copies.iter())
