"""Sewing notes: what is said of each dart, the pictures of its steps, their page.

Millimetres on paper. May import from `paper` and what lies below it.
"""
