"""Which outlines a selection means, for marking a block; and what is wrong where it means none."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from lxml import etree

from drafting_core.text.errors import DraftingError
from drafting_core.text.lengths import in_words
from drafting_core.text.words import _
from extension.document import roles
from extension.document.namespaces import svg
from extension.document.roles import (
    is_layer,
    is_result,
    is_shown_only,
    name_of,
    our_attributes,
    role_of,
)
from extension.document.shapes import CLONE, SHAPES, box_of, drawn_elements, mapped_subpaths
from extension.document.svg_document import DocumentError, elements_with_ids
from extension.document.visibility import is_hidden, is_locked
from extension.marking.marks_layer import NOTE_OF, SIGN_OF, is_marks_layer
from extension.reading.selected_objects import (
    described,
    is_closed_path,
    is_open_path,
    refused,
    result_around,
)

#: Beside a block, a closed path of less than this part of its diagonal is a dot or a hole.
DOT = 1 / 10


def outlines_meant(
    root: etree._Element, selection: Sequence[str], mm: float
) -> list[etree._Element]:
    """Return the outlines that a selection means.

    Raises:
        DocumentError: listing what was understood, what is missing, and what mends it.
    """
    objects = elements_with_ids(root, selection)
    if not objects:
        closed = _seen([e for e in drawn_elements(root) if _may_be_block(e, mm)])
        thing = _("The drawing")
        fault = DocumentError(
            _("nothing is selected. What is missing: a closed path, the block's stitch line."),
            remedy=_("Select it, then choose Extensions > Dartswing > Mark a block."),
        )
        if not closed:
            raise fault
        error = refused(
            [described(element, mm) for element in closed],
            _("a selection."),
            _("Select the block's stitch line, then choose Extensions > Dartswing > Mark a block."),
        )
        error.thing = thing
        raise error
    understood = [described(element, mm) for element in objects]
    found: dict[etree._Element, None] = {}
    astray = []
    for element in objects:
        inside = list(_meant(element, mm))
        found |= dict.fromkeys(inside)
        if not inside:
            astray.append(element)
    # Who selects all selects the marks of her blocks too.
    wrong = [e for e in astray if not found or not (_is_mark(e) or _is_dot(e, found))]
    if wrong:
        fault = refused(understood, *_what_is_wrong(wrong[0], mm))
        fault.place = _gap_of(wrong[0], mm)
        raise fault
    return list(_large(found))


def only_block(root: etree._Element, mm: float) -> str:
    """Return the id of the one closed path that can be a block, or an empty text.

    Args:
        root: the root of the document.
        mm: mm to a unit of the root.
    """
    shown = [e for e in drawn_elements(root) if _may_be_block(e, mm) and not is_hidden(e)]
    found = _large(_seen(shown))
    return str(found[0].get("id") or "") if len(found) == 1 else ""


def _seen(elements: Sequence[etree._Element]) -> list[etree._Element]:
    """Return the objects that are neither hidden nor locked, where there are any; else all."""
    return [e for e in elements if not (is_hidden(e) or is_locked(e))] or list(elements)


def _may_be_block(element: etree._Element, mm: float) -> bool:
    around = (element, *element.iterancestors())
    return is_closed_path(element, mm) and not any(is_result(e) or is_shown_only(e) for e in around)


def _meant(element: etree._Element, mm: float) -> Iterator[etree._Element]:
    """Yield the outlines that one selected object means."""
    if result_around(element) is not None or _is_mark(element):
        return
    around = [e for e in element.iterancestors() if e.tag == svg("g") and role_of(e) is not None]
    if around:
        # A part of an outline means that outline.
        yield from (e for e in around if is_outline(e))
        return
    if is_closed_path(element, mm) or is_outline(element):
        yield element
        return
    if element.tag in (svg("g"), svg("a")):
        yield from _meant_by_group(element, mm)


def _meant_by_group(group: etree._Element, mm: float) -> Iterator[etree._Element]:
    """Yield the outlines in a selected group: those that are marked, itself, or closed paths."""
    inside = list(drawn_elements(group))
    if marked := [e for e in inside if is_outline(e) and result_around(e) is None]:
        yield from marked
        return
    paths = [e for e in inside if e.tag in SHAPES]
    if paths and all(is_open_path(e, mm) for e in paths) and not is_layer(group):
        yield group
        return
    closed = [e for e in paths if is_closed_path(e, mm) and not _other_role(e)]
    yield from _large(closed)


def _large(elements: Iterable[etree._Element]) -> list[etree._Element]:
    """Return the outlines among objects: those that are marked, and the closed paths but dots."""
    objects = list(elements)
    sizes = {element: _size(element) for element in objects}
    largest = max(sizes.values(), default=0.0)
    return [e for e in objects if sizes[e] > largest * DOT or is_outline(e)]


def _size(element: etree._Element) -> float:
    box = box_of(element)
    return abs(complex(box.right - box.left, box.bottom - box.top))


def _is_dot(element: etree._Element, outlines: Iterable[etree._Element]) -> bool:
    """Tell whether an object is a clone as small as a dot beside outlines."""
    if element.tag != CLONE:
        return False
    try:
        return _size(element) <= max(map(_size, outlines)) * DOT
    except DraftingError:
        return False


def is_outline(element: etree._Element) -> bool:
    """Tell whether an object is marked as a block's outline."""
    role = role_of(element)
    return role is not None and role.word == roles.OUTLINE


def _other_role(element: etree._Element) -> bool:
    role = role_of(element)
    return role is not None and role.word != roles.OUTLINE


def _is_mark(element: etree._Element) -> bool:
    """Tell whether an object is a mark of a block, a sign, or the layer of marks."""
    ours = our_attributes(element)
    return (
        _other_role(element) or not {SIGN_OF, NOTE_OF}.isdisjoint(ours) or is_marks_layer(element)
    )


def _gap_of(element: etree._Element, mm: float) -> complex | None:
    """Return where a path does not close, or where its second subpath starts, in mm, or None."""
    paths = (
        [path for path in mapped_subpaths(element) if path.segments] if _is_path(element) else []
    )
    if len(paths) > 1:
        return paths[1].start * mm
    if not paths or not is_open_path(element, mm):
        return None
    return (paths[0].start + paths[0].end) / 2 * mm


def _is_path(element: etree._Element) -> bool:
    return element.tag in SHAPES and result_around(element) is None and not _is_mark(element)


def _what_is_wrong(element: etree._Element, mm: float) -> tuple[str, str]:
    """Return what an object lacks to be a block's outline, and what mends it."""
    name = name_of(element)
    if result_around(element) is not None:
        return (
            _("{name} was drawn by Dartswing and carries its marks already.").format(name=name),
            _("Choose Extensions > Dartswing > Move dart or Allowances for it as it is."),
        )
    if element.tag == CLONE:
        return (
            _("{name} is a clone, and a clone has no shape of its own.").format(name=name),
            _("Unlink it first (Edit > Clone > Unlink Clone)."),
        )
    if any(map(_other_role, (element, *element.iterancestors()))):
        return (
            _("{name} is marked, or in a group that is marked, as something else.").format(
                name=name
            ),
            _("Take that off by Extensions > Dartswing > Mark parts, with the role none."),
        )
    if element.tag in SHAPES:
        if len([path for path in mapped_subpaths(element) if path.segments]) > 1:
            return (
                _("{name} is more than one path.").format(name=name),
                _("Take it apart (Path > Break Apart) and select the stitch line alone."),
            )
        path = next((path for path in mapped_subpaths(element) if path.segments), None)
        gap = 0.0 if path is None else abs(path.start - path.end) * mm
        return (
            _("{name} is no closed path: its ends lie {gap} apart.").format(
                name=name, gap=in_words(gap)
            ),
            _(
                "Close it with the node tool; or group the paths that meet end to end "
                "(Object > Group) and select the group."
            ),
        )
    if is_layer(element) or element.tag in (svg("g"), svg("a")):
        return (
            _("there is no closed path in {name}.").format(name=name),
            _(
                "Select the block's closed path itself; or group the paths that meet end to end "
                "(Object > Group) and select the group."
            ),
        )
    return (
        _("{name} has no shape of a block.").format(name=name),
        _("Turn it into a path (Path > Object to Path), or draw over it with the pen tool."),
    )
