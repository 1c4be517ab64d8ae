"""Random results, folded shut as paper is: raw edges and excess lie on one another."""

from __future__ import annotations

import json
import re
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from tests.help.contract.contract_model import read_results
from tests.help.contract.folded_paper import Paper, judged
from tests.help.contract.folding_cases import Case, make_case, outcome, reason, run
from tests.help.contract.written_paper import read_paper
from tests.help.depth import examples, some_quick
from tests.help.once import made_once, shared_folder

BATCH, BATCHES, QUICK = 10, 100, 2
#: What no drafter can be blamed for: errors of the program, however they are worded.
FAULTS_OF_THE_PROGRAM = ("went wrong inside", "does not close", "not balance", "folded shut",
                         "Traceback")
#: Allowances too wide for a random outline are few.
MOST_THAT_DO_NOT_FIT = 0.03


@pytest.fixture(scope="session")
def folded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return shared_folder(tmp_path_factory) / "folded"


def batch(folded: Path, number: int) -> list[tuple[int, str, list[str], str]]:
    """The outcomes of a batch, made once: seed, arguments, faults, refusal."""

    def make(folder: Path) -> None:
        found = []
        for seed in range(number * BATCH, (number + 1) * BATCH):
            case = make_case(seed)
            with tempfile.TemporaryDirectory() as scratch:
                made = outcome(case, Path(scratch))
            found.append((seed, case.told(), made.faults, made.refused))
        (folder / "outcomes.json").write_text(json.dumps(found), encoding="utf-8")

    text = (made_once(folded / str(number), make) / "outcomes.json").read_text(encoding="utf-8")
    return [tuple(one) for one in json.loads(text)]


@pytest.mark.parametrize("number", some_quick(range(BATCHES), QUICK))
def test_every_result_folds_shut_or_is_refused_in_plain_words(folded: Path, number: int) -> None:
    wrong = {
        seed: f"case {seed} ({told}): {faults or refused}"
        for seed, told, faults, refused in batch(folded, number)
        if faults or any(words in refused for words in FAULTS_OF_THE_PROGRAM)
    }
    assert not wrong, "\n".join(wrong.values())


def test_hardly_any_allowances_do_not_fit(folded: Path) -> None:
    count = BATCHES if examples(BATCHES) == BATCHES else QUICK
    cases = [one for k in range(count) for one in batch(folded, BATCHES * k // count)]
    reasons: dict[str, int] = {}
    for _, _, _, refused in cases:
        if refused:
            reasons[reason(refused)] = reasons.get(reason(refused), 0) + 1
    misfits = sum(n for words, n in reasons.items() if "do not fit" in words)
    few = 1 + MOST_THAT_DO_NOT_FIT * len(cases)
    assert misfits <= few, reasons
    assert sum(reasons.values()) <= 2 * few, reasons


def paper_of(case: Case, folder: Path) -> Paper:
    """The result of a case, written and read."""
    given, made = folder / "in.svg", folder / "out.svg"
    given.write_text(case.drawing.text, encoding="utf-8")
    status, messages = run(["move", str(given), "-o", str(made), *case.arguments])
    assert status == 0, messages
    layer = read_results(made.read_text(encoding="utf-8"), case.drawing)[-1]
    return read_paper(layer, case.block, case.widths)


@pytest.fixture(scope="module")
def right(tmp_path_factory: pytest.TempPathFactory) -> Paper:
    """A front with one dart that keeps its excess, everything as it ought to be."""
    folder = tmp_path_factory.mktemp("right")
    for seed in range(100):
        case = make_case(seed)
        if case.block.kind == "front" and "--excess keep" in case.told() and not case.uneven:
            paper = paper_of(case, folder)
            if len(paper.mouths) == 1 and not paper.windows and len(paper.notches) > 1:
                assert judged(paper) == []
                return paper
    raise AssertionError("no such case")


def moved(paper: Paper, node: int, by: complex) -> Paper:
    """The paper with one node of its cut line moved."""
    cut = list(paper.cut)
    cut[node - 1] = (*cut[node - 1][:-1], cut[node - 1][-1] + by)
    cut[node] = (cut[node][0] + by, *cut[node][1:])
    return replace(paper, cut=tuple(cut))


def in_the_mouth(paper: Paper) -> int:
    """A node of the cut line well inside the mouth."""
    return max(range(len(paper.cut)), key=lambda k: (
        paper.mouths[0].inside(paper.cut[k][0], 2.0), abs(paper.cut[k][0] - paper.mouths[0].point)))


def test_the_judge_sees_an_excess_that_is_off(right: Paper) -> None:
    out = right.mouths[0].middle
    found = " ".join(judged(moved(right, in_the_mouth(right), 0.3 * out)))
    assert "excess" in found


def test_the_judge_sees_raw_edges_that_do_not_meet(right: Paper) -> None:
    (mouth,) = right.mouths
    turned = replace(mouth, point=mouth.point + 0.4 * (mouth.rays[1] - mouth.rays[0]))
    found = " ".join(judged(replace(right, mouths=(turned,))))
    assert "raw edges" in found


def test_the_judge_sees_notches_that_do_not_meet(right: Paper) -> None:
    (mouth,) = right.mouths
    first = next(notch for notch in right.notches if min(
        abs(((z - mouth.point) / mouth.rays[0]).imag) for z in notch) < 0.01)
    off = tuple(z + 0.1 * mouth.rays[0] for z in first)
    notches = (off, *(notch for notch in right.notches if notch is not first))
    assert "apart when it is shut" in " ".join(judged(replace(right, notches=notches)))
    rest = tuple(notch for notch in right.notches if notch is not first)
    assert "no notch" in " ".join(judged(replace(right, notches=rest)))


def test_the_judge_sees_another_width(right: Paper) -> None:
    widths = [replace(solid, width=solid.width + (0.1 if k == 2 else 0.0))
              for k, solid in enumerate(right.solids)]
    assert judged(replace(right, solids=tuple(widths)))


def test_the_judge_sees_what_lies_beyond_a_fold(right: Paper) -> None:
    straight = next(k for k, solid in enumerate(right.solids)
                    if len(solid.points) == 2 and solid.width > 1)
    assert "beyond the fold edge" in " ".join(judged(replace(right, folds=(straight,))))


def test_the_judge_sees_the_fold_on_the_wrong_side(right: Paper) -> None:
    (mouth,) = right.mouths
    other = replace(mouth, leg=1 - mouth.leg)
    assert "excess" in " ".join(judged(replace(right, mouths=(other,))))


#: Cases where a neighbour's allowance takes the room of a seam's own.
WITHOUT_ROOM = (41, 448, 687, 1647, 1662, 1931)
#: Cases where a narrow seam's extension would run through a wide curved one's allowance.
STEPPED = (162, 901, 973, 1673, 1752, 1999)


@pytest.mark.parametrize("seed", WITHOUT_ROOM)
def test_a_seam_that_misses_some_of_its_allowance_is_told(seed: int, tmp_path: Path) -> None:
    case = make_case(seed)
    given, made = tmp_path / "in.svg", tmp_path / "out.svg"
    given.write_text(case.drawing.text, encoding="utf-8")
    status, messages = run(["move", str(given), "-o", str(made), *case.arguments])
    assert status == 0, messages
    told = re.findall(
        r"Near \((\S+), (\S+)\) mm the cut line lies only (\S+) mm from [^,]+, not (\S+) mm",
        messages,
    )
    assert told
    layer = read_results(made.read_text(encoding="utf-8"), case.drawing)[-1]
    paper = read_paper(layer, case.block, case.widths)
    for x, y, left, width in told:
        z = case.drawing.to_root.inverse()(complex(float(x), float(y)))
        place = shapely.Point(z.real, z.imag)
        assert float(left) < float(width)
        assert f"={float(width)}mm" in case.told()
        # Places and lengths are told to a tenth of a millimetre.
        assert paper.edge.distance(place) == pytest.approx(float(left), abs=0.15)


@pytest.mark.thorough
@pytest.mark.parametrize("seed", STEPPED)
def test_a_curve_beside_a_narrow_seam_keeps_its_allowance(seed: int, tmp_path: Path) -> None:
    made = outcome(make_case(seed), tmp_path)
    assert (made.faults, made.refused) == ([], "")
    assert "the cut line lies only" not in made.messages
