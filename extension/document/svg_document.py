"""An SVG document: read without trust, measured in mm, written whole or not at all."""

from __future__ import annotations

import io
import math
import re
import sys
from collections.abc import Sequence
from pathlib import Path

from lxml import etree

from drafting_core.text.errors import DraftingError
from drafting_core.text.lengths import told_exactly
from drafting_core.text.words import _
from extension.document.namespaces import DARTSWING, INKSCAPE, SODIPODI, svg
from extension.document.picture_kinds import is_picture

#: Lengths of CSS in millimetres (CSS Values and Units 3: 96 px to the inch, 1 in = 25.4 mm).
MM_PER_UNIT = {
    "": 25.4 / 96,
    "px": 25.4 / 96,
    "mm": 1.0,
    "cm": 10.0,
    "in": 25.4,
    "pt": 25.4 / 72,
    "pc": 25.4 / 6,
    "q": 0.25,
}
#: Scales in x and y this near to each other are the same scale (part of itself). Editors write
#: page sizes with a handful of digits: 210 mm against a viewBox of 793.70081 px and the like.
SAME_SCALE = 1e-4

_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-zA-Z]*)\s*$")
_BYTE_ORDER_MARKS = (b"\xff\xfe", b"\xfe\xff")


_DISPLAY_UNIT = f"{{{INKSCAPE}}}document-units"


class DocumentError(DraftingError):
    """The document cannot be read, or not be written."""


def read_document(source: str) -> etree._ElementTree:
    """Read an SVG document from a file, or from standard input for ``-``.

    Nothing that the document refers to is read; entities are never expanded.

    Raises:
        DocumentError: if it cannot be read or is no SVG.
    """
    return parsed(read_bytes(source), source)


def read_bytes(source: str) -> bytes:
    """Read a file, or standard input for ``-``.

    Raises:
        DocumentError: if it cannot be read.
    """
    try:
        return sys.stdin.buffer.read() if source == "-" else Path(source).read_bytes()
    except OSError as error:
        raise DocumentError(
            _("the file cannot be read ({reason}).").format(reason=error.strerror or error),
            thing=_named(source),
            remedy=_("Check its name and place."),
        ) from None


def parsed(data: bytes, source: str) -> etree._ElementTree:
    """Parse the bytes of an SVG document that came from a file, or from ``-``.

    Raises:
        DocumentError: if they are no SVG, or declare entities.
    """
    try:
        return parse_document(data)
    except DraftingError as error:
        raise error.about(_named(source)) from None


def _named(source: str) -> str:
    return _("Standard input") if source == "-" else f'"{source}"'


def parse_document(data: bytes) -> etree._ElementTree:
    """Parse the bytes of an SVG document.

    Raises:
        DocumentError: if they are no SVG, or declare entities.
    """
    if not data.strip():
        raise DocumentError(_("the file is empty."), remedy=_("Save the drawing again as SVG."))
    if is_picture(data):
        raise DocumentError(
            _("the file is a picture, not a drawing."),
            remedy=_("Make a clean block of it first: dartswing clean."),
        )
    text_like = data
    if data.startswith(_BYTE_ORDER_MARKS) or data[:4].count(0):
        text_like = data.replace(b"\0", b"")
    if re.search(rb"<!ENTITY", text_like):
        raise DocumentError(
            _("the file declares entities, which are never expanded here."),
            remedy=_("Open it in the editor and save it again as SVG."),
        )
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=True,
        remove_blank_text=False,
        strip_cdata=False,
    )
    try:
        try:
            tree = etree.parse(io.BytesIO(data), parser)
        except etree.XMLSyntaxError as error:
            if "dartswing" not in str(error.msg):
                raise
            tree = etree.parse(io.BytesIO(_with_our_prefix(data)), parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        reason = str(getattr(error, "msg", None) or error).split("\n")[0]
        raise DocumentError(
            _("the file is no well-formed XML ({reason}).").format(reason=reason),
            remedy=_("Save the drawing again as SVG."),
        ) from None
    if tree.getroot().tag != svg("svg"):
        raise DocumentError(
            _("the file is no SVG: its root is <{tag}>.").format(
                tag=etree.QName(tree.getroot()).localname
            ),
            remedy=_("Save the drawing as SVG."),
        )
    return tree


#: What may stand before the root: a declaration, comments, instructions, a document type.
_PROLOG = r"(?:\s|<\?.*?\?>|<!--.*?-->|<!DOCTYPE[^>\[]*>)*<(?:[\w.-]+:)?svg\b"


def _with_our_prefix(data: bytes) -> bytes:
    """Declare the prefix ``dartswing`` on the root of a document that uses it undeclared."""
    declared = re.match(rb"""\s*<\?xml[^>]*encoding=["']([\w.-]+)["']""", data)
    encoding = declared[1].decode("ascii") if declared else "utf-8-sig"
    if data.startswith(_BYTE_ORDER_MARKS):
        encoding = "utf-16"
    try:
        text = data.decode(encoding)
    except (UnicodeDecodeError, LookupError):
        return data
    found = re.match(_PROLOG, text, re.DOTALL)
    if not found:
        return data
    declaration = f' xmlns:dartswing="{DARTSWING}"'
    text = text[: found.end()] + declaration + text[found.end() :]
    return re.sub(r"^\s*<\?xml[^>]*\?>", "", text).encode("utf-8")


def display_unit(root: etree._Element) -> str:
    """Return the unit in which the editor shows a drawing's lengths, if it is mm, cm or in.

    Another is answered with ``mm``.
    """
    view = root.find(f"{{{SODIPODI}}}namedview")
    unit = "" if view is None else view.get(_DISPLAY_UNIT, "")
    return unit if unit in ("mm", "cm", "in") else "mm"


def units(root: etree._Element) -> float:
    """Return the size in mm of a user unit of the root.

    Raises:
        DocumentError: if the page is stretched, or its size cannot be read.
    """
    view_box = root.get("viewBox")
    if view_box is None:
        return MM_PER_UNIT["px"]
    try:
        numbers = [float(part) for part in re.split(r"[\s,]+", view_box.strip())]
    except ValueError:
        numbers = []
    if len(numbers) != 4 or not all(map(math.isfinite, numbers)) or min(numbers[2:]) <= 0:
        raise DocumentError(
            _('the drawing\'s viewBox "{text}" cannot be read.').format(text=view_box),
            remedy=_("Set the page size anew in the editor's document properties."),
        )
    width, height = _page_length(root, "width"), _page_length(root, "height")
    scales = [
        length / size for length, size in ((width, numbers[2]), (height, numbers[3])) if length
    ]
    if not scales:
        return MM_PER_UNIT["px"]
    aspect = (root.get("preserveAspectRatio") or "").split()
    if scales[-1] == scales[0] or abs(scales[0] - scales[-1]) <= SAME_SCALE * scales[0]:
        return scales[0]
    if "none" in aspect:
        raise DocumentError(
            _("the page is stretched: a unit is {width} wide but {height} high.").format(
                width=told_exactly(scales[0], 4), height=told_exactly(scales[1], 4)
            ),
            remedy=_(
                "Give the page the proportions of its viewBox, or take "
                'preserveAspectRatio="none" out.'
            ),
        )
    return max(scales) if "slice" in aspect else min(scales)


def elements_with_ids(root: etree._Element, wanted: Sequence[str]) -> list[etree._Element]:
    """Return the elements that have the given ids, such as those selected, in document order.

    Raises:
        DocumentError: if an id is no object's.
    """
    ids = set(wanted)
    found = [element for element in root.iter() if element.get("id") in ids]
    missing = ids - {str(element.get("id")) for element in found}
    if missing:
        raise DocumentError(
            _('no object has the id "{id}".').format(id=min(missing)),
            remedy=_("Select an object of the drawing."),
        )
    return found


def _page_length(root: etree._Element, name: str) -> float | None:
    text = root.get(name)
    if text is None or text.strip().endswith("%") or text.strip() == "auto":
        return None
    found = _LENGTH.match(text)
    unit = found[2].lower() if found else None
    if found is None or unit not in MM_PER_UNIT or not float(found[1]) > 0:
        raise DocumentError(
            _('the page\'s {attribute} "{text}" cannot be read.').format(attribute=name, text=text),
            remedy=_("Set the page size anew in the editor's document properties."),
        )
    length = float(found[1]) * MM_PER_UNIT[unit]
    if not math.isfinite(length):
        raise DocumentError(
            _('the page\'s {attribute} "{text}" is not finite.').format(attribute=name, text=text),
            remedy=_("Set the page size anew in the editor's document properties."),
        )
    return length


def document_bytes(tree: etree._ElementTree) -> bytes:
    """Return a document as it is written to a file."""
    return bytes(etree.tostring(tree, encoding="UTF-8", xml_declaration=True))
