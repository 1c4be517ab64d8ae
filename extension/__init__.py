"""Dartswing in an SVG document: reading roles, writing layers, commands for editor and terminal."""
