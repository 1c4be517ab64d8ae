"""Blocks read from a drawing: outlines, whose marks are whose, what is selected.

Gives the core's blocks in true millimetres. May import from `look` and what lies below it.
"""
