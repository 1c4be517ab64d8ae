"""Mark parts: giving selected objects a role without typing it, and taking it off again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from lxml import etree

from drafting_core.text.errors import DraftingError, SettingError
from drafting_core.text.words import N_, _, listed, ngettext
from extension.document import roles
from extension.document.namespaces import LABEL, ours, svg
from extension.document.roles import drawn_by_us, is_layer, name_of, our_attributes, role_of
from extension.document.shapes import CLONE, SHAPES, centre_of
from extension.document.svg_document import DocumentError, elements_with_ids, units
from extension.marking.marks_layer import SIGN_OF, MarksWriter, marks_layer
from extension.marking.said_role import Saying, own_label, say, unsay
from extension.options.options import MARKING, UNITS
from extension.reading.selected_objects import (
    described,
    is_closed_path,
    is_open_path,
    outline_group,
    refused,
    result_around,
)
from extension.reading.source_block import Drawing, SourceBlock

NONE = "none"
#: What every role may carry, by option.
CARRIED = {
    roles.OUTLINE: (),
    roles.APEX: (),
    roles.TARGET: ("share", "as"),
    roles.SEAM: ("seam", "name", "allowance", "fold", "turned", "mate"),
    roles.HOLD: (),
    roles.DART: ("share",),
    roles.GRAIN: (),
    roles.NOTCH: (),
    roles.KNOWN_LENGTH: ("length",),
    roles.KNOWN_RECTANGLE: ("length",),
    roles.KNOWN_GRID: ("length",),
    roles.INNER_LINE: (),
    roles.STYLE_LINE: ("name",),
    NONE: (),
}
#: Roles that a block has once: given to several objects at a time, one of them is a slip.
_SINGLE = (roles.APEX, roles.HOLD, roles.GRAIN, roles.STYLE_LINE)
_OPEN_PATHS = (roles.GRAIN, roles.KNOWN_LENGTH, roles.STYLE_LINE)
_NEEDED = {
    roles.GRAIN: N_("a grainline is an open path."),
    roles.KNOWN_LENGTH: N_("a known length is an open path, drawn over what was measured."),
    roles.STYLE_LINE: N_("a style line is one open path across the block."),
}


class MarkRequest(NamedTuple):
    """What is to be said of the selected objects.

    Attributes:
        role: the role, or ``none`` to take it off.
        carried: what it carries, by option, as typed; what is left out says nothing.
        selection: the ids of the selected objects.
        unit: the unit of a bare number.
    """

    role: str
    carried: Mapping[str, str] = MappingProxyType({})
    selection: Sequence[str] = ()
    unit: str = "mm"


def as_the_dialog_means(request: MarkRequest) -> MarkRequest:
    """Return a request without what a dialog only remembers from a mark before.

    That is what does not belong to the role, and a name beside a chosen seam.
    """
    belongs = set(CARRIED[request.role])
    if "seam" in request.carried and "seam" in belongs:
        belongs.discard("name")
    return request._replace(
        carried={name: text for name, text in request.carried.items() if name in belongs}
    )


def mark_parts(root: etree._Element, request: MarkRequest) -> list[str]:
    """Give the selected objects a role, by label and by attributes, and a sign beside each.

    Returns:
        What was done, sentence by sentence.

    Raises:
        DraftingError: if they cannot have that role; the document is then as it was.
    """
    saying = _saying(request)
    mm = units(root)
    objects = elements_with_ids(root, request.selection)
    _check(objects, request.role, mm)
    writer = MarksWriter(root)
    if saying is None:
        return _taken_off(root, objects, writer)
    names = [name_of(element) for element in objects]
    pieces = _pieces(root, objects, mm) if request.role == roles.OUTLINE else {}
    for element in objects:
        piece = pieces.get(element, "")
        say(element, saying)
        if piece:
            element.set(ours("name"), piece)
    writer.refresh_signs(objects)
    return [
        ngettext(
            "{names} is marked as {label}.", "{names} are marked as {label}.", len(names)
        ).format(names=listed(names), label=f'"{saying.label}"')
    ]


def _taken_off(
    root: etree._Element, objects: Sequence[etree._Element], writer: MarksWriter
) -> list[str]:
    names = [name_of(element) for element in objects]
    layer = marks_layer(root)
    for element in objects:
        if layer is not None and drawn_by_us(element) and layer in element.iterancestors():
            element.getparent().remove(element)
        else:
            unsay(element)
    writer.refresh_signs()
    return [
        ngettext(
            "{names} is marked as nothing.", "{names} are marked as nothing.", len(names)
        ).format(names=listed(names))
    ]


def _saying(request: MarkRequest) -> Saying | None:
    """Return the role in words, or None to take one off, refusing what does not belong to it.

    Raises:
        SettingError: naming what does not belong, or is missing.
    """
    carried = {key: text.strip() for key, text in request.carried.items() if text.strip()}
    belongs = CARRIED[request.role]
    for key in carried:
        if key not in belongs:
            raise SettingError(
                _('"{option}" does not belong to the role "{role}".').format(
                    option=key, role=request.role
                ),
                remedy=_("Leave it out, or choose the role that it was meant for."),
            )
    if request.role == NONE:
        return None
    if "seam" in carried:
        if "name" in carried:
            raise SettingError(
                _('the seam is called both "{first}" and "{second}".').format(
                    first=carried["seam"], second=carried["name"]
                ),
                remedy=_("Choose a seam, or write another name."),
            )
        carried["name"] = carried.pop("seam")
    if request.role == roles.SEAM and not carried:
        raise SettingError(
            _("nothing is said of the seam."),
            remedy=_("Give its name, its allowance, or say that it lies on the fold."),
        )
    if request.role == roles.KNOWN_LENGTH and "length" not in carried:
        raise SettingError(
            _("a known length needs its length."), remedy=_('Give it, as in "100mm".')
        )
    if request.role == roles.KNOWN_RECTANGLE and "length" not in carried:
        raise SettingError(
            _("a known rectangle needs its two sides."),
            remedy=_('Give them, as in "210x297mm" or "A4".'),
        )
    if request.role == roles.KNOWN_GRID and "length" not in carried:
        raise SettingError(
            _("a known grid needs the side of its squares."), remedy=_('Give it, as in "25mm".')
        )
    return Saying(request.role, carried, request.unit)


def _check(objects: Sequence[etree._Element], word: str, mm: float) -> None:
    """Refuse objects that cannot have a role.

    Raises:
        DocumentError: listing what was understood, what is missing, and what mends it.
    """
    if not objects:
        raise DocumentError(
            _("nothing is selected."),
            remedy=_(
                "Select what is to be marked, then choose Extensions > Dartswing > Mark parts. "
                "For a whole block select its closed path and choose Mark a block."
            ),
        )
    understood = [described(element, mm) for element in objects]
    for element in objects:
        fault = _fault(element, word, mm)
        if fault is not None:
            raise refused(understood, *fault)
    if word in _SINGLE and len(objects) > 1:
        raise refused(
            understood,
            _('a block has one object marked as "{role}", and {n} are selected.').format(
                role=word, n=len(objects)
            ),
            _(
                "Select one of them and choose Extensions > Dartswing > Mark parts again. Several "
                "lines become one by Path > Combine."
            ),
        )


def _is_seam_name(element: etree._Element, word: str) -> bool:
    """Tell whether something is to be said of a seam by the word that stands beside it."""
    return word == roles.SEAM and our_attributes(element).get("part") == "seam-name"


def _fault(element: etree._Element, word: str, mm: float) -> tuple[str, str] | None:
    """Return what an object lacks for a role and what mends it, or None."""
    name = name_of(element)
    if is_layer(element):
        return (
            _("a layer has no role, only the objects in it."),
            _("Select the objects themselves (Edit > Select All in the layer)."),
        )
    if our_attributes(element).get(SIGN_OF):
        return (
            _("{name} is a sign that Dartswing drew, not the object that it stands beside.").format(
                name=name
            ),
            _("Select that object, then choose Extensions > Dartswing > Mark parts."),
        )
    if element.tag == CLONE and word not in roles.PLACED and word != NONE:
        return (
            _("{name} is a clone, and a clone has no shape of its own.").format(name=name),
            _("Unlink it first (Edit > Clone > Unlink Clone)."),
        )
    if result_around(element) is not None and not _is_seam_name(element, word):
        return (
            _("{name} was drawn by Dartswing and carries its role already.").format(name=name),
            _("Mark your own drawing, or add an object of your own to the result."),
        )
    group = outline_group(element)
    if group is not None and word not in (roles.SEAM, roles.DART, NONE):
        return (
            _(
                "{name} is a part of the outline {group}, of which only a seam's name or a dart's "
                "leg can be said."
            ).format(name=name, group=name_of(group)),
            _("Take it out of the group (Object > Pop Selected Objects out of Group)."),
        )
    if word == roles.OUTLINE:
        return _outline_fault(element, mm)
    if word != NONE and _is_outline(element):
        return (
            _("{name} is a block's outline already.").format(name=name),
            _("Select a small object of its own for the mark; or take the outline off first."),
        )
    if word in _OPEN_PATHS and not is_open_path(element, mm):
        return _(_NEEDED[word]), _("Draw it with the pen tool, or Path > Object to Path helps.")
    if word == roles.KNOWN_RECTANGLE and not is_closed_path(element, mm):
        return (
            _("a known rectangle is a closed path of four corners, along a sheet of paper."),
            _("Draw it with the pen tool, corner after corner, and close it."),
        )
    if word == roles.KNOWN_GRID and not is_closed_path(element, mm):
        return (
            _("a known grid is a closed path of four corners, about whole squares of a grid."),
            _("Draw it with the pen tool, corner after corner, and close it."),
        )
    if word == roles.INNER_LINE and element.tag not in SHAPES:
        return (
            _("an inner line is a path or a shape."),
            _("Turn it into a path (Path > Object to Path)."),
        )
    if word != NONE:
        try:
            centre_of(element)
        except DraftingError as error:
            return error.what, error.remedy
    return None


def _outline_fault(element: etree._Element, mm: float) -> tuple[str, str] | None:
    if element.tag not in SHAPES and element.tag not in (svg("g"), svg("a")):
        return (
            _("a block's outline is a closed path, or a group of paths that meet end to end."),
            _("Turn it into a path (Path > Object to Path), or draw over it with the pen tool."),
        )
    # Only an outline needs what reads one.
    from drafting_core.model.outline import checked
    from extension.reading.read_outline import outline_edges

    try:
        checked(outline_edges(SourceBlock(element, None, mm)))
    except DraftingError as error:
        return error.what, error.remedy
    return None


def _pieces(
    root: etree._Element, objects: Sequence[etree._Element], mm: float
) -> dict[etree._Element, str]:
    """Return the pieces' names that the labels of outlines-to-be were, where nothing else does."""
    return {element: name_kept(root, element, objects, mm) for element in objects}


def name_kept(
    root: etree._Element, element: etree._Element, outlines: Sequence[etree._Element], mm: float
) -> str:
    """Return the drafter's own label of an outline-to-be, where it is its piece's only name.

    Args:
        root: the root of the document.
        element: the outline-to-be.
        outlines: all that are to be outlines.
        mm: mm to a unit of the root.
    """
    own = own_label((element.get(LABEL) or "").strip(), our_attributes(element))
    if not own:
        return ""
    from extension.reading.block_marks import piece_name

    known = {*outlines, *(e for e in root.iter(*SHAPES, svg("g")) if _is_outline(e))}
    blocks = [SourceBlock(outline, None, mm) for outline in known]
    drawing = Drawing(blocks)
    return "" if piece_name(SourceBlock(element, None, mm), drawing) else own


def _is_outline(element: etree._Element) -> bool:
    try:
        role = role_of(element)
    except DraftingError:
        return False
    return role is not None and role.word == roles.OUTLINE


def mark_request(values: Mapping[str, str], selection: Sequence[str]) -> MarkRequest:
    """Return the request that options make: what stands at its default says nothing.

    Args:
        values: texts by the option's name; what is missing is at its default.
        selection: the ids of the selected objects.
    """
    given = {option.name: values.get(option.name, option.default) for option in (*MARKING, UNITS)}
    defaults = {option.name: option.default for option in (*MARKING, UNITS)}
    carried = {
        name: text
        for name, text in given.items()
        if name not in ("role", "unit") and text.strip() != defaults[name]
    }
    return MarkRequest(given["role"], carried, tuple(selection), given["unit"])
