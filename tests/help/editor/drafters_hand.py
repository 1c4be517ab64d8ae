"""A drafter's hand on an open drawing: objects picked, nodes clicked and dragged where they lie.

Where a place of the drawing lies on the screen is seen, not reckoned: two small spots of rare
colours stand in the drawing, and are looked for in a picture of the screen.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.help.editor.editor import RealEditor
from tests.help.editor.editor_session import Session, session

#: The spots' colours, and where they lie, in the drawing's units.
SPOTS = {(200, 61, 119): 30 + 150j, (61, 119, 200): 60 + 350j}
_SPOT = 4.0
#: So far (px) the mouse goes for the editor to take it for a drag.
_FIRST_STEP = 10.0
#: The letters of the keys that pick objects, held with all three modifiers.
_LETTERS = "abcdefghijklmnopqrstuvwxyz"


def spots_layer() -> str:
    """Return the layer with the two spots, locked, as the text of a drawing."""
    spots = "".join(
        f'<rect id="spot-{number}" x="{z.real - _SPOT / 2:g}" y="{z.imag - _SPOT / 2:g}" '
        f'width="{_SPOT:g}" height="{_SPOT:g}" style="fill:#{red:02x}{green:02x}{blue:02x}"/>'
        for number, ((red, green, blue), z) in enumerate(SPOTS.items())
    )
    return (
        '<g id="spots" inkscape:groupmode="layer" inkscape:label="Buttons" '
        'xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd" '
        f'sodipodi:insensitive="true">{spots}</g>'
    )


@dataclass
class Hand:
    """A hand on an open drawing.

    Attributes:
        session: the editor with the drawing.
        keys: the keys that pick objects, by the ids that they pick.
    """

    session: Session
    keys: Mapping[tuple[str, ...], str]

    def press(self, *keys: str) -> None:
        """Press keys, as xdotool names them, in a row, and wait until what they start is done."""
        self.session.xdotool("key", *keys)
        self.session.wait_idle()

    def pick(self, *ids: str) -> None:
        """Select objects by their ids, and nothing else."""
        self._press_with(ids)

    def pick_everything(self) -> None:
        """Select everything that is visible and not locked, on all layers."""
        self.press("Escape", "ctrl+alt+a")

    def show(self, *ids: str) -> None:
        """Select objects and zoom to them."""
        self._press_with(ids, "3")

    def nodes(self, *ids: str) -> None:
        """Select objects, zoom to them, and take the node tool."""
        self._press_with(ids, "3", "F2")

    def click(self, *places: complex, times: int = 1) -> None:
        """Click at places of the drawing; at all but the first with Shift held."""
        for number, place in enumerate(places):
            self._move(self._on_screen(place))
            self.session.wait_idle()
            if number:
                self.session.xdotool("keydown", "shift")
            self.session.xdotool("click", "--repeat", str(times), "--delay", "30", "1")
            if number:
                self.session.xdotool("keyup", "shift")
            self.session.wait_idle()

    def drag(self, start: complex, end: complex) -> None:
        """Drag what lies at a place of the drawing to another place."""
        here, there = self._on_screen(start), self._on_screen(end)
        self._move(here)
        self.session.wait_idle()
        self.session.xdotool("mousedown", "1")
        # What is dragged stays behind by the first step.
        first = min(0.5, _FIRST_STEP / abs(there - here))
        for part in (first, 0.5, 0.9, 1.0):
            self._move(here + part * (there - here))
            self.session.wait_idle()
        self.session.xdotool("mouseup", "1")
        self.session.wait_idle()

    def type_at(self, place: complex, *keys: str, text: str) -> None:
        """Double-click a text, press keys in it, such as the one for all of it, and type."""
        self.click(place, times=2)
        self.press(*keys)
        self.session.type(text)
        self.press("F1")

    def label(self, text: str) -> None:
        """Type the label of the selected object in its properties."""
        # The dialog opens with the field that is the third below the label.
        self.press("ctrl+shift+o")
        self.press("shift+Tab", "shift+Tab", "shift+Tab", "ctrl+a")
        self.session.type(text)
        self.press("Return")

    def _press_with(self, ids: tuple[str, ...], *keys: str) -> None:
        self.press("Escape", self.keys[ids], *keys)

    def _move(self, z: complex) -> None:
        self.session.xdotool("mousemove", f"{z.real:.0f}", f"{z.imag:.0f}")

    def _on_screen(self, place: complex) -> complex:
        """Return where a place of the drawing is seen; the view is never turned."""
        picture = np.asarray(self.session.picture().convert("RGB"))
        seen = []
        for colour in SPOTS:
            rows, columns = np.nonzero((picture == colour).all(axis=2))
            assert rows.size, "a spot is not on the screen"
            seen.append(complex(columns.mean() + 0.5, rows.mean() + 0.5))
        first, second = SPOTS.values()
        scale = abs(seen[1] - seen[0]) / abs(second - first)
        return seen[0] + scale * (place - first)


@contextlib.contextmanager
def hand_on(
    editor: RealEditor,
    drawing: Path,
    picks: Sequence[tuple[str, ...]],
    actions: Mapping[str, str],
) -> Iterator[Hand]:
    """Open a drawing and lay a hand on it.

    Args:
        editor: the editor.
        drawing: the file.
        picks: the ids of objects that are to be picked together, for each time.
        actions: further actions and their keys.

    Yields:
        The hand.
    """
    letters = dict(zip(picks, _LETTERS, strict=False))
    binds = {
        f"select-by-id('{','.join(ids)}')": f"<Primary><Shift><Alt>{letter}"
        for ids, letter in letters.items()
    }
    keys = {ids: f"ctrl+shift+alt+{letter}" for ids, letter in letters.items()}
    with session(editor, drawing, {**binds, **actions}) as opened:
        yield Hand(opened, keys)
