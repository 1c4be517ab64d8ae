"""Drafting geometry: moving and finishing darts on pattern blocks, without SVG or editor.

Lengths are millimetres, angles radians, points complex numbers ``x + iy`` with y pointing down.
The jobs are `drafting_core.draft.move_dart` and `drafting_core.draft.add_allowances`.
"""
