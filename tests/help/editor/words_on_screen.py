"""Where words stand in a picture of the screen, so that a drafter's mouse finds them."""

from __future__ import annotations

import csv
import subprocess
import tempfile
from pathlib import Path

from PIL import Image, ImageOps

#: By this a picture is enlarged: small letters are read badly.
_LARGER = 2


def words_seen(picture: Image.Image) -> list[tuple[str, complex]]:
    """Return every word that is read in a picture, with its middle in pixels, line by line."""
    grey = ImageOps.autocontrast(picture.convert("L"))
    large = grey.resize((grey.width * _LARGER, grey.height * _LARGER))
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "screen.png"
        large.save(file)
        answer = subprocess.run(
            ["tesseract", str(file), "-", "--psm", "11", "tsv"],
            capture_output=True,
            text=True,
            timeout=120,
            check=True,
        )
    rows = csv.DictReader(answer.stdout.splitlines(), delimiter="\t", quoting=csv.QUOTE_NONE)
    return [
        (
            row["text"].strip(),
            complex(
                int(row["left"]) + int(row["width"]) / 2, int(row["top"]) + int(row["height"]) / 2
            )
            / _LARGER,
        )
        for row in rows
        if row["text"] and row["text"].strip()
    ]


def place_of_words(picture: Image.Image, *words: str) -> complex | None:
    """Return the middle of some words that stand in one line, or None where they are not seen."""
    seen = words_seen(picture)
    for k, (_, first) in enumerate(seen):
        run = seen[k : k + len(words)]
        if [word.strip(".:…,").casefold() for word, _ in run] == [w.casefold() for w in words] and (
            all(abs(place.imag - first.imag) < 8 for _, place in run)
        ):
            return sum(place for _, place in run) / len(run)
    return None
