"""Reading an outline: one closed path or shape, or a group of open paths."""

from __future__ import annotations

import re
from collections.abc import Sequence

from lxml import etree

from drafting_core.model.outline import JOINING_GAP, OutlineEdge
from drafting_core.model.seam_names import KNOWN_SEAMS, SeamLabel, seam_kind
from drafting_core.text.errors import DraftingError
from drafting_core.text.lengths import in_words, place_in_words
from drafting_core.text.words import _
from extension.document import roles
from extension.document.namespaces import LABEL, svg
from extension.document.path_data import Subpath
from extension.document.roles import attributed_label, name_of, said_attributes
from extension.document.shapes import (
    SHAPES,
    clone_refused,
    drawn_elements,
    is_similarity,
    mapped_subpaths,
    transform_of,
)
from extension.document.svg_document import DocumentError
from extension.reading.source_block import SourceBlock


def outline_edges(block: SourceBlock) -> list[OutlineEdge]:
    """Return the edges of a block's outline in mm of the drawing (read once, then kept).

    Raises:
        DraftingError: if the outline is no closed shape, or is stretched.
    """
    if not block.edges:
        try:
            block.edges = _read_outline(block.outline, block.mm_per_unit)
        except DraftingError as error:
            raise error.about(block.thing) from None
    return block.edges


def _read_outline(element: etree._Element, mm: float) -> list[OutlineEdge]:
    if element.tag in SHAPES:
        _check_similarity(element)
        paths = [path for path in mapped_subpaths(element) if path.segments]
        if not paths:
            raise DocumentError(
                _("the outline is empty."),
                remedy=_("Draw the block's stitch line as a closed path."),
            )
        if len(paths) > 1 and (joined := _joined(element, paths, mm)):
            return joined
        if len(paths) > 1:
            raise DocumentError(
                _("the outline has {n} subpaths.").format(n=len(paths)),
                remedy=_("Break it apart (Path > Break Apart) and label only the stitch line."),
            )
        edges = _edges(paths[0], mm, None, leg=False)
        gap = edges[0].segment.start - edges[-1].segment.end
        if not paths[0].closed and abs(gap) > JOINING_GAP:
            raise DocumentError(
                _("the outline is open: its ends lie {gap} apart, at {place}.").format(
                    gap=in_words(abs(gap)),
                    place=place_in_words(edges[-1].segment.end),
                ),
                remedy=_("Close it with the node tool."),
                place=edges[-1].segment.end + gap / 2,
            )
        return edges
    if element.tag not in (svg("g"), svg("a")):
        raise DocumentError(
            _("it is a {kind}, which is no outline.").format(kind=etree.QName(element).localname),
            remedy=_("Label the block's closed path as outline (Path > Object to Path helps)."),
        )
    # Most outlines are one path.
    from extension.reading.chain_paths import Strand, chained_strands

    strands = []
    for child in drawn_elements(element):
        if child.tag == svg("use"):
            raise clone_refused(child)
        if child.tag in SHAPES:
            _check_similarity(child)
            label, leg = member_label(child)
            for path in mapped_subpaths(child):
                if path.segments:
                    edges = _edges(path, mm, label, leg=leg)
                    strands.append(Strand(tuple(edges), name_of(child)))
    if not strands:
        raise DocumentError(
            _("the outline's group holds no paths."),
            remedy=_("Draw the seams in it as open paths that meet end to end."),
        )
    return chained_strands(strands)


def _joined(
    element: etree._Element, paths: Sequence[Subpath], mm: float
) -> list[OutlineEdge] | None:
    """Return one ring of open subpaths that meet end to end, as a path broken at nodes has."""
    if any(path.closed for path in paths):
        return None
    from extension.reading.chain_paths import Strand, chained_strands

    strands = [Strand(tuple(_edges(path, mm, None, leg=False)), name_of(element)) for path in paths]
    try:
        return chained_strands(strands)
    except DraftingError:
        return None


def _check_similarity(element: etree._Element) -> None:
    if not is_similarity(transform_of(element)):
        raise DocumentError(
            _("its outline is stretched: it is scaled differently in two directions, or skewed."),
            thing=name_of(element),
            remedy=_("Take the stretch off (ungroup, or set equal scales), then try again."),
        )


def _edges(path: Subpath, mm: float, label: SeamLabel | None, *, leg: bool) -> list[OutlineEdge]:
    return [OutlineEdge(segment.mapped(lambda z: z * mm), label, leg) for segment in path.segments]


def member_label(element: etree._Element) -> tuple[SeamLabel | None, bool]:
    """Return the seam that a member of an outline's group names, and whether it is a dart's leg.

    The label names the seam, with or without the word "seam" before it; an id counts only where
    it is a seam's name, since the editor gives every object an id.
    """
    attributes = said_attributes(element)
    text = (element.get(LABEL) or "").strip()
    label: SeamLabel | None = None
    word = " ".join(attributes.get("role", "").casefold().split())
    leg = word == roles.DART
    if not text and element.get("id"):
        words = re.sub(r"[_\-]+", " ", str(element.get("id")))
        parsed = roles.parse_label(words)
        bare = roles.seam_label(re.sub(r"^seam\s+", "", words, flags=re.IGNORECASE))
        if (parsed and parsed.word in (roles.SEAM, roles.DART)) or seam_kind(
            bare.name
        ) in KNOWN_SEAMS:
            text = words
    if text:
        parsed = roles.parse_label(text)
        if parsed is not None and parsed.word == roles.DART:
            leg = True
        elif parsed is not None and parsed.word == roles.SEAM:
            label = parsed.label
        elif seam_kind(re.sub(r"\s+leg\b.*|\s+\d+$", "", text)) == "dart":
            leg = True
        else:
            label = roles.seam_label(text)
    if leg:
        return None, True
    if roles.SEAM_ATTRIBUTES & set(attributes):
        label = attributed_label(label or SeamLabel(""), attributes)
    return (label if label and label != SeamLabel("") else None), False
