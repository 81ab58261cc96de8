"""Set type in any script: which font has a letter, how wide a text is, and writing it.

The book's own font has Latin, Greek, Cyrillic, Arabic, Hebrew and more; `pip install
"striplay[scripts]"` brings more scripts. Fonts of the machine are not looked for, so that the same
plan gives the same bytes everywhere. Arabic letters are joined and lines put in the order they are
read by libraries made for it; scripts whose letters join otherwise are shaped by HarfBuzz.
"""

import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, toColor
from reportlab.lib.fonts import addMapping
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont, shapeStr
from reportlab.pdfgen.canvas import Canvas

from striplay.notices import Notice
from striplay.sheets.style import INK, SMALLEST_PT, TEXT_PT

REGULAR, BOLD = "DejaVuSans", "DejaVuSans-Bold"
_OWN = ("matplotlib", "mpl-data/fonts/ttf")
"""The package that brings the book's own font, and where in it; it is not loaded for that."""
PACKAGES = (
    "fontpkg_noto_sans_devanagari",
    "fontpkg_noto_sans_khmer",
    "fontpkg_noto_sans_tamil",
    "fontpkg_noto_sans_telugu",
    "fontpkg_noto_sans_thai",
    "justmytype_intl_cjk",
)
"""Packages with fonts of more scripts, all of one design, under the SIL Open Font License."""
DESIGN = "NotoSans*.ttf"
INSTEAD = "□"
"""Printed for a character that no font has."""
NAMED = 8
"""Characters named in a notice."""
FATTEN = 0.025
"""Fonts that have one thin weight are drawn with an outline so wide, in sizes of type."""

_unprinted: ContextVar[set[str] | None] = ContextVar("unprinted", default=None)


@dataclass(frozen=True, slots=True)
class Run:
    """Letters of one font, in the order they stand on the page.

    Attributes:
        font: its name.
        text: the letters; `shapeStr` has shaped them where the script asks for it.
        width: in sizes of type.
    """

    font: str
    text: str
    width: float


@cache
def _register() -> None:
    """Load the book's own font."""
    for name in (REGULAR, BOLD):
        pdfmetrics.registerFont(TTFont(name, str(_folder(_OWN[0]) / _OWN[1] / f"{name}.ttf")))
    addMapping(REGULAR, 0, 0, REGULAR)
    addMapping(REGULAR, 1, 0, BOLD)


def _folder(package: str) -> Path:
    spec = find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        raise ImportError(f"{package} is not installed")
    return Path(spec.submodule_search_locations[0])


@cache
def _has(font: str) -> frozenset[int]:
    """Give the characters of a font."""
    _register()
    loaded = pdfmetrics.getFont(font)
    assert isinstance(loaded, TTFont)  # noqa: S101 - as registered here
    return frozenset(loaded.face.charToGlyph)


@cache
def _more() -> tuple[str, ...]:
    """Load the fonts of more scripts that are installed; give their names."""
    names = []
    for path in font_files():
        name = path.stem.partition("[")[0]
        pdfmetrics.registerFont(TTFont(name, str(path), shapable=True))
        addMapping(name, 0, 0, name)
        addMapping(name, 1, 0, name)
        names.append(name)
    return tuple(names)


def font_files() -> list[Path]:
    """Find the font files of more scripts that are installed."""
    installed = [package for package in PACKAGES if find_spec(package) is not None]
    return [path for package in installed for path in sorted(_folder(package).rglob(DESIGN))]


@contextmanager
def watched() -> Iterator[set[str]]:
    """Gather the characters that can't be printed, of all that is written meanwhile."""
    found: set[str] = set()
    token = _unprinted.set(found)
    try:
        yield found
    finally:
        _unprinted.reset(token)


@cache
def _font_of(one: str, *, bold: bool) -> str | None:
    """Name the font that has a character; None where none has it."""
    own = BOLD if bold else REGULAR
    if ord(one) in _has(own):
        return own
    if ord(one) in _has(REGULAR):
        return REGULAR
    return next((font for font in _more() if ord(one) in _has(font)), None)


def _joins(one: str) -> bool:
    """Tell whether a character only says how others are joined; it has no look of its own."""
    return unicodedata.category(one) in {"Cf", "Mn"}


@cache
def _missing(text: str) -> frozenset[str]:
    """Find the characters of a text that no font has."""
    return frozenset(one for one in text if _font_of(one, bold=False) is None)


def printed(text: str) -> str:
    """Give a text as it is printed: a box for each character that no font has."""
    missing = frozenset() if text.isascii() else _missing(text)
    if not missing:
        return text
    told = _unprinted.get()
    if told is not None:
        told |= missing
    boxes = {ord(one): "" if _joins(one) else INSTEAD for one in missing}
    return text.translate(boxes)


def _in_order_read(text: str) -> str:
    """Join Arabic letters and put what is read from the right in the order it stands."""
    if not any(unicodedata.bidirectional(one) in {"R", "AL", "AN"} for one in text):
        return text
    import arabic_reshaper  # noqa: PLC0415 - rarely needed
    from bidi import get_display  # noqa: PLC0415

    return str(get_display(arabic_reshaper.reshape(text), base_dir="L"))


def runs(text: str, *, bold: bool = False) -> tuple[Run, ...]:
    """Part a text into runs of one font each, as they stand on the page from the left."""
    return _runs(printed(text), bold=bold)  # what is found once is told of every time


@cache
def _runs(text: str, *, bold: bool) -> tuple[Run, ...]:
    own = BOLD if bold else REGULAR
    _register()
    if text.isascii():
        return (Run(own, text, pdfmetrics.stringWidth(text, own, 1.0)),) if text else ()
    found: list[tuple[str, str]] = []
    for one in _in_order_read(text):
        font = _font_of(one, bold=bold) or own
        if found and (found[-1][0] == font or (_joins(one) and ord(one) in _has(found[-1][0]))):
            found[-1] = (found[-1][0], found[-1][1] + one)
        else:
            found.append((font, one))
    return tuple(_shaped(font, letters) for font, letters in found)


def _shaped(font: str, letters: str) -> Run:
    if font in {REGULAR, BOLD}:
        return Run(font, letters, pdfmetrics.stringWidth(letters, font, 1.0))
    shaped = shapeStr(letters, font, 1000.0, force=True)
    return Run(font, shaped, sum(one.x_advance for one in shaped.__shapeData__) / 1000)


def width_pt(text: str, size_pt: float = TEXT_PT, *, bold: bool = False) -> float:
    """Measure a line of type."""
    return size_pt * sum(run.width for run in runs(text, bold=bold))


def plainly(text: str) -> bool:
    """Tell whether the book's own font has all of a text, in the order it is written."""
    alone = all(run.font in {REGULAR, BOLD} for run in runs(text))
    return text.isascii() or (alone and _in_order_read(text) == text)


@cache
def _color(color: str) -> Color:
    """Read a color once: there are hundreds of words on a page."""
    return toColor(color)


def write(
    canvas: Canvas,
    x_pt: float,
    y_pt: float,
    text: str,
    size_pt: float = TEXT_PT,
    *,
    bold: bool = False,
    align: float = 0.0,
    color: str = INK,
    angle_deg: float = 0.0,
) -> float:
    """Write a line of type; give how wide it is.

    Args:
        canvas: the page.
        x_pt: where it stands.
        y_pt: of its foot.
        text: its words.
        size_pt: of its type, `SMALLEST_PT` at least.
        bold: whether it is bold.
        align: 0 where it begins at x, 0.5 where it is centered on it, 1 where it ends there.
        color: of its type.
        angle_deg: turned about its place, counter-clockwise.
    """
    assert size_pt >= SMALLEST_PT - 1e-9, text  # noqa: S101 - a fault of ours
    parts = runs(text, bold=bold)
    whole_pt = size_pt * sum(run.width for run in parts)
    canvas.setFillColor(_color(color))
    if len(parts) == 1 and parts[0].font in {REGULAR, BOLD} and not angle_deg:
        canvas.setFont(parts[0].font, size_pt)
        canvas.drawString(x_pt - align * whole_pt, y_pt, parts[0].text)
        return whole_pt
    canvas.saveState()
    canvas.translate(x_pt, y_pt)
    if angle_deg:
        canvas.rotate(angle_deg)
    left_pt = -align * whole_pt
    for run in parts:
        canvas.setFont(run.font, size_pt)
        thin = run.font not in {REGULAR, BOLD}
        if thin:
            canvas.setStrokeColor(color)
            canvas.setLineWidth(FATTEN * size_pt * (2 if bold else 1))
        canvas.drawString(left_pt, 0, run.text, mode=2 if thin else None)
        left_pt += run.width * size_pt
    canvas.restoreState()
    return whole_pt


def fitted(text: str, room_pt: float, size_pt: float = TEXT_PT, *, bold: bool = False) -> str:
    """Cut a text that is too wide, with … at its end.

    >>> fitted("corn", 100.0), fitted("a very long name", 30.0)
    ('corn', 'a ver…')
    """
    if width_pt(text, size_pt, bold=bold) <= room_pt:
        return text
    low, high = 0, min(len(text), 2 + int(4 * room_pt / size_pt))
    while low < high:
        middle = (low + high + 1) // 2
        fits = width_pt(f"{text[:middle].rstrip()}…", size_pt, bold=bold) <= room_pt
        low, high = (middle, high) if fits else (low, middle - 1)
    return f"{text[:low].rstrip()}…" if low else "…"


def markup(text: str, *, bold: bool = False) -> str:
    """Write a text for a paragraph: each letter in a font that has it, none taken for a command.

    Letters that join are joined; marks over and under them stand at their fonts' usual places.
    """
    _register()
    if text.isascii():
        return escape(text)
    own = BOLD if bold else REGULAR
    return "".join(
        escape(run.text)
        if run.font == own
        else f'<font name="{run.font}">{escape(run.text)}</font>'
        for run in runs(text, bold=bold)
    )


def unprinted(missing: Iterable[str]) -> list[Notice]:
    """Say which characters the pages can't print; nothing where they can all."""
    shown = sorted(one for one in missing if not _joins(one))
    if not shown:
        return []
    some = ", ".join(f'"{one}" ({unicodedata.name(one, "unnamed").lower()})'
                     for one in shown[:NAMED])  # fmt: skip
    more = f" and {len(shown) - NAMED} more" if len(shown) > NAMED else ""
    said = (
        f"the sheets print {INSTEAD} for {some}{more}, which no font here has; "
        'pip install "striplay[scripts]" brings fonts of more scripts, or write the name in '
        "other letters"
    )
    return [Notice("sheets", "mind", None, said)]
