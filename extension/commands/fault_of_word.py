"""In the editor: whether a fault lies in what the dialog says, or in the drawing."""

from __future__ import annotations

import copy
from collections.abc import Callable

from lxml import etree

from drafting_core.model.seam_names import SEAMS_IN_ORDER
from drafting_core.text.errors import DraftingError, PlaceError, SettingError
from extension.commands.asked import Asked, Run
from extension.document.svg_document import DocumentError
from extension.options.options import AUTO, NO_SEAM, Option
from extension.options.picked_place import place_asked_for
from extension.options.settings_text import is_default

#: What is typed and yet asks for nothing that could be impossible.
_HARMLESS = {"name", "size", "report", "pdf"}


def is_of_a_word(
    job: Callable[[Asked], Run], asked: Asked, error: DraftingError, root: etree._Element
) -> bool:
    """Tell whether what a dialog says is wrong, or not yet whole.

    That is a setting that makes no sense; a place that is typed or picked and is not there; and
    whatever can be read and yet asks for what cannot be, as "50m" on the way to "50mm": a fault
    that goes, or becomes another one, when typed words are left out.

    Args:
        job: the command's job.
        asked: what was asked for in the dialog.
        error: the fault that came of it.
        root: the root of the document, which is left as it is.
    """
    if isinstance(error, DocumentError) or not any(option.in_dialog for option in asked.options):
        return False
    if isinstance(error, SettingError):
        return True
    try:
        place = _named_place(asked)
    except PlaceError:
        return True
    if place and isinstance(error, PlaceError):
        return True
    return _goes_without_words(job, asked, error, root, place)


def _named_place(asked: Asked) -> str:
    """Return the place that is typed or picked, in words; an empty text where marks say it.

    Raises:
        PlaceError: if what is typed and picked names none, or two.
    """
    values = asked.values()
    return place_asked_for(values) if "target" in values else values.get("to", "").strip()


def _goes_without_words(
    job: Callable[[Asked], Run],
    asked: Asked,
    error: DraftingError,
    root: etree._Element,
    place: str,
) -> bool:
    dialog = [option for option in asked.options if option.in_dialog]
    typed = [option for option in dialog if _is_typed(option)]
    if all(is_default(option, asked.given[option.name], asked.unit) for option in typed):
        return False
    plain = {option.name: option.default for option in typed}
    if "target" in asked.given:
        # Places are tried in words, wherever they come from.
        plain |= {"target": AUTO, "seam": NO_SEAM}

    def fault(**changed: str) -> DraftingError | None:
        try:
            job(asked._replace(given={**asked.given, **changed}))(copy.deepcopy(root))
        except DraftingError as other:
            return other
        return None

    def is_another(other: DraftingError | None) -> bool:
        return other is None or str(other) != str(error)

    if is_another(fault(**{**plain, "to": place} if "to" in plain else plain)):
        return True
    if place:
        # Without a target on the drawing any place will do, of those that the block has.
        for to in ("", *SEAMS_IN_ORDER):
            other = fault(**{**plain, "to": to})
            if not isinstance(other, PlaceError):
                if is_another(other):
                    return True
                break
    # While a word is typed, what a list asks for is not yet all that will be asked.
    chosen = {option.name: option.default for option in dialog if option.name not in _HARMLESS}
    return fault(**chosen) is None


def _is_typed(option: Option) -> bool:
    return not (
        option.choices or option.dialog_choices or option.is_switch or option.name in _HARMLESS
    )
