"""What a cutting machine gets: every contour closed, simple and cut once, inner cuts first.

Read from the written file by svgelements, judged by shapely: nothing of the program's own.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
import shapely
from svgelements import SVG, Circle
from svgelements import Path as DrawnPath

from extension.commands.command_line import main
from tests.help.depth import some_quick
from tests.help.printing.printing import SAMPLES

INCH = 25.4
#: Points along a contour are so far apart (mm), and a contour is closed where its ends are nearer.
STEP, CLOSED = 0.5, 1e-6
#: Parts of contours nearer to each other than this are cut twice (mm), if they are as long.
TWICE, LONG = 0.02, 1.0
DRAFTS = [
    *((name, ("allow",)) for name in (
        "back_shoulder_dart", "back_two_darts", "front_french_dart", "front_one_path",
        "front_seam_by_seam", "front_straight_waist", "front_two_darts", "skirt_front_waist_dart",
        "skirt_two_darts", "sleeve_elbow_dart", "front_inner_lines",
    )),
    *(("front_one_path", ("move", "--to", place)) for place in (
        "neckline/centre front", "side seam:0.35", "shoulder", "armhole", "waist",
    )),
    ("front_nest", ("move", "--nest")),
    ("front_princess_line", ("move",)),
    ("back_yoke_line", ("move",)),
    ("front_and_back_mates", ("move",)),
]  # fmt: skip
UNFOLDED = ("auto", "no")


def contours_of(drawing: Path) -> Iterator[tuple[str, shapely.LineString, bool]]:
    """Yield what the pages draw in the file's order: kind, line in mm, and whether it is closed."""
    document = SVG.parse(io.BytesIO(drawing.read_bytes()), reify=True, ppi=96)
    for element in document.elements():
        name = str(getattr(element, "id", "") or "")
        if isinstance(element, Circle) and "-drill-hole" in name:
            centre = shapely.Point(element.cx, element.cy).buffer(1.0)
            yield "drill-hole", shapely.LineString(centre.exterior.coords), True
        if not isinstance(element, DrawnPath) or "dartswing-paper" not in name:
            continue
        kind = next((k for k in ("cut-line", "notch") if f"-{k}" in name), "")
        if not kind:
            continue
        (part,) = list(element.as_subpaths())
        path = DrawnPath(part)
        size = path.length(error=1e-4) * INCH / 96
        count = max(8, round(size / STEP))
        points = [path.point(k / count) for k in range(count + 1)]
        line = shapely.LineString([(z.x * INCH / 96, z.y * INCH / 96) for z in points])
        yield kind, line, path.first_point == path.current_point or path.d().rstrip()[-1] in "zZ"


@pytest.mark.parametrize("unfold", UNFOLDED)
@pytest.mark.parametrize(("sample", "command"), some_quick(DRAFTS, 4))
def test_every_contour_is_closed_simple_and_cut_once(
    sample: str, command: tuple[str, ...], unfold: str, tmp_path: Path
) -> None:
    drafted, cut = tmp_path / "drafted.svg", tmp_path / "cut.svg"
    first, *rest = command
    assert main([first, str(SAMPLES / f"{sample}.svg"), "-o", str(drafted), *rest]) == 0
    asked = ["--cut-only", "--paper", "A0", "--unfold", unfold]
    assert main(["paper", str(drafted), "-o", str(cut), *asked]) == 0
    drawn = list(contours_of(cut))
    contours = [line for kind, line, _closed in drawn if kind == "cut-line"]
    assert contours
    for kind, line, is_closed in drawn:
        if kind == "cut-line":
            assert is_closed
            start, end = shapely.Point(line.coords[0]), shapely.Point(line.coords[-1])
            assert start.distance(end) <= CLOSED
            ring = shapely.LinearRing(line.coords)
            assert ring.is_simple
            assert shapely.Polygon(ring).area > 100.0
    for number, one in enumerate(contours):
        for other in contours[number + 1 :]:
            assert one.buffer(TWICE).intersection(other).length <= LONG
    # A piece stays fast until its own contour is cut: what lies in it is cut before.
    for number, (kind, line, _closed) in enumerate(drawn):
        if kind == "cut-line":
            piece = shapely.Polygon(line)
            for _later, other, _is_closed in drawn[number + 1 :]:
                assert not piece.buffer(-0.5).contains(other)
