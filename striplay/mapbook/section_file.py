"""Write a picture of a section as a file of its own."""

from pathlib import Path

import matplotlib as mpl
from matplotlib.figure import Figure

from striplay.errors import OutputError
from striplay.mapbook.picture import Picture
from striplay.mapbook.scene import Scene
from striplay.mapbook.section_picture import draw_section
from striplay.mapbook.style import RC, SMALLEST_PT, TEXT_PT

SUFFIXES = (".svg", ".png", ".pdf")
WIDTH_MM, MARGIN_MM, HEAD_MM, FOOT_MM, LINE_MM = 280.0, 10.0, 14.0, 8.0, 4.0
MM_PER_INCH = 25.4
DOTS_PER_INCH = 200


def write_section(scene: Scene, path: Path) -> None:
    """Write a picture of a section, as SVG, PNG or PDF by the file's ending.

    Raises:
        OutputError: another ending, or a file that can't be written.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise OutputError(f"{path.name}: must end in {', '.join(SUFFIXES)}")
    inner_mm = WIDTH_MM - 2 * MARGIN_MM
    picture = Picture(scene, inner_mm)
    lines = picture.caption
    high_mm, foot_mm = picture.height_mm, FOOT_MM + LINE_MM * len(lines)
    whole_mm = high_mm + HEAD_MM + foot_mm
    with mpl.rc_context(RC):
        figure = Figure(figsize=(WIDTH_MM / MM_PER_INCH, whole_mm / MM_PER_INCH))
        axes = figure.add_axes(
            (MARGIN_MM / WIDTH_MM, foot_mm / whole_mm, inner_mm / WIDTH_MM, high_mm / whole_mm)
        )
        draw_section(axes, picture)
        left = MARGIN_MM / WIDTH_MM
        figure.text(left, 1 - 8.0 / whole_mm, scene.plan.title, fontsize=TEXT_PT + 2,
                    weight="bold", parse_math=False)  # fmt: skip
        for number, line in enumerate(lines):
            figure.text(left, (foot_mm - 5.0 - LINE_MM * number) / whole_mm, line,
                        fontsize=SMALLEST_PT, parse_math=False)  # fmt: skip
        try:
            figure.savefig(path, dpi=DOTS_PER_INCH, metadata=_metadata(path))
        except OSError as error:
            raise OutputError(f"{path}: can't be written: {error.strerror}") from error


def _metadata(path: Path) -> dict[str, None]:
    """Leave dates out, so that the same plan gives the same bytes."""
    return {
        ".svg": {"Date": None},
        ".pdf": {"CreationDate": None, "ModDate": None},
    }.get(path.suffix.lower(), {})
