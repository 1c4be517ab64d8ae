"""Pieces on sheets of paper: a drawing divided into pages, rectangles on shelves.

Millimetres. May import from `trace` and what lies below it.
"""
