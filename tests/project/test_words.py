"""That all a drafter reads can be translated, as whole sentences, and that nothing hangs on it."""

from __future__ import annotations

import ast
import random
import string
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from drafting_core.block.block import Block, DartMark
from drafting_core.block.places import Target
from drafting_core.block.source_darts import no_dart
from drafting_core.block.target_words import targets_in_words
from drafting_core.dart.excess import keep_or_trim
from drafting_core.dart.finish_words import CLOTH_WORDS, fold_sentence, verdict_sentence
from drafting_core.finished.draft import add_allowances, move_dart
from drafting_core.finished.pattern_piece import Draft
from drafting_core.model.allowances import Allowances
from drafting_core.model.seam_names import KNOWN_SEAMS, STYLE_LINE, Seam
from drafting_core.model.settings import Settings
from drafting_core.style.style_line import cut_in_two
from drafting_core.text import words
from drafting_core.text.errors import DraftingError
from drafting_core.text.lengths import as_typed, in_words, parse_length
from tests.help.blocks import random_blocks, style_lines
from tests.help.blocks.core_blocks import core_block, drawn
from tests.help.depth import some_quick
from tests.help.texts.untranslated import ROOT, TRANSLATING, untranslated

CORE = sorted((ROOT / "drafting_core").rglob("*.py"))


class Marking:
    """A catalogue that answers every text in brackets."""

    def gettext(self, message: str, /) -> str:
        return f"⟦{message}⟧"

    def ngettext(self, singular: str, plural: str, n: int, /) -> str:
        return f"⟦{singular if n == 1 else plural}⟧"


@pytest.fixture(autouse=True)
def english() -> Iterator[None]:
    words.speak(None)
    yield
    words.speak(None)


@contextmanager
def in_brackets() -> Iterator[None]:
    """Answer every text in brackets meanwhile."""
    words.speak(Marking)
    try:
        yield
    finally:
        words.speak(None)


def unmarked(text: str) -> str:
    """Return the letters and digits of a text that stand in no brackets at all."""
    depth, left = 0, []
    for letter in text:
        depth += (letter == "⟦") - (letter == "⟧")
        assert depth >= 0, text
        if depth == 0 and letter.isalnum():
            left.append(letter)
    assert depth == 0, text
    return "".join(left)


def is_marked(text: str) -> bool:
    return "⟦" in text and not unmarked(text)


@pytest.mark.parametrize("file", CORE, ids=lambda file: file.name)
def test_every_text_is_marked_for_translation(file: Path) -> None:
    assert list(untranslated(file)) == []


@pytest.mark.parametrize("file", CORE, ids=lambda file: file.name)
def test_what_is_marked_is_one_literal_with_named_fields(file: Path) -> None:
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if not (isinstance(node, ast.Call) and getattr(node.func, "id", "") in TRANSLATING):
            continue
        texts = node.args[:2] if getattr(node.func, "id", "") == "ngettext" else node.args
        for text in texts:
            assert not isinstance(text, (ast.JoinedStr, ast.BinOp)), (file.name, node.lineno)
            if isinstance(text, ast.Constant):
                fields = [field for _, field, _, _ in string.Formatter().parse(str(text.value))]
                named = all(field is None or field.isidentifier() for field in fields)
                assert named, (file.name, node.lineno)


def told(draft: Draft) -> list[str]:
    """Return all that the core says of a draft."""
    return [
        *draft.notes,
        *draft.warnings,
        *(item.dart.why for item in draft.darts),
        *(fold_sentence(item.dart.fold) for item in draft.darts),
        *(entry.seam.spoken for entry in draft.balance.seams),
    ]


def measured(draft: Draft) -> object:
    """Return what a draft is, but for its words."""
    return (
        draft.cut_line,
        draft.stitch_line,
        draft.notches,
        draft.grain,
        [(line.paths, line.thing) for line in draft.inner_lines],
        [(seam.name, seam.kind, seam.mate) for seam in draft.piece.seams()],
        [(item.dart.excess, item.dart.fold.way, item.dart.fold.leg) for item in draft.darts],
        [(item.before, item.after) for item in draft.balance.seams],
        [(item.kind, item.width) for item in draft.fullness],
    )


HOW = [
    Settings(),
    Settings(cloth="fine", blend=40.0, true_mouth=True),
    Settings(cloth="sheer", share=0.5, fold="side", blend=300.0),
    Settings(cloth="knit", share=0.15, blend=40.0),
    Settings(excess="trim", fold="up", wide=10.0),
    Settings(wide=10.0, clearance=0.0, drill_hole=500.0),
    Settings(made="tuck", true_mouth=True),
    Settings(made="gathers"),
    Settings(
        excess="keep", fold="centre", allowances=Allowances.parse("10mm, hem=30mm turned, cuff=9mm")
    ),
]


@pytest.mark.parametrize("how", some_quick([pytest.param(h) for h in HOW], 4), ids=range(len(HOW)))
def test_a_move_is_the_same_in_any_language_and_says_nothing_else(how: Settings) -> None:
    drafts = 0
    for seed in range(12):
        source = drawn(seed)
        block = core_block(source)._replace(name="")
        place = random_blocks.random_place(source, random.Random(seed))[2]
        try:
            draft = move_dart(block, how, [Target(at=place)])
        except DraftingError as error:
            with pytest.raises(type(error)) as other, in_brackets():
                move_dart(block, how, [Target(at=place)])
            assert is_marked(str(other.value))
            continue
        drafts += 1
        with in_brackets():
            same = move_dart(block, how, [Target(at=place)])
            sentences = told(same)
        assert measured(same) == measured(draft)
        # What is said does not hang on the language either.
        assert len(sentences) == len(told(draft))
        assert [text for text in sentences if not is_marked(text)] == []
        assert not any("⟦" in text for text in told(draft))
    assert drafts > 3


@pytest.mark.thorough
def test_a_cut_block_is_the_same_in_any_language() -> None:
    cut = 0
    for seed in range(30):
        try:
            block = style_lines.cut(seed, through=True, loose=seed % 2 == 0).block
            block = block._replace(name="")
            pieces = cut_in_two(block)
        except (DraftingError, StopIteration):
            continue
        cut += 1
        with in_brackets():
            same = cut_in_two(block)
            sentences = [text for draft in same for text in told(draft)]
        # Where it is drawn beside the first, the second does not hang on its name.
        assert [measured(draft) for draft in same] == [measured(draft) for draft in pieces]
        assert [text for text in sentences if not is_marked(text)] == []
        assert all(is_marked(draft.block.name) for draft in same)
    assert cut > 5


def front() -> Block:
    return core_block(drawn(1, "front"))


def lone(targets: str, **how: object) -> Callable[[], object]:
    return lambda: move_dart(front(), Settings(**how), targets_in_words(targets))  # type: ignore[arg-type]


FAULTS: dict[str, Callable[[], object]] = {
    "no length": lambda: parse_length("wide"),
    "no allowance": lambda: Allowances.parse("-2mm"),
    "turned": lambda: Allowances.parse("10mm turned"),
    "no place": lambda: targets_in_words("=0.5"),
    "no share": lambda: targets_in_words("waist=7"),
    "made": lambda: targets_in_words("waist as bow"),
    "no cloth": lambda: Settings(cloth="tin"),
    "share": lambda: Settings(share=2.0),
    "clearance": lambda: Settings(clearance=-1.0),
    "no seam": lone("moon:0.5"),
    "no fraction": lone("neckline:much"),
    "beyond": lone("neckline:1.5"),
    "no corner": lone("neckline/hem" if "hem" in str(drawn(1, "front").runs) else "neckline/waist"),
    "too much": lone("neckline:0.5=0.8; shoulder:0.5=0.7"),
    "too wide": lone("neckline:0.5=900mm"),
    "one place": lone("shoulder:0.5; shoulder:0.5"),
    "no such dart": lone("shoulder:0.5 from neckline"),
    "long clearance": lone("shoulder:0.5", clearance=5000.0),
    "ease": lone("shoulder:0.5 as ease", ease_limit=0.5),
    "flare": lone("shoulder:0.5 as flare"),
    "tuck": lone("shoulder:0.5 as tuck", tuck_length=5000.0),
    "no target": lambda: move_dart(front(), None, []),
    "no apex": lambda: move_dart(front()._replace(apex=None), None, [Target(place="shoulder")]),
    "far target": lambda: move_dart(front(), None, [Target(at=9e3 + 9e3j, miss=3.0)]),
    "far apex": lambda: move_dart(front()._replace(apex=9e3 + 0j), None, [Target(place="waist")]),
    "hold": lambda: move_dart(front()._replace(hold=9e3 + 0j), None, [Target(place="shoulder")]),
    "dart mark": lambda: move_dart(
        front()._replace(dart_marks=[DartMark(9e3 + 0j)]), None, [Target(place="shoulder")]
    ),
    "no outline": lambda: add_allowances(front()._replace(outline=[])),
    "open": lambda: add_allowances(front()._replace(outline=front().outline[2:])),
    "wide allowance": lambda: move_dart(
        front(),
        Settings(allowances=Allowances.parse("10mm, neckline=2000mm turned")),
        [Target(place="shoulder:0.5")],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_an_error_is_whole_sentences(name: str) -> None:
    with pytest.raises(DraftingError) as plain:
        FAULTS[name]()
    with pytest.raises(DraftingError) as marked, in_brackets():
        FAULTS[name]()
    assert type(marked.value) is type(plain.value)
    assert marked.value.place == plain.value.place
    assert is_marked(str(marked.value))
    assert str(marked.value).replace("⟦", "").replace("⟧", "").casefold() == (
        str(plain.value).casefold()
    )


def test_the_error_without_a_dart_is_whole_sentences() -> None:
    with in_brackets():
        error = no_dart()
    assert is_marked(str(error))


def test_known_seams_are_shown_in_her_language_and_her_own_names_as_she_spells_them() -> None:
    def names(name: str) -> tuple[str, str]:
        seam = Seam(name, name.casefold())
        return seam.spoken, seam.shown

    for known in (*KNOWN_SEAMS, STYLE_LINE):
        assert names(known) == (f"the {known}", known)
    assert names("Side Seam") == ("the Side Seam", "Side Seam")
    assert names("seam 2") == ("seam 2", "seam 2")
    assert names("yoke") == ("the yoke", "yoke")
    with in_brackets():
        for known in (*KNOWN_SEAMS, STYLE_LINE):
            assert names(known) == (f"⟦the {known}⟧", f"⟦{known}⟧")
        assert names("Side Seam") == ("⟦the side seam⟧", "⟦side seam⟧")
        assert names("seam 2") == ("⟦seam 2⟧", "⟦seam 2⟧")
        assert names("yoke") == ("⟦the yoke⟧", "yoke")


def test_a_reason_holds_for_several_cloths() -> None:
    seam = Seam("shoulder", "shoulder")
    verdicts = [
        keep_or_trim(seam, False, 30.0, Settings(cloth=cloth)) for cloth in ("sheer", "knit")
    ]
    assert verdicts[0]._replace(cloth="") == verdicts[1]._replace(cloth="")
    alone = [verdict_sentence(verdict) for verdict in verdicts]
    assert CLOTH_WORDS["sheer"] in alone[0]
    assert CLOTH_WORDS["knit"] in alone[1]
    both = verdict_sentence(verdicts[0]._replace(cloth=""), ["sheer", "knit"], finishing=False)
    assert f"{CLOTH_WORDS['sheer']} or {CLOTH_WORDS['knit']}" in both
    assert "clean finish" in alone[0]
    assert "clean finish" not in both


@pytest.mark.parametrize("length", [0.0, 3.0, 12.7, 40.04, 1234.56])
def test_a_length_as_typed_is_read_back_in_any_language(length: float) -> None:
    with in_brackets():
        typed = as_typed(length)
    assert parse_length(typed) == pytest.approx(length, abs=0.05)
    assert typed == in_words(length).replace(" ", "")
