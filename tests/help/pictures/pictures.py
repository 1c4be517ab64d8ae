"""Makes the pictures of the documentation: ``python -m tests.help.pictures.pictures``.

Each sample is moved as its README line says and exported by the editor: the drafter's block on
the left, the result beside it.
"""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from PIL import Image

from drafting_core.plane.curves import Segment
from extension.cleaning.clean import clean_request, clean_up
from extension.cleaning.write_clean import write_clean
from extension.comparing.compare_places import compare
from extension.comparing.write_seam_balance import write_seam_balance
from extension.document.namespaces import ours, svg
from extension.document.path_data import path_data
from extension.document.shapes import mapped_subpaths
from extension.document.svg_document import read_document
from extension.document.write_files import write_document
from extension.drafting.move_and_allow import Request, move

SAMPLES = Path(__file__).parents[3] / "sample_svgs"
PICTURES = SAMPLES / "pictures"
RESOLUTION = 60
GAP = 40
#: The teaching sheet: places of the first sample, and what its small print needs to be read.
COMPARED = "neckline/centre front; side seam:0.35; waist"
SHEET_RESOLUTION = 150
#: Sample, place (empty: its own target), picture; then the options that are not as usual.
ROWS: tuple[tuple[str, str, str] | tuple[str, str, str, dict[str, str]], ...] = (
    ("front_one_path", "neckline/centre front", "front_dart_at_neckline_tip"),
    ("front_one_path", "side seam:0.35", "front_dart_at_side_seam"),
    ("front_one_path", "waist", "front_dart_at_waist"),
    ("front_seam_by_seam", "", "front_seam_by_seam"),
    ("back_shoulder_dart", "", "back_dart_at_neckline"),
    ("skirt_front_waist_dart", "", "skirt_dart_at_side_seam"),
    ("sleeve_elbow_dart", "", "sleeve_dart_at_wrist"),
    ("front_straight_waist", "", "waist_blended", {"blend": "40mm", "true-mouth": "yes"}),
    ("front_one_path", "side seam:0.35=0.6; neckline:0.5=0.4", "front_shared_out"),
    ("front_two_darts", "", "front_two_darts_combined"),
    ("front_two_darts", "shoulder from waist; waist from shoulder", "front_two_darts_swapped"),
    ("front_shoulder_dart_kept", "", "front_shoulder_dart_kept"),
    ("back_two_darts", "neckline:0.5 from shoulder", "back_shoulder_dart_alone"),
    ("back_two_darts", "", "back_each_to_its_own"),
    ("front_one_path", "", "front_half_moved", {"share": "0.5"}),
    ("front_one_path", "", "front_20mm_moved", {"intake": "20mm"}),
    ("front_french_dart", "", "front_french_dart"),
    ("front_one_path", "neckline:0.5=0.5 as gathers", "front_neckline_gathers"),
    ("back_shoulder_dart", "armhole:0.5=0.5 as ease", "back_armhole_ease"),
    ("front_one_path", "waist as tuck", "front_waist_tuck"),
    ("skirt_front_waist_dart", "hem as flare", "skirt_hem_flare"),
    ("front_one_path", "centre front:0.5", "front_dart_at_centre_front"),
    ("skirt_two_darts", "", "skirt_two_darts_in_one", {"clearance": "110mm", "blend": "40mm"}),
    ("sleeve_elbow_ease", "", "sleeve_elbow_ease"),
    (
        "skirt_two_darts",
        "",
        "skirt_hem_turned",
        {"clearance": "110mm", "blend": "40mm", "allowance": "1/2in, hem=40mm turned"},
    ),
    (
        "front_one_path",
        "side seam:0.35",
        "front_facing_turned",
        {"allowance": "1/2in, neckline=1/4in, centre front=60mm turned"},
    ),
    ("front_inner_lines", "", "front_inner_lines"),
    ("front_princess_line", "", "front_princess_line"),
    ("back_yoke_line", "", "back_yoke_line", {"as": "ease"}),
)
#: Nest, picture.
NESTS = (("front_nest", "front_nest"),)
#: Block with artwork, picture.
ARTWORK = (("front_artwork", "front_artwork"),)
#: Trace of a scan, picture; the clean block is drawn as large beside its trace as it truly is.
SCANS = (("scanned_front", "scanned_front_clean"),)
SCAN_RESOLUTION = 72
#: Trace of a scan, the seam that begins at the corner that is shown, picture.
SCAN_DETAILS = (("scanned_front", "side seam", "scanned_front_nodes"),)
#: What a detail shows (mm), and its pixels to the mm.
DETAIL, DETAIL_SCALE = 24.0, 22.0
NOT_IN_A_NEST = ("note", "seam-name", "test-square", "grainline")


def export(
    drawing: Path, picture: Path, *options: str, resolution: int = RESOLUTION
) -> Image.Image:
    """Export a drawing with the editor and return the picture."""
    subprocess.run(
        [
            "inkscape",
            str(drawing),
            "--export-type=png",
            f"--export-filename={picture}",
            f"--export-dpi={resolution}",
            "--export-background=white",
            "--export-background-opacity=1",
            *options,
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )
    return Image.open(picture).convert("L")


def make(sample: str, place: str, name: str, options: Mapping[str, str] | None = None) -> None:
    """Make one picture."""
    tree = read_document(str(SAMPLES / f"{sample}.svg"))
    root = tree.getroot()
    blocks = list(root)
    move(root, Request(given=options or {}, to=place))
    for element in blocks:
        root.remove(element)
    with tempfile.TemporaryDirectory() as folder:
        drawing = Path(folder, "result.svg")
        write_document(tree, str(drawing))
        before = export(
            SAMPLES / f"{sample}.svg", Path(folder, "before.png"), "--export-area-drawing"
        )
        after = export(drawing, Path(folder, "after.png"), "--export-area-drawing")
    save(before, after, name)


def save(before: Image.Image, after: Image.Image, name: str) -> None:
    """Save a block and its result side by side."""
    width = before.width + after.width + 3 * GAP
    sheet = Image.new("L", (width, max(before.height, after.height) + 2 * GAP), 255)
    sheet.paste(before, (GAP, GAP))
    sheet.paste(after, (before.width + 2 * GAP, GAP))
    sheet.quantize(16).save(PICTURES / f"{name}.png", optimize=True)


def make_artwork(sample: str, name: str) -> None:
    """Make the picture of a block with artwork, in its colours; the block itself is taken out."""
    tree = read_document(str(SAMPLES / f"{sample}.svg"))
    root = tree.getroot()
    layers = [element for element in root if element.tag == svg("g")]
    move(root, Request(given={"artwork": "yes", "fill": "as-drawn"}))
    for layer in layers:
        root.remove(layer)
    with tempfile.TemporaryDirectory() as folder:
        drawing = Path(folder, "result.svg")
        write_document(tree, str(drawing))
        pictures = []
        for number, each in enumerate((SAMPLES / f"{sample}.svg", drawing)):
            picture = Path(folder, f"{number}.png")
            export(each, picture, "--export-area-drawing")
            pictures.append(Image.open(picture).convert("RGB"))
    before, after = pictures
    size = before.width + after.width + 3 * GAP, max(before.height, after.height) + 2 * GAP
    sheet = Image.new("RGB", size, "white")
    sheet.paste(before, (GAP, GAP))
    sheet.paste(after, (before.width + 2 * GAP, GAP))
    sheet.quantize(64).save(PICTURES / f"{name}.png", optimize=True)


def make_sheet(sample: str, places: str, name: str) -> None:
    """Make the picture of a comparison."""
    tree = read_document(str(SAMPLES / f"{sample}.svg"))
    root = tree.getroot()
    compare(root, Request(to=places))
    with tempfile.TemporaryDirectory() as folder:
        drawing = Path(folder, "result.svg")
        write_document(tree, str(drawing))
        only = (f"--export-id={root[-1].get('id')}", "--export-id-only")
        sheet = export(drawing, Path(folder, "sheet.png"), *only, resolution=SHEET_RESOLUTION)
    sheet.quantize(16).save(PICTURES / f"{name}.png", optimize=True)


def make_balance(sample: str, name: str) -> None:
    """Make the picture of seams compared: the pieces with the note that the editor gets."""
    tree = read_document(str(SAMPLES / f"{sample}.svg"))
    write_seam_balance(tree.getroot())
    with tempfile.TemporaryDirectory() as folder:
        drawing = Path(folder, "result.svg")
        write_document(tree, str(drawing))
        sheet = export(drawing, Path(folder, "sheet.png"), "--export-area-drawing")
    framed = Image.new("L", (sheet.width + 2 * GAP, sheet.height + 2 * GAP), 255)
    framed.paste(sheet, (GAP, GAP))
    framed.quantize(16).save(PICTURES / f"{name}.png", optimize=True)


def make_nest(sample: str, name: str) -> None:
    """Make the picture of a nest: its blocks beside the results of all sizes over each other.

    Each size has its text in the same place: with all layers in sight, only lines are readable.
    """
    tree = read_document(str(SAMPLES / f"{sample}.svg"))
    root = tree.getroot()
    blocks = len(root)
    move(root, Request(nest=True))
    for element in list(root[:blocks]):
        root.remove(element)
    for element in [e for e in root.iter() if e.get(ours("part")) in NOT_IN_A_NEST]:
        element.getparent().remove(element)
    with tempfile.TemporaryDirectory() as folder:
        drawing = Path(folder, "result.svg")
        write_document(tree, str(drawing))
        whole = "--export-area-drawing"
        before = export(SAMPLES / f"{sample}.svg", Path(folder, "before.png"), whole)
        after = export(drawing, Path(folder, "after.png"), whole)
    save(before, after, name)


def make_clean(sample: str, name: str) -> None:
    """Make the picture of a clean-up: the trace, and the block with what is told of it."""
    tree = read_document(str(SAMPLES / f"{sample}.svg"))
    root = tree.getroot()
    traced = list(root)
    done = clean_up(root, clean_request({}, []))
    write_clean(root, done)
    for element in traced:
        root.remove(element)
    with tempfile.TemporaryDirectory() as folder:
        drawing = Path(folder, "result.svg")
        write_document(tree, str(drawing))
        whole = "--export-area-drawing"
        before = export(
            SAMPLES / f"{sample}.svg",
            Path(folder, "before.png"),
            whole,
            resolution=round(SCAN_RESOLUTION * done.true_mm_per_mm),
        )
        after = export(drawing, Path(folder, "after.png"), whole, resolution=SCAN_RESOLUTION)
    save(before, after, name)


def make_clean_detail(sample: str, seam: str, name: str) -> None:
    """Make the picture of a corner close up: the trace with its nodes, and the clean line."""
    root = read_document(str(SAMPLES / f"{sample}.svg")).getroot()
    done = clean_up(root, clean_request({}, []))
    (cleaned,) = done.cleaned
    block = cleaned.block
    (first,) = [
        run.segments[0].start
        for run, of in zip(block.runs, block.seams, strict=True)
        if of is not None and of.name == seam
    ]
    corner = block.to_place(first)

    def upright(z: complex) -> complex:
        return block.to_place(done.scale.to_true.at(z))

    trace = [
        [segment.mapped(upright) for segment in path.segments]
        for element in cleaned.made_of
        for path in mapped_subpaths(element)
    ]
    clean = [segment.mapped(block.to_place) for segment in block.segments]
    with tempfile.TemporaryDirectory() as folder:
        shown = [
            export(
                _close_up(lines, corner, Path(folder, f"{k}.svg"), fill),
                Path(folder, f"{k}.png"),
                resolution=96,
            )
            for k, (lines, fill) in enumerate(((trace, "#cccccc"), ([clean], "none")))
        ]
    save(shown[0], shown[1], name)


def _close_up(
    lines: Sequence[Sequence[Segment]], middle: complex, drawing: Path, fill: str
) -> Path:
    """Write a drawing of closed lines (mm) about a place, with a square on each of their nodes."""
    data = " ".join(path_data(line, closed=True) for line in lines)
    nodes = "".join(
        f'<rect x="{segment.start.real - 0.25}" y="{segment.start.imag - 0.25}" width="0.5" '
        f'height="0.5" fill="#ffffff" stroke="#000000" stroke-width="0.1"/>'
        for line in lines
        for segment in line
    )
    corner, side = middle - DETAIL / 2 * (1 + 1j), DETAIL * DETAIL_SCALE
    drawing.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}" height="{side}" '
        f'viewBox="{corner.real} {corner.imag} {DETAIL} {DETAIL}"><path d="{data}" fill="{fill}" '
        f'fill-rule="evenodd" stroke="#000000" stroke-width="0.1"/>{nodes}</svg>',
        encoding="utf-8",
    )
    return drawing


def main() -> None:
    """Make all pictures."""
    PICTURES.mkdir(exist_ok=True)
    for row in ROWS:
        make(*row)
    make_balance("front_and_back_mates", "seams_compared")
    make_sheet("front_one_path", COMPARED, "compare_three_places")
    for artwork in ARTWORK:
        make_artwork(*artwork)
    for nest in NESTS:
        make_nest(*nest)
    for scan in SCANS:
        make_clean(*scan)
    for detail in SCAN_DETAILS:
        make_clean_detail(*detail)


if __name__ == "__main__":
    main()
