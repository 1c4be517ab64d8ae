"""Seams named by shape alone: many of plain pieces, and never a wrong one, be it what it may."""

from __future__ import annotations

import collections
import random

import pytest

from drafting_core.text.errors import DraftingError
from tests.help.depth import examples
from tests.help.scans.fresh.pieces import PIECE_KINDS, random_piece
from tests.help.unnamed.named_seams import Named, many, named, posed
from tests.help.unnamed.other_pieces import OTHERS, other_piece

#: Of a kind's seams at least this part is named, of all that are: a skirt's centre may be either
#: one, a yoke's own seam has no name of the trade, and half of the sleeves end above the wrist.
LEAST = {"front": 0.6, "back": 0.6, "skirt": 0.4, "trousers": 0.8, "sleeve": 0.35, "yoke": 0.45}


def test_no_name_of_a_plain_piece_is_wrong_and_most_have_one() -> None:
    """Mirrored, on its side, upside down and askew as it may lie."""
    found: dict[str, list[Named]] = collections.defaultdict(list)
    for seed, one in many(examples(400)):
        assert not one.wrong, (seed, one)
        found[one.kind].append(one)
    assert set(found) == set(PIECE_KINDS)
    for kind, ones in found.items():
        right = sum(one.right for one in ones)
        assert right >= LEAST[kind] * (right + sum(one.numbered for one in ones)), kind


@pytest.mark.parametrize("most", [1.25, 1.6, 2.2])
def test_no_name_of_a_piece_of_unusual_proportions_is_wrong(most: float) -> None:
    for seed, one in many(examples(160), 50_000, most):
        assert not one.wrong, (seed, one)


@pytest.mark.parametrize("kind", list(OTHERS))
def test_no_piece_of_another_kind_gets_a_name_that_is_not_its_own(kind: str) -> None:
    for seed in range(examples(40)):
        rng = random.Random(f"{kind} {seed}")
        piece = posed(rng, other_piece(rng, kind))
        try:
            one = named(piece)
        except DraftingError:
            continue
        assert not one.wrong, (seed, one)


def test_the_drafters_word_for_the_piece_counts() -> None:
    """A sleeve so called needs no dart to be known, and a cuff is none."""
    counts = collections.Counter[str]()
    for seed in range(12):
        rng = random.Random(seed)
        sleeve = random_piece(rng, kinds=("sleeve",), darts=(0,))
        for name in ("", "Sleeve left", "sleeve cuff", "Skirt"):
            one = named(sleeve, name)
            assert not one.wrong
            counts[name] += one.right
    assert counts["Sleeve left"] >= counts[""] > 0
    assert counts["sleeve cuff"] == counts["Skirt"] == 0
