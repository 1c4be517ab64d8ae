"""Writing a drafted piece into the drawing: one layer for a result, its parts on sub-layers."""

from __future__ import annotations

import itertools
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from inkex.transforms import Transform
from lxml import etree

from drafting_core.block.remembered import KnownSeam
from drafting_core.block.seams import inner_corners
from drafting_core.dart.fullness import Fullness
from drafting_core.dart.marks import TEST_SQUARE, TEST_SQUARE_GAP, fold_line
from drafting_core.finished.fold_edge import fold_lines
from drafting_core.finished.pattern_piece import Draft, DrawnDart
from drafting_core.model.piece import TUCK
from drafting_core.model.seam_names import Seam, SeamLabel
from drafting_core.model.settings import FILLS
from drafting_core.model.stretches import stretches
from drafting_core.plane.curves import Box, Line, PointMap, Segment, box_about, cross, unit
from drafting_core.text.words import _
from extension.document import roles
from extension.document.drawn_places import (
    PLACED,
    place_of_chain,
    place_of_circle,
    place_of_points,
    place_of_text,
)
from extension.document.identities import Identities
from extension.document.namespaces import (
    GROUP_MODE,
    LABEL,
    PREFIXES,
    SODIPODI,
    ours,
    svg,
)
from extension.document.path_data import number, path_data, point, polyline_data
from extension.document.roles import drawn_by_us, our_attributes
from extension.document.shapes import centre_of, matrix_text, transform_of
from extension.drafting.as_drawn import AS_DRAWN, LOOK, drawn_mark, is_untouched, look_mark
from extension.drafting.done_lines import done_lines
from extension.drafting.kept_by_hand import HOME, KEPT, KeptPlaces, keep_digits, kept_places
from extension.drafting.report import note_sentences, scale_sentence
from extension.drafting.targets_seen import write_seen
from extension.finished.cut_count import cut_words
from extension.look.fold_edge_sign import fold_edge_sign
from extension.look.set_text import CANVAS_LEADING, DROP, RISE, text_width, wrapped
from extension.look.strokes import STROKES, text_style
from extension.look.text_places import (
    Clearings,
    PlacedText,
    place_seam_names,
    place_title,
    text_size,
)
from extension.options.settings_text import settings_attributes
from extension.reading.free_room import FreeRoom
from extension.reading.piece_names import block_name, shown_name
from extension.reading.result_memory import (
    COUNTED,
    DART_NUMBER,
    DERIVED,
    DRAWN,
    PARTS,
    SEAM_NUMBER,
    ResultMemory,
    result_memory,
    seam_text,
    words_mark,
)
from extension.reading.source_block import SourceBlock
from extension.reading.typed_title import SIZE_LINE, title_attributes

if TYPE_CHECKING:
    from extension.artwork.sector_copies import ArtworkCopies

#: Says of a stitch line what was asked for its darts beside their places.
ASKED = "asked"
#: The number of the format of a result.
FORMAT = "1"

STITCH_LAYER = "Stitch line"  # not read by drafters
CUT_LAYER = "Cut line"  # not read by drafters
DART_LAYER = "Dart"
WINDOW_LAYER = "Trim window"  # not read by drafters
MARKS_LAYER = "Marks"
SHEET_LAYER = "Sheet"  # not read by drafters
#: Bottom first: a click on a dart takes the stitch line, below which all lies that is derived.
_SUBLAYERS = (SHEET_LAYER, WINDOW_LAYER, CUT_LAYER, DART_LAYER, STITCH_LAYER, MARKS_LAYER)
#: Layers through which a click goes.
_LOCKED = frozenset((SHEET_LAYER,))

#: What is not drawn again where a result is: the drafter's own, and what came along from her block.
_NOT_DERIVED = frozenset(("", "stitch-line", "artwork", "fill"))
#: Attributes of which there are as many as there are seams and darts.
_NUMBERED = ("seam-", "dart-")

_APEX_ARM = 3.0
_POINT_RADIUS = 1.0
#: A notch is that of a mark on the seam which lies no further from it than this (mm).
_OF_MARK = 80.0
_BESIDE = 0.5
#: Places no further apart than this are one (mm).
_SAME_PLACE = 1e-4
#: A layer was scaled where it is larger or smaller by this share.
_SCALED = 1e-3
_DRILL_RADIUS = 1.5
_ARROW_HEAD = 4.0
#: Width of the column of the note beside the piece, in sizes of its letters.
_NOTE_COLUMN = 29.5


class ResultWriter:
    """Writes one block's result into the document."""

    def __init__(
        self,
        root: etree._Element,
        source: SourceBlock,
        draft: Draft,
        ids: Identities | None = None,
        told: Sequence[str] = (),
        shift: complex = 0j,
        room: FreeRoom | None = None,
    ) -> None:
        """Prepare to write a draft made from a source block.

        Args:
            root: the root of the document.
            source: the block in the document.
            draft: what was made of it.
            ids: the document's ids, shared by all that one run writes; collected where left out.
            told: what is to be remarked of the run, such as marks that were not used.
            shift: by how much a new result lies beside its block, in units of the root.
            room: what of the canvas is taken, shared by all that one run writes; found where
                left out.
        """
        self._root = root
        self._source = source
        self._draft = draft
        self._told = told
        self._unit = source.true_mm_per_unit
        self._shift = shift
        self._room = room
        self._ids = Identities(root) if ids is None else ids
        self._prefix = ""
        self._sublayers: dict[str, etree._Element] = {}
        self._drawn: list[etree._Element] = []
        self._kept = KeptPlaces()
        self._own_notches: list[complex] = []
        self._cut_words = ""
        self._title = Box(0.0, 0.0, 0.0, 0.0)
        # Before anything is taken out of the document: they go by what is around them.
        self._inner_strokes = _inner_strokes(source) if draft.inner_lines else []

    def write_new(
        self, label: str, command: str, artwork: ArtworkCopies | None = None, asked: str = ""
    ) -> etree._Element:
        """Add the result as a new layer, the last child of the root, and return it.

        Args:
            label: the label of the layer.
            command: the command that made it.
            artwork: what comes along of what is drawn on the block, or None.
            asked: what its targets ask for beside their places, or an empty string.
        """
        self._prefix = self._ids.new_prefix()
        # Made apart from the document: elements of the editor's own classes are slow to fill.
        layer = etree.Element(svg("g"), nsmap=PREFIXES)
        layer.set(GROUP_MODE, "layer")
        layer.set(LABEL, label)
        layer.set("id", self._ids.unused(self._prefix))
        layer.set(ours("result"), FORMAT)
        for name in _SUBLAYERS:
            self._sublayers[name] = self._new_sublayer(layer, name)
        stitch = self._path(
            STITCH_LAYER,
            "stitch-line",
            path_data(self._scaled(self._draft.stitch_line), closed=True),
        )
        self._describe_stitch_line(stitch, command)
        if self._source.outline.get("id"):
            stitch.set(ours("of"), str(self._source.outline.get("id")))
        if asked:
            stitch.set(ours(ASKED), asked)
        write_seen(stitch, self._draft.block.targets, self._unit)
        if self._shift:
            stitch.set(ours("shift"), f"{self._shift.real!r},{self._shift.imag!r}")
        self._write_derived()
        self._count_parts(stitch)
        for element in self._drawn:
            element.set(ours(LOOK), look_mark(element))
        self._root.append(layer)
        if artwork is not None:
            mark = artwork.write(layer, self._prefix, self._ids, self._shift)
            if mark is not None:
                stitch.set(ours("artwork-mark"), mark)
        stitch.set(ours(AS_DRAWN), drawn_mark(layer, stitch))
        return layer

    def write_in_place(self, command: str) -> etree._Element:
        """Redraw the derived objects of a result; the stitch line and all else stay.

        Raises:
            ValueError: if the block is no result.
        """
        layer = self._source.layer
        if layer is None:
            raise ValueError("only a result is redrawn in place")
        for prefix, name in PREFIXES.items():
            if prefix:
                etree.register_namespace(prefix, name)
        own = str(self._source.outline.get("id") or "").removesuffix("-stitch-line")
        self._prefix = own or str(layer.get("id") or "dartswing-1")
        if "result" not in our_attributes(layer):
            layer.set(ours("result"), FORMAT)
        memory = result_memory(self._source)
        is_hers = not is_untouched(self._source, memory)
        self._take_over(layer, memory)
        old = self._taken_out(layer, memory)
        self._find_sublayers(layer)
        if self._draft.settings.artwork or self._draft.settings.fill != FILLS[0]:
            from extension.artwork.sector_copies import mend_clips

            mend_clips(layer)
        self._describe_stitch_line(self._source.outline, command)
        self._write_derived()
        self._count_parts(self._source.outline)
        for element in self._drawn:
            element.set(ours(LOOK), look_mark(element))
        for part, elements in old.items():
            drawn = [e for e in self._drawn if our_attributes(e)["part"] == part]
            is_scaled = memory is not None and abs(memory.motion.scale - 1.0) > _SCALED
            keep_digits(elements, drawn, is_scaled=is_scaled)
        # What a hand has touched once stays hers, whatever is drawn anew of it.
        self._source.outline.attrib.pop(ours(AS_DRAWN), None)
        if not is_hers:
            self._source.outline.set(ours(AS_DRAWN), drawn_mark(layer, self._source.outline))
        return layer

    def _take_over(self, layer: etree._Element, memory: ResultMemory | None) -> None:
        """Take over what a hand has chosen, and a layer that was duplicated as a whole."""
        if memory is not None:
            ours_too = {part.element for part in memory.parts}
            self._kept = kept_places(memory, self._draft, self._unit)
            self._cut_words = memory.title.cut if memory.title else ""
            self._own_notches = [
                centre_of(mark.element) * self._unit
                for mark in self._source.marked(roles.NOTCH)
                if mark.element not in ours_too
            ]
        self._cut_words = self._cut_words or our_attributes(self._source.outline).get("cut", "")
        if not drawn_by_us(self._source.outline):
            # Its objects are copies, and derived ones all the same.
            for element in layer.iter():
                if isinstance(element.tag, str) and our_attributes(element).get("part"):
                    element.set(ours("self"), str(element.get("id")))

    def _find_sublayers(self, layer: etree._Element) -> None:
        for name in _SUBLAYERS:
            called = _sublayer_id(self._prefix, name)
            found = next((e for e in layer if called == e.get("id") or name == e.get(LABEL)), None)
            self._sublayers[name] = self._new_sublayer(layer, name) if found is None else found
        if self._sublayers[SHEET_LAYER] is not layer[0]:
            # Below all the others, in results that were drawn without one too.
            layer.insert(0, self._sublayers[SHEET_LAYER])

    def _taken_out(
        self, layer: etree._Element, memory: ResultMemory | None
    ) -> dict[str, list[etree._Element]]:
        """Take out what is derived, and return it by its part, in order."""
        lost = {part.element for part in memory.parts if not part.is_whole} if memory else set()
        old: defaultdict[str, list[etree._Element]] = defaultdict(list)
        # A sheet stays behind in its locked layer where the rest was moved to another one.
        strays = [
            element
            for element in self._root.iter(svg("path"))
            if element.get("id") == f"{self._prefix}-sheet"
        ]
        for element in [*strays, *(e for e in layer.iter() if e not in strays)]:
            if not isinstance(element.tag, str) or element is self._source.outline:
                continue
            part = our_attributes(element).get("part", "")
            is_derived = part not in _NOT_DERIVED and drawn_by_us(element)
            if is_derived or element in lost:
                old[part].append(element)
                _remove(element)
                self._ids.free(str(element.get("id")))
        return old

    def _new_sublayer(self, layer: etree._Element, name: str) -> etree._Element:
        sublayer = etree.SubElement(layer, svg("g"))
        sublayer.set(GROUP_MODE, "layer")
        sublayer.set(LABEL, name)
        sublayer.set("id", self._ids.unused(_sublayer_id(self._prefix, name)))
        if name in _LOCKED:
            sublayer.set(f"{{{SODIPODI}}}insensitive", "true")
        return sublayer

    def _describe_stitch_line(self, stitch: etree._Element, command: str) -> None:
        draft = self._draft
        is_new = stitch is not self._source.outline
        if is_new or not stitch.get(LABEL):
            stitch.set(LABEL, roles.OUTLINE)
        stitch.set(ours("role"), roles.OUTLINE)
        stitch.set(ours("name"), block_name(draft))
        if draft.block.size:
            stitch.set(ours("size"), draft.block.size)
        stitch.set(ours("command"), command)
        for name, value in settings_attributes(draft.settings).items():
            stitch.set(ours(name), value)
        ends = [point(self._at(stretch.ends(draft.piece)[0])) for stretch in stretches(draft.piece)]
        stitch.set(ours("seam-ends"), " ".join(ends))
        corners = [point(self._at(z)) for z in (*inner_corners(draft.piece), *_tuck_nodes(draft))]
        if corners:
            stitch.set(ours("seam-corners"), " ".join(corners))
        curved = [
            point(self._at(item.dart.point))
            for item in draft.darts
            if item.dart.opening.sides is not None and item.dart.opening.made != TUCK
        ]
        if curved:
            stitch.set(ours("curved-darts"), " ".join(curved))
        if self._cut_words and self._cut_words != cut_words(draft):
            stitch.set(ours("cut"), self._cut_words)
        self._remember(stitch)
        if draft.held is not None:
            stitch.set(ours("hold"), point(self._at(draft.held)))
        if self._source.scale != 1.0:
            stitch.set(ours("true-scale"), repr(self._source.scale))

    def _remember(self, stitch: etree._Element) -> None:
        """Write on the stitch line what it is, so that it is followed when a hand reshapes it."""
        draft = self._draft
        for name in our_attributes(stitch):
            if name.startswith(_NUMBERED) and name[len(_NUMBERED[0]) :].isdecimal():
                stitch.attrib.pop(ours(name), None)
        stitch.set(ours(DRAWN), path_data(self._scaled(draft.stitch_line), closed=True))
        for k, stretch in enumerate(stretches(draft.piece), start=1):
            start, end = map(self._at, stretch.ends(draft.piece))
            seam = stretch.seam
            label = SeamLabel(
                seam.name, seam.allowance, seam.fold, seam.turned, seam.mate, seam.ease
            )
            text = seam_text(KnownSeam(start, end, label), draft.settings.allowances.width(seam))
            stitch.set(ours(SEAM_NUMBER.format(number=k)), text)
        darts = [item.dart for item in draft.darts if item.dart.opening.made != TUCK]
        for k, dart in enumerate(darts, start=1):
            places = [*dart.ends, dart.point]
            if dart.opening.in_fan:
                places.append(dart.opening.apex)
            text = " ".join(point(self._at(z)) for z in places)
            stitch.set(ours(DART_NUMBER.format(number=k)), text)

    def _count_parts(self, stitch: etree._Element) -> None:
        """Write on the stitch line how many there are of each part, so that none is missed."""
        drawn = (our_attributes(element)["part"] for element in self._drawn)
        counts = Counter(part for part in drawn if part in DERIVED | COUNTED)
        stitch.set(ours(PARTS), " ".join(f"{part}:{n}" for part, n in sorted(counts.items())))

    # Drawing, in millimetres

    def _at(self, z: complex) -> complex:
        """Return where a point lies in units of the root."""
        return z / self._unit + self._shift

    def _scaled(self, segments: Sequence[Segment]) -> list[Segment]:
        return [segment.mapped(self._at) for segment in segments]

    def _add(self, sublayer: str, tag: str, part: str) -> etree._Element:
        parent = self._sublayers[sublayer]
        element = etree.SubElement(parent, svg(tag))
        identity = self._ids.unused(f"{self._prefix}-{part}")
        element.set("id", identity)
        element.set(ours("part"), part)
        element.set(ours("self"), identity)
        self._drawn.append(element)
        if part in STROKES:
            element.attrib["style"] = STROKES[part].style(self._unit)
        if self._source.layer is not None:
            # The drafter may have moved the layer as a whole: derived objects are drawn where
            # the stitch line lies in the root's coordinates all the same.
            onto = transform_of(parent)
            if onto:
                element.attrib["transform"] = matrix_text(-onto)
        return element

    def _path(self, sublayer: str, part: str, data: str) -> etree._Element:
        element = self._add(sublayer, "path", part)
        element.attrib["d"] = data
        element.set(LABEL, part.replace("-", " "))
        return element

    def _chain(
        self, sublayer: str, part: str, segments: Sequence[Segment], *, closed: bool = False
    ) -> etree._Element:
        scaled = self._scaled(segments)
        element = self._path(sublayer, part, path_data(scaled, closed=closed))
        element.set(ours(PLACED), place_of_chain(scaled).text())
        return element

    def _say_place(self, element: etree._Element, chains: Iterable[Sequence[Segment]]) -> None:
        """Write down where an object of several chains lies."""
        place = place_of_chain([s for chain in chains for s in self._scaled(chain)])
        element.set(ours(PLACED), place.text())

    def _polyline(self, sublayer: str, part: str, points: Iterable[complex]) -> etree._Element:
        scaled = [self._at(z) for z in points]
        element = self._path(sublayer, part, polyline_data(scaled))
        element.set(ours(PLACED), place_of_points(scaled).text())
        return element

    def _circle(self, sublayer: str, part: str, centre: complex, radius: float) -> etree._Element:
        element = self._add(sublayer, "circle", part)
        z = self._at(centre)
        element.set("cx", number(z.real))
        element.set("cy", number(z.imag))
        element.set("r", f"{radius / self._unit:.6g}")
        element.set(ours(PLACED), place_of_circle(z).text())
        element.set(LABEL, part.replace("-", " "))
        return element

    def _text(
        self,
        part: str,
        placed: PlacedText,
        *,
        bold: bool = False,
        anchor: str = "middle",
        chosen: complex | None = None,
    ) -> etree._Element:
        element = self._add(MARKS_LAYER, "text", part)
        # Without it the editor drops a blank that is typed at the end.
        element.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")
        if chosen is not None:
            placed = placed._replace(at=chosen)
            element.set(ours(KEPT), "yes")
        z = self._at(placed.at)
        element.set("x", number(z.real))
        element.set("y", number(z.imag))
        element.attrib["style"] = text_style(placed.size, self._unit, bold=bold, anchor=anchor)
        element.set(ours(PLACED), place_of_text(z, placed.direction).text())
        if abs(placed.direction - 1.0) > 1e-12:
            d = placed.direction
            # A turn about the anchor leaves the anchor where x and y say.
            shift = z - d * z
            turned = Transform(((d.real, -d.imag, shift.real), (d.imag, d.real, shift.imag)))
            own = element.attrib.get("transform")
            element.attrib["transform"] = matrix_text(Transform(own) @ turned if own else turned)
        if len(placed.text) == 1:
            element.text = placed.text[0]
        else:
            for index, line in enumerate(placed.text):
                row = etree.SubElement(element, svg("tspan"))
                # So that the editor's text tool takes it for a line of one text.
                row.set(f"{{{SODIPODI}}}role", "line")
                row.set("x", number(z.real))
                row.set("y", number(z.imag + index * CANVAS_LEADING * placed.size / self._unit))
                row.text = line
        return element

    def _text_box(self, placed: PlacedText) -> Box:
        """Return the box about a centred text in bold, in units of the root."""
        size = placed.size
        half = max(text_width(line, size, bold=True) for line in placed.text) / 2
        below = (CANVAS_LEADING * (len(placed.text) - 1) + DROP) * size
        return box_about(
            self._at(placed.at + placed.direction * complex(x, y))
            for x in (-half, half)
            for y in (-RISE * size, below)
        )

    # Parts

    def _write_derived(self) -> None:
        draft = self._draft
        self._chain(SHEET_LAYER, "sheet", draft.cut_line, closed=True)
        self._chain(CUT_LAYER, "cut-line", draft.cut_line, closed=True)
        for item in draft.darts:
            self._write_dart(item)
        for notch in draft.notches:
            self._chain(MARKS_LAYER, "notch", [notch])
        for notch in draft.seam_notches:
            element = self._chain(MARKS_LAYER, "notch", [notch])
            # Where her own mark says it, the next run draws it again by that mark alone.
            if not any(_is_notch_of(at, notch) for at in self._own_notches):
                element.set(ours("role"), roles.NOTCH)
        for full in draft.fullness:
            self._write_fullness(full)
        for apex in draft.apexes:
            self._write_apex(apex)
        self._write_grainline(draft.grain)
        for line in draft.inner_lines:
            data = " ".join(
                path_data(self._scaled(path), closed=path[0].start == path[-1].end)
                for path in line.paths
            )
            element = self._path(MARKS_LAYER, "inner-line", data)
            self._say_place(element, line.paths)
            element.set(LABEL, roles.INNER_LINE)
            element.set(ours("role"), roles.INNER_LINE)
            if line.number is not None and self._inner_strokes[line.number]:
                element.attrib["style"] = self._inner_strokes[line.number]
        clear = Clearings(drawn_lines(draft))
        for fold in fold_lines(draft):
            self._write_fold_edge(fold, clear)
        for k, placed in enumerate(place_seam_names(draft, clear)):
            if placed.seam is not None:
                self._write_seam_name(placed, placed.seam, k)
        lines = self._title_lines()
        title = place_title(draft, lines, clear)
        element = self._text("note", title, bold=True, chosen=self._kept.title)
        self._title = self._text_box(title)
        size_line = lines[1] if draft.block.size else ""
        for name, said in title_attributes(title.text, size_line, lines[-1]).items():
            element.set(ours(name), said)
        self._write_test_square()

    def _write_dart(self, item: DrawnDart) -> None:
        dart = item.dart
        if dart.opening.made == TUCK:
            # Its cap is part of the stitch line; the rest is drawn as fullness.
            return
        self._chain(DART_LAYER, "cap", [edge.segment for edge in dart.cap])
        self._polyline(DART_LAYER, "fold-arrow", item.arrow)
        for leg in dart.legs:
            self._chain(DART_LAYER, "dart-leg", leg)
        self._circle(DART_LAYER, "dart-point", dart.point, _POINT_RADIUS)
        self._chain(DART_LAYER, "dart-fold", fold_line(item.dart))
        if item.drill_hole is not None:
            self._circle(DART_LAYER, "drill-hole", item.drill_hole, _DRILL_RADIUS)
        if item.window is not None:
            self._chain(WINDOW_LAYER, "trim-window", item.window, closed=True)

    def _write_fullness(self, item: Fullness) -> None:
        data = " ".join(path_data(self._scaled(path), closed=False) for path in item.paths)
        element = self._path(DART_LAYER, item.kind, data)
        self._say_place(element, item.paths)
        element.set(ours("role"), roles.FULLNESS)
        element.set(ours("as"), item.kind)
        if item.over:
            element.set(ours("over"), f"{item.over!r}mm")

    def _write_apex(self, apex: complex) -> None:
        z, arm = self._at(apex), _APEX_ARM / self._unit
        cross = (
            f"M {point(z - arm)} L {point(z + arm)} M {point(z - 1j * arm)} L {point(z + 1j * arm)}"
        )
        element = self._path(MARKS_LAYER, "apex", cross)
        self._say_place(element, [_cross(apex, _APEX_ARM)])
        element.set(ours("role"), roles.APEX)

    def _write_grainline(self, line: Line) -> None:
        parts = [polyline_data([self._at(z) for z in line])]
        parts += [polyline_data([self._at(z) for z in head]) for head in _arrow_heads(line)]
        element = self._path(MARKS_LAYER, "grainline", " ".join(parts))
        self._say_place(element, [[line], *map(_lines, _arrow_heads(line))])
        element.set(ours("role"), roles.GRAIN)
        element.set(LABEL, "grainline")

    def _write_fold_edge(self, fold: Line, clear: Clearings) -> None:
        chains, words = fold_edge_sign(fold, clear)
        data = " ".join(path_data(self._scaled(chain), closed=False) for chain in chains)
        element = self._path(MARKS_LAYER, "fold-edge", data)
        self._say_place(element, chains)
        self._text("fold-edge", words)
        width = text_width(words.text[0], words.size)
        clear.add_box(words.at, words.direction, width / 2, RISE * words.size, DROP * words.size)
        clear.add_lines(chains)

    def _write_seam_name(self, placed: PlacedText, seam: Seam, number: int) -> None:
        element = self._text("seam-name", placed, chosen=self._kept.words.get(number))
        words = ["seam", seam.name]
        element.set(ours("role"), roles.SEAM)
        element.set(ours("name"), seam.name)
        if seam.allowance is not None:
            element.set(ours("allowance"), f"{seam.allowance!r}mm")
            words.append(f"{seam.allowance:g}mm")
        if seam.fold:
            element.set(ours("fold"), "yes")
            words.append("fold")
        if seam.turned:
            element.set(ours("turned"), "yes")
            words.append("turned")
        if seam.mate:
            element.set(ours("mate"), seam.mate)
            words.append(f"mate {seam.mate}")  # not read by drafters
        if seam.ease is not None:
            element.set(ours("ease"), f"{seam.ease!r}mm")
            words.append(f"ease {seam.ease:g}mm")  # not read by drafters
        element.set(LABEL, " ".join(words))
        element.set(ours("said"), " ".join(words))
        element.set(ours("shown"), " ".join(" ".join(placed.text).split()))
        element.set(ours("stretch"), str(number + 1))

    def _title_lines(self) -> list[str]:
        draft = self._draft
        lines = [shown_name(draft)]
        if draft.block.size:
            lines.append(_(SIZE_LINE).format(size=draft.block.size))
        lines.append(self._cut_words or cut_words(draft))
        return lines

    def _write_test_square(self) -> None:
        size = min(4.0, max(2.5, text_size(self._draft)))
        lines = self._note_lines()
        below = TEST_SQUARE + 4 * size
        corner = self._kept.square
        if corner is None:
            height = below + (CANVAS_LEADING * (len(lines) - 1) + DROP) * size
            width = max(TEST_SQUARE, *(text_width(line, size) for line in lines))
            corner = self._free_corner(width, height)
        square = self._add(MARKS_LAYER, "rect", "test-square")
        z, side = self._at(corner), TEST_SQUARE / self._unit
        for name, value in (("x", z.real), ("y", z.imag), ("width", side), ("height", side)):
            square.set(name, number(value))
        corners = [z, z + side, z + side * (1 + 1j), z + 1j * side, z]
        square.set(ours(PLACED), place_of_points(corners).text())
        if self._kept.square is not None:
            square.set(ours(KEPT), "yes")
        elif self._kept.home is not None and abs(self._kept.home - corner) > _SAME_PLACE:
            square.set(ours(HOME), point(self._at(self._kept.home)))
        square.set(LABEL, "test square")  # not read by drafters
        middle = corner + complex(TEST_SQUARE / 2, TEST_SQUARE / 2)
        self._text("note", PlacedText((_("50 mm"),), middle + 1j * size / 3, 1 + 0j, size))
        note = PlacedText(tuple(lines), corner + 1j * below, 1 + 0j, size)
        element = self._text("note", note, anchor="start", chosen=self._kept.note)
        element.set(ours("words"), words_mark(" ".join(element.itertext())))

    def _note_lines(self) -> list[str]:
        draft = self._draft
        head = done_lines(draft, more_remarks=len(self._told))
        said = note_sentences(draft, self._told)
        if scale := scale_sentence(shown_name(draft), self._source.scale):
            said.append(scale)
        rows, head = (
            [row for sentence in part for row in wrapped(sentence, _NOTE_COLUMN, 1.0)]
            for part in (said, head)
        )
        return [*head, "", *rows]

    def _free_corner(self, width: float, height: float) -> complex:
        """Return where the test square goes with the note below it: near the piece, on nothing.

        Where a result is drawn again they stay, if nothing has come to lie there.
        """
        room = self._room or FreeRoom(self._root, self._unit)
        room.add(self._title)
        piece = piece_box(self._draft, self._at)
        width, height = width / self._unit, height / self._unit
        for known in (self._kept.home, self._kept.last):
            if known is None:
                continue
            corner = self._at(known)
            there = Box(corner.real, corner.imag, corner.real + width, corner.imag + height)
            if room.is_free(there) and not there.meets(piece):
                break
        else:
            corner = room.beside(piece, width, height, TEST_SQUARE_GAP / self._unit)
        room.add(Box(corner.real, corner.imag, corner.real + width, corner.imag + height))
        at = (corner - self._shift) * self._unit
        home = self._kept.home
        return home if home is not None and abs(home - at) < _SAME_PLACE else at


def piece_box(draft: Draft, place: PointMap) -> Box:
    """Return the box about a piece, its trim windows with it.

    Args:
        draft: what is drawn.
        place: takes a point in mm to where it is drawn.
    """
    windows = [segment for item in draft.darts for segment in item.window or ()]
    lines = [*draft.cut_line, *windows]
    return box_about(place(z) for segment in lines for z in segment.extreme_points())


def _inner_strokes(source: SourceBlock) -> list[str]:
    """Return the styles of a block's inner lines; empty ones where they have no stroke."""
    # Few blocks have any: its import is left to those.
    from extension.artwork.own_stroke import own_strokes

    return own_strokes([mark.element for mark in source.marked(roles.INNER_LINE)])


def drawn_lines(draft: Draft) -> list[Sequence[Segment]]:
    """Return everything drawn for a piece, that text keeps off.

    Nothing else counts, so that the same piece has its words in the same places again.
    """
    chains: list[Sequence[Segment]] = [draft.stitch_line, draft.cut_line]
    chains += [draft.notches, draft.seam_notches, [draft.grain]]
    chains += [_lines(head) for head in _arrow_heads(draft.grain)]
    chains += [path for full in draft.fullness for path in full.paths]
    for item in draft.darts:
        chains.append([edge.segment for edge in item.dart.cap])
        chains.append(fold_line(item.dart))
        chains += [*item.dart.legs, _lines(item.arrow), _cross(item.dart.point, _POINT_RADIUS)]
        if item.window:
            chains.append(item.window)
        if item.drill_hole is not None:
            chains.append(_cross(item.drill_hole, _DRILL_RADIUS))
    chains += [_cross(apex, _APEX_ARM) for apex in draft.apexes]
    chains += [path for line in draft.inner_lines for path in line.paths]
    return chains


def _arrow_heads(line: Line) -> list[list[complex]]:
    """Return the heads at the two ends of a grainline, each from barb to tip to barb."""
    along = unit(line.end - line.start)
    return [
        [tip + _ARROW_HEAD * way * (1 + 0.4j), tip, tip + _ARROW_HEAD * way * (1 - 0.4j)]
        for tip, way in ((line.start, along), (line.end, -along))
    ]


def _lines(points: Sequence[complex]) -> list[Segment]:
    return [Line(a, b) for a, b in itertools.pairwise(points) if a != b]


def _cross(at: complex, arm: float) -> list[Segment]:
    return [Line(at - arm, at + arm), Line(at - 1j * arm, at + 1j * arm)]


def _is_notch_of(at: complex, notch: Line) -> bool:
    """Tell whether a notch is that of a mark: both lie on one line square to the seam."""
    along = unit(notch.end - notch.start)
    return abs(at - notch.end) < _OF_MARK and abs(cross(along, at - notch.start)) < _BESIDE


def _sublayer_id(prefix: str, name: str) -> str:
    return f"{prefix}-{name.lower().replace(' ', '-')}-layer"


def _tuck_nodes(draft: Draft) -> list[complex]:
    """Return the nodes of every tuck's cap that lie within its seam, not at another's end."""
    nodes = []
    for item in draft.darts:
        if item.dart.opening.made != TUCK:
            continue
        k = draft.piece.openings.index(item.dart.opening)
        runs = draft.piece.runs
        edges = [runs[k][-1], *item.dart.cap, runs[(k + 1) % len(runs)][0]]
        nodes += [
            edge.segment.start
            for before, edge in itertools.pairwise(edges)
            if before.seam is edge.seam
        ]
    return nodes


def _remove(element: etree._Element) -> None:
    """Take an element out and leave the text behind it in place."""
    parent = element.getparent()
    if element.tail and element.tail.strip():
        before = element.getprevious()
        if before is not None:
            before.tail = (before.tail or "") + element.tail
        else:
            parent.text = (parent.text or "") + element.tail
    parent.remove(element)
