"""The drafter's language: the editor's own, or the terminal's on the command line."""

from __future__ import annotations

import functools
import gettext
import locale
import os
import sys
from pathlib import Path

from drafting_core.text import words

DOMAIN = "dartswing"
"""The catalogues' name; the dialogs name it too, for the editor to find them."""

CATALOGUES = Path(__file__).parents[1] / "locale"
"""Where the editor looks for an extension's catalogues: beside its dialogs."""

_VARIABLES = ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG")


def speak_the_drafters_language() -> None:
    """Let every text from here on come in the language of the editor or the terminal."""
    found = catalogue_file()
    words.speak(None if found is None else lambda: _catalogue(found))


def catalogue_file() -> str | None:
    """Return the catalogue for the drafter's language, or None where there is none."""
    return gettext.find(DOMAIN, CATALOGUES, _system_languages())


def language_of_words() -> str:
    """Return the language that texts come in, as the web names it (BCP 47), such as "de".

    It is English where there is no catalogue for the language that the system asks for.
    """
    found = catalogue_file()
    return "en" if found is None else Path(found).parents[1].name.replace("_", "-")


def language() -> str:
    """Return the language that the system asks for, such as "de_DE", or an empty string."""
    named = [os.environ[v] for v in _VARIABLES if os.environ.get(v)]
    return named[0].split(":")[0].split(".")[0] if named else (_system_languages() or [""])[0]


def _catalogue(file: str) -> gettext.GNUTranslations:
    with open(file, "rb") as content:
        return gettext.GNUTranslations(content)


def _system_languages() -> list[str] | None:
    """Return the system's language where no variable names one, as on Windows and macOS.

    None leaves it to gettext, which reads the variables. The editor sets LANGUAGE where its
    language was chosen in its preferences.
    """
    if sys.platform not in ("win32", "darwin") or any(os.environ.get(v) for v in _VARIABLES):
        return None
    language = locale.getlocale()[0]
    return [language] if language else None


@functools.cache
def in_every_language(text: str) -> list[str]:
    """Return a text as every catalogue has it, itself the first.

    What was written where one language is spoken may be read where another is.
    """
    found = {text: None}
    for file in sorted(CATALOGUES.glob(f"*/LC_MESSAGES/{DOMAIN}.mo")):
        found[_catalogue(str(file)).gettext(text)] = None
    return list(found)
