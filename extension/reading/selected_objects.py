"""What is selected, in words: what each object was understood to be."""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

from drafting_core.model.outline import JOINING_GAP
from drafting_core.plane.curves import chain_length
from drafting_core.text.errors import DraftingError
from drafting_core.text.lengths import told_length
from drafting_core.text.words import _, ngettext
from extension.document.namespaces import svg
from extension.document.path_data import Subpath
from extension.document.roles import (
    drawn_by_us,
    is_layer,
    is_result,
    is_shown_only,
    name_of,
    role_of,
)
from extension.document.shapes import SHAPES, box_of, drawn_elements, mapped_subpaths
from extension.document.svg_document import DocumentError

#: A message lists so many objects at most.
_MOST_LISTED = 6


def refused(understood: Sequence[str], missing: str, remedy: str) -> DocumentError:
    """Return the error that lists what was understood, what is missing and what mends it.

    Args:
        understood: a sentence for every object.
        missing: what is missing, as a sentence.
        remedy: the menu entry that mends it, in a sentence.
    """
    shown = " ".join(understood[:_MOST_LISTED])
    more = len(understood) - _MOST_LISTED
    if more > 0:
        rest = ngettext("And {n} more object.", "And {n} more objects.", more).format(n=more)
        shown = f"{shown} {rest}"
    return DocumentError(
        _("this was understood: {objects} What is missing: {missing}").format(
            objects=shown, missing=missing
        ),
        thing=_("The selection"),
        remedy=remedy,
    )


def described(element: etree._Element, mm: float) -> str:
    """Return a sentence on what an object is, and which role it carries.

    Args:
        element: the object.
        mm: mm to a unit of the root.
    """
    try:
        role = role_of(element)
    except DraftingError:
        role = None
    kind = _kind(element, mm)
    if role is None:
        return kind
    marked = _("It is marked as {role}.").format(role=f'"{role.word}"')
    return f"{kind} {marked}"


def _kind(element: etree._Element, mm: float) -> str:
    name = name_of(element)
    if is_layer(element):
        return _("{name} is a layer.").format(name=name)
    if element.tag == svg("use"):
        return _("{name} is a clone.").format(name=name)
    if element.tag == svg("text"):
        return _("{name} is a text.").format(name=name)
    if element.tag == svg("image"):
        return _("{name} is a picture.").format(name=name)
    if element.tag in (svg("g"), svg("a")):
        inside = sum(1 for e in drawn_elements(element) if e.tag in SHAPES)
        return ngettext(
            "{name} is a group with {n} path.", "{name} is a group with {n} paths.", inside
        ).format(name=name, n=inside)
    if element.tag in SHAPES:
        return _path(element, name, mm)
    return _("{name} is no drawn object.").format(name=name)


def closed_path(name: str, nodes: int, height: float, width: float) -> str:
    """Return the sentence on a closed path; height and width in mm."""
    return _("{name} is a closed path of {n} nodes, {height} high and {width} wide.").format(
        name=name, n=nodes, height=told_length(height), width=told_length(width)
    )


def _path(element: etree._Element, name: str, mm: float) -> str:
    try:
        paths = [path for path in mapped_subpaths(element) if path.segments]
    except DraftingError:
        return _("{name} is a path that cannot be read.").format(name=name)
    if not paths:
        return _("{name} is an empty path.").format(name=name)
    if len(paths) > 1:
        return _("{name} is a path of {n} subpaths.").format(name=name, n=len(paths))
    if _closes(paths[0], mm):
        box = box_of(element)
        height, width = (box.bottom - box.top) * mm, (box.right - box.left) * mm
        if element.tag != svg("path"):
            return _("{name} is a closed shape, {height} high and {width} wide.").format(
                name=name, height=told_length(height), width=told_length(width)
            )
        return closed_path(name, len(paths[0].segments), height, width)
    length = chain_length(paths[0].segments) * mm
    return _("{name} is an open path, {length} long.").format(name=name, length=told_length(length))


def is_closed_path(element: etree._Element, mm: float) -> bool:
    """Tell whether an object is one closed path or shape, or one whose ends all but meet.

    Args:
        element: the object.
        mm: mm to a unit of the root.
    """
    path = _only_path(element)
    return path is not None and _closes(path, mm)


def is_open_path(element: etree._Element, mm: float) -> bool:
    """Tell whether an object is one open path of some length.

    Args:
        element: the object.
        mm: mm to a unit of the root.
    """
    path = _only_path(element)
    return path is not None and not _closes(path, mm) and chain_length(path.segments) > 0.0


def _only_path(element: etree._Element) -> Subpath | None:
    if element.tag not in SHAPES:
        return None
    try:
        paths = [path for path in mapped_subpaths(element) if path.segments]
    except DraftingError:
        return None
    return paths[0] if len(paths) == 1 else None


def _closes(path: Subpath, mm: float) -> bool:
    gap = abs(path.segments[-1].end - path.segments[0].start) * mm
    return path.closed or (len(path.segments) > 1 and gap <= JOINING_GAP)


def result_around(element: etree._Element) -> etree._Element | None:
    """Return the result or teaching sheet that drew an object, or None."""
    if is_result(element) or is_shown_only(element):
        return element
    for ancestor in element.iterancestors():
        if is_shown_only(ancestor):
            return ancestor
        if is_result(ancestor) and drawn_by_us(element):
            return ancestor
    return None


def outline_group(element: etree._Element) -> etree._Element | None:
    """Return the group around an object that is an outline, or None."""
    for ancestor in element.iterancestors():
        if ancestor.tag == svg("g"):
            role = role_of(ancestor)
            if role is not None and role.word == "outline":
                return ancestor
    return None
