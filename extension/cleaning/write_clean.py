"""Writing a clean block: its own layer, and a layer that shows what was done to the trace."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from lxml import etree

from drafting_core.block.seam_word_places import seam_word_place
from drafting_core.model.outline import extent, flattened
from drafting_core.model.seam_names import Seam, shown_seam_name
from drafting_core.model.stretches import stretches
from drafting_core.text.lengths import in_words, told_length
from drafting_core.text.words import _
from drafting_core.trace.clean_block import CleanBlock
from extension.cleaning.clean import Cleaned, CleanUp
from extension.cleaning.clean_report import block_lines, block_title, seam_fits, sheet_lines
from extension.document import roles
from extension.document.identities import Identities
from extension.document.namespaces import (
    CLEAN,
    CLEAN_UP_KIND,
    CLEANED_FROM,
    DARTSWING,
    GROUP_MODE,
    INKSCAPE,
    LABEL,
    ours,
    svg,
)
from extension.document.path_data import number, path_data, point, polyline_data
from extension.document.roles import our_attributes
from extension.document.shapes import SHAPES, centre_of, mapped_subpaths
from extension.look.set_text import text_width, wrapped
from extension.look.strokes import FONT, STROKES
from extension.marking.mark_signs import LETTERS, glyph, lettering, sign_size
from extension.marking.said_role import Saying, say
from extension.reading.source_block import Marked, mark_key

# Labels of layers and objects are English in every language.
BLOCK_LAYER = "Clean block"  # not read by drafters
SHOWN_LAYER = "Clean-up"
#: Distances and gaps of less than this (mm) are not shown.
_SHOWN = 0.1
#: The colour of what a clean-up shows: the one of signs that ask for a look.
_SHOW = "#c2410c"
_LETTER, _STROKE, _RADIUS = 3.0, 0.3, 2.5
#: Width of the note's column, in sizes of its letters.
_NOTE_COLUMN = 38.0
#: The trace is shown in chords of about this length (mm).
_SHOWN_STEP = 2.0
#: The marks of a trace that are written anew on the clean block, as signs at their places.
_CARRIED = (
    roles.APEX,
    roles.DART,
    roles.HOLD,
    roles.NOTCH,
    roles.TARGET,
    roles.INNER_LINE,
    roles.STYLE_LINE,
)
#: Those of them that may be lines, which are written anew as they run.
_LINES = (roles.TARGET, roles.INNER_LINE, roles.STYLE_LINE)


def write_clean(root: etree._Element, done: CleanUp) -> None:
    """Add a layer with each clean block, and one that shows what was done."""
    ids = Identities(root)
    for cleaned in done.cleaned:
        _Writer(root, done, cleaned, ids).write()


class _Writer:
    """Writes one block."""

    def __init__(
        self, root: etree._Element, done: CleanUp, cleaned: Cleaned, ids: Identities
    ) -> None:
        self.root, self.done, self.cleaned, self.ids = root, done, cleaned, ids
        self.block: CleanBlock = cleaned.block
        self.unit = done.trace.mm
        self.title = block_title(cleaned)
        size = cleaned.size
        self.layer_title = f"{self.title}{f', size {size}' if size else ''}"  # not read by drafters
        segments = self.block.segments
        self.size = sign_size(math.hypot(*extent(segments)))

    def place(self, z: complex) -> complex:
        """Return where a place of the trace (true mm) lies in the root's units."""
        return self.done.to_units(self.cleaned, z)

    def write(self) -> None:
        shown = self._layer(_label(SHOWN_LAYER, self.layer_title), "dartswing-clean-up")
        shown.set(ours("sheet"), CLEAN_UP_KIND)
        layer = self._layer(_label(BLOCK_LAYER, self.layer_title), "dartswing-clean")
        layer.set(ours(CLEAN), "1")
        self._outline(layer)
        self._apexes(layer)
        self._seams(layer)
        self._notches(layer)
        self._marks(layer)
        self._inner_lines(layer)
        self._show(shown)

    def _layer(self, label: str, identity: str) -> etree._Element:
        layer = etree.SubElement(
            self.root, svg("g"), nsmap={"dartswing": DARTSWING, "inkscape": INKSCAPE}
        )
        layer.set("id", self.ids.unused(identity))
        layer.set(GROUP_MODE, "layer")
        layer.set(LABEL, label)
        return layer

    def _add(self, layer: etree._Element, element: etree._Element, kind: str) -> None:
        identity = self.ids.unused(f"dartswing-{kind}")
        element.set("id", identity)
        element.set(ours("self"), identity)
        layer.append(element)

    def _outline(self, layer: etree._Element) -> None:
        path = etree.Element(svg("path"))
        segments = [segment.mapped(self.place) for segment in self.block.segments]
        path.set("d", path_data(segments, closed=True))
        path.set("style", STROKES["cut-line"].style(self.unit))
        say(path, Saying(roles.OUTLINE))
        path.set(ours("name"), self.title)
        if self.cleaned.size:
            path.set(ours("size"), self.cleaned.size)
        # What is said of the trace is not said of the block; the trace itself is none any more.
        marks = [*self.done.trace.marks, *self.done.trace.outlines]
        path.set(ours(CLEANED_FROM), " ".join(map(mark_key, marks)))
        self._add(layer, path, "outline")

    def _apexes(self, layer: etree._Element) -> None:
        for proposal in self.block.apexes:
            sign = glyph(roles.APEX, self.place(proposal.at), self.size, self.unit)
            self._say(layer, sign, Saying(roles.APEX), {"why": proposal.why})

    def _notches(self, layer: etree._Element) -> None:
        for notch in self.block.notches:
            sign = glyph(roles.NOTCH, self.place(notch.at), self.size, self.unit)
            self._say(layer, sign, Saying(roles.NOTCH), {})

    def _say(
        self, layer: etree._Element, element: etree._Element, saying: Saying, more: dict[str, str]
    ) -> None:
        element.set(LABEL, saying.label)
        for key, text in {**saying.attributes, "said": saying.label, **more}.items():
            element.set(ours(key), text)
        self._add(layer, element, "mark")

    def _seams(self, layer: etree._Element) -> None:
        piece = self.block.piece
        if piece is None:
            return
        to = self.block.to_place
        turned = piece.mapped(to)
        polygon = flattened(turned.ring(lambda opening: opening.point))
        for stretch in stretches(turned):
            seam = stretch.seam
            has_name = seam.is_known or not seam.name.startswith("seam ")
            if not (has_name or seam.fold or seam.allowance is not None):
                continue
            if has_name:
                words = shown_seam_name(seam.name)
            elif seam.fold or seam.allowance is None:
                words = _("fold")
            else:
                words = told_length(seam.allowance, 1)
            letters = LETTERS * self.size
            width = text_width(words, letters)
            at, reading = seam_word_place(turned, stretch, width, letters, polygon)
            back = self._back(at)
            degrees = math.degrees(math.atan2(reading.imag, reading.real))
            word = lettering(words, self.place(back), letters, self.unit, degrees=degrees)
            self._say(layer, word, _saying(seam), {"shown": words} if has_name else {})

    def _back(self, at: complex) -> complex:
        """Return where a place of the upright block lies on the trace."""
        block = self.block
        turned = complex(math.cos(-block.turn), math.sin(-block.turn))
        return block.centre + (at - block.centre) * turned

    def _marks(self, layer: etree._Element) -> None:
        to_true = self.done.scale.to_true
        for mark in self.cleaned.marks:
            if mark.role.word not in _CARRIED:
                continue
            at = self.place(to_true.at(centre_of(mark.element)))
            sign = self._line_of(mark)
            if sign is None:
                sign = glyph(mark.role.word, at, self.size, self.unit)
            label = (mark.element.get(LABEL) or "").strip() or mark.role.word
            sign.set(LABEL, label)
            for key, text in our_attributes(mark.element).items():
                if key not in ("self", "of", "sign-of"):
                    sign.set(ours(key), text)
            sign.set(ours("role"), mark.role.word)
            self._add(layer, sign, "mark")
        found = self.block.found
        if found is not None and found.grain is not None:
            ends = [self.place(found.grain.start), self.place(found.grain.end)]
            line = etree.Element(svg("path"))
            line.set("d", polyline_data(ends))
            line.set("style", STROKES["grainline"].style(self.unit))
            self._say(layer, line, Saying(roles.GRAIN), {})

    def _inner_lines(self, layer: etree._Element) -> None:
        """Write what else is drawn on the block."""
        for inner in self.cleaned.inner:
            line = etree.Element(svg("path"))
            segments = [segment.mapped(self.place) for segment in inner.segments]
            line.set("d", path_data(segments, closed=inner.closed))
            line.set("style", STROKES["inner-line"].style(self.unit))
            self._say(layer, line, Saying(roles.INNER_LINE), {})

    def _line_of(self, mark: Marked) -> etree._Element | None:
        """Return a mark that is a line, such as a slash line, as it lies on the clean block."""
        if mark.role.word not in _LINES or mark.element.tag not in SHAPES:
            return None
        paths = [path for path in mapped_subpaths(mark.element) if path.segments]
        if mark.role.word == roles.TARGET and (len(paths) != 1 or paths[0].closed):
            return None
        to_true = self.done.scale.to_true
        line = etree.Element(svg("path"))
        line.set(
            "d",
            " ".join(
                path_data(
                    [s.mapped(lambda z: self.place(to_true.at(z))) for s in path.segments],
                    closed=path.closed,
                )
                for path in paths
            ),
        )
        line.set("style", STROKES["inner-line"].style(self.unit))
        return line

    def _show(self, layer: etree._Element) -> None:
        """Show the trace, the places of largest distance, closed gaps, and the report."""
        ring = self.block.traced.ring.points
        step = max(1, round(_SHOWN_STEP / float(abs(ring[1] - ring[0]))))
        points = self.done.points_to_units(self.cleaned, ring[::step]).tolist()
        trace = etree.Element(svg("path"))
        trace.set("d", f"{polyline_data(points)} Z")
        trace.set("style", f"fill:none;stroke:{_SHOW};stroke-width:{0.15 / self.unit:.6g}")
        trace.set(LABEL, "trace")
        self._add(layer, trace, "clean-up")
        for fit in seam_fits(self.block):
            if fit.largest >= _SHOWN:
                self._ring(layer, fit.at, told_length(fit.largest, 2), "largest")
        for join in self.block.traced.joins:
            words = _("overshoot") if join.overshoot else _("gap")
            self._ring(layer, join.at, f"{words} {in_words(join.size)}", "closed")
        self._note(layer)

    def _ring(self, layer: etree._Element, at: complex, words: str, label: str) -> None:
        place, radius = self.place(at), _RADIUS / self.unit
        west, east = place - radius, place + radius
        r = number(radius)
        ring = etree.Element(svg("path"))
        ring.set(
            "d", f"M {point(west)} A {r} {r} 0 1 1 {point(east)} A {r} {r} 0 1 1 {point(west)} Z"
        )
        ring.set("style", f"fill:none;stroke:{_SHOW};stroke-width:{_STROKE / self.unit:.6g}")
        ring.set(LABEL, label)
        self._add(layer, ring, "clean-up")
        self._text(layer, [words], place + (1.3 + 0.4j) * radius)

    def _text(self, layer: etree._Element, lines: Sequence[str], at: complex) -> None:
        size = _LETTER / self.unit
        text = etree.Element(svg("text"))
        text.set("x", number(at.real))
        text.set("y", number(at.imag))
        text.set("style", f"font-family:{FONT};font-size:{size:.6g}px;fill:{_SHOW};stroke:none")
        for row, words in enumerate(lines):
            span = etree.SubElement(text, svg("tspan"))
            span.set("x", number(at.real))
            span.set("y", number(at.imag + 1.3 * size * row))
            span.text = words
        self._add(layer, text, "clean-up")

    def _note(self, layer: etree._Element) -> None:
        """Write the report below the block."""
        points = [self.place(z) for s in self.block.segments for z in s.extreme_points()]
        ring = np.array(points)
        corner = complex(ring.real.min(), ring.imag.max() + 12.0 / self.unit)
        lines = [
            words
            for sentence in (*block_lines(self.done, self.cleaned), *sheet_lines(self.done))
            for words in wrapped(sentence, _NOTE_COLUMN, 1.0)
        ]
        self._text(layer, lines, corner)


def _label(what: str, title: str) -> str:
    """Return a layer's label: English in every language, as all labels of layers."""
    return f"{what}: {title.lower()}"  # not read by drafters


def _saying(seam: Seam) -> Saying:
    attributes = {}
    if not seam.name.startswith("seam "):
        attributes["name"] = seam.name
    if seam.allowance is not None:
        attributes["allowance"] = f"{seam.allowance:.6f}".rstrip("0").rstrip(".") + "mm"
    for key, says in (("fold", seam.fold), ("turned", seam.turned)):
        if says:
            attributes[key] = "yes"
    if seam.mate:
        attributes["mate"] = seam.mate
    if seam.ease is not None:
        attributes["ease"] = f"{seam.ease:.6f}".rstrip("0").rstrip(".") + "mm"
    return Saying(roles.SEAM, attributes)
