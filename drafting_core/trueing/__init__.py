"""Seams drawn smooth where a dart was closed and across a mouth, and what is said of it.

Millimetres, radians, complex points. May import from `dart` and what lies below it.
"""
