"""The centre front on the fold: opened by a dart it is cut 2; what cannot be folded is refused."""

from __future__ import annotations

import math

import pytest
from shapely.geometry import LinearRing, Point

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.block.seams import SeamMark
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.allowances import Allowances
from drafting_core.model.outline import flattened
from drafting_core.model.seam_names import SeamLabel
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import DraftingError
from extension.finished.cut_count import count_of, cut_words

FOLD = SeamLabel("centre front", fold=True)


def front(*centre: tuple[str, complex]) -> list[tuple[str, Segment]]:
    """An invented front, its apex at (100, 200) and its centre front on the line x = 0.

    Args:
        centre: the seams from the waist up to the neckline, each with its upper end.
    """
    ring: list[tuple[str, Segment]] = [
        ("neckline", Cubic(0 + 60j, 35 + 60j, 60 + 35j, 60 + 0j)),
        ("shoulder", Line(60 + 0j, 180 + 40j)),
        ("armhole", Cubic(180 + 40j, 165 + 110j, 175 + 180j, 220 + 180j)),
        ("side seam", Line(220 + 180j, 220 + 360j)),
        ("waist", Line(220 + 360j, 120 + 360j)),
        ("dart", Line(120 + 360j, 100 + 200j)),
        ("dart", Line(100 + 200j, 80 + 360j)),
        ("waist", Line(80 + 360j, 0 + 360j)),
    ]
    start = 0 + 360j
    for name, end in centre or (("centre front", 0 + 60j),):
        ring.append((name, Line(start, end)))
        start = end
    return ring


def on_fold(*centre: tuple[str, complex], at: complex = 0 + 100j) -> Block:
    marks = [SeamMark(at, FOLD)]
    return Block(seam_by_seam(front(*centre)), apex=100 + 200j, seam_marks=marks)


def widths_of_centre(draft: Draft) -> list[float]:
    """How far the cut line is from the middle of every edge of the centre front, in mm."""
    ring = LinearRing([(z.real, z.imag) for z in flattened(draft.cut_line)])
    middles = [
        edge.segment.point(0.5)
        for edge in draft.piece.edges()
        if edge.seam.kind == "centre front" and edge.segment.length() > 60.0
    ]
    return [ring.distance(Point(z.real, z.imag)) for z in middles]


@pytest.mark.parametrize(("text", "width"), [("", 12.7), ("1/2in, centre front=20mm", 20.0)])
def test_a_dart_into_the_fold_makes_it_cut_2_with_the_ordinary_allowance(
    text: str, width: float
) -> None:
    settings = Settings(allowances=Allowances.parse(text)) if text else Settings()
    stays = move_dart(on_fold(), settings, [Target(place="side seam:0.4")])
    assert widths_of_centre(stays) == pytest.approx([0.0], abs=1e-9)
    assert count_of(stays).on_fold
    draft = move_dart(on_fold(), settings, [Target(place="centre front:0.5")])
    assert widths_of_centre(draft) == pytest.approx([width, width], abs=0.01)
    assert cut_words(draft) == "Cut 2"
    assert not any(seam.fold for seam in draft.piece.seams())
    (told,) = (text for text in draft.warnings if "opens the centre" in text)
    assert f"cut 2, with a seam allowance of {width:g} mm" in told
    assert not [text for text in draft.warnings if "not used" in text]


def test_its_own_width_on_the_mark_is_the_one_that_it_gets() -> None:
    block = on_fold()._replace(seam_marks=[SeamMark(100j, FOLD._replace(allowance=15.0))])
    draft = move_dart(block, None, [Target(place="centre front:0.5")])
    assert widths_of_centre(draft) == pytest.approx([15.0, 15.0], abs=0.01)


def test_a_dart_that_stands_in_the_fold_is_told_too() -> None:
    parts = front()
    parts[8:] = [
        ("centre front", Line(0 + 360j, 0 + 220j)),
        ("dart", Line(0 + 220j, 100 + 200j)),
        ("dart", Line(100 + 200j, 0 + 180j)),
        ("centre front", Line(0 + 180j, 0 + 60j)),
    ]
    draft = add_allowances(
        Block(seam_by_seam(parts), apex=100 + 200j, seam_marks=[SeamMark(100j, FOLD)])
    )
    assert widths_of_centre(draft) == pytest.approx([12.7, 12.7], abs=0.01)
    assert any("cut 2" in text for text in draft.warnings)


@pytest.mark.parametrize(("lean", "refused"), [(0.0, True), (14.0, True), (16.0, False)])
def test_a_seam_that_runs_on_from_the_fold_is_refused(lean: float, refused: bool) -> None:
    """A placket below the fold edge, leaning so many degrees into the piece."""
    top = complex(0, 300)
    low = 60 * math.tan(math.radians(lean))
    parts = front(("placket", top), ("centre front", 0 + 60j))
    parts[7] = ("waist", Line(80 + 360j, complex(low, 360)))
    parts[8] = ("placket", Line(complex(low, 360), top))
    block = Block(seam_by_seam(parts), apex=100 + 200j, seam_marks=[SeamMark(100j, FOLD)])
    if not refused:
        assert count_of(add_allowances(block)).on_fold
        return
    with pytest.raises(DraftingError) as error:
        add_allowances(block)
    assert "the centre front cannot be cut on the fold: the placket runs on" in str(error.value)
    assert error.value.place == top


def test_a_seam_beyond_the_line_of_the_fold_is_refused() -> None:
    beyond = front(("placket", 0 + 300j), ("centre front", 0 + 60j))
    beyond[7] = ("waist", Line(80 + 360j, -30 + 360j))
    beyond[8] = ("placket", Line(-30 + 360j, 0 + 300j))
    block = Block(seam_by_seam(beyond), apex=100 + 200j, seam_marks=[SeamMark(100j, FOLD)])
    with pytest.raises(DraftingError, match=r"the centre front .* lies beyond its line"):
        add_allowances(block)


def test_two_stretches_called_centre_front_lie_on_the_fold_together() -> None:
    draft = add_allowances(on_fold(("centre front", 0 + 300j), ("centre front", 0 + 60j)))
    assert widths_of_centre(draft) == pytest.approx([0.0], abs=1e-9)
    assert [seam.kind for seam in draft.piece.seams()].count("centre front") == 1
