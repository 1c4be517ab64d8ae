"""Makes the README's pictures of work at the editor.

``python -m tests.help.pictures.editor_pictures``

Dialogs are taken from the real editor on a virtual screen; drawings are exported by it.
"""

from __future__ import annotations

import copy
import re
import shutil
import tempfile
from pathlib import Path
from typing import Any

from lxml import etree
from PIL import Image

from extension.document.namespaces import ours
from extension.document.path_data import parse
from extension.document.svg_document import parse_document
from extension.drafting.move_and_allow import Request, allow, move
from extension.look.strokes import STROKES
from tests.help.blocks.drawings import circle, marked_front, page
from tests.help.editor.editor import RealEditor, unpack_package, virtual_screen
from tests.help.editor.editor_session import session
from tests.help.editor.effects import run_effect
from tests.help.editor.hand_work import SAMPLE, SVG, designers_drawing, reshaped, traced_drawing
from tests.help.pictures.pictures import GAP, PICTURES, export, save

#: Picture, command, language, how many tabs to the right.
DIALOGS = (
    ("dialog_move", "dartswing.move", "en", 0),
    ("dialog_mark", "dartswing.mark", "en", 0),
    ("dialog_german", "dartswing.move", "de", 0),
    ("dialog_spanish", "dartswing.move", "es", 4),
)
SHOWN = ("stitch-line", "cut-line", "dart-leg", "cap", "dart-point", "notch")


def dialogs() -> None:
    """Take the pictures of dialogs."""
    with tempfile.TemporaryDirectory() as folder, virtual_screen() as screen:
        unpack_package(Path(folder))
        editor = RealEditor(screen, Path(folder))
        drawing = Path(shutil.copy(SAMPLE, Path(folder, "front.svg")))
        for name, command, language, tab in DIALOGS:
            with session(
                editor, drawing, {command: "<Primary><Alt>a"}, {"LANGUAGE": language}
            ) as e:
                e.press("ctrl+alt+a")
                window = e.xdotool("getactivewindow").strip()
                e.press("Tab", *["Right"] * tab)
                picture = e.window_picture(window).convert("RGB")
            picture.quantize(64).save(PICTURES / f"{name}.png", optimize=True)


def exported(root: Any) -> Image.Image:
    """Return a picture of a drawing."""
    with tempfile.TemporaryDirectory() as folder:
        drawing = Path(folder, "drawing.svg")
        drawing.write_bytes(etree.tostring(root))
        picture = export(drawing, Path(folder, "drawing.png"), "--export-area-drawing")
        picture.load()
        return picture


def check_here() -> None:
    """Show what an apex outside of the outline leaves."""
    with tempfile.TemporaryDirectory() as folder:
        drawing = Path(folder, "front.svg")
        drawing.write_text(page(marked_front(apex=circle("apex", 255, 150))), encoding="utf-8")
        answer = run_effect("move", drawing)
        signed = parse_document(answer.document.encode()).getroot()
        for path in signed.iter(f"{SVG}path", f"{SVG}circle"):
            if "style" not in path.attrib:
                path.set("style", "fill:none;stroke:#000;stroke-width:0.7")
        drawing.write_bytes(etree.tostring(signed))
        export(drawing, Path(folder, "p.png"), "--export-area-drawing", resolution=60)
        with Image.open(Path(folder, "p.png")) as picture:
            framed = Image.new("RGB", (picture.width + 2 * GAP, picture.height + 2 * GAP), "white")
            framed.paste(picture.convert("RGB"), (GAP, GAP))
    framed.quantize(32).save(PICTURES / "check_here.png", optimize=True)


def marked_block() -> None:
    """Show a front that carried no marks, marked at one go."""
    text = re.sub(r'<circle[^>]*/>|<path id="apex"[^>]*/>', "", SAMPLE.read_text(encoding="utf-8"))
    with tempfile.TemporaryDirectory() as folder:
        drawing = Path(folder, "front.svg")
        drawing.write_text(text.replace('inkscape:label="outline"', ""), encoding="utf-8")
        before = exported(parse_document(drawing.read_bytes()).getroot())
        answer = run_effect("mark-block", drawing, "--id=front-block")
    save(before, exported(parse_document(answer.document.encode()).getroot()), "marked_block")


def designer() -> None:
    """Show the design with its ten layers, and with the piece in it."""
    root = parse_document(designers_drawing().encode()).getroot()
    before = exported(root)
    move(root, Request())
    save(before, exported(root), "hand_work_designer")


def hobbyist() -> None:
    """Show a result, and the same with its side seam reshaped and the allowances redrawn."""
    root = parse_document(SAMPLE.read_bytes()).getroot()
    move(root, Request())
    for element in list(root)[:-1]:
        root.remove(element)
    for note in [e for e in root.iter() if e.get(ours("part")) in ("note", "test-square")]:
        note.getparent().remove(note)
    before = exported(root)
    again = copy.deepcopy(root)
    reshaped(again, bulge=14.0)
    allow(again, Request())
    for note in [e for e in again.iter() if e.get(ours("part")) in ("note", "test-square")]:
        note.getparent().remove(note)
    save(before, exported(again), "hand_work_hobbyist")


def digitizer() -> None:
    """Show the nodes of a traced outline, before and after its dart is moved."""
    root = parse_document(traced_drawing(400).encode()).getroot()
    pictures = []
    for _ in range(2):
        shown = copy.deepcopy(root)
        layer = shown[-1]
        (line,) = [
            e
            for e in layer.iter(f"{SVG}path")
            if e.get("id") == "front-block" or e.get(ours("part")) == "stitch-line"
        ]
        for element in list(shown):
            shown.remove(element)
        plain = etree.SubElement(shown, f"{SVG}path", d=line.get("d"))
        plain.set("style", STROKES["dart-leg"].style(1.0))
        for segment in parse(line.get("d"))[0].segments:
            z = segment.start
            node = etree.SubElement(shown, f"{SVG}circle", cx=f"{z.real}", cy=f"{z.imag}", r="1.1")
            node.set("style", "fill:#000")
        pictures.append(exported(shown))
        if len(pictures) == 1:
            move(root, Request())
    before, after = pictures
    save(before, after, "hand_work_digitizer")


def main() -> None:
    """Make all of them."""
    check_here()
    marked_block()
    designer()
    hobbyist()
    digitizer()
    dialogs()


if __name__ == "__main__":
    main()
