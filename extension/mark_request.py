"""The options of Mark parts, and the request that they make."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from extension.mark_parts import MarkRequest
from extension.settings_text import MARKING, UNITS, Option


def marking_options() -> tuple[Option, ...]:
    """Return the options of Mark parts, in the order of its dialog."""
    return (*MARKING, UNITS)


def request_from(values: Mapping[str, str], selection: Sequence[str]) -> MarkRequest:
    """Return the request that options make: what stands at its default says nothing.

    Args:
        values: texts by the option's name; what is missing is at its default.
        selection: the ids of the selected objects.
    """
    given = {option.name: values.get(option.name, option.default) for option in marking_options()}
    defaults = {option.name: option.default for option in marking_options()}
    carried = {
        name: text
        for name, text in given.items()
        if name not in ("role", "unit") and text.strip() != defaults[name]
    }
    return MarkRequest(given["role"], carried, tuple(selection), given["unit"])
