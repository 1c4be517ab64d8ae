"""One set of marks for a nest: what is taken over lies where it lies on the model."""

from __future__ import annotations

import cmath
import random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from drafting_core.block.block import Block, DartMark
from drafting_core.block.places import Target
from drafting_core.block.seams import SeamMark
from drafting_core.finished.draft import move_dart
from drafting_core.model.outline import OutlineEdge, checked, nearest_on
from drafting_core.model.seam_names import SeamLabel, seam_kind
from drafting_core.model.settings import Settings
from drafting_core.move.nest import read_model, with_model_marks
from drafting_core.plane.curves import Cubic, Line
from drafting_core.text.errors import DraftingError, OutlineError, PlaceError
from tests.help.blocks import random_blocks
from tests.help.blocks.core_blocks import drawn, segment
from tests.help.depth import examples


def marked(seed: int, place: complex | None = None) -> Block:
    """A random block whose marks, not its paths, name its seams; with a target."""
    source = drawn(seed)
    at = place or random_blocks.random_place(source, random.Random(seed))[2]
    return Block(
        [OutlineEdge(segment(s.points), None, s.run < 0) for s in source.segments],
        apex=source.apex,
        targets=[Target(at=at)],
        seam_marks=[
            SeamMark(random_blocks.at(s.points, 0.5), SeamLabel(s.seam))
            for s in source.segments
            if s.run >= 0
        ],
    )


def bare(block: Block, factor: complex = 1 + 0j, start: int = 0, mirrored: bool = False) -> Block:
    """The same outline turned, scaled and begun elsewhere, without any marks."""

    def place(z: complex) -> complex:
        return factor * (z.conjugate() if mirrored else z) + 30 - 20j

    edges = [e._replace(segment=e.segment.mapped(place)) for e in block.outline]
    return Block([*edges[start:], *edges[:start]])


def legible(block: Block) -> bool:
    """Whether every seam of the block ends in a corner, so that marks can tell them apart."""
    try:
        move_dart(block)
    except DraftingError:
        return False
    return True


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(0, 10_000), st.floats(0.85, 1.2), st.floats(-3.1, 3.1), st.integers(0, 6))
def test_a_similar_block_is_drafted_like_the_model(
    seed: int, scale: float, angle: float, start: int
) -> None:
    model = marked(seed)
    assume(legible(model))
    source = drawn(seed)
    if abs(source.segments[source.mouth].points[-1] - source.apex) > 1e-9:
        # A lowered point: "the same distance beyond it" is not scaled.
        scale = 1.0
    factor = cmath.rect(scale, angle)
    other = with_model_marks(read_model(model), bare(model, factor, start))
    assert other.apex is not None
    assert model.apex is not None
    assert abs(other.apex - (factor * model.apex + 30 - 20j)) < 1e-6
    mine, theirs = model.targets[0].at, other.targets[0].at
    assert mine is not None
    assert theirs is not None
    assert abs(theirs - (factor * mine + 30 - 20j)) < 0.01
    plain = Settings(clearance=0.0)
    one, two = move_dart(model, plain), move_dart(other, plain)
    assert sorted(s.name for s in two.piece.seams()) == sorted(s.name for s in one.piece.seams())
    lengths = {entry.seam.kind: entry.after for entry in one.balance.seams}
    assert {e.seam.kind: e.after for e in two.balance.seams} == pytest.approx(
        {kind: scale * length for kind, length in lengths.items()}, abs=0.01
    )
    assert two.darts[0].dart.seam.kind == one.darts[0].dart.seam.kind
    assert two.darts[0].dart.opening.angle == pytest.approx(one.darts[0].dart.opening.angle)


@settings(max_examples=examples(25), deadline=None)
@given(st.integers(0, 10_000))
def test_a_mirrored_block_is_refused(seed: int) -> None:
    model = marked(seed)
    assume(legible(model))
    with pytest.raises(OutlineError, match=r"mirrored|seams"):
        with_model_marks(read_model(model), bare(model, mirrored=True))


def front(grow: float = 0.0, *, marks: bool = False, lowered: float = 0.0) -> Block:
    """A front with a waist dart wider by ``grow``."""
    z = [
        0 + 80j,
        0 + 400j,
        80 + 400j,
        complex(95, 260 + lowered),
        110 + 400j,
        230 + grow + 400j,
        240 + grow + 210j,
        180 + grow + 40j,
        70 + 0j,
    ]
    outline = [OutlineEdge(Line(a, b)) for a, b in zip(z, [*z[1:], z[0]], strict=True)]
    underarm, shoulder = z[6], z[7]
    armhole = Cubic(underarm, underarm - 40 - 5j, shoulder - 5 + 110j, shoulder)
    outline[6] = OutlineEdge(armhole)
    if not marks:
        return Block(outline, name="other")
    names = {
        "neckline": 35 + 40j,
        "shoulder": complex(125 + grow / 2, 20),
        "armhole": armhole.point(0.5),
        "side seam": 235 + grow + 305j,
        "waist": 40 + 400j,
    }
    seam_marks = [SeamMark(at, SeamLabel(name)) for name, at in names.items()]
    seam_marks.append(SeamMark(0 + 240j, SeamLabel("centre front", None, True)))
    seam_marks.append(SeamMark(235 + grow + 305j, SeamLabel("", 20.0)))
    return Block(outline, apex=95 + 260j, seam_marks=seam_marks, name="model")


@given(st.floats(0.02, 0.98), st.floats(-40, 60))
def test_a_target_keeps_its_fraction_across_a_mouth(fraction: float, grow: float) -> None:
    """The waist is one seam on both sides of the dart; its sewn length leaves the mouth out."""
    whole = 80.0 + 120.0
    along = fraction * whole
    x = along if along < 80 else along + 30
    model = front(marks=True)._replace(targets=[Target(at=complex(x, 403))])
    other = with_model_marks(read_model(model), front(grow))
    place = other.targets[0].at
    assert place is not None
    if min(abs(x - end) for end in (0, 80, 110, 230)) <= 2.0:
        return
    far = fraction * (200 + grow)
    assert place.imag == pytest.approx(400)
    assert place.real == pytest.approx(far if far < 80 else far + 30)


def test_names_folds_and_widths_come_over_by_order() -> None:
    model = front(marks=True)._replace(targets=[Target(at=235 + 305j)])
    draft = move_dart(with_model_marks(read_model(model), front(40.0)))
    seams = {seam.name: seam for seam in draft.piece.seams()}
    assert set(seams) == {
        "neckline",
        "shoulder",
        "armhole",
        "side seam",
        "waist",
        "centre front",
    }
    assert seams["centre front"].fold
    assert not seams["waist"].fold
    assert seams["side seam"].allowance == 20.0


@pytest.mark.parametrize(
    ("at", "there"), [(241 + 209j, 290 + 210j), (80.5 + 400j, 110 + 400j), (70 + 0j, 70 + 0j)]
)
def test_corners_and_mouths_correspond(at: complex, there: complex) -> None:
    model = front(marks=True)._replace(targets=[Target(at=at)])
    place = with_model_marks(read_model(model), front(50.0)).targets[0].at
    assert place is not None
    assert abs(place - there) < 1e-9


def test_the_apex_lies_as_far_beyond_a_lowered_point() -> None:
    model = front(marks=True, lowered=25.0)._replace(targets=[Target(at=235 + 305j)])
    other = with_model_marks(read_model(model), front(40.0, lowered=30.0))
    assert other.apex == pytest.approx(95 + 265j)


def test_an_apex_beside_its_dart_is_refused() -> None:
    model = front(marks=True, lowered=25.0)._replace(
        targets=[Target(at=235 + 305j)], apex=96.2 + 260j
    )
    with pytest.raises(DraftingError, match=r"apex lies 1\.2 mm beside") as caught:
        with_model_marks(read_model(model), front(lowered=25.0))
    assert '"model"' in str(caught.value)


def test_own_marks_stay_kind_by_kind() -> None:
    model = front(marks=True)._replace(targets=[Target(at=235 + 305j)])
    own = front(20.0)._replace(targets=[Target(at=35 + 40j)], apex=95 + 259j)
    other = with_model_marks(read_model(model), own)
    assert other.targets == own.targets
    assert other.apex == own.apex
    assert len(other.seam_marks) == 7
    named = own._replace(seam_marks=[SeamMark(40 + 400j, SeamLabel("hem"))])
    assert with_model_marks(read_model(model), named).seam_marks == named.seam_marks


def test_different_seams_are_refused_with_both_numbers() -> None:
    model = front(marks=True)._replace(targets=[Target(at=235 + 305j)])
    other = front()
    edges = list(other.outline)
    edges[7:8] = [OutlineEdge(Line(180 + 40j, 130 + 60j)), OutlineEdge(Line(130 + 60j, 70 + 0j))]
    with pytest.raises(OutlineError, match='"other" has 7 seams and "model" has 6'):
        with_model_marks(read_model(model), other._replace(outline=edges))


def test_a_block_without_a_dart_is_refused() -> None:
    model = front(marks=True)._replace(targets=[Target(at=235 + 305j)])
    other = front()
    edges = [*other.outline[:1], OutlineEdge(Line(0 + 400j, 230 + 400j)), *other.outline[5:]]
    with pytest.raises(DraftingError, match="no dart like"):
        with_model_marks(read_model(model), other._replace(outline=edges))


def two_darts(grow: float) -> Block:
    """The front with a second, wider dart to the same apex in the side seam."""
    block = front(grow, marks=grow == 0)
    high, low = complex(238 + grow, 248), complex(233.47 + grow, 334.1)
    apex = 95 + 260j
    radius = abs(high - apex)
    low = apex + cmath.rect(radius, cmath.phase(low - apex))
    side = block.outline[5].segment
    edges = [
        *block.outline[:5],
        *(
            OutlineEdge(Line(a, b))
            for a, b in ((side.start, low), (low, apex), (apex, high), (high, side.end))
        ),
        *block.outline[6:],
    ]
    return block._replace(outline=edges)


def test_dart_marks_correspond_by_order() -> None:
    model = two_darts(0.0)._replace(
        targets=[Target(at=35 + 40j)], dart_marks=[DartMark(95 + 390j, 0.5)]
    )
    other = two_darts(30.0)
    turned = other._replace(outline=[*other.outline[6:], *other.outline[:6]])
    drafted = move_dart(with_model_marks(read_model(model), turned))
    sources = [d.dart.opening for d in drafted.darts if d.dart.opening.source]
    assert len(sources) == 1
    mouth = next(d.dart.ends for d in drafted.darts if d.dart.opening.source)
    assert all(abs(end.imag - 400) < 5 for end in mouth)
    assert sources[0].share == pytest.approx(0.5)


def test_a_place_in_words_is_the_same_everywhere() -> None:
    model = front(marks=True)._replace(targets=[Target(place="side seam:0.35")])
    other = with_model_marks(read_model(model), front(30.0))
    assert other.targets == model.targets
    off = front(marks=True)._replace(targets=[Target(at=120 + 200j)])
    with pytest.raises(PlaceError):
        with_model_marks(read_model(off), front(30.0))


@given(st.integers(0, 10_000))
@settings(max_examples=examples(25), deadline=None)
def test_marks_lie_on_the_seams_that_they_name(seed: int) -> None:
    model = marked(seed)
    assume(legible(model))
    other = with_model_marks(read_model(model), bare(model))
    ring = [edge.segment for edge in checked(model.outline)]
    own = [edge.segment.mapped(lambda z: z + 30 - 20j) for edge in checked(model.outline)]
    names = {}
    for mark in model.seam_marks:
        names[nearest_on(ring, mark.at).segment] = seam_kind(mark.label.name)
    for mark in other.seam_marks:
        found = nearest_on(own, mark.at)
        assert found.distance < 1e-6
        assert names.get(found.segment, seam_kind(mark.label.name)) == seam_kind(mark.label.name)
