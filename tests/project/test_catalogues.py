"""German and Spanish: nothing missing, nothing stale, every value in its place."""

from __future__ import annotations

import gettext
import io
import re
from string import Formatter

import pytest
from babel.messages.catalog import Message

from drafting_core.model.seam_names import KNOWN_SEAMS, seam_kind
from drafting_core.text import words
from tests.help.texts.catalogues import (
    LANGUAGES,
    compiled,
    messages,
    po_file,
    read_catalogue,
    strings,
)
from tests.help.texts.untranslated import ROOT, code_files, untranslated

ENDS = (".", ":", "?", "!", "…")


def translated(language: str) -> dict[str, Message]:
    return {
        message.id if isinstance(message.id, str) else message.id[0]: message
        for message in read_catalogue(language)
        if message.id
    }


def texts(catalogue: gettext.GNUTranslations) -> dict[object, str]:
    """Return what a compiled catalogue translates, without its head."""
    return {key: text for key, text in vars(catalogue)["_catalog"].items() if key}


def fields(text: str) -> set[tuple[str | None, str | None]]:
    """Return a text's named values with their formats."""
    return {(name, form) for _, name, form, _ in Formatter().parse(text) if name is not None}


@pytest.mark.parametrize("file", code_files(), ids=lambda file: str(file.relative_to(ROOT)))
def test_no_text_for_drafters_bypasses_gettext(file: object) -> None:
    assert list(untranslated(file)) == []  # type: ignore[arg-type]


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_text_is_missing_and_none_is_left_over(language: str) -> None:
    catalogue = translated(language)
    wanted = {message.key for message in messages()}
    assert wanted - set(catalogue) == set()
    assert set(catalogue) - wanted == set()
    assert [key for key, message in catalogue.items() if not all(strings(message))] == []
    assert [key for key, message in catalogue.items() if message.fuzzy] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_value_of_a_text_is_in_its_translation(language: str) -> None:
    for message in translated(language).values():
        originals = [message.id] if isinstance(message.id, str) else list(message.id)
        for translation in strings(message):
            assert fields(translation) in [fields(text) for text in originals], translation


@pytest.mark.parametrize("language", LANGUAGES)
def test_translations_end_as_the_texts_do(language: str) -> None:
    for key, message in translated(language).items():
        for translation in strings(message):
            assert translation == translation.strip() or key != key.strip()
            if key.endswith(ENDS):
                assert translation.endswith((*ENDS, ")")), translation
            # Lists in a dialog keep their lines.
            assert translation.count("\n") == key.count("\n"), translation


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_the_drafter_types_is_not_translated(language: str) -> None:
    """Labels, options and attributes in a text are what she has to type."""
    typed = re.compile(
        r'"(?:outline|apex|target|hold|dart|notch|seam [a-z ]+)"|--[a-z-]+|dartswing:\w+'
    )
    for key, message in translated(language).items():
        for translation in strings(message):
            assert set(typed.findall(key)) <= set(typed.findall(translation)), translation


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_compiled_catalogue_is_up_to_date(language: str) -> None:
    content = po_file(language).with_suffix(".mo").read_bytes()
    catalogue = gettext.GNUTranslations(io.BytesIO(content))
    kept = gettext.GNUTranslations(io.BytesIO(compiled(read_catalogue(language))))
    assert texts(catalogue) == texts(kept), "run python -m tests.help.texts.catalogues"
    words.speak(lambda: catalogue)
    try:
        assert words.listed(["a", "b", "c"]) != "a, b and c"
    finally:
        words.speak(None)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_seam_may_be_named_in_the_drafters_language(language: str) -> None:
    """What the catalogue calls a seam is understood as that seam, whatever the language is."""
    catalogue = translated(language)
    for kind in KNOWN_SEAMS:
        names = [str(catalogue[key].string) for key in (kind, f"the {kind}") if key in catalogue]
        assert names
        for name in names:
            assert seam_kind(name) == seam_kind(name.upper()) == kind, name


@pytest.mark.thorough
def test_no_text_formats_a_number_itself() -> None:
    """A number with decimals has the language's sign, and a length the unit of the run."""
    texts_said = [text for message in messages() for text in (message.text, message.key)]
    formatted = [
        text for said in texts_said for text in ([said] if isinstance(said, str) else said)
    ]
    assert [text for text in formatted if any(form for _name, form in fields(text))] == []


@pytest.mark.thorough
def test_no_text_names_a_length_in_millimetres() -> None:
    """But for the name of the test square, and what dialogs say of their defaults in mm."""
    code = [message for message in messages() if message.where[0].endswith(".py")]
    named = [
        message.key
        for message in code
        if re.search(r"\d (?:mm|cm|in)\b", message.key.replace("50 mm", ""))
    ]
    assert named == ["2 in", "its printable width of {room} has no room for the 2 in test square."]
