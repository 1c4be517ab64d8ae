"""Hems: turned up by default, told where the setting gives them an unnamed width or they flare."""

from __future__ import annotations

import math

import pytest

from drafting_core.block.block import Block, seam_by_seam
from drafting_core.block.seams import SeamMark
from drafting_core.finished.draft import add_allowances
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.allowances import DEFAULT_ALLOWANCE_TEXT, Allowances
from drafting_core.model.seam_names import Seam, SeamLabel, seam_kind
from drafting_core.model.settings import Settings
from drafting_core.plane.curves import Line
from drafting_core.sewing.dart_steps import dart_cloth

DEPTH = 600.0
INCH = 25.4


def skirt(slant: float = 0.0, other: float = 0.0, centre: str = "centre front") -> Block:
    """A skirt of which each side slants out by some degrees."""
    out = DEPTH * math.tan(math.radians(slant))
    left = -DEPTH * math.tan(math.radians(other))
    corner, foot = complex(220 + out, DEPTH), complex(left, DEPTH)
    return Block(
        seam_by_seam(
            [
                ("waist", Line(0j, 220 + 0j)),
                ("side seam", Line(220 + 0j, corner)),
                ("hem", Line(corner, foot)),
                (centre, Line(foot, 0j)),
            ]
        ),
        name="Skirt",
    )


def bodice() -> Block:
    return Block(
        seam_by_seam(
            [
                ("waist", Line(300 + 400j, 400j)),
                ("centre front", Line(400j, 50j)),
                ("shoulder", Line(50j, 200 + 0j)),
                ("side seam", Line(200 + 0j, 300 + 400j)),
            ]
        ),
        name="Bodice",
    )


def finished(block: Block, text: str = DEFAULT_ALLOWANCE_TEXT) -> Draft:
    return add_allowances(block, Settings(allowances=Allowances.parse(text)))


def lowest(draft: Draft) -> float:
    return max(z.imag for segment in draft.cut_line for z in (segment.start, segment.end))


def seam(name: str, width: float | None = None) -> Seam:
    return Seam(name, seam_kind(name), width)


def test_a_hem_is_turned_up_by_an_inch_and_a_half() -> None:
    usual = Allowances()
    assert usual.width(seam("hemline")) == pytest.approx(1.5 * INCH)
    assert usual.is_turned(seam("Hem"))
    assert not usual.is_turned(seam("waist"))
    assert Allowances.parse(DEFAULT_ALLOWANCE_TEXT) == usual
    assert Allowances.parse(str(usual)) == usual
    draft = add_allowances(skirt(), Settings())
    assert lowest(draft) == pytest.approx(DEPTH + 1.5 * INCH)


def test_the_first_width_is_for_every_seam_that_is_not_named() -> None:
    plain = Allowances.parse("12mm")
    for name in ("hem", "neckline", "waist"):
        assert plain.width(seam(name)) == 12.0
        assert not plain.is_turned(seam(name))
    # Without a first width the seams that are not named keep theirs.
    partly = Allowances.parse("waist=20mm")
    assert partly.width(seam("hem")) == pytest.approx(1.5 * INCH)
    assert partly.is_turned(seam("hem"))
    assert partly.width(seam("neckline")) == pytest.approx(INCH / 4)
    assert partly.width(seam("side seam")) == pytest.approx(INCH / 2)


def test_a_hem_with_an_unnamed_width_is_told_of() -> None:
    draft = finished(skirt(), "12mm")
    assert lowest(draft) == pytest.approx(DEPTH + 12.0)
    (said,) = [text for text in draft.warnings if "does not name the hem" in text]
    assert "12 mm" in said
    for text in ("12mm, hem=30mm", DEFAULT_ALLOWANCE_TEXT):
        assert not any("does not name" in said for said in finished(skirt(), text).warnings)
    marked = skirt()._replace(seam_marks=[SeamMark(110 + 600j, SeamLabel("hem", 25.0))])
    assert not any("does not name" in said for said in finished(marked, "12mm").warnings)


def test_names_of_the_default_that_a_piece_does_not_have_are_no_remark() -> None:
    assert finished(bodice()).warnings == ()
    (said,) = finished(bodice(), "12mm, yoke=20mm").warnings
    assert "yoke" in said
    (said,) = finished(bodice(), "12mm, hem=40mm").warnings
    assert "hem" in said


def test_a_mark_with_a_width_keeps_the_turn_of_the_setting() -> None:
    marked = skirt(10.0)._replace(seam_marks=[SeamMark(110 + 600j, SeamLabel("hem", 40.0))])
    draft = finished(marked)
    assert lowest(draft) == pytest.approx(DEPTH + 40.0)
    # Turned: the side goes back in below the hem, as its mirror image does.
    widest = max(z.real for s in draft.cut_line for z in (s.start, s.end) if z.imag > DEPTH + 39)
    corner = 220 + DEPTH * math.tan(math.radians(10.0))
    leg = 12.7 / math.cos(math.radians(10.0))
    assert widest == pytest.approx(corner - 40 * math.tan(math.radians(10.0)) + leg, abs=0.01)


@pytest.mark.parametrize(
    ("block", "angle"),
    [
        (skirt(14.9), None),
        (skirt(15.0), None),
        (skirt(15.6), 16),
        (skirt(25.0), 25),
        (skirt(-18.0), None),
        # Without a centre each side counts by itself.
        (skirt(14.0, 14.0, "other side"), None),
        (skirt(5.0, 20.0, "other side"), 20),
        # From a centre that slants itself.
        (skirt(10.0, 10.0), 20),
    ],
)
def test_a_turned_hem_with_sides_that_flare_too_far_says_so(
    block: Block, angle: int | None
) -> None:
    said = [text for text in finished(block).warnings if "flares" in text]
    assert len(said) == (angle is not None)
    if angle is not None:
        assert f"{angle}°" in said[0]
        assert not any("flares" in t for t in finished(block, "12mm, hem=40mm").warnings)


def with_dart_in_the_hem() -> Block:
    """A skirt with sides that stand 20 degrees apart, of which a dart in the hem takes 8."""
    corner = complex(220 + DEPTH * math.tan(math.radians(20.0)), DEPTH)
    out = 200 * math.tan(math.radians(4.0))
    return Block(
        seam_by_seam(
            [
                ("waist", Line(0j, 220 + 0j)),
                ("side seam", Line(220 + 0j, corner)),
                ("hem", Line(corner, 200 + out + 600j)),
                ("dart", Line(200 + out + 600j, 200 + 400j)),
                ("dart", Line(200 + 400j, 200 - out + 600j)),
                ("hem", Line(200 - out + 600j, 600j)),
                ("centre front", Line(600j, 0j)),
            ]
        ),
        apex=200 + 400j,
        name="Skirt",
    )


def test_a_dart_in_a_flared_hem_counts_shut() -> None:
    draft = add_allowances(with_dart_in_the_hem(), Settings(clearance=0.0))
    assert not any("flares" in text for text in draft.warnings)


def test_a_dart_on_a_turned_hem_is_sewn_straight_on_to_the_raw_edge() -> None:
    draft = add_allowances(with_dart_in_the_hem(), Settings(clearance=0.0))
    assert not any("mirror" in text for text in draft.warnings)
    (item,) = draft.darts
    onward = dart_cloth(item, draft.cut_line).from_edge
    (leg,) = [leg for leg in item.dart.legs if leg[0].start == onward[-1].end]
    assert abs(onward[-1].start_tangent() - leg[0].start_tangent()) < 1e-9
    # The hem is square to the dart's middle.
    long = 1.5 * INCH / math.cos(math.radians(4.0))
    assert sum(part.length() for part in onward) == pytest.approx(long, abs=0.01)
