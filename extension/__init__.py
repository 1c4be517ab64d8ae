"""Dartswing in the editor and on the command line: reading roles, writing layers."""
