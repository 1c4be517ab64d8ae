"""A picture as a drawing of its true size: what a clean-up at the terminal begins with."""

from __future__ import annotations

import base64
from pathlib import Path

from lxml import etree

from drafting_core.text.errors import DraftingError, SettingError
from drafting_core.text.figures import significant
from drafting_core.text.words import _
from extension.cleaning.picture_file import LEAST_DPI, MOST_DPI, PictureHead, head_of
from extension.cleaning.traced_pictures import IMAGE, XLINK, embed
from extension.document.namespaces import GROUP_MODE, INKSCAPE, LABEL, SODIPODI, SVG, ours, svg
from extension.document.path_data import number
from extension.document.svg_document import DocumentError
from extension.document.visibility import LOCK

# Labels of layers and objects are English in every language.
_LAYER = "Scan"  # not read by drafters
#: The attribute of a picture that is not in its drawing yet; no drawing is written with it.
_NOT_KEPT = ours("not-kept")


def dpi_asked_for(text: str) -> float | None:
    """Return how many dots to the inch are typed, or None where nothing is.

    Raises:
        SettingError: if it makes no sense.
    """
    if not text.strip():
        return None
    try:
        dpi = float(text.strip().replace(",", "."))
    except ValueError:
        dpi = 0.0
    if not LEAST_DPI <= dpi <= MOST_DPI:
        raise SettingError(
            _('"{text}" is no number of dots to the inch from {least} to {most}.').format(
                text=text, least=significant(LEAST_DPI, 4), most=significant(MOST_DPI, 4)
            ),
            thing=_("The resolution"),
            remedy=_("Write what the scanner was set to, such as 200."),
        )
    return dpi


def picture_drawing(data: bytes, source: str, dpi: float | None) -> etree._ElementTree:
    """Return a drawing that holds a picture, as large as it truly is, on a locked layer.

    Until `keep` it refers to the picture's file, if there is one.

    Args:
        data: the picture.
        source: its file, or ``-`` for standard input.
        dpi: its dots to the inch, or None for what it says itself.

    Raises:
        DraftingError: if it cannot be read, or does not say its size.
    """
    is_file = source != "-"
    try:
        head = head_of(data)
        across, down = _resolution(head, dpi)
    except DraftingError as error:
        raise error.about(f'"{source}"' if is_file else _("Standard input")) from None
    width, height = 25.4 * head.size[0] / across, 25.4 * head.size[1] / down
    names = {None: SVG, "inkscape": INKSCAPE, "sodipodi": SODIPODI, "xlink": XLINK}
    root = etree.Element(svg("svg"), nsmap=names)
    root.set("width", f"{number(width)}mm")
    root.set("height", f"{number(height)}mm")
    root.set("viewBox", f"0 0 {number(width)} {number(height)}")
    layer = etree.SubElement(root, svg("g"))
    layer.set("id", "scan-layer")
    layer.set(GROUP_MODE, "layer")
    layer.set(LABEL, _LAYER)
    layer.set(LOCK, "true")
    image = etree.SubElement(layer, IMAGE)
    image.set("id", "scan")
    image.set(_NOT_KEPT, "1")
    name = Path(source).name if is_file else "standard input"  # not read by drafters
    image.set(LABEL, f"{_LAYER} {name}")
    for key, value in (("x", 0.0), ("y", 0.0), ("width", width), ("height", height)):
        image.set(key, number(value))
    image.set("preserveAspectRatio", "none")
    link = Path(source).resolve().as_uri() if is_file else _as_data(data)
    image.set(f"{{{XLINK}}}href", link)
    return etree.ElementTree(root)


def keep(root: etree._Element) -> None:
    """Put the picture of such a drawing into it, so that it goes wherever the drawing goes.

    Raises:
        DraftingError: if the picture cannot be read any more.
    """
    for image in root.iter(IMAGE):
        if image.attrib.pop(_NOT_KEPT, None):
            embed(image)


def _as_data(data: bytes) -> str:
    return f"data:application/octet-stream;base64,{base64.b64encode(data).decode('ascii')}"


def _resolution(head: PictureHead, dpi: float | None) -> tuple[float, float]:
    if dpi is not None:
        return dpi, dpi
    if head.is_photo:
        raise DocumentError(
            _("it is a camera's photo, which has no true size and is seen aslant."),
            remedy=_(
                'Import it in the editor, draw along a sheet of paper in it, label that "known '
                'rectangle A4" and clean up there; or give its true --dpi.'
            ),
        )
    if head.dpi is None:
        raise DocumentError(
            _("the picture does not say how many dots it has to the inch."),
            remedy=_("Give what the scanner was set to, like --dpi 200."),
        )
    return head.dpi
