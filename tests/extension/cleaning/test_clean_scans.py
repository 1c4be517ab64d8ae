"""Thirty-two invented blocks drawn by hand, scanned, traced by a real tracer, and cleaned up."""

from __future__ import annotations

import functools
import json
import math
import pickle
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree
from shapely.geometry import Polygon

from extension.commands.command_line import main
from extension.document.svg_document import parse_document, units
from tests.conftest import require
from tests.help.blocks.random_blocks import Block, at
from tests.help.once import made_once, shared_folder
from tests.help.scans.clean_measures import (
    Measured,
    apexes_in,
    centre_is_upright,
    clean,
    flat,
    measure,
    outlines_in,
    quantiles,
    read_path,
)
from tests.help.scans.scanned_blocks import HAS_TRACER, Scan, photo, scan

SEEDS = range(1000, 1032)
pytestmark = [pytest.mark.thorough, pytest.mark.programs]


class Cleaned:
    """One scan and what came of it."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.drawing, self.out = folder / "scan.svg", folder / "clean.svg"
        self.block: Block
        self.block, self.turn, self.report = pickle.loads((folder / "scan").read_bytes())
        self.root = parse_document(self.out.read_bytes()).getroot()
        name = f"{seed}: {self.block.kind}, dart on {self.block.source_seam}"
        turn = math.radians(self.report["blocks"][0]["turn_deg"]) + self.turn
        self.measured = measure(self.root, self.report, self.block, name, turn)


def scan_and_clean(folder: Path, seed: int) -> None:
    """Fill a folder with a scan, the drawing of its clean block, and what is known of both."""
    made = scan(seed, folder)
    drawing = folder / "scan.svg"
    drawing.write_text(made.svg, encoding="utf-8")
    report = clean(drawing, folder / "clean.svg", "--square", "no")
    (folder / "scan").write_bytes(pickle.dumps((made.block, made.turn, report)))


@pytest.fixture(scope="module")
def cleaned(tmp_path_factory: pytest.TempPathFactory) -> list[Cleaned]:
    require(*([] if HAS_TRACER else ["potrace"]))
    scans = shared_folder(tmp_path_factory) / "scans"
    return [
        Cleaned(made_once(scans / str(seed), functools.partial(scan_and_clean, seed=seed)), seed)
        for seed in SEEDS
    ]


@pytest.fixture(scope="module")
def measured(cleaned: list[Cleaned]) -> list[Measured]:
    found = [one.measured for one in cleaned]
    print(f"\n{len(found)} scans        median   90 %    95 %    99 %     all")
    print(f"corners (mm)       {quantiles([e for m in found for e in m.corners])}")
    print(f"dart points (mm)   {quantiles([m.tip for m in found])}")
    print(f"seams, rms (mm)    {quantiles([e for m in found for e in m.rms])}")
    return found


def test_corners_lie_where_they_are(measured: list[Measured]) -> None:
    corners = [error for one in measured for error in one.corners]
    assert sum(error <= 0.6 for error in corners) >= 0.95 * len(corners)
    worst = max(measured, key=lambda one: max(one.corners))
    assert max(worst.corners) <= 1.5, worst.name


def test_seams_run_where_they_run(measured: list[Measured]) -> None:
    for one in measured:
        assert max(one.rms) <= 0.5, one.name


def test_straight_seams_are_one_line_each(measured: list[Measured]) -> None:
    for one in measured:
        assert all(found == (1, True) for found in one.straight), one.name


def test_curved_seams_have_two_cubics_at_most_on_average(measured: list[Measured]) -> None:
    counts = [count for one in measured for count in one.curved]
    assert min(counts) >= 1
    assert sum(counts) <= 2 * len(counts)


def test_every_seam_dart_and_apex_is_found(cleaned: list[Cleaned]) -> None:
    for one in cleaned:
        found, block = one.measured, one.block
        assert found.darts == 1, found.name
        # As many seams as the true block has, and no more.
        (entry,) = one.report["blocks"]
        assert len([s for s in entry["seams"] if s["name"] != "dart"]) == len(block.runs)
        assert found.apex is not None
        assert found.apex <= 1.0, found.name


def test_the_centre_stands_upright(cleaned: list[Cleaned]) -> None:
    tried = [one for one in cleaned if one.block.kind != "sleeve"]
    for one in tried:
        assert centre_is_upright(one.root, one.block) < 1e-6, one.measured.name
    assert len(tried) > 20


def test_the_known_length_gives_the_size(cleaned: list[Cleaned]) -> None:
    for one in cleaned:
        points = np.array([at(s.points, k / 20) for s in one.block.segments for k in range(21)])
        turned = points * np.exp(
            1j * (one.turn + math.radians(one.report["blocks"][0]["turn_deg"]))
        )
        entry = one.report["blocks"][0]
        assert entry["height_mm"] == pytest.approx(np.ptp(turned.imag), abs=1.0)
        assert entry["width_mm"] == pytest.approx(np.ptp(turned.real), abs=1.0)


def test_what_is_reported_of_the_trace_is_so(cleaned: list[Cleaned]) -> None:
    for one in cleaned:
        (entry,) = one.report["blocks"]
        assert entry["nodes_before"] > 5 * entry["nodes_after"]
        assert entry["nodes_after"] == one.measured.nodes
        assert one.report["left_out"]["specks"] > 10
        # A word of six letters and perhaps the apex's sign.
        assert one.report["left_out"]["small"] >= 4
        assert 0.6 < entry["pen_mm"] < 0.9


def test_a_clean_block_moves_and_is_allowed(cleaned: list[Cleaned], tmp_path: Path) -> None:
    """The chain on all of them: clean, then move, then allow, and the balance closes."""
    for one in cleaned:
        moved, report = tmp_path / "moved.svg", tmp_path / "balance.json"
        place = _free_seam(one)
        asked = ["move", str(one.out), "--to", place, "-o", str(moved), "--report", str(report)]
        assert main(asked) == 0, (one.measured.name, place)
        balance = json.loads(report.read_text(encoding="utf-8"))
        (entry,) = balance["blocks"]
        for seam in entry["seams"]:
            assert seam["after_mm"] == pytest.approx(seam["before_mm"], abs=1e-6)
        assert entry["angle_after_deg"] == pytest.approx(entry["angle_before_deg"], abs=1e-9)
        assert entry["area_after_mm2"] == pytest.approx(entry["area_before_mm2"], rel=1e-6)
        _is_the_clean_blocks(one, entry)
        allowed = tmp_path / "allowed.svg"
        assert main(["allow", str(moved), "-o", str(allowed), "--allowance", "15mm"]) == 0
        assert b"cut-line" in allowed.read_bytes()


def _free_seam(one: Cleaned) -> str:
    """Return the words for the middle of a seam on which the dart is not."""
    names = [s["name"] for s in one.report["blocks"][0]["seams"]]
    wanted = {
        "front": ("side seam:0.5", "shoulder:0.5"),
        "back": ("side seam:0.5", "side seam:0.5"),
        "skirt": ("side seam:0.5", "side seam:0.5"),
        "sleeve": ("cap:0.5", "cap:0.5"),
    }[one.block.kind]
    place = wanted[one.block.source_seam == "side seam"]
    return place if place.split(":")[0] in names else next(n for n in names if n != "dart")


def _is_the_clean_blocks(one: Cleaned, entry: dict[str, Any]) -> None:
    """Check lengths and area against the clean outline, by shapely and by sums of chords."""
    (outline,) = outlines_in(one.root)
    mm = units(one.root)
    segments = [tuple(z * mm for z in part) for part in read_path(outline.get("d"))]
    line = flat(segments, 400)
    border = float(np.abs(np.diff(line)).sum())
    tip = min(
        (part[0] for part in segments),
        key=lambda z: min(abs(z - a * mm) for a in apexes_in(one.root)),
    )
    legs = sum(abs(part[-1] - part[0]) for part in segments if tip in (part[0], part[-1]))
    assert sum(s["before_mm"] for s in entry["seams"]) == pytest.approx(border - legs, abs=0.01)
    (apex,) = (a * mm for a in apexes_in(one.root))
    drawn = Polygon([(z.real, z.imag) for z in line])
    ends = [
        part[-1] if part[0] == tip else part[0] for part in segments if tip in (part[0], part[-1])
    ]
    # Net area is taken with the dart drawn to the apex, beyond its lowered point.
    wedge = Polygon([(z.real, z.imag) for z in (ends[0], tip, ends[1], apex)])
    assert entry["area_before_mm2"] == pytest.approx(drawn.area - wedge.area, abs=1.0)


def test_the_trace_is_not_changed(cleaned: list[Cleaned]) -> None:
    for one in cleaned:
        before = parse_document(one.drawing.read_bytes()).getroot()
        kept = [child for child in one.root if not (child.get("id") or "").startswith("dartswing")]
        assert [etree.tostring(e) for e in kept] == [
            re.sub(rb"\s+$", b"\n", etree.tostring(e)) if e is before[-1] else etree.tostring(e)
            for e in before
        ]


def test_a_photo_is_made_flat(tmp_path: Path) -> None:
    """Perspective of up to 15°: the sheet of paper in the photo gives the scale within 0.5 %."""
    require(*([] if HAS_TRACER else ["potrace"]))
    for seed in range(1100, 1108):
        made = photo(seed, tmp_path)
        drawing, out = tmp_path / "photo.svg", tmp_path / "flat.svg"
        drawing.write_text(made.svg, encoding="utf-8")
        report = clean(drawing, out, "--square", "no")
        root = parse_document(out.read_bytes()).getroot()
        entry = report["blocks"][0]
        name = f"photo {seed}"
        found = measure(root, report, made.block, name, made.turn + math.radians(entry["turn_deg"]))
        assert found.darts == 1, name
        assert _scale(root, made) == pytest.approx(1.0, abs=0.005), name
        assert report["perspective"] is True
        assert sum(error <= 0.6 for error in found.corners) >= 0.8 * len(found.corners), name
        assert max(found.corners) <= 1.5, name


def _scale(root: etree._Element, made: Scan) -> float:
    """Return the size of a clean block beside that of the true one, by area."""
    (outline,) = outlines_in(root)
    mm = units(root)
    line = flat([tuple(z * mm for z in part) for part in read_path(outline.get("d"))])
    true = flat([segment.points for segment in made.block.segments])
    areas = [Polygon([(z.real, z.imag) for z in points]).area for points in (line, true)]
    return math.sqrt(areas[0] / areas[1])
