"""Counted: areas, row lengths and seed, which close."""
