"""The dialogs as their files describe them, and the keys that lead a drafter to a field."""

from __future__ import annotations

from pathlib import Path
from typing import Any, NamedTuple

from lxml import etree

from tests.help.editor.editor_session import Session

ROOT = Path(__file__).parents[3]
INX = "{http://www.inkscape.org/namespace/inkscape/extension}"
#: From what has the focus in a dialog that was just opened, its last button.
_TO_PREVIEW = ("shift+Tab", "shift+Tab")
#: Where a dialog's first tab lies in it (px), in every editor.
_FIRST_TAB = ("50", "32")
#: Where the mouse calls up no tooltip.
_NOWHERE = ("5", "5")
#: Where a dialog is out of the drawing's way, on the virtual screen.
_ASIDE = ("800", "20")
#: The names of the keys that write what is no letter and no digit.
_KEYS = {
    " ": "space",
    ".": "period",
    ",": "comma",
    ":": "colon",
    ";": "semicolon",
    "/": "slash",
    "=": "equal",
}


class Dialog(NamedTuple):
    """A command's dialog.

    Attributes:
        action: the command's id in the editor.
        title: the window's title, which is the command's name in the menu.
        root: the file that describes it.
    """

    action: str
    title: str
    root: Any

    @property
    def tabs(self) -> list[str]:
        """The titles of its tabs."""
        return [str(page.get("gui-text")) for page in self.root.iter(f"{INX}page")]

    @property
    def opens(self) -> bool:
        """Whether it opens at all: without anything to ask the command runs at once."""
        return any(param.get("gui-hidden") != "true" for param in self.root.iter(f"{INX}param"))

    def keys_to(self, field: str) -> list[str]:
        """Return the keys that lead from its tabs, the first one shown, to a field.

        Raises:
            KeyError: if there is no such field on any tab.
        """
        for number, page in enumerate(self.root.iter(f"{INX}page")):
            steps = 1
            for param in page.iter(f"{INX}param"):
                if param.get("name") == field:
                    return ["ctrl+Page_Down"] * number + ["Tab"] * steps
                # A field for a file has a button beside it.
                steps += 2 if param.get("type") == "path" else 1
        raise KeyError(field)


DIALOGS = {
    str(root.findtext(f"{INX}id")): Dialog(
        str(root.findtext(f"{INX}id")), str(root.findtext(f"{INX}name")), root
    )
    for root in (etree.parse(str(file)).getroot() for file in sorted(ROOT.glob("extension/*.inx")))
}


def open_dialog(opened: Session, dialog: Dialog, key: str) -> str:
    """Open a dialog by its key and return the number of its window."""
    opened.press(key)
    return opened.wait_window(f"^{dialog.title}$")


def previewed_field(opened: Session, dialog: Dialog, window: str, field: str) -> None:
    """In a dialog that was just opened switch the live preview on and go to a field."""
    opened.xdotool("windowmove", "--sync", window, *_ASIDE)
    opened.press(*_TO_PREVIEW, "space")
    # What has the focus then differs between editors.
    opened.xdotool("mousemove", "--window", window, *_FIRST_TAB, "click", "1")
    opened.xdotool("mousemove", *_NOWHERE)
    opened.press(*dialog.keys_to(field))


def type_slowly(opened: Session, text: str, pace_ms: int) -> None:
    """Type letter by letter, as a hand does, whatever the editor does meanwhile."""
    steps = []
    for letter in text:
        steps += ["key", _KEYS.get(letter, letter), "sleep", f"{pace_ms / 1000:g}"]
    opened.xdotool(*steps)
    opened.wait_idle()
