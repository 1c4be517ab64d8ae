"""Hidden blocks and locked old drafts are left alone where a block that is shown would do."""

from __future__ import annotations

from typing import Any

import pytest
from lxml import etree

from drafting_core.text.errors import DraftingError
from extension.drafting.move_and_allow import Outcome, Request, allow, move
from tests.help.blocks.drawings import (
    APEX,
    NS,
    TARGET,
    circle,
    layer,
    marked_front,
    outline,
    page,
    root_of,
    seam_marks,
)

LOCK = (
    'xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd" '
    'sodipodi:insensitive="true"'
)
ASIDE = {"locked": LOCK, "hidden": 'style="display:none"'}


def old(more: str, body: str | None = None, shift: float = 400.0) -> str:
    """An old draft, with the block's marks or a body of its own."""
    inside = marked_front() if body is None else body
    inside = inside.replace('"block"', '"old"').replace('"Front"', '"Front, first try"')
    return f'<g {more} transform="translate({shift},0)">{inside}</g>'


def run(job: Any, body: str, *select: str, to: str = "") -> tuple[Any, Outcome]:
    root = root_of(page(body))
    return root, job(root, Request(selection=select, to=to))


def results(root: Any) -> list[Any]:
    return list(root.iterfind(".//*[@dartswing:result]", NS))


def left_alone(outcome: Outcome) -> list[str]:
    return [note for note in outcome.notes if "Left alone, since locked" in note]


@pytest.mark.parametrize("aside", ASIDE)
@pytest.mark.parametrize("job", [move, allow])
@pytest.mark.parametrize("to", ["", "side seam:0.3"])
@pytest.mark.parametrize("first", [True, False])
def test_what_is_hidden_or_locked_is_left_alone(aside: str, job: Any, to: str, first: bool) -> None:
    parts = [old(ASIDE[aside]), marked_front()]
    root, outcome = run(job, "".join(parts if first else parts[::-1]), to=to)
    assert len(results(root)) == 1
    assert [draft.block.apex for draft in outcome.drafts] == pytest.approx([95 + 260j])
    said = left_alone(outcome)
    assert len(said) == (aside == "locked")
    assert all('"Front, first try"' in words for words in said)


@pytest.mark.parametrize("aside", ASIDE)
def test_all_of_them_are_meant_where_all_are_so_and_a_selected_one_always(aside: str) -> None:
    more = ASIDE[aside]
    both = old(more) + old(more, shift=800).replace('"old"', '"older"').replace("first", "second")
    root, outcome = run(move, both)
    assert len(results(root)) == 2
    assert not left_alone(outcome)
    root, outcome = run(move, old(more) + marked_front(), "old")
    assert [draft.block.apex for draft in outcome.drafts] == pytest.approx([495 + 260j])
    assert not left_alone(outcome)


def test_a_shown_locked_block_goes_before_a_hidden_one() -> None:
    root, outcome = run(move, old(ASIDE["hidden"]) + f"<g {LOCK}>{marked_front()}</g>")
    assert len(results(root)) == 1
    assert [draft.block.apex for draft in outcome.drafts] == pytest.approx([95 + 260j])


@pytest.mark.parametrize("aside", ASIDE)
@pytest.mark.parametrize("own_marks", [True, False])
def test_an_old_draft_beneath_the_block_takes_none_of_its_marks(
    aside: str, own_marks: bool
) -> None:
    """Drawn over the old draft, with the marks in a layer of their own."""
    more = ASIDE[aside]
    moved_apex = circle("apex", 95, 255) + circle("target", 40, 400)
    marks = layer(moved_apex, "Old marks", more) if own_marks else ""
    beneath = old(more, outline(), shift=0.0) + marks
    block = layer(outline(), "Front") + layer(APEX + TARGET + seam_marks(), "Marks of mine")
    _root, outcome = run(move, beneath + block)
    assert [draft.block.apex for draft in outcome.drafts] == pytest.approx([95 + 260j])
    (opening,) = outcome.report["blocks"][0]["openings"]  # type: ignore[index]
    assert opening["seam"] == "side seam"
    # Without that, it is not clear whose marks they are.
    with pytest.raises(DraftingError, match="2 outlines"):
        run(move, beneath.replace(more, "") + block)
    # The old draft is meant where it is selected.
    if own_marks:
        _root, outcome = run(move, beneath + block, "old")
        assert [draft.block.apex for draft in outcome.drafts] == pytest.approx([95 + 255j])


@pytest.mark.parametrize("aside", ASIDE)
def test_what_is_wrong_with_an_old_draft_stops_no_other(aside: str) -> None:
    spoiled = marked_front(more=circle("known length", 10, 10)).replace('"Front"', '"Spoiled"')
    root, outcome = run(move, old(ASIDE[aside], spoiled) + marked_front())
    assert len(results(root)) == len(outcome.drafts) == 1
    with pytest.raises(DraftingError):
        run(move, old("", spoiled) + marked_front())


def test_locked_results_stay_as_they_are() -> None:
    root, _outcome = run(move, marked_front())
    move(root, Request(to="waist:0.2", place="beside"))
    first, second = results(root)
    first.set(f"{{{LOCK.split(chr(34))[1]}}}insensitive", "true")
    before = etree.tostring(first)
    outcome = allow(root, Request(given={"allowance": "20mm"}))
    assert len(outcome.drafts) == 1
    assert etree.tostring(first) == before
    assert second.get("id") == results(root)[1].get("id")
    assert len(left_alone(outcome)) == 1
