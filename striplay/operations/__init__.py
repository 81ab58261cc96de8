"""Driven: the passes of every operation over the land."""
