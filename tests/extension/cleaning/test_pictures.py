"""Straight from a picture: any kind of file, the light of any lamp, at its true size or refused."""

from __future__ import annotations

import base64
import json
import shutil
import struct
import sys
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree
from PIL import Image

from extension.commands.command_line import main
from extension.document.namespaces import LABEL
from extension.document.svg_document import parse_document
from extension.document.visibility import LOCK
from tests.conftest import require
from tests.help.editor.effects import run_effect
from tests.help.scans.drawn_sheet import BLOCK, SIZE, grey_sheet, off, saved, shaded
from tests.help.scans.fresh.judge import given_blocks
from tests.help.scans.fresh.pictures import HAS_TRACER

AS_IT_LIES = ("--upright", "no", "--square", "no")
LINES = Image.fromarray(grey_sheet())
HREF = "{http://www.w3.org/1999/xlink}href"
#: A line of ink is so near to where it was drawn (mm): a seventh of the pen's width.
NEAR = 0.12


@pytest.fixture
def tracer() -> None:
    """A test that needs the tracer."""
    require(*([] if HAS_TRACER else ["potrace"]))


def clean(picture: Path, *more: str) -> tuple[etree._Element, dict[str, Any]]:
    """Return the drawing and the report that come of a picture."""
    out, report = picture.with_name("out.svg"), picture.with_name("out.json")
    status = main(["clean", str(picture), "-o", str(out), "--report", str(report), *more])
    assert status == 0
    return parse_document(out.read_bytes()).getroot(), json.loads(report.read_text())


def off_in(root: etree._Element, report: dict[str, Any]) -> float:
    """Return how far the one block of a drawing lies beside the drawn one (mm), where it lies."""
    (block,) = given_blocks(root, report)
    assert block.darts == 1
    return off(block.line)


def turned_file(image: Image.Image) -> bytes:
    exif = Image.Exif()
    exif[0x0112] = 6
    return saved(image.transpose(Image.Transpose.ROTATE_90), "JPEG", exif=exif, quality=92)


def clear_file(image: Image.Image) -> bytes:
    """Return a picture whose paper is clear, black beneath."""
    alpha = image.point(lambda grey: 255 - grey)
    black = Image.new("L", image.size, 0)
    return saved(Image.merge("LA", (black, alpha)), "PNG")


def deep_file(image: Image.Image) -> bytes:
    return saved(Image.fromarray(np.asarray(image).astype(np.uint16) * 200 + 3000), "PNG")


FILES: dict[str, Callable[[Image.Image], bytes]] = {
    "PNG": lambda image: saved(image, "PNG"),
    "shadow": lambda image: saved(Image.fromarray(shaded(np.asarray(image))), "PNG"),
    "JPEG, turned": turned_file,
    "PNG, clear": clear_file,
    "PNG, 16 bits": deep_file,
    "TIFF, 16 bits": lambda image: saved(
        Image.fromarray(np.asarray(image).astype(np.uint16) * 257), "TIFF"
    ),
    "palette": lambda image: saved(image.convert("RGB").quantize(16), "PNG"),
    "black and white": lambda image: saved(image.convert("1", dither=Image.Dither.NONE), "TIFF"),
    "four inks": lambda image: saved(image.convert("CMYK"), "TIFF"),
    "BMP": lambda image: saved(image.convert("RGB"), "BMP"),
    "white on blue": lambda image: saved(
        Image.merge("RGB", [image.point(lambda g, b=b: b + (255 - g) // 2) for b in (20, 40, 90)]),
        "PNG",
    ),
}  # fmt: skip


@pytest.mark.programs
@pytest.mark.usefixtures("tracer")
@pytest.mark.parametrize("kind", FILES)
def test_any_file_gives_the_block_where_it_lies(kind: str, tmp_path: Path) -> None:
    picture = tmp_path / "a scan.png"
    data = FILES[kind](LINES)
    picture.write_bytes(data)
    root, report = clean(picture, *AS_IT_LIES)
    # Without greys an edge is no truer than the dots are.
    assert off_in(root, report) < (2 * NEAR if kind == "black and white" else NEAR)
    (told,) = report["pictures"]
    assert told["inverted"] == (kind == "white on blue")
    assert told["dpi"] == pytest.approx([150, 150], rel=1e-3)
    # The picture itself lies below, locked, as large as the sheet; its file is as it was.
    assert picture.read_bytes() == data
    layer = root[0]
    assert (layer.get(LABEL), layer.get(LOCK)) == ("Scan", "true")
    (image,) = layer
    size = [float(image.get(name)) for name in ("width", "height")]
    assert size == pytest.approx(SIZE, abs=0.2)
    head, _comma, body = str(image.get(HREF)).partition(",")
    assert head in ("data:image/png;base64", "data:image/jpeg;base64")
    shown = picture.with_name("shown")
    shown.write_bytes(base64.b64decode(body))
    with Image.open(shown) as seen:
        assert seen.size == LINES.size
        assert seen.getexif().get(0x0112, 1) == 1


@pytest.mark.programs
@pytest.mark.usefixtures("tracer")
def test_a_resolution_that_is_given_counts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture = tmp_path / "scan.png"
    picture.write_bytes(saved(LINES, "PNG", 72.0))
    root, report = clean(picture, *AS_IT_LIES, "--dpi", "150")
    assert off_in(root, report) < NEAR
    assert report["warnings"] == []
    said = capsys.readouterr().out
    assert "150 dots to the inch, as --dpi says: 120.1 mm wide" in said
    # Without it the size is told, and doubted.
    root, report = clean(picture, *AS_IT_LIES)
    said = capsys.readouterr().out
    assert "72 dots to the inch, as the picture itself says: 250.1 mm wide" in said
    assert "hardly true" in report["warnings"][0]


def drawing_with(image: bytes, attributes: str, more: str = "") -> str:
    data = base64.b64encode(image).decode("ascii")
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        'width="400mm" height="300mm" viewBox="0 0 400 300">'
        f'<g transform="translate(20 10)"><image id="scan" {attributes} '
        f'xlink:href="data:image/png;base64,{data}"/></g>{more}</svg>'
    )


@pytest.mark.programs
@pytest.mark.usefixtures("tracer")
@pytest.mark.parametrize(
    ("attributes", "scale", "shift"),
    [
        ('x="5" y="7" width="120" height="150" preserveAspectRatio="none"', 1.0, 25 + 17j),
        # In a box too wide it lies in the middle; in one too high at its end.
        ('width="240" height="150"', 1.0, 80 + 10j),
        ('width="120" height="200" preserveAspectRatio="xMidYMax meet"', 1.0, 20 + 60j),
        ('width="120" height="250" preserveAspectRatio="xMinYMin slice"', 250 / 150, 20 + 10j),
        ('width="120" height="150" transform="matrix(0 2 -2 0 320 0)"', 2j, 340 + 10j),
    ],
)
def test_a_picture_on_the_canvas_is_traced_where_it_lies(
    attributes: str, scale: complex, shift: complex, tmp_path: Path
) -> None:
    drawing = tmp_path / "drawing.svg"
    drawing.write_text(drawing_with(saved(LINES, "PNG"), attributes), encoding="utf-8")
    answer = run_effect("clean", drawing, "--id=scan", "--upright=no", "--square=no")
    assert answer.said == ""
    root = parse_document(answer.document.encode("utf-8")).getroot()
    (block,) = given_blocks(root, {"blocks": [{"darts": 1}]})
    assert off((block.line - shift) / scale) < NEAR
    # What the drafter drew, and her picture, is as it was.
    before = parse_document(drawing.read_bytes()).getroot()[0]
    assert etree.tostring(root[0], with_tail=False) == etree.tostring(before, with_tail=False)


@pytest.mark.programs
@pytest.mark.usefixtures("tracer")
@pytest.mark.parametrize("link", ["a scan.png", "a%20scan.png", "{folder}/a scan.png", "{uri}"])
def test_a_known_length_holds_for_a_linked_picture(link: str, tmp_path: Path) -> None:
    """Half as large on the canvas as in truth, and the line over the lower left seam says so."""
    picture = tmp_path / "a scan.png"
    picture.write_bytes(saved(LINES, "PNG"))
    link = link.format(folder=tmp_path, uri=picture.as_uri())
    ends = [z / 2 for z in (BLOCK[0], BLOCK[1])]
    length = abs(BLOCK[1] - BLOCK[0])
    d = f"M {ends[0].real} {ends[0].imag} L {ends[1].real} {ends[1].imag}"
    drawing = tmp_path / "drawing.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        'width="60mm" height="75mm" viewBox="0 0 60 75">'
        f'<image id="scan" width="60" height="75" xlink:href="{link}"/>'
        f'<path inkscape:label="known length {length:.4f}mm" d="{d}"/></svg>',
        encoding="utf-8",
    )
    root, report = clean(drawing, *AS_IT_LIES)
    (block,) = given_blocks(root, report)
    # It lies beside the trace, since it is twice as large: laid back by its box's corner.
    true = np.array(BLOCK)
    corner = complex(block.line.real.min(), block.line.imag.min())
    laid = block.line - corner + complex(true.real.min(), true.imag.min())
    assert off(laid) < 3 * NEAR
    assert report["warnings"] == []


def bomb(width: int = 60_000, height: int = 60_000, kind: int = 0) -> bytes:
    """Return a small file that says it is a large picture; kind 6 has transparent parts."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, kind, 0, 0, 0)
    body = zlib.compress(b"\0" * 1_000_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def photo() -> bytes:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x920A] = 4.2
    return saved(LINES, "JPEG", 72.0, exif=exif)


REFUSED = {
    "no dpi": (saved(LINES, "PNG", None), "does not say how many dots", "--dpi 200"),
    "a photo": (photo(), "camera's photo", '"known rectangle A4"'),
    "a bomb": (bomb(), "more dots than the 170 million", "100 to 200 dots to the inch"),
    "too clear": (bomb(7_000, 7_000, 6), "49 million dots, more than the 42 million", "100 to"),
    "cut off": (saved(LINES, "PNG")[:3000], "cannot be read", "Save it again"),
    "a PDF": (b"%PDF-1.4\n%...", "is a PDF", "pdftoppm -r 200 -png"),
    "a phone's": (b"\0\0\0\x18ftypheic" + bytes(20), "HEIC", "JPEG or PNG"),
    "tiny": (saved(Image.new("L", (9, 400)), "PNG"), "9 by 400 dots", "100 to 300"),
    "blank": (saved(Image.new("L", (400, 400), 200), "PNG"), "darker than its paper", "pen"),
}


@pytest.mark.parametrize("why", REFUSED)
def test_what_cannot_be_read_is_one_message(
    why: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr("extension.cleaning.traced_pictures.tracer", lambda: "potrace")
    data, what, remedy = REFUSED[why]
    picture, out = tmp_path / "scan.png", tmp_path / "out.svg"
    picture.write_bytes(data)
    assert main(["clean", str(picture), "-o", str(out)]) == 1
    said = capsys.readouterr()
    assert what in said.err
    assert remedy in said.err
    assert said.err.count("\n") == 1
    assert (said.out, out.exists(), picture.read_bytes()) == ("", False, data)


def shaded_card(level: float) -> bytes:
    """Return a picture of a template of card, half of it in a hard shadow."""
    sheet = grey_sheet(filled=True)
    card = level + (sheet - 20.0) * (240 - level) / 235
    shadow = 1.0 - 0.5 / (1.0 + np.exp(-(np.arange(sheet.shape[1]) - 0.45 * sheet.shape[1]) / 2))
    return saved(Image.fromarray((card * shadow).astype(np.uint8)), "PNG")


@pytest.mark.usefixtures("tracer")
def test_the_half_of_a_template_that_lies_in_shadow_is_not_taken_as_drawn(tmp_path: Path) -> None:
    picture = tmp_path / "scan.png"
    picture.write_bytes(shaded_card(125.0))
    _root, report = clean(picture)
    (block,) = report["blocks"]
    assert any("edge of a shadow" in words for words in block["look_at"])


@pytest.mark.usefixtures("tracer")
def test_a_template_that_looks_like_a_shadow_is_told_as_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Words on faint lines and thresholds would help nobody: there are no lines."""
    picture = tmp_path / "scan.png"
    picture.write_bytes(shaded_card(165.0))
    assert main(["clean", str(picture), "-o", str(tmp_path / "out.svg")]) == 1
    said = capsys.readouterr().err
    assert "taken as shadows'" in said
    assert "ground that differs more" in said
    assert "threshold" not in said


@pytest.mark.parametrize("missing", ["potrace", "Pillow"])
def test_what_is_missing_is_said_with_the_way_by_hand(
    missing: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawing = tmp_path / "drawing.svg"
    drawing.write_text(drawing_with(saved(LINES, "PNG"), 'width="120" height="150"'))
    if missing == "potrace":
        monkeypatch.setattr(shutil, "which", lambda *_names, **_more: None)
    else:
        monkeypatch.setattr("extension.cleaning.traced_pictures.tracer", lambda: "potrace")
        monkeypatch.setitem(sys.modules, "PIL", None)
    answer = run_effect("clean", drawing, "--id=scan")
    assert answer.document == ""
    for words in (missing, "apt install", "Path > Trace Bitmap", '"scan"'):
        assert words in answer.said


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["-o", "{picture}"], "would be written over the picture"),
        (["-o", "out.svg", "--dpi", "many"], "no number of dots"),
        (["-o", "out.svg", "--dpi", "0"], "no number of dots"),
        (["-o", "out.svg", "--report", "{picture}"], "would be written over"),
    ],
)
def test_wrong_words(
    words: list[str], what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    picture = tmp_path / "scan.png"
    data = saved(LINES, "PNG")
    picture.write_bytes(data)
    assert main(["clean", "scan.png", *(word.format(picture=picture) for word in words)]) == 2
    assert what in capsys.readouterr().err
    assert picture.read_bytes() == data
    assert list(tmp_path.iterdir()) == [picture]


def test_a_drawing_has_no_resolution_and_a_picture_is_no_drawing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawing, picture = tmp_path / "drawing.svg", tmp_path / "scan.png"
    drawing.write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    picture.write_bytes(saved(LINES, "PNG"))
    out = str(tmp_path / "out.svg")
    assert main(["clean", str(drawing), "--dpi", "200", "-o", out]) == 2
    assert "--dpi is for a picture" in capsys.readouterr().err
    assert main(["move", str(picture), "-o", out]) == 1
    assert "is a picture, not a drawing. Make a clean block" in capsys.readouterr().err
