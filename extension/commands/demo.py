"""The demonstration: the sample front with its dart in three places."""

from __future__ import annotations

from pathlib import Path

from drafting_core.text.words import _
from extension.document.svg_document import DocumentError, read_document
from extension.document.write_files import write_document
from extension.drafting.move_and_allow import Request, move
from extension.drafting.report import terminal_balance

SAMPLE = "front_one_path.svg"
#: The places, and the name of each drawing.
PLACES = (
    ("neckline/centre front", "front_dart_at_neckline_tip.svg"),  # not read by drafters
    ("side seam:0.35", "front_dart_at_side_seam.svg"),  # not read by drafters
    ("waist", "front_dart_at_waist.svg"),
)


def demo(folder: Path) -> str:
    """Move the sample's dart to three places, write the drawings and return what became of it.

    Raises:
        DraftingError: if a drawing cannot be read or written.
    """
    sample = Path(__file__).resolve().parents[2] / "sample_svgs" / SAMPLE
    if not sample.is_file():
        raise DocumentError(
            _("the sample {sample} is not installed here.").format(sample=SAMPLE),
            thing=_("The demonstration"),
            remedy=_("Run it in the project's own folder."),
        )
    parts = []
    for place, name in PLACES:
        tree = read_document(str(sample))
        outcome = move(tree.getroot(), Request(to=place))
        target = folder / name
        write_document(tree, str(target))
        parts.append(f"{place} → {target}\n{terminal_balance(outcome.drafts)}")
    return "\n\n".join(parts)
