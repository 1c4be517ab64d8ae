"""What of a result is printed: its parts as they are drawn, and what the drafter added to it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from inkex.transforms import Transform
from lxml import etree

from drafting_core.finished.fold_edge import fold_lines
from drafting_core.finished.pattern_piece import Draft
from drafting_core.plane.curves import Segment, cross, unit
from drafting_core.text.errors import DraftingError
from drafting_core.text.lengths import told_apart
from drafting_core.text.words import _, ngettext
from extension.document.namespaces import SODIPODI, svg
from extension.document.roles import drawn_by_us, name_of, our_attributes
from extension.document.shapes import (
    SHAPES,
    chains_of,
    drawn_elements,
    mapped_subpaths,
    point_map,
    transform_of,
)
from extension.document.visibility import is_hidden
from extension.finished.cut_count import count_said
from extension.finished.old_cut_line import old_cut_line
from extension.finished.results_in_play import drafted
from extension.paper.printed_parts import (
    CUT_LINE,
    OTHER_END,
    OWN,
    TITLE,
    PrintedLine,
    PrintedResult,
    PrintedText,
)
from extension.reading.drawn_extent import font_size
from extension.reading.piece_names import shown_name
from extension.reading.source_block import Drawing, SourceBlock

_TEST_SQUARE = "test-square"
#: What a page has of its own, or what is for the screen.
_NOT_PRINTED = frozenset({"note", "sheet", "fold-edge", _TEST_SQUARE})
#: A test square that differs by more than this from its 50 mm tells of a layer that was scaled.
SCALED = 0.05
_DASHES = re.compile(r"stroke-dasharray\s*:\s*([\d.,\s]+)")
_XLINK = "{http://www.w3.org/1999/xlink}href"
_ANCHOR = re.compile(r"text-anchor\s*:\s*(start|middle|end)")
_BOLD = re.compile(r"font-weight\s*:\s*(bold|[6-9]00)")


def read_printed(source: SourceBlock, drawing: Drawing) -> PrintedResult:
    """Return what of a result is printed.

    Raises:
        DraftingError: if its stitch line can no longer be finished, or a part cannot be read.
    """
    layer = source.layer
    if layer is None:
        raise ValueError("only a result is printed")
    draft = drafted(source, drawing)
    scale = source.true_mm_per_unit
    # Of a layer that was duplicated as a whole every object is a copy, and derived all the same.
    is_copy = not drawn_by_us(source.outline)
    copies = _copies_of_artwork(layer)
    shown = [
        e
        for e in drawn_elements(layer)
        if e not in copies and (not is_hidden(e) or e is source.outline)
    ]
    squares = [element for element in shown if _part(element, is_copy=is_copy) == _TEST_SQUARE]
    remarks = [text for square in squares for text in _scaled(square, scale, draft)]
    lines, texts, left_out = _parts_of(layer, shown, scale, is_copy=is_copy)
    if left_out:
        remarks.append(
            ngettext(
                "{name}: {n} object in its layer is neither a line nor a text and is not printed "
                "({objects}).",
                "{name}: {n} objects in its layer are neither lines nor texts and are not printed "
                "({objects}).",
                len(left_out),
            ).format(name=shown_name(draft), n=len(left_out), objects=", ".join(left_out[:5]))
        )
    if any(our_attributes(e).get("part") == "artwork" for e in copies):
        remarks.append(
            _(
                "{name}: its artwork is not printed. Lines of it that are to be printed are marked "
                "as inner lines."
            ).format(name=shown_name(draft))
        )
    drawn = [chain for line in lines if line.kind == CUT_LINE for chain, _closed in line.chains]
    remarks += old_cut_line(drawn, draft)
    title = next((text.lines for text in texts if text.kind == TITLE), ())
    return PrintedResult(
        source,
        draft,
        tuple(lines),
        tuple(texts),
        tuple(remarks),
        count_said(title, draft),
        tuple(fold_lines(draft)),
    )


def _copies_of_artwork(layer: etree._Element) -> set[etree._Element]:
    """Return what came along from the block: it is for the screen, and nobody cuts by it."""
    return {
        element
        for group in layer.iter(svg("g"))
        if our_attributes(group).get("part") in ("artwork", "fill")
        for element in group.iter()
    }


class _Parts(NamedTuple):
    """What is on a result's layer: its lines, its texts, and the names of what is neither."""

    lines: list[PrintedLine]
    texts: list[PrintedText]
    left_out: list[str]


def _parts_of(
    layer: etree._Element, shown: Sequence[etree._Element], scale: float, *, is_copy: bool
) -> _Parts:
    """Read the objects of a result that are shown.

    Raises:
        DraftingError: if a part that Dartswing drew cannot be read.
    """
    found = _Parts([], [], [])
    named = {str(e.get("id")): e for e in layer.getroottree().getroot().iter() if e.get("id")}
    for element in shown:
        kind = _part(element, is_copy=is_copy)
        if element.tag == svg("text"):
            text = _text(element, kind, scale)
            found.texts.extend([text] if text is not None else [])
        elif kind in _NOT_PRINTED or element.tag == svg("g"):
            continue
        elif element.tag in SHAPES:
            try:
                chains = chains_of(element, scale)
            except DraftingError:
                if kind != OWN:
                    raise
                found.left_out.append(name_of(element))
                continue
            dashes = _dashes(element, scale) if kind == OWN else ()
            found.lines.extend([PrintedLine(kind, chains, dashes)] if chains else [])
        elif element.tag == svg("use") and (cloned := _cloned(element, named, scale)):
            found.lines.append(PrintedLine(OWN, cloned))
        elif element.tag != svg("tspan"):
            found.left_out.append(name_of(element))
    return found


def _part(element: etree._Element, *, is_copy: bool) -> str:
    """Return what an object is: a part that Dartswing drew, or the drafter's own."""
    attributes = our_attributes(element)
    part = attributes.get("part", "")
    is_ours = is_copy or "self" not in attributes or drawn_by_us(element)
    return part if part and is_ours else OWN


def _cloned(
    clone: etree._Element, named: dict[str, etree._Element], scale: float
) -> tuple[tuple[tuple[Segment, ...], bool], ...]:
    """Return the chains of a clone's original, where the clone stands."""
    original = named.get(str(clone.get("href") or clone.get(_XLINK) or "")[1:])
    if original is None or original in clone.iterancestors() or original.tag == svg("use"):
        return ()
    shift = Transform(f"translate({clone.get('x') or 0},{clone.get('y') or 0})")
    to = point_map(transform_of(clone) @ shift @ -transform_of(original.getparent()))
    return tuple(
        chain
        for element in (original, *drawn_elements(original))
        if element.tag in SHAPES
        for chain in chains_of(element, scale, to)
    )


def _dashes(element: etree._Element, scale: float) -> tuple[float, ...]:
    """Return the dashes of a line, in mm; none where they cannot be read."""
    found = _DASHES.search(str(element.get("style") or ""))
    text = found[1] if found else str(element.get("stroke-dasharray") or "")
    to = point_map(transform_of(element))
    size = abs(to(1 + 0j) - to(0j)) * scale
    try:
        dashes = tuple(float(part) * size for part in text.replace(",", " ").split())
    except ValueError:
        return ()
    return dashes if dashes and min(dashes) >= 0.0 and sum(dashes) > 0.5 else ()


def _text(element: etree._Element, kind: str, scale: float) -> PrintedText | None:
    style = " ".join(
        str(e.get("style") or "") for e in (element, *element) if isinstance(e.tag, str)
    )
    bold = bool(_BOLD.search(style))
    if kind == "fold-edge":
        return None
    if kind == "note":
        if not bold:
            return None
        kind = TITLE
    lines = tuple(_lines(element))
    if not any(lines):
        return None
    to = point_map(transform_of(element))
    at = complex(_first(element, "x"), _first(element, "y"))
    along, up = to(at + 1) - to(at), to(at - 1j) - to(at)
    found = _ANCHOR.search(style)
    anchor = found[1] if found else "start"
    if cross(up, along) < 0.0:
        # In a layer that was flipped letters are mirrored; printed they are read the other way.
        anchor = OTHER_END[anchor]
    return PrintedText(
        kind,
        lines,
        to(at) * scale,
        1j * unit(up),
        font_size(element) * abs(along) * scale,
        anchor,
        bold,
    )


def _lines(text: etree._Element) -> Iterator[str]:
    rows = [
        row
        for row in text
        if isinstance(row.tag, str)
        and (row.get(f"{{{SODIPODI}}}role") == "line" or row.get("y") or row.get("dy"))
    ]
    for row in rows or [text]:
        yield " ".join("".join(row.itertext()).split())


def _first(text: etree._Element, name: str) -> float:
    """Return where a text begins, in its own units: by itself, else by its first line."""
    for element in (text, *text):
        for part in str(element.get(name) or "").replace(",", " ").split()[:1]:
            try:
                return float(part)
            except ValueError:
                return 0.0
    return 0.0


def _scaled(square: etree._Element, scale: float, draft: Draft) -> list[str]:
    sides = [
        segment.length() * scale for path in mapped_subpaths(square) for segment in path.segments
    ]
    side = max(sides, key=lambda side: abs(side - 50.0), default=50.0)
    if abs(side - 50.0) <= SCALED:
        return []
    told, true = told_apart(side, 50.0)
    return [
        _(
            "{name}: the test square in its layer measures {side} instead of {true}: the layer was "
            "scaled after it was drafted."
        ).format(name=shown_name(draft), side=told, true=true)
    ]
