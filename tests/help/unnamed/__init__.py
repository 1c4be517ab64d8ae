"""Pieces whose seams nobody named, and how truly they are named by their shape."""
