"""Best: headings, offsets and sets weighed by what they cost, and the blocks that save."""
