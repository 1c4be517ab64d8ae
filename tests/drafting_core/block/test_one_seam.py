"""One seam, one allowance: the halves beside a dart, and neighbours that carry one name."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from shapely.geometry import LineString, Point

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.places import Target
from drafting_core.block.seams import SeamMark
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.outline import OutlineEdge, flattened
from drafting_core.model.seam_names import SeamLabel
from drafting_core.plane.curves import Cubic, Line, Segment
from drafting_core.text.errors import DraftingError

#: Points on the two halves of the waist of `front`, well away from dart and corners.
RIGHT, LEFT = 180 + 360j, 30 + 360j


def front(
    right: str = "waist", left: str = "waist", drop: float = 0.0
) -> list[tuple[str, Segment]]:
    """An invented front with its apex at (100, 200), a dart in the waist between its halves.

    Args:
        right: the label of the half by the side seam.
        left: the label of the half by the centre front.
        drop: by how much the outer end of that half lies lower: it turns the closed mouth.
    """
    return [
        ("neckline", Cubic(0 + 60j, 35 + 60j, 60 + 35j, 60 + 0j)),
        ("shoulder", Line(60 + 0j, 180 + 40j)),
        ("armhole", Cubic(180 + 40j, 165 + 110j, 175 + 180j, 220 + 180j)),
        ("side seam", Line(220 + 180j, 220 + 360j)),
        (right, Line(220 + 360j, 120 + 360j)),
        ("dart", Line(120 + 360j, 100 + 200j)),
        ("dart", Line(100 + 200j, 80 + 360j)),
        (left, Line(80 + 360j, complex(0, 360 + drop))),
        ("centre front", Line(complex(0, 360 + drop), 0 + 60j)),
    ]


def block(
    marks: Mapping[complex, SeamLabel], parts: list[tuple[str, Segment]] | None = None
) -> Block:
    return Block(
        seam_by_seam(parts or front()),
        apex=100 + 200j,
        seam_marks=[SeamMark(at, label) for at, label in marks.items()],
    )


def below(draft: Draft, at: complex) -> float:
    """How far the cut line lies below a point of the waist, which is level, in mm."""
    ring = [(z.real, z.imag) for z in flattened(draft.cut_line)]
    down = LineString([(at.real, at.imag + 1.0), (at.real, at.imag + 200.0)])
    cut = LineString([*ring, ring[0]]).intersection(down)
    return float(cut.distance(Point(at.real, at.imag)))


@pytest.mark.parametrize("at", [RIGHT, LEFT])
def test_an_allowance_on_one_half_beside_a_dart_is_the_allowance_of_both(at: complex) -> None:
    draft = add_allowances(block({at: SeamLabel("waist", 30.0)}))
    assert below(draft, RIGHT) == pytest.approx(30.0, abs=0.01)
    assert below(draft, LEFT) == pytest.approx(30.0, abs=0.01)
    assert [seam.kind for seam in draft.piece.seams()].count("waist") == 1


def test_a_path_label_with_a_width_gives_it_to_both_halves() -> None:
    outline = seam_by_seam(front())
    outline[7] = outline[7]._replace(label=SeamLabel("waist", 30.0))
    draft = add_allowances(Block(outline, apex=100 + 200j))
    assert [below(draft, at) for at in (RIGHT, LEFT)] == pytest.approx([30.0, 30.0], abs=0.01)


@pytest.mark.parametrize("names", [("waist", "waist"), ("waist", "waistline"), ("", "")])
def test_two_allowances_of_one_seam_are_refused_with_both_named(names: tuple[str, str]) -> None:
    first, second = names
    marks = {RIGHT: SeamLabel(first, 30.0), LEFT: SeamLabel(second, 20.0)}
    given = block(marks, front(first, second))
    with pytest.raises(DraftingError) as refused:
        add_allowances(given)
    said = str(refused.value)
    assert f"{first} 30mm".strip() in said
    assert f"{second} 20mm".strip() in said
    # On a result that holds two they stay, and it is told.
    standing = given._replace(
        standing=True, outline=[OutlineEdge(edge.segment) for edge in given.outline]
    )
    draft = add_allowances(standing)
    assert below(draft, RIGHT) == pytest.approx(30.0, abs=0.01)
    assert below(draft, LEFT) == pytest.approx(20.0, abs=0.01)
    if first == second == "waist":
        (told,) = (text for text in draft.warnings if "two allowances" in text)
        assert "30 mm" in told
        assert "20 mm" in told


def test_two_widths_on_one_stretch_are_refused_and_one_said_twice_is_not() -> None:
    with pytest.raises(DraftingError, match=r'"waist 30mm" and "waist 25mm"'):
        add_allowances(
            block({RIGHT: SeamLabel("waist", 30.0), 190 + 360j: SeamLabel("waist", 25.0)})
        )
    draft = add_allowances(block({RIGHT: SeamLabel("waist", 30.0), LEFT: SeamLabel("waist", 30.0)}))
    assert below(draft, LEFT) == pytest.approx(30.0, abs=0.01)


def test_a_result_with_a_width_on_one_half_gives_it_to_both_and_tells() -> None:
    standing = block({RIGHT: SeamLabel("waist", 30.0), LEFT: SeamLabel("waist")})._replace(
        standing=True
    )
    draft = add_allowances(standing)
    assert below(draft, LEFT) == pytest.approx(30.0, abs=0.01)
    assert [text for text in draft.warnings if "one allowance now, 30 mm" in text]


def test_where_the_names_beside_a_mouth_differ_the_seam_ends_there() -> None:
    parts = front("side waist", "waist")
    draft = add_allowances(block({RIGHT: SeamLabel("side waist", 30.0)}, parts))
    assert below(draft, RIGHT) == pytest.approx(30.0, abs=0.01)
    # Beyond the mitre: at the dart point, 25.4 mm short, the shut waist turns by 16.9°, and its
    # two parallels meet 61 mm from the mouth.
    assert below(draft, 10 + 360j) == pytest.approx(12.7, abs=0.01)


@pytest.mark.parametrize(("drop", "ends"), [(40.0, False), (60.0, True)])
def test_a_closed_mouth_that_turns_more_than_45_degrees_ends_the_seam(
    drop: float, ends: bool
) -> None:
    # Closed, the dart turns the waist by 2 atan(20/160) = 14.3°, and the half by the centre
    # front falls at atan(drop/80), 26.6° or 36.9°: together 40.8° or 51.1°.
    unnamed = front("", "", drop)
    draft = add_allowances(block({RIGHT: SeamLabel("waist", 30.0)}, unnamed))
    names = [seam.name for seam in draft.piece.seams()]
    assert ("seam 1" in names) == ends, names


def test_neighbours_of_one_name_across_a_corner_are_one_seam() -> None:
    parts = front()
    parts[3:4] = [
        ("side seam", Line(220 + 180j, 190 + 270j)),
        ("side seam", Line(190 + 270j, 220 + 360j)),
    ]
    draft = add_allowances(block({205 + 225j: SeamLabel("side seam", 25.0)}, parts))
    (side,) = (seam for seam in draft.piece.seams() if seam.kind == "side seam")
    assert side.allowance == 25.0
    with pytest.raises(DraftingError, match=r'"side seam 25mm" and "side seam 20mm"'):
        add_allowances(
            block(
                {
                    205 + 225j: SeamLabel("side seam", 25.0),
                    205 + 315j: SeamLabel("side seam", 20.0),
                },
                parts,
            )
        )


def test_the_width_stays_one_when_the_dart_is_moved_away() -> None:
    draft = move_dart(
        block({LEFT: SeamLabel("waist", 30.0)}), None, [Target(place="side seam:0.4")]
    )
    widths = {seam.allowance for seam in draft.piece.seams() if seam.kind == "waist"}
    assert widths == {30.0}
