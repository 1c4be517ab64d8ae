"""Invented scans of every kind a digitizer brings, the truth beside them, and the measuring."""
