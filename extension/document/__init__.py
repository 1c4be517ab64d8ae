"""The SVG document: its units, paths, shapes, roles and ids.

Converts between the document's user units and the core's millimetres. May import from `host`.
"""
