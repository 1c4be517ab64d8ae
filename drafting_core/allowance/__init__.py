"""Seam allowances: the cut line, its corners and runs, what vanishes, turned allowances.

Millimetres, radians, complex points. May import from `trueing` and what lies below it.
"""
