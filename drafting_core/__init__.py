"""Drafting geometry: pattern blocks and their darts, without SVG and without an editor.

Lengths are millimetres, angles radians, points complex numbers ``x + iy`` with y pointing down.
The jobs are `move_dart` and `add_allowances` in `drafting_core.finished.draft`.
"""
