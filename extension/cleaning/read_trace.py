"""Reading a trace: its paths as points, its true scale, and the marks on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from lxml import etree

from drafting_core.ink.polylines import Points, too_many_nodes, without_repeats
from drafting_core.ink.rectify import PlaneMap, corners_of, scaling
from drafting_core.plane.curves import Line, Segment
from drafting_core.text.errors import DraftingError
from drafting_core.text.figures import significant
from drafting_core.text.lengths import told_apart
from drafting_core.text.words import _
from extension.cleaning.size_marks import is_size_mark
from extension.document import roles
from extension.document.namespaces import CLEAN, svg
from extension.document.path_points import (
    MOST_CHORDS,
    MOST_POINTS,
    Affine,
    SubpathPoints,
    TooManyPointsError,
    simple_points,
)
from extension.document.roles import is_result, is_shown_only, name_of, our_attributes, role_of
from extension.document.shapes import (
    CLONE,
    NOT_DRAWN,
    SHAPES,
    clone_refused,
    mapped_subpaths,
    transform_of,
)
from extension.document.svg_document import DocumentError, elements_with_ids, units
from extension.marking.marks_layer import is_marks_layer
from extension.reading.source_block import Marked, ancestors

if TYPE_CHECKING:
    from drafting_core.ink.lens import LensMap
    from extension.cleaning.known_figure import KnownFigure
    from extension.cleaning.traced_pictures import TracedPicture

#: A curve is followed in chords of about this length (true mm, or of the drawing if unknown).
_CHORD = 0.5
#: Ends this near to each other (parts of such a chord) close a line.
_SAME = 2e-6
#: So much path data (letters and digits) is read one command after the other, where it has arcs
#: or shorthands: tracers write none.
_MOST_EXACT = 8_000_000
_GROUPS = (svg("g"), svg("a"), svg("svg"), svg("switch"))
#: A rectangle's sides and a known length may differ by this part before a word is said.
_AGREE = 0.005


class Trace(NamedTuple):
    """A trace as it is drawn.

    Attributes:
        closed: its closed contours, as points in the root's units.
        open: its open lines.
        owners: the elements that they come from: first those of `closed`, then of `open`.
        marks: everything on the drawing that carries a role, outlines left out.
        outlines: what the drafter called an outline, of all that was read.
        mm: mm to a unit of the root, as the drawing says.
        nodes: how many nodes each of them has, in the order of the owners.
        pictures: the pictures that were traced for it.
        untraced: pictures that are selected and were not, since paths are selected too.
        sizes: what names a size by its label and its place.
    """

    closed: list[Points]
    open: list[Points]
    owners: list[etree._Element]
    marks: list[Marked]
    outlines: list[Marked]
    mm: float
    nodes: list[int]
    pictures: tuple[TracedPicture, ...] = ()
    untraced: tuple[etree._Element, ...] = ()
    sizes: tuple[etree._Element, ...] = ()

    def without_dust(self, kept: Sequence[int]) -> Trace:
        """Return it with the closed contours of these numbers alone."""
        chosen = [*kept, *range(len(self.closed), len(self.owners))]
        return self._replace(
            closed=[self.closed[k] for k in kept],
            owners=[self.owners[k] for k in chosen],
            nodes=[self.nodes[k] for k in chosen],
        )


class _Line(NamedTuple):
    """One contour or open line of a trace: its points, whose it is, how many nodes it has."""

    points: Points
    is_closed: bool
    owner: etree._Element
    nodes: int


class TrueScale(NamedTuple):
    """The map from the root's units to true mm.

    Attributes:
        to_true: the map.
        marks: the marks that say the scale.
        is_photo: whether a known rectangle or grid took out the perspective.
        remarks: what the drafter should know about it.
        figure: the known rectangle or grid, where there is one.
    """

    to_true: PlaneMap | LensMap
    marks: list[Marked]
    is_photo: bool = False
    remarks: tuple[str, ...] = ()
    figure: KnownFigure | None = None


def read_trace(root: etree._Element, selection: Sequence[str], folder: str = "") -> Trace:
    """Read what is to be cleaned up: the selected objects, or all that is drawn.

    Pictures are traced where nothing else can be read.

    Args:
        root: the root of the document.
        selection: the ids of the selected objects.
        folder: the drawing's folder, from where it links pictures; empty if it has none yet.

    Raises:
        DraftingError: if a picture cannot be traced, or there is nothing to read.
    """
    mm = units(root)
    chosen = elements_with_ids(root, selection) if selection else []
    drawn = _all_drawn(root, chosen)
    sizes = tuple(_size_marks(root, mm))
    in_marks = {part for mark in sizes for part in mark.iter()}
    traced = [element for element in drawn if element not in in_marks]
    lines = _lines_drawn(traced, mm, is_selected=bool(chosen))
    marks = list(_marks(root))
    images = [e for e in traced if e.tag == svg("image") and not _is_mark(e)]
    pictures: tuple[TracedPicture, ...] = ()
    if images and not lines:
        # Seldom needed: a drawing of traced lines waits for no reader of pictures.
        from extension.cleaning.traced_pictures import traced_picture

        pictures = tuple(traced_picture(image, folder) for image in images)
        lines = [line for picture in pictures for line in _lines_in(picture, mm)]
    if not lines:
        raise _nothing_drawn(drawn, chosen)
    outlines = list(_outlines(drawn))
    closed = [line for line in lines if line.is_closed]
    strokes = [line for line in lines if not line.is_closed]
    return Trace(
        [line.points for line in closed],
        [line.points for line in strokes],
        [line.owner for line in closed + strokes],
        marks,
        outlines,
        mm,
        [line.nodes for line in closed + strokes],
        pictures,
        tuple(images) if chosen and not pictures else (),
        sizes,
    )


def _outlines(drawn: Sequence[etree._Element]) -> Iterator[Marked]:
    """Yield what the drafter called an outline."""
    for element in drawn:
        role = role_of(element) if element.tag in SHAPES else None
        if role is not None and role.word == roles.OUTLINE:
            yield Marked(element, role)


def _size_marks(top: etree._Element, mm: float) -> Iterator[etree._Element]:
    """Yield what names sizes on a drawing, groups among it."""
    for child in top:
        if not isinstance(child.tag, str) or child.tag in NOT_DRAWN or _is_left_out(child):
            continue
        if _is_hidden(child):
            continue
        if is_size_mark(child, mm):
            yield child
        elif child.tag in _GROUPS:
            yield from _size_marks(child, mm)


def _lines_drawn(drawn: Sequence[etree._Element], mm: float, *, is_selected: bool) -> list[_Line]:
    """Return the lines of all that is drawn and no mark.

    Raises:
        DraftingError: if a clone is selected.
    """
    shapes = []
    for element in drawn:
        if is_selected and element.tag == CLONE and not _is_mark(element):
            raise clone_refused(element)
        if element.tag in SHAPES and not _is_mark(element):
            shapes.append(element)
    return _lines_of(shapes, _CHORD / mm)


def _all_drawn(root: etree._Element, chosen: Sequence[etree._Element]) -> list[etree._Element]:
    """Return all that is drawn at or below what is chosen, or below the root, each once."""
    tops = [
        top
        for top in chosen
        if top is root or not any(_is_left_out(e) for e in (top, *ancestors(top)))
    ]
    return list(
        dict.fromkeys(
            element
            for top in (tops if chosen else [root])
            for element in _drawn(top, is_selected=bool(chosen))
        )
    )


def _is_left_out(element: etree._Element) -> bool:
    return (
        is_result(element)
        or is_shown_only(element)
        or is_marks_layer(element)
        or CLEAN in our_attributes(element)
    )


def _drawn(top: etree._Element, *, is_selected: bool) -> Iterator[etree._Element]:
    """Yield the drawn objects at or below one, groups left out."""
    if not isinstance(top.tag, str) or top.tag in NOT_DRAWN:
        return
    if top.tag in _GROUPS:
        if _is_left_out(top) or (not is_selected and _is_hidden(top)):
            return
        for child in top:
            yield from _drawn(child, is_selected=is_selected)
    elif is_selected or not _is_hidden(top):
        yield top


def _is_hidden(element: etree._Element) -> bool:
    """Tell whether an object is not shown, by its own word: hidden groups hold it back before."""
    style = (element.get("style") or "").replace(" ", "")
    return (
        element.get("display") == "none"
        or element.get("visibility") in ("hidden", "collapse")
        or any(words in style for words in ("display:none", "visibility:hidden"))
    )


def _is_mark(element: etree._Element) -> bool:
    """Tell whether an object is a mark: what the drafter called an outline is a trace too."""
    try:
        role = role_of(element)
    except DraftingError:
        return True
    return role is not None and role.word != roles.OUTLINE


def _marks(root: etree._Element) -> Iterator[Marked]:
    """Yield every mark that is not a result's.

    Raises:
        DraftingError: if one cannot be read.
    """
    for child in root:
        if not isinstance(child.tag, str) or child.tag in NOT_DRAWN or _is_left_out(child):
            continue
        if _is_hidden(child):
            continue
        role = role_of(child)
        if role is not None and role.word != roles.OUTLINE:
            yield Marked(child, role)
        elif child.tag in _GROUPS:
            yield from _marks(child)


def _lines_in(picture: TracedPicture, mm: float) -> Iterator[_Line]:
    """Yield the edges of a picture's ink as they lie on the canvas."""
    chord = picture.chord(_CHORD / mm)
    for line in _lines_of(list(picture.edges.iter(svg("path"))), chord):
        yield line._replace(points=picture.placed(line.points), owner=picture.element)


def _lines_of(shapes: Sequence[etree._Element], chord: float) -> list[_Line]:
    """Return the contours and open lines of shapes, in their order.

    Raises:
        DraftingError: if a shape cannot be read, or has more nodes than anything drawn.
    """
    quick = _read_at_once(shapes, chord)
    slow = [shape for shape in shapes if shape not in quick]
    if sum(len(_data_of(shape) or "") for shape in slow) > _MOST_EXACT:
        raise too_many_nodes()
    lines: list[_Line] = []
    for shape in shapes:
        found = quick.get(shape)
        if found is None:
            found = list(_subpaths_of(shape, chord))
        lines += [
            _Line(points, closed, shape, nodes)
            for points, closed, nodes in found
            if len(points) > (2 if closed else 1)
        ]
    if sum(len(line.points) for line in lines) > MOST_POINTS:
        raise too_many_nodes()
    return lines


def _read_at_once(
    shapes: Sequence[etree._Element], chord: float
) -> dict[etree._Element, list[SubpathPoints]]:
    """Return the subpaths of all shapes whose data is simple, each kind of map read at once."""
    placed: dict[etree._Element, Affine] = {}
    alike: dict[Affine, list[etree._Element]] = {}
    for shape in shapes:
        if _data_of(shape) is not None:
            alike.setdefault(_map_of(shape, placed), []).append(shape)
    found: dict[etree._Element, list[SubpathPoints]] = {}
    for to, members in alike.items():
        data = [_data_of(shape) or "" for shape in members]
        try:
            read = simple_points(data, to, chord, _SAME * chord)
            if read is None and len(members) > 1:
                each = [simple_points([one], to, chord, _SAME * chord) for one in data]
                found |= {
                    shape: one[0]
                    for shape, one in zip(members, each, strict=True)
                    if one is not None
                }
            elif read is not None:
                found |= dict(zip(members, read, strict=True))
        except TooManyPointsError:
            raise too_many_nodes() from None
    return found


def _data_of(shape: etree._Element) -> str | None:
    """Return the path data of a shape that is a path or a polygon, else None."""
    if shape.tag == svg("path"):
        return shape.attrib.get("d") or ""
    points = (shape.attrib.get("points") or "").strip()
    if not points or shape.tag not in (svg("polygon"), svg("polyline")):
        return None
    return f"M{points}Z" if shape.tag == svg("polygon") else f"M{points}"


def _map_of(shape: etree._Element, placed: dict[etree._Element, Affine]) -> Affine:
    """Return the map from a shape's coordinates to the root's; of groups it is kept."""
    parent = shape.getparent()
    if shape.attrib.get("transform") or parent is None:
        return _affine(shape)
    if parent not in placed:
        placed[parent] = _affine(shape)
    return placed[parent]


def _affine(shape: etree._Element) -> Affine:
    (a, c, e), (b, d, f) = transform_of(shape).matrix
    return (a, c, e), (b, d, f)


def _subpaths_of(element: etree._Element, chord: float) -> Iterator[SubpathPoints]:
    """Yield the subpaths of any shape as points, read one by one."""
    for path in mapped_subpaths(element):
        if not path.segments:
            continue
        nodes = len(path.segments) + (0 if path.closed else 1)
        points = _points(path.segments, chord)
        closed = path.closed or abs(points[0] - points[-1]) < _SAME * chord
        if closed and abs(points[0] - points[-1]) < 1e-9:
            points = points[:-1]
        yield SubpathPoints(points, closed, nodes)


def _points(segments: Sequence[Segment], chord: float) -> Points:
    """Return points along a chain, near enough to each other to follow its curves."""
    cubics = np.array([s if len(s) == 4 else (s[0], s[0], s[1], s[1]) for s in segments])
    straight = np.array([len(s) == 2 for s in segments])
    length = np.abs(np.diff(cubics, axis=1)).sum(axis=1)
    counts = np.clip(np.ceil(length / chord), 1, MOST_CHORDS).astype(np.int64)
    counts[straight] = 1
    number = np.repeat(np.arange(len(counts)), counts)
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    t = (np.arange(len(number)) - first[number]) / counts[number]
    a, b, c, d = cubics[number].T
    s = 1.0 - t
    at = s * s * s * a + 3 * s * s * t * b + 3 * s * t * t * c + t * t * t * d
    return without_repeats(np.append(at, cubics[-1, 3]))


def _nothing_drawn(
    drawn: Sequence[etree._Element], chosen: Sequence[etree._Element]
) -> DocumentError:
    texts = [element for element in drawn if element.tag == svg("text")]
    if texts:
        return DocumentError(
            _("it is a text, which is no trace of a block."),
            thing=name_of(texts[0]),
            remedy=_("Select the traced outline."),
        )
    if chosen:
        return DocumentError(
            _("there is no path in it that is not a mark or a result."),
            thing=name_of(chosen[0]),
            remedy=_("Select the traced outline."),
        )
    return DocumentError(
        _("the drawing has no path to clean up."),
        remedy=_("Import a scan and select it, or trace it first with Path > Trace Bitmap."),
    )


def true_scale(trace: Trace) -> TrueScale:
    """Return how the drawing's units become true mm.

    Raises:
        DraftingError: if a known length or a known rectangle is at fault, or two contradict.
    """
    lengths = [mark for mark in trace.marks if mark.role.word == roles.KNOWN_LENGTH]
    figures = [
        mark for mark in trace.marks if mark.role.word in (roles.KNOWN_RECTANGLE, roles.KNOWN_GRID)
    ]
    if len(figures) > 1:
        raise DocumentError(
            _("{n} known rectangles or grids are drawn, where one says the scale.").format(
                n=len(figures)
            ),
            thing=name_of(figures[1].element),
            remedy=_("Delete all but one."),
        )
    if figures:
        found = _by_figure(figures[0], trace)
        remarks = (_contradicted(mark, found.to_true) for mark in lengths)
        return found._replace(remarks=(*found.remarks, *filter(None, remarks)))
    if not lengths:
        return TrueScale(scaling(trace.mm), [])
    factors = [_length_of(mark) / _drawn_length(mark, scaling(1.0)) for mark in lengths]
    if max(factors) - min(factors) > _AGREE * max(factors):
        raise DocumentError(
            _("the known lengths give different scales: {least} and {most}.").format(
                least=significant(min(factors) / trace.mm, 4),
                most=significant(max(factors) / trace.mm, 4),
            ),
            thing=name_of(lengths[factors.index(max(factors))].element),
            remedy=_("Delete the wrong one."),
        )
    return TrueScale(scaling(sum(factors) / len(factors)), lengths)


def _length_of(mark: Marked) -> float:
    length = mark.role.length
    if not length or length <= 0:
        raise DocumentError(
            _("its known length is not more than zero."),
            thing=name_of(mark.element),
            remedy=_('Write the true length of the line into its label, like "known length 100mm".')
            if mark.role.word == roles.KNOWN_LENGTH
            else _('Write the side of its squares into its label, like "known grid 25mm".'),
        )
    return length


def _drawn_length(mark: Marked, to: PlaneMap | LensMap) -> float:
    paths = mapped_subpaths(mark.element) if mark.element.tag in SHAPES else []
    paths = [path for path in paths if path.segments]
    if len(paths) > 1 or any(path.closed for path in paths):
        raise DocumentError(
            _("a known length has to be one open line."),
            thing=name_of(mark.element),
            remedy=_("Draw a line over a length that you know and write it in the label."),
        )
    length = sum(
        abs(to.at(segment.end) - to.at(segment.start)) if len(segment) == 2 else segment.length()
        for path in paths
        for segment in path.segments
    )
    if length <= 0:
        raise DocumentError(
            _("it is no line of any length, so that it cannot say the scale."),
            thing=name_of(mark.element),
            remedy=_("Draw a line over a length that you know and write it in the label."),
        )
    return length


def _by_figure(mark: Marked, trace: Trace) -> TrueScale:
    """Return the scale by a known rectangle or grid."""
    # A plain scan has none.
    from extension.cleaning.known_figure import known_grid, known_rectangle

    corners = _marked_corners(mark)
    try:
        if mark.role.word == roles.KNOWN_GRID:
            figure = known_grid(mark.element, corners, _length_of(mark), trace.closed, trace.open)
        else:
            sides = _sides_of(mark)
            figure = known_rectangle(mark.element, corners, sides, trace.closed, trace.open)
    except DraftingError as error:
        raise error.about(name_of(mark.element)) from None
    return TrueScale(figure.to_true, [mark], True, figure.remarks, figure)


def without_known_lines(trace: Trace, scale: TrueScale) -> Trace:
    """Return a trace without the lines of a known rectangle or grid: they are no block's."""
    if scale.figure is None:
        return trace
    count = len(trace.closed)
    of_it = scale.figure.are_lines_of_it(trace.closed, trace.open)
    if not scale.figure.leaves_a_block([*trace.closed, *trace.open], of_it):
        return trace
    kept = [number for number, is_its in enumerate(of_it) if not is_its]
    return trace._replace(
        closed=[trace.closed[number] for number in kept if number < count],
        open=[trace.open[number - count] for number in kept if number >= count],
        owners=[trace.owners[number] for number in kept],
        nodes=[trace.nodes[number] for number in kept],
    )


def _sides_of(mark: Marked) -> tuple[float, float]:
    sides = mark.role.sides
    if sides is None or min(sides) <= 0:
        raise DocumentError(
            _("the sides of the known rectangle are not both more than zero."),
            thing=name_of(mark.element),
            remedy=_('Write them into its label, like "known rectangle 210x297mm".'),
        )
    return sides


def _marked_corners(mark: Marked) -> list[complex]:
    """Return the corners of a path about a known rectangle or grid, in the root's units."""
    paths = mapped_subpaths(mark.element) if mark.element.tag in SHAPES else []
    paths = [path for path in paths if path.segments]
    nodes = [segment.start for path in paths for segment in path.segments]
    if len(paths) == 1 and not paths[0].closed and abs(paths[0].end - nodes[0]) > 1e-9:
        nodes.append(paths[0].end)
    if len(paths) != 1 or any(
        len(segment) == 4 and not segment.is_straight() for segment in paths[0].segments
    ):
        raise DocumentError(
            _("a known rectangle or grid has to be one closed path of four straight lines."),
            thing=name_of(mark.element),
            remedy=_("Draw it along the edges of a sheet of paper, or about the grid's squares."),
        )
    return corners_of(nodes)


def _contradicted(mark: Marked, to: PlaneMap | LensMap) -> str:
    """Return by how much a known length is off when a known rectangle says the scale, if it is."""
    told, measured = _length_of(mark), _drawn_length(mark, to)
    if abs(measured - told) <= _AGREE * told:
        return ""
    return _(
        "{mark} measures {measured} by the known rectangle, which was followed: check which of "
        "both is right."
    ).format(mark=name_of(mark.element), measured=told_apart(told, measured)[1])


def grain_of(marks: Sequence[Marked], to: PlaneMap | LensMap) -> Line | None:
    """Return the grainline among marks in true mm, or None.

    Raises:
        DocumentError: if it has no length.
    """
    for mark in marks:
        if mark.role.word != roles.GRAIN:
            continue
        paths = mapped_subpaths(mark.element) if mark.element.tag in SHAPES else []
        if not paths or abs(paths[0].end - paths[0].start) < 1e-9:
            raise DocumentError(
                _("a grainline has to be an open path of some length."),
                thing=name_of(mark.element),
                remedy=_("Draw it as a straight line along the grain."),
            )
        return Line(to.at(paths[0].start), to.at(paths[0].end))
    return None
