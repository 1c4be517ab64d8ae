"""The layer "Marks": where Dartswing writes the marks it proposes and the signs it draws.

*Mark parts* and *Mark a block* say every role twice, by label and by attributes, and keep what they
wrote: ``dartswing:said`` is the label as written, ``dartswing:shown`` a seam mark's word as
written. A label or a word that differs from it was typed by the drafter since, and wins
(`roles.said_attributes`). ``dartswing:was`` is her own label from before, which comes back with the
role taken off. ``dartswing:of`` is the id of the outline for which a mark was written: the mark is
that block's wherever it is dragged, unless it is a copy (``dartswing:self`` is not its id).
``dartswing:sign-of`` is the id of the object beside which a sign stands; a sign carries no role.
``dartswing:sign-drawn`` tells a sign that a hand has changed, which is the drafter's from then on.
``dartswing:why`` and ``dartswing:put`` tell a proposed apex that still lies where it was put from
one that was dragged.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence

from inkex.transforms import Transform
from lxml import etree

from drafting_core.text.errors import DraftingError
from extension.document.identities import Identities
from extension.document.namespaces import DARTSWING, GROUP_MODE, INKSCAPE, LABEL, ours, svg
from extension.document.path_data import number
from extension.document.roles import (
    OUTLINE,
    Role,
    drawn_by_us,
    is_result,
    is_shown_only,
    our_attributes,
    role_of,
)
from extension.document.shapes import (
    box_of,
    drawn_elements,
    matrix_text,
    point_map,
    transform_of,
)
from extension.document.svg_document import units
from extension.look.set_text import wrapped
from extension.marking.mark_signs import LETTERS, glyph, lettering, line, sign_size
from extension.marking.sign_record import drawn_size, note_drawn, was_changed

#: Width of a note's column, in sizes of its letters.
_NOTE_COLUMN = 25.0
LAYER_LABEL = "Marks"
LAYER_ID = "dartswing-marks"
SIGN_OF = "sign-of"
NOTE_OF = "note-of"
_KEY = "marks"
#: A sign that a hand has moved so little (part of its size) is taken for one that it has not.
_BESIDE = 0.05


def marks_layer(root: etree._Element) -> etree._Element | None:
    """Return the layer of a drawing's marks, or None."""
    return next(filter(is_marks_layer, root), None)


def is_marks_layer(element: etree._Element) -> bool:
    """Tell whether an element is the layer of a drawing's marks."""
    return bool(element.tag == svg("g")) and _KEY in our_attributes(element)


class MarksWriter:
    """Writes into the layer of marks, which it makes where there is none."""

    def __init__(self, root: etree._Element) -> None:
        """Get ready; nothing is written yet."""
        self.root = root
        self.unit = units(root)
        self.identities = Identities(root)

    @property
    def layer(self) -> etree._Element:
        """The layer, in units of the root, below the results."""
        found = marks_layer(self.root)
        if found is not None:
            return found
        layer = etree.Element(svg("g"), nsmap={"dartswing": DARTSWING, "inkscape": INKSCAPE})
        layer.set(GROUP_MODE, "layer")
        layer.set(LABEL, LAYER_LABEL)
        layer.set("id", self.identities.unused(LAYER_ID))
        layer.set(ours(_KEY), "1")
        above = [child for child in self.root if isinstance(child.tag, str)]
        results = [child for child in above if is_result(child) or is_shown_only(child)]
        if results:
            results[0].addprevious(layer)
        else:
            self.root.append(layer)
        return layer

    def add(self, element: etree._Element, kind: str, attributes: dict[str, str]) -> None:
        """Add an element of Dartswing's own, given in units of the root.

        Args:
            element: the element.
            kind: what its id says.
            attributes: Dartswing's attributes for it.
        """
        layer = self.layer
        identity = self.identities.unused(f"dartswing-{kind}")
        element.set("id", identity)
        element.set(ours("self"), identity)
        for key, text in attributes.items():
            element.set(ours(key), text)
        _set_transform(element, layer)
        layer.append(element)

    def describe(self, paragraphs: Sequence[str]) -> set[str]:
        """Keep what was found in the layer's description, block by block.

        Args:
            paragraphs: two lines for every block; the first begins with the block's name and a
                colon, and takes the place of an older paragraph that begins so.

        Returns:
            The paragraphs that were not there yet.
        """
        layer = self.layer
        desc = layer.find(svg("desc"))
        if desc is None:
            desc = etree.Element(svg("desc"))
            desc.set("id", self.identities.unused("dartswing-marks-found"))
            layer.insert(0, desc)
        new = {paragraph.split(":")[0]: paragraph for paragraph in paragraphs}
        kept = {text.split(":")[0]: text for text in (desc.text or "").split("\n\n") if text}
        text = "\n\n".join({**kept, **new}.values())
        if desc.text != text:
            desc.text = text
        return set(new.values()) - set(kept.values())

    def note(self, of: str, paragraph: str, at: complex, size: float) -> None:
        """Write what was found beside a block, in place of an earlier note on it.

        Args:
            of: the id of the block's outline.
            paragraph: what was found.
            at: the corner of its first line, in units of the root.
            size: the letters' size in mm.
        """
        for element in list(self.layer):
            attributes = our_attributes(element)
            if attributes.get(NOTE_OF) == of and drawn_by_us(element):
                self.layer.remove(element)
        lines = [
            words
            for sentence in paragraph.split("\n")
            for words in wrapped(sentence, _NOTE_COLUMN, 1.0)
        ]
        text = lettering(lines[0], at, size, self.unit, anchor="start")
        text.text = None
        for row, words in enumerate(lines):
            span = etree.SubElement(text, svg("tspan"))
            span.set("x", str(text.get("x")))
            span.set("y", number(at.imag + row * 1.3 * size / self.unit))
            span.text = words
        text.set(LABEL, "found")
        self.add(text, "found", {NOTE_OF: of})

    def refresh_signs(self, marked: Sequence[etree._Element] = ()) -> None:
        """Draw a sign beside every object that has one or is to get one.

        Signs of objects that are gone, or carry no role any more, go too. A sign that the drafter
        changed is hers, and one that she moved stays where she put it.

        Args:
            marked: objects that get one, where they have none yet.
        """
        size = self._usual_size()
        signs = self._refreshed(size)
        for element in marked:
            identity = str(element.get("id"))
            role = role_of(element)
            if identity not in signs and role is not None:
                sign = self._sign(element, role, size)
                note_drawn(sign, size)
                self.add(sign, "sign", {SIGN_OF: identity})

    def signs_follow(self) -> None:
        """Let the signs follow their marks, each in the size that it has."""
        self._refreshed(None)

    def _usual_size(self) -> float:
        return sign_size(_largest_diagonal(self.root) * self.unit)

    def _refreshed(self, size: float | None) -> set[str]:
        """Refresh the signs that there are; return the ids of the objects that have one."""
        layer = marks_layer(self.root)
        signs = {} if layer is None else _signs_in(layer)
        if not signs:
            return set()
        named = {str(e.get("id")): e for e in self.root.iter() if e.get("id") in signs}
        for identity, sign in signs.items():
            if was_changed(sign) or not len(sign):
                continue
            element = named.get(identity)
            # What cannot be read is told of when it is drafted.
            with contextlib.suppress(DraftingError):
                role = None if element is None else role_of(element)
                if element is None or role is None:
                    sign.getparent().remove(sign)
                else:
                    own = size or drawn_size(sign) or self._usual_size()
                    self._refresh(sign, element, role, own)
        return set(signs)

    def _refresh(
        self, sign: etree._Element, element: etree._Element, role: Role, size: float
    ) -> None:
        drawn = self._sign(element, role, size)
        to = transform_of(sign)
        is_aside = not _is_identity(to, size / self.unit)
        if is_aside:
            at = box_of(sign[0]).centre
            is_aside = abs(at - box_of(drawn[0]).centre) > _BESIDE * size / self.unit
        if not is_aside:
            _set_transform(drawn, sign.getparent())
            if not _alike(sign, drawn):
                self._replace(sign, drawn, size)
        elif (sign.get(LABEL), _words(sign)) != (drawn.get(LABEL), _words(drawn)):
            # It says what the mark is, where she put it.
            drawn = self._sign(element, role, size, at=point_map(-to)(at))
            drawn.attrib["transform"] = str(sign.attrib.get("transform") or "")
            self._replace(sign, drawn, size)

    def _replace(self, sign: etree._Element, drawn: etree._Element, size: float) -> None:
        for key in (LABEL, "transform"):
            sign.attrib.pop(key, None)
            if drawn.attrib.get(key):
                sign.attrib[key] = str(drawn.attrib[key])
        for child in list(sign):
            sign.remove(child)
        sign.extend(list(drawn))
        note_drawn(sign, size)

    def _sign(
        self, element: etree._Element, role: Role, size: float, at: complex | None = None
    ) -> etree._Element:
        """Return an object's sign, in units of the root: beside it, or at another place."""
        group = etree.Element(svg("g"), nsmap={"dartswing": DARTSWING, "inkscape": INKSCAPE})
        group.set(LABEL, f"sign: {role.word}")  # not read by drafters
        leader = None
        if at is None:
            at, leader = _beside(element, size / self.unit)
        group.append(glyph(role.word, at, size, self.unit))
        if leader is not None:
            group.append(line(leader, at - size / 2 / self.unit, size, self.unit))
        words = (element.get(LABEL) or "").strip() or role.word
        beside = at + complex(0.8, LETTERS * 0.35) * size / self.unit
        group.append(lettering(words, beside, LETTERS * size, self.unit, anchor="start"))
        return group


def signs_follow(root: etree._Element) -> None:
    """Let the signs beside marks follow them to where the drafter has moved them."""
    layer = marks_layer(root)
    if layer is not None and _signs_in(layer):
        MarksWriter(root).signs_follow()


def _is_identity(transform: Transform, size: float) -> bool:
    """Tell whether a transform moves nothing by more than the last digit that an editor writes."""
    (a, c, e), (b, d, f) = transform.matrix
    return max(abs(a - 1), abs(b), abs(c), abs(d - 1)) < 1e-6 and abs(complex(e, f)) < 1e-3 * size


def _words(sign: etree._Element) -> str:
    return " ".join("".join(sign.itertext()).split())


def _signs_in(layer: etree._Element) -> dict[str, etree._Element]:
    signs = {}
    for child in layer.iter(svg("g")):
        attributes = our_attributes(child)
        if SIGN_OF in attributes and drawn_by_us(child):
            signs[attributes[SIGN_OF]] = child
    return signs


def _set_transform(element: etree._Element, layer: etree._Element) -> None:
    """Carry an element given in units of the root into a layer that was moved as a whole."""
    if any(e.attrib.get("transform") for e in (layer, *layer.iterancestors())):
        own = element.attrib.get("transform")
        back = matrix_text(-transform_of(layer))
        element.attrib["transform"] = f"{back} {own}" if own else back


def _alike(sign: etree._Element, drawn: etree._Element) -> bool:
    """Tell whether a sign stands as it would be drawn."""

    def looks(element: etree._Element) -> list[tuple[str | None, ...]]:
        return [
            (str(e.tag), *map(e.attrib.get, ("d", "x", "y")), (e.text or "").strip())
            for e in element
            if isinstance(e.tag, str)
        ]

    return (
        sign.attrib.get("transform") == drawn.attrib.get("transform")
        and sign.get(LABEL) == drawn.get(LABEL)
        and looks(sign) == looks(drawn)
    )


def _beside(element: etree._Element, size: float) -> tuple[complex, complex | None]:
    """Return the place of an object's sign, and where the line that leads to it starts.

    It stands to the right of a small object, below the start of a text, whose width only the
    editor knows, and at the corner of anything large, without a line.

    Args:
        element: the object.
        size: the sign's size in units of the root.
    """
    box = box_of(element)
    if element.tag == svg("text"):
        return complex(box.left + size, box.bottom + size), None
    if max(box.right - box.left, box.bottom - box.top) <= 3 * size:
        side = complex(box.right, (box.top + box.bottom) / 2)
        return side + 1.5 * size, side + 0.2 * size
    return complex(box.left + size, box.top - size), None


def _largest_diagonal(root: etree._Element) -> float:
    """Return the diagonal of the largest outline, in units of the root, or 0."""
    largest = 0.0
    for element in drawn_elements(root):
        # An outline that cannot be read is told of when it is drafted.
        with contextlib.suppress(DraftingError):
            role = role_of(element)
            if role is not None and role.word == OUTLINE:
                box = box_of(element)
                largest = max(largest, abs(complex(box.right - box.left, box.bottom - box.top)))
    return largest
