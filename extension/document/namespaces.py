"""The names of SVG, the editor and Dartswing in XML."""

from __future__ import annotations

SVG = "http://www.w3.org/2000/svg"
INKSCAPE = "http://www.inkscape.org/namespaces/inkscape"
SODIPODI = "http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd"
DARTSWING = "urn:dartswing:1"

LABEL = f"{{{INKSCAPE}}}label"
GROUP_MODE = f"{{{INKSCAPE}}}groupmode"
#: The kind of sheet that says where something cannot be drafted (see `check_here`).
CHECK_KIND = "check"
#: The kind of sheet on which a clean-up shows what it did (see `write_clean`).
CLEAN_UP_KIND = "clean-up"
#: The attribute of a layer that holds a block made by a clean-up.
CLEAN = "clean"
#: The attribute of an outline that says which marks belong to the trace that it was made of.
CLEANED_FROM = "cleaned-from"

#: The prefixes of what Dartswing writes: an element made with them declares them once.
PREFIXES = {"dartswing": DARTSWING, "inkscape": INKSCAPE, "sodipodi": SODIPODI}


def svg(tag: str) -> str:
    """Return an SVG element's full name."""
    return f"{{{SVG}}}{tag}"


def ours(attribute: str) -> str:
    """Return the full name of one of Dartswing's attributes."""
    return f"{{{DARTSWING}}}{attribute}"
