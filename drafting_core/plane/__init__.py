"""Points, curves, where they cross, and their parallels: no word of a pattern.

Millimetres, radians, complex points with y pointing down. Imports nothing of the project.
"""
