"""Brings the catalogues up to date with the code: ``python -m tests.help.texts.catalogues``.

Collects every text that goes through gettext and every text of the dialogs, adds what is new to
each catalogue in ``extension/locale``, takes out what is gone, and compiles them. What it says is
still to be translated.
"""

from __future__ import annotations

import ast
import datetime
import io
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from babel.messages.catalog import Catalog
from babel.messages.catalog import Message as CatalogMessage
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from lxml import etree

from tests.help.texts.untranslated import ROOT, code_files

LANGUAGES = ("de", "es")
_ONE_DAY = datetime.datetime(2026, 1, 1, tzinfo=datetime.timezone.utc)
LICENCE = "Licence: GPL-2.0-or-later."
EXTENSION = ROOT / "extension"
INX = "{http://www.inkscape.org/namespace/inkscape/extension}"
#: What the editor translates in a dialog.
SHOWN_TEXTS = ("name", "label", "option", "item", "menu-tip")
SHOWN_ATTRIBUTES = ("gui-text", "gui-description")
#: What a dialog shows that is the same in every language: units, formats of paper.
SAME_EVERYWHERE = frozenset({"mm", "cm", "in", "A4", "Letter"})


class Message(NamedTuple):
    """A text to be translated.

    Attributes:
        text: the English text; for a text that goes with a number, one and many.
        where: file and line where it stands.
    """

    text: str | tuple[str, str]
    where: tuple[str, int]

    @property
    def key(self) -> str:
        """The text by which a catalogue finds it."""
        return self.text if isinstance(self.text, str) else self.text[0]


def messages() -> list[Message]:
    """Return every text that a drafter may read, in the order of the files."""
    found = [message for file in code_files() for message in _of_code(file)]
    found += [m for dialog in sorted(EXTENSION.glob("*.inx")) for m in _of_dialog(dialog)]
    return found


def template() -> Catalog:
    """Return a catalogue of all texts without translations."""
    catalogue = Catalog(project="Dartswing", charset="utf-8", header_comment="")
    for message in messages():
        catalogue.add(message.text, locations=[message.where])
    return catalogue


def po_file(language: str) -> Path:
    """Return where a language's catalogue is kept."""
    return EXTENSION / "locale" / language / "LC_MESSAGES" / "dartswing.po"


def read_catalogue(language: str) -> Catalog:
    """Return a language's catalogue as it is kept."""
    with po_file(language).open("rb") as file:
        catalogue = read_po(file, locale=language)
    # The hour of the day would make every run another file.
    catalogue.creation_date = catalogue.revision_date = _ONE_DAY
    return catalogue


def compiled(catalogue: Catalog) -> bytes:
    """Return a catalogue as the editor and Python read it."""
    content = io.BytesIO()
    write_mo(content, catalogue)
    return content.getvalue()


def _of_code(file: Path) -> Iterator[Message]:
    where = file.relative_to(ROOT).as_posix()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
            continue
        texts = [argument.value for argument in node.args if isinstance(argument, ast.Constant)]
        if node.func.id in ("_", "N_") and texts and isinstance(texts[0], str):
            yield Message(texts[0], (where, node.lineno))
        elif node.func.id == "ngettext":
            yield Message((str(texts[0]), str(texts[1])), (where, node.lineno))


def _of_dialog(file: Path) -> Iterator[Message]:
    where = file.relative_to(ROOT).as_posix()
    for element in etree.parse(str(file)).iter(etree.Element):
        shown = [element.get(name) for name in SHOWN_ATTRIBUTES]
        if element.tag in {f"{INX}{name}" for name in SHOWN_TEXTS}:
            shown.append(element.text)
        for text in shown:
            if text and text.strip() and text not in SAME_EVERYWHERE:
                yield Message(text, (where, element.sourceline))


def update(language: str) -> list[str]:
    """Bring one catalogue up to date, compile it, and return what it does not translate yet."""
    file = po_file(language)
    file.parent.mkdir(parents=True, exist_ok=True)
    catalogue = read_catalogue(language) if file.is_file() else Catalog(locale=language)
    catalogue.update(template(), no_fuzzy_matching=True)
    catalogue.header_comment = f"# Dartswing in {catalogue.locale_identifier}. {LICENCE}"
    catalogue.project, catalogue.version, catalogue.fuzzy = "Dartswing", "1", False
    catalogue.msgid_bugs_address = catalogue.last_translator = catalogue.language_team = ""
    catalogue.obsolete.clear()
    content = io.BytesIO()
    # Without lines and dates a change of the code changes only the texts that it changes.
    write_po(content, catalogue, no_location=True, omit_header=False, sort_output=True, width=96)
    kept = [line for line in content.getvalue().splitlines(True) if b"-Date: " not in line]
    file.write_bytes(b"".join(kept))
    file.with_suffix(".mo").write_bytes(compiled(read_catalogue(language)))
    return [
        str(message.id)
        for message in read_catalogue(language)
        if message.id and not all(strings(message))
    ]


def strings(message: CatalogMessage) -> list[str]:
    """Return a message's translation; of a text that goes with a number each of them."""
    translation = message.string or ""
    return [translation] if isinstance(translation, str) else list(translation)


if __name__ == "__main__":
    for language in LANGUAGES:
        missing = update(language)
        print(f"{language}: {len(missing)} to be translated")
        for text in missing:
            print(f"  {text}")
