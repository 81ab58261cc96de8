"""Drawn: headland, heading, strips, rows and passes on the ground, as arrays."""
