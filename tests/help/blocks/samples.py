"""The sample drawings, and which of them are blocks that a dart can be moved on as they are."""

from __future__ import annotations

from pathlib import Path

SAMPLES = sorted((Path(__file__).parents[3] / "sample_svgs").glob("*.svg"))
#: Traces of scans, which are cleaned up first.
SCANS = [path for path in SAMPLES if path.stem.startswith("scanned_")]
BLOCKS = [path for path in SAMPLES if path not in SCANS]
