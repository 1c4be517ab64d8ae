"""Pictures told from drawings by how their bytes begin."""

from __future__ import annotations

#: How pictures begin that a scanner, a camera or a program writes.
_BEGINNINGS = (
    b"\x89PNG\r\n",
    b"\xff\xd8\xff",
    b"II*\0",
    b"MM\0*",
    b"II+\0",
    b"MM\0+",
    b"BM",
    b"GIF8",
    b"P1",
    b"P2",
    b"P3",
    b"P4",
    b"P5",
    b"P6",
)
#: What is no picture of dots that can be read here, and yet what scans come as.
_PDF = b"%PDF"
_HEIF = (b"ftypheic", b"ftypheix", b"ftyphevc", b"ftypmif1", b"ftypmsf1", b"ftypavif")


def is_picture(data: bytes) -> bool:
    """Tell whether bytes are a picture, or a document that holds one, and no drawing."""
    return data.startswith((*_BEGINNINGS, _PDF)) or _is_webp(data) or is_heif(data)


def is_pdf(data: bytes) -> bool:
    """Tell whether bytes are a PDF, which scanners write too."""
    return data.startswith(_PDF)


def is_heif(data: bytes) -> bool:
    """Tell whether bytes are a phone's photo of a kind that few programs read."""
    return data[4:12] in _HEIF


def _is_webp(data: bytes) -> bool:
    return data[:4] == b"RIFF" and data[8:12] == b"WEBP"
