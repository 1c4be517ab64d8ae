"""A picture's file: its size, what it says of its scale, and its dots in grey, upright.

Nothing in it is trusted: how large it is gets known before anything is unpacked.
"""

from __future__ import annotations

import base64
import binascii
import io
import math
import os
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import unquote, unquote_to_bytes, urlsplit
from urllib.request import url2pathname

import numpy as np

from drafting_core.ink.ink_of_picture import Grey
from drafting_core.text.errors import DraftingError
from drafting_core.text.figures import significant
from drafting_core.text.words import _
from extension.document.picture_kinds import is_heif, is_pdf
from extension.document.svg_document import DocumentError

if TYPE_CHECKING:
    from PIL.Image import Image

#: What is read: nothing that starts another program.
_FORMATS = ("PNG", "JPEG", "TIFF", "BMP", "GIF", "WEBP", "PPM")
#: A grey picture of more dots is refused, and one of more than this is reduced.
_MOST_DOTS, _ENOUGH_DOTS = 170e6, 40e6
#: What a dot costs by the first letters of its mode, while it is made grey, against a grey one.
_COSTS = {"RGBA": 4.0, "LA": 4.0, "PA": 4.0, "I": 3.0, "F": 3.0, "L": 1.0, "1": 1.0, "P": 1.0}
_COST = 2.0
#: Fewer dots than this along a side show no block.
_LEAST_SIDE = 16
#: Of a resolution that is none, or a slip of unit, nothing is believed.
LEAST_DPI, MOST_DPI = 20.0, 5000.0
#: What a picture of so many bytes holds in itself is kept as it is when it is laid below a block.
_KEPT_BYTES = 8_000_000
_QUALITY = 90
_JPEG = ("JPEG", "MPO")

_CLEAR_MODES = ("LA", "La", "PA", "RGBA", "RGBa")
_ORIENTATION, _CAMERA = 0x0112, 0x8769
#: Exposure, aperture and focal length: what a camera writes and no scanner does.
_CAMERA_TAGS = (0x829A, 0x829D, 0x920A)


class PictureHead(NamedTuple):
    """What a picture says of itself, before its dots are unpacked.

    Attributes:
        size: its dots across and down, upright.
        dpi: its dots to the inch across and down, or None if it does not say.
        is_photo: whether a camera took it.
        pages: how many pictures the file holds.
    """

    size: tuple[int, int]
    dpi: tuple[float, float] | None
    is_photo: bool
    pages: int


def picture_bytes(link: str, folder: str, absolute: str = "") -> bytes:
    """Return the bytes of a picture that stands in a drawing, or that a drawing links.

    Args:
        link: what the drawing says of it: data, the name of a file, or its address.
        folder: the drawing's folder; empty if it has none yet.
        absolute: where else the file may lie.

    Raises:
        DraftingError: if it is not on this machine or cannot be read.
    """
    if link[:5].casefold() == "data:":
        return _embedded(link)
    address = urlsplit(link)
    # A drive's letter is no scheme.
    if len(address.scheme) > 1 and address.scheme.casefold() != "file":
        raise DocumentError(
            _("the picture is linked from the network, which is never asked here."),
            remedy=_("Save it and import it from there."),
        )
    path = url2pathname(address.path) if address.scheme.casefold() == "file" else link
    tried = [os.path.join(folder, name) for name in (path, unquote(path))]
    tried += [absolute] if absolute else []
    for name in tried:
        if os.path.isfile(name):
            return _read(name)
    raise DocumentError(
        _('its file "{path}" is not there.').format(path=path),
        remedy=_("Link the picture anew, or embed it: import it again and choose to embed."),
    )


def _embedded(link: str) -> bytes:
    head, comma, text = link.partition(",")
    try:
        if not comma:
            raise ValueError
        if head.casefold().rstrip().endswith(";base64"):
            return base64.b64decode("".join(unquote_to_bytes(text).decode("ascii").split()))
        return unquote_to_bytes(text)
    except (ValueError, binascii.Error):
        raise _unreadable(_("what is embedded is damaged")) from None


def _read(path: str) -> bytes:
    try:
        with open(path, "rb") as stream:
            return stream.read()
    except OSError as error:
        raise _unreadable(error.strerror or str(error)) from None


def head_of(data: bytes) -> PictureHead:
    """Return what a picture says of itself.

    Raises:
        DraftingError: if it cannot be read here, or is too large or too small.
    """
    with _opened(data) as image:
        orientation = image.getexif().get(_ORIENTATION, 1)
        dpi = _said_dpi(image)
        size = image.size
        if orientation in (5, 6, 7, 8):
            size = size[1], size[0]
            dpi = dpi and (dpi[1], dpi[0])
        taken = image.getexif().get_ifd(_CAMERA)
        pages = getattr(image, "n_frames", 1) if image.format != "MPO" else 1
        return PictureHead(size, dpi, any(tag in taken for tag in _CAMERA_TAGS), pages)


def grey_of(data: bytes) -> tuple[Grey, int]:
    """Return a picture's dots in grey, upright, clear ones white; and by how much it was reduced.

    Raises:
        DraftingError: as `head_of`, or if its dots are damaged.
    """
    with _opened(data) as image:
        return _upright_grey(image)


def shown_bytes(data: bytes) -> tuple[str, bytes]:
    """Return a picture as it is laid below a block, and its media type.

    What every program shows upright is kept to the byte; else it is a grey copy.

    Raises:
        DraftingError: as `grey_of`.
    """
    with _opened(data) as image:
        is_upright = image.getexif().get(_ORIENTATION, 1) == 1
        kept = {"PNG": "image/png", "JPEG": "image/jpeg"}.get(image.format or "")
        if kept and is_upright and len(data) <= _KEPT_BYTES and not _has_wide_dots(image):
            return kept, data
        from PIL import Image

        copy = io.BytesIO()
        Image.fromarray(_upright_grey(image)[0]).save(copy, "JPEG", quality=_QUALITY)
        return "image/jpeg", copy.getvalue()


@contextmanager
def _opened(data: bytes) -> Iterator[Image]:
    """Open a picture, and say in plain words what goes wrong while it is open.

    Raises:
        DraftingError: if it cannot be read here, or is too large or too small.
    """
    try:
        # Two readers are not there until they are named.
        from PIL import Image, TiffImagePlugin, UnidentifiedImageError, WebPImagePlugin  # noqa: F401
    except ImportError:
        raise DocumentError(
            _("to read a picture, Python's Pillow is needed, which the editor does not have here."),
            remedy=_(
                "Install it (Debian: apt install python3-pil), or trace the picture by hand with "
                "Path > Trace Bitmap and clean up the path that this makes."
            ),
        ) from None
    _check_kind(data)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=_FORMATS) as image:
                _check_size(image)
                yield image
    except DraftingError:
        raise
    except Image.DecompressionBombError:
        raise _too_large(_MOST_DOTS) from None
    except UnidentifiedImageError:
        raise _unreadable(_("it is no PNG, JPEG, TIFF or BMP")) from None
    except MemoryError:
        raise _too_large(_MOST_DOTS) from None
    except Exception as fault:  # what a damaged picture does to its reader is not foreseen
        raise _unreadable(str(fault) or type(fault).__name__) from None


def _check_kind(data: bytes) -> None:
    if is_pdf(data):
        raise DocumentError(
            _("it is a PDF, which may hold pictures but is none."),
            remedy=_(
                "Save its page as a PNG first, at 200 dots to the inch (pdftoppm -r 200 -png), or "
                "import it in the editor."
            ),
        )
    if is_heif(data):
        raise DocumentError(
            _("it is a phone's photo as HEIC or AVIF, which cannot be read here."),
            remedy=_("Save it as a JPEG or PNG first."),
        )
    head = data[:512].lstrip()
    if head.startswith(b"<"):
        raise DocumentError(
            _("what is linked is a drawing, not a picture."),
            remedy=_("Open that drawing itself."),
        )


def _check_size(image: Image) -> None:
    width, height = image.size
    most = _MOST_DOTS / _cost(image)
    if width * height > most:
        raise _too_large(most, width, height)
    if min(width, height) < _LEAST_SIDE:
        raise DocumentError(
            _("the picture has {width} by {height} dots, which show no block.").format(
                width=width, height=height
            ),
            remedy=_("Scan the block at 100 to 300 dots to the inch."),
        )


def _cost(image: Image) -> float:
    """Return what a dot costs while it is made grey; a JPEG's is read as grey."""
    if image.format in _JPEG:
        return 1.0
    return next((cost for mode, cost in _COSTS.items() if image.mode.startswith(mode)), _COST)


def _too_large(most: float, *size: int) -> DocumentError:
    what = (
        _("the picture has {dots} million dots, more than the {most} million that are read.")
        if size
        else _("the picture has more dots than the {most} million that are read.")
    )
    dots = significant(math.prod(size) / 1e6, 4) if size else ""
    return DocumentError(
        what.format(dots=dots, most=significant(int(most / 1e6), 4)),
        remedy=_("Scan it at 100 to 200 dots to the inch, or reduce it and give its new --dpi."),
    )


def _unreadable(reason: str) -> DocumentError:
    return DocumentError(
        _("the picture cannot be read ({reason}).").format(reason=reason),
        remedy=_("Save it again as PNG."),
    )


def _said_dpi(image: Image) -> tuple[float, float] | None:
    said = image.info.get("dpi")
    try:
        across, down = (float(part) for part in said or ())
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return (across, down) if all(LEAST_DPI <= part <= MOST_DPI for part in (across, down)) else None


def _has_wide_dots(image: Image) -> bool:
    return image.mode[0] in "IF"


def _upright_grey(image: Image) -> tuple[Grey, int]:
    from PIL import Image as Images
    from PIL import ImageOps

    by = max(1, math.ceil(math.sqrt(image.width * image.height / _ENOUGH_DOTS)))
    if image.format in _JPEG:
        image.draft("L", image.size)
    upright: Image = ImageOps.exif_transpose(image)
    if _has_wide_dots(upright):
        upright = Images.fromarray(_narrowed(np.asarray(upright)))
    elif upright.mode in _CLEAR_MODES or "transparency" in upright.info:
        clear = upright.convert("RGBA")
        upright = Images.new("L", clear.size, 255)
        upright.paste(clear.convert("L"), mask=clear.getchannel("A"))
    elif upright.mode not in ("L", "1", "P", "RGB"):
        upright = upright.convert("RGB")
    grey = upright.convert("L")
    return np.asarray(grey.reduce(by) if by > 1 else grey, dtype=np.uint8), by


def _narrowed(values: Any) -> Grey:
    """Return dots of 16 or 32 bits, or real numbers, as bytes."""
    largest = float(values.max())
    if values.dtype.kind == "f":
        top = 1.0 if largest <= 1.0 else 255.0 if largest <= 255.0 else 65535.0
    else:
        top = next((t for t in (255.0, 4095.0, 65535.0) if largest <= t), largest)
    found = np.empty(values.shape, dtype=np.uint8)
    for row, dots in enumerate(values):
        found[row] = np.clip(dots * (255.0 / top), 0, 255)
    return found
