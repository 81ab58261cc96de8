"""Hold the look of the pages: sizes in millimeters and points, and colors of type and lines."""

MM = 72 / 25.4
"""Points to a millimeter."""
PAPERS_MM = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}
MARGIN_MM = 12.0
HEAD_MM, FOOT_MM = 15.0, 6.0
"""Room inside the margins for a page's head and foot."""
SMALLEST_PT, TEXT_PT, HEADING_PT, TITLE_PT = 7.0, 8.0, 10.0, 14.0
LEADING = 1.22
"""From line to line, in sizes of type."""
HAIR_PT, THIN_PT, LINE_PT, BOLD_PT = 0.25, 0.5, 0.8, 1.4
"""Widths of lines; the thinnest that office printers keep is a quarter of a point."""
INK, GRAY, PALE, RULE = "#000000", "#4d4d4d", "#9a9a9a", "#8a8a8a"
"""Colors of type and lines: full, second, what stands back, and rules of tables."""
