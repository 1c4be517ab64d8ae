"""Numbers and points that Dartswing keeps in attributes, read back whatever became of them.

A drafter can change any attribute in the editor, and other programs can round, empty or drop
them: what cannot be used is refused, never guessed and never passed over.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import TypeVar

from drafting_core.text.errors import DraftingError
from drafting_core.text.words import _
from extension.document.svg_document import DocumentError

_Value = TypeVar("_Value")


class UnusableAttributeError(DocumentError):
    """An attribute of ours says something that cannot be used: the message names the object."""


def unusable(name: str, text: str, remedy: str, thing: str = "") -> UnusableAttributeError:
    """Return the error for an attribute that says what cannot be used.

    Args:
        name: the attribute's name, without the prefix.
        text: what it says.
        remedy: what to do about it.
        thing: the object that carries it, as the drafter calls it.
    """
    return UnusableAttributeError(
        _('its attribute {attribute} says "{text}", which cannot be used.').format(
            attribute=f"dartswing:{name}", text=text
        ),
        thing=thing,
        remedy=remedy,
    )


def stored(
    name: str, attributes: Mapping[str, str], read: Callable[[str], _Value], thing: str = ""
) -> _Value:
    """Return what an attribute says, as a reader of texts understands it.

    Args:
        name: the attribute's name, without the prefix.
        attributes: the object's attributes, which have it.
        read: the reader; its remedy says how the text is written.
        thing: the object, as the drafter calls it.

    Raises:
        UnusableAttributeError: if the reader refuses the text.
    """
    try:
        return read(attributes[name])
    except DraftingError as error:
        raise unusable(name, attributes[name], error.remedy, thing) from None


def stored_scale(name: str, attributes: Mapping[str, str], thing: str) -> float | None:
    """Return a number above 0 that an attribute says, or None where there is no attribute.

    Args:
        name: the attribute's name, without the prefix.
        attributes: the object's attributes.
        thing: the object, as the drafter calls it.

    Raises:
        UnusableAttributeError: if it says anything else.
    """
    if name not in attributes:
        return None
    number = _number(attributes[name])
    if not (math.isfinite(number) and number > 0.0):
        raise unusable(
            name,
            attributes[name],
            _("Write a number above 0, like 1.25, or undo the change of that attribute."),
            thing,
        )
    return number


def stored_share(attributes: Mapping[str, str]) -> float:
    """Return the share that an object's attribute says: a number from 0 to 1.

    Raises:
        UnusableAttributeError: if it says anything else.
    """
    share = _number(attributes["share"].replace(",", "."))
    if not 0.0 <= share <= 1.0:
        raise unusable("share", attributes["share"], _("Write a number from 0 to 1, like 0.6."))
    return share


def stored_points(name: str, attributes: Mapping[str, str], thing: str) -> list[complex]:
    """Return the points that an attribute says, in the units in which it says them.

    Args:
        name: the attribute's name, without the prefix.
        attributes: the object's attributes; without this one there are no points.
        thing: the object, as the drafter calls it.

    Raises:
        UnusableAttributeError: if it says anything but points.
    """
    points = []
    for part in attributes.get(name, "").split():
        point = _point(part)
        if point is None:
            remedy = _('Write points like "12.5,30 40,7.25", or undo the change of that attribute.')
            raise unusable(name, attributes[name], remedy, thing)
        points.append(point)
    return points


def stored_point(name: str, attributes: Mapping[str, str], thing: str) -> complex | None:
    """Return the one point that an attribute says, or None where there is no attribute.

    Args:
        name: the attribute's name, without the prefix.
        attributes: the object's attributes.
        thing: the object, as the drafter calls it.

    Raises:
        UnusableAttributeError: if it says anything but one point.
    """
    if name not in attributes:
        return None
    point = _point(attributes[name])
    if point is None:
        remedy = _('Write a point like "12.5,30", or undo the change of that attribute.')
        raise unusable(name, attributes[name], remedy, thing)
    return point


def _point(text: str) -> complex | None:
    x, _comma, y = text.partition(",")
    point = complex(_number(x), _number(y))
    return point if math.isfinite(point.real) and math.isfinite(point.imag) else None


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan
