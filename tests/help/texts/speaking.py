"""Texts in a language of the catalogues, for as long as a test needs it."""

from __future__ import annotations

import contextlib
import gettext
from collections.abc import Iterator

from drafting_core.text import words
from tests.help.texts.catalogues import LANGUAGES, po_file

#: English, and every language that has a catalogue.
SPOKEN = ("en", *LANGUAGES)


@contextlib.contextmanager
def speaking(language: str) -> Iterator[None]:
    """Let every text come in a language, and in English afterwards."""
    if language in LANGUAGES:
        with po_file(language).with_suffix(".mo").open("rb") as file:
            catalogue = gettext.GNUTranslations(file)
        words.speak(lambda: catalogue)
    try:
        yield
    finally:
        words.speak(None)
