"""Measure the pages of a PDF: their words, how large their type is, what lies on what.

What is measured is the paper, not the code that drew it: pdfium, which many programs show PDFs
with, reads the file, and what stands in forms or in shaped letters is read as all else is.
"""

import ctypes
import math
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import shapely
from pypdfium2 import raw

Floats = npt.NDArray[np.float64]

MM = 72 / 25.4
SMALLEST_PT, SIZE_PT = 7.0, 0.01
"""The smallest type, and what its size may fall short by: a PDF holds few decimals."""
MARGIN_MM = 12.0
TOUCH_PT = 0.3
"""Boxes that overlap by less, a tenth of a millimeter, do not: letters' boxes are rounded to a
thousandth of the type's size, and a dot of an office printer is 0.12 points wide."""
HANG = 0.1
"""A letter may hang into the margin by so much of its size: J of the book's bold does by 0.07."""
STROKE_PT = 0.8
"""A line drawn on the margin itself reaches so far beyond it: half of the widest frame's line."""
JOINED, WITHIN = 0.22, 0.5
"""Letters of one line, apart by less of their size, are one word: no space is so thin; letters
written at once may be farther apart, for turned ones are measured less well."""
WHITE = 252
"""A quarter-point hair line of pale gray leaves less white than that at a dot to a point."""


def _box(points: Floats) -> tuple[float, float, float, float]:
    (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
    return float(left), float(bottom), float(right), float(top)


@dataclass(frozen=True)
class Word:
    """Letters without a space between.

    Attributes:
        text: as it is read.
        size_pt: of its type as it stands on the page, the smallest of its letters.
        font: name of its first letter's font.
        angle_deg: how it is turned, counter-clockwise.
        corners: of its letters' box, turned as they are, in points from the page's lower left,
            (4, 2); of the ink, not of the line.
    """

    text: str
    size_pt: float
    font: str
    angle_deg: float
    corners: Floats

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top, in points."""
        return _box(self.corners)


@dataclass(frozen=True)
class Page:
    """A page as it is read.

    Attributes:
        number: from 1.
        width_pt: of its paper.
        height_pt: likewise.
        words: in the order they are written.
        texts: what was written at once, spaces included: a label, a cell, a line of a paragraph.
        inked_pt: how far whatever is drawn keeps from the paper's left, bottom, right and top edge.
    """

    number: int
    width_pt: float
    height_pt: float
    words: tuple[Word, ...]
    texts: tuple[str, ...]
    inked_pt: tuple[float, float, float, float]

    @property
    def text(self) -> str:
        """All its words with a space between."""
        return " ".join(word.text for word in self.words)


@dataclass(frozen=True)
class Shape:
    """A path as it is drawn: filled, stroked or both.

    Attributes:
        points: its corners, in points, (n, 2).
        fill: its color as #rrggbb; empty for none.
        line: likewise.
        wide_pt: of its line; 0 for none.
        dashed: whether its line is.
    """

    points: Floats
    fill: str
    line: str
    wide_pt: float
    dashed: bool

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top, in points."""
        return _box(self.points)


@dataclass(frozen=True, slots=True)
class _Set:
    """How a piece of text is set: what its letters share."""

    size_pt: float
    font: str
    angle: float
    base: float


@dataclass(frozen=True, slots=True)
class _Letter:
    """A letter: what it is, its box along and across its line, and its text's place in the file."""

    text: str
    along: tuple[float, float]
    across: tuple[float, float]
    how: _Set
    piece: bytes


def pages(path: Path) -> list[Page]:
    """Read every page of a PDF."""
    with pdfium.PdfDocument(path) as document:
        return [_page(document[number], number + 1) for number in range(len(document))]


def shapes(path: Path, number: int = 1) -> list[Shape]:
    """Read the paths of a page, in the order they are drawn."""
    with pdfium.PdfDocument(path) as document:
        page = document[number - 1]
        return [_shape(one) for one in page.get_objects(filter=(raw.FPDF_PAGEOBJ_PATH,))]


def _shape(one: pdfium.PdfObject) -> Shape:
    mode, stroked = ctypes.c_int(), ctypes.c_int()
    raw.FPDFPath_GetDrawMode(one.raw, mode, stroked)
    wide, x, y = (ctypes.c_float() for _ in range(3))
    raw.FPDFPageObj_GetStrokeWidth(one.raw, wide)
    points = []
    for at in range(raw.FPDFPath_CountSegments(one.raw)):
        raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(one.raw, at), x, y)
        points.append((x.value, y.value))
    matrix = one.get_matrix()
    turn = np.array([[matrix.a, matrix.b], [matrix.c, matrix.d]])
    fill = _color(raw.FPDFPageObj_GetFillColor, one) if mode.value else ""
    line = _color(raw.FPDFPageObj_GetStrokeColor, one) if stroked.value else ""
    wide_pt = wide.value * math.sqrt(abs(np.linalg.det(turn))) if stroked.value else 0.0
    dashed = raw.FPDFPageObj_GetDashCount(one.raw) > 0
    return Shape(np.array(points) @ turn + (matrix.e, matrix.f), fill, line, wide_pt, dashed)


def _color(ask: Callable[..., int], one: pdfium.PdfObject) -> str:
    levels = [ctypes.c_uint() for _ in range(4)]
    ask(one.raw, *levels)
    return "#" + "".join(f"{level.value:02x}" for level in levels[:3])


def _page(page: pdfium.PdfPage, number: int) -> Page:
    text = raw.FPDFText_LoadPage(page.raw)
    try:
        letters = _letters(text)
    finally:
        raw.FPDFText_ClosePage(text)
    letters += _unread(page, letters)
    said: dict[bytes, str] = {}
    words = [word for one in _lines(letters, said) for word in _words(one)]
    width_pt, height_pt = page.get_size()
    found = Page(number, width_pt, height_pt, tuple(words), tuple(said.values()), _inked(page))
    page.close()
    return found


def _letters(text: raw.FPDF_TEXTPAGE) -> list[_Letter | None]:
    """Read the letters of a page, None where a word is broken off."""
    left, right, bottom, top = (ctypes.c_double() for _ in range(4))
    letters: list[_Letter | None] = []
    sets: dict[bytes, _Set] = {}
    for at in range(raw.FPDFText_CountChars(text)):
        one = chr(raw.FPDFText_GetUnicode(text, at))
        if "\u2e80" <= one <= "\u2fdf":  # a radical, which has the look of a letter
            one = unicodedata.normalize("NFKC", one)
        piece = _place(raw.FPDFText_GetTextObject(text, at))
        if piece is None:  # a space or line's end that pdfium puts between
            letters.append(None)
            continue
        if piece not in sets:
            sets[piece] = _set(text, at)
        if one.isspace():
            letters.append(_Letter(" ", (0.0, 0.0), (0.0, 0.0), sets[piece], piece))
            continue
        raw.FPDFText_GetCharBox(text, at, left, right, bottom, top)
        how = sets[piece]
        cos, sin = math.cos(how.angle), math.sin(how.angle)
        wide, high = right.value - left.value, top.value - bottom.value
        if wide <= 0 or high <= 0:  # a mark without a look
            letters.append(None)
            continue
        if how.angle:
            wide, high = _turned_back(wide, high, how, one)
        middle_x, middle_y = (left.value + right.value) / 2, (bottom.value + top.value) / 2
        along, across = cos * middle_x + sin * middle_y, cos * middle_y - sin * middle_x
        letters.append(
            _Letter(one, (along - wide / 2, along + wide / 2),
                    (across - high / 2, across + high / 2), how, piece)
        )  # fmt: skip
    return letters


def _set(text: raw.FPDF_TEXTPAGE, at: int) -> _Set:
    """Read how a letter is set: the size its type has on the page, after all scaling."""
    matrix, flags = raw.FS_MATRIX(), ctypes.c_int()
    raw.FPDFText_GetMatrix(text, at, matrix)
    scale = math.sqrt(abs(matrix.a * matrix.d - matrix.b * matrix.c))
    count = raw.FPDFText_GetFontInfo(text, at, None, 0, flags)
    name = ctypes.create_string_buffer(count)
    raw.FPDFText_GetFontInfo(text, at, name, count, flags)
    font = name.value.decode(errors="replace").partition("+")[2] or name.value.decode()
    angle = math.atan2(matrix.b, matrix.a)
    x, y = ctypes.c_double(), ctypes.c_double()
    raw.FPDFText_GetCharOrigin(text, at, x, y)
    base = math.cos(angle) * y.value - math.sin(angle) * x.value
    return _Set(raw.FPDFText_GetFontSize(text, at) * scale, font, angle, base)


def _turned_back(wide: float, high: float, how: _Set, letter: str) -> tuple[float, float]:
    """Give how wide and high a turned letter is, from the upright box about it.

    The box of a letter w wide and h high, turned by t, is w |cos t| + h |sin t| wide and
    w |sin t| + h |cos t| high. At 45 degrees these are the same, and tell w + h alone: the letter
    is then taken to be as much higher than wide as most are, which moves its edges by little.
    """
    cos, sin = abs(math.cos(how.angle)), abs(math.sin(how.angle))
    if abs(cos - sin) > 0.2:
        apart = cos * cos - sin * sin
        return (wide * cos - high * sin) / apart, (high * cos - wide * sin) / apart
    both = (wide + high) / (cos + sin)
    share = 0.45 if letter.isalnum() else 0.5
    return share * both, (1 - share) * both


def _lines(letters: list[_Letter | None], said: dict[bytes, str]) -> Iterator[list[_Letter]]:
    """Part letters at spaces and where a line is broken off; gather each piece's text."""
    line: list[_Letter] = []
    spaced = False
    for one in letters:
        if one is None or one.text == " ":
            if line:
                yield line
            line, spaced = [], True
            continue
        if one.piece in said and spaced:
            said[one.piece] += " "
        said[one.piece] = said.get(one.piece, "") + one.text
        if line and not _goes_on(line[-1], one):
            yield line
            line = []
        line.append(one)
        spaced = False
    if line:
        yield line


def _goes_on(last: _Letter, one: _Letter) -> bool:
    """Tell whether a letter goes on with the word, beside the last on its line."""
    apart = max(one.along[0] - last.along[1], last.along[0] - one.along[1])
    size_pt = min(one.how.size_pt, last.how.size_pt)
    if one.piece == last.piece:  # what is read from the right comes in another order
        return apart < WITHIN * size_pt
    level = abs(one.how.base - last.how.base) < 0.1 * size_pt
    level = level and abs(one.how.angle - last.how.angle) < 1e-3
    return level and abs(apart) < JOINED * size_pt


def _words(line: list[_Letter]) -> Iterator[Word]:
    first = line[0].how
    low, high = min(one.along[0] for one in line), max(one.along[1] for one in line)
    under, over = min(one.across[0] for one in line), max(one.across[1] for one in line)
    along = np.array([low, high, high, low])
    across = np.array([under, under, over, over])
    cos, sin = math.cos(first.angle), math.sin(first.angle)
    corners = np.stack([cos * along - sin * across, sin * along + cos * across], axis=1)
    size_pt = min(one.how.size_pt for one in line)
    text = "".join(one.text for one in line)
    yield Word(text, size_pt, first.font, math.degrees(first.angle), corners)


def _unread(page: pdfium.PdfPage, letters: list[_Letter | None]) -> list[_Letter | None]:
    """Give the letters of text that pdfium leaves out since the same is read close by.

    Each such text is as another one that is read, moved.
    """
    read = {one.piece for one in letters if one}
    like: dict[tuple[object, ...], list[tuple[float, float, bytes]]] = {}
    missed = []
    for one in page.get_objects(filter=(raw.FPDF_PAGEOBJ_TEXT,), max_depth=8):
        matrix, (left, bottom, right, top) = one.get_matrix(), one.get_bounds()
        piece = _place(one.raw)
        if right <= left or top <= bottom or piece is None:
            continue
        font = _place(raw.FPDFTextObj_GetFont(one.raw))
        turn = (round(value, 3) for value in matrix.get()[:4])
        key = (font, *turn, round(right - left, 2), round(top - bottom, 2))
        if piece in read:
            like.setdefault(key, []).append((matrix.e, matrix.f, piece))
        else:
            missed.append((key, matrix.e, matrix.f, piece))
    found: list[_Letter | None] = []
    for key, x, y, piece in missed:
        assert key in like, f"text at {x:.1f}, {y:.1f} is not read"
        at = min(like[key], key=lambda other: math.hypot(other[0] - x, other[1] - y))
        found.append(None)
        found += [
            _moved(letter, x - at[0], y - at[1], piece)
            for letter in letters
            if letter and letter.piece == at[2]
        ]
    return found


def _moved(letter: _Letter, x: float, y: float, piece: bytes) -> _Letter:
    cos, sin = math.cos(letter.how.angle), math.sin(letter.how.angle)
    along, across = cos * x + sin * y, cos * y - sin * x
    return replace(
        letter,
        along=(letter.along[0] + along, letter.along[1] + along),
        across=(letter.across[0] + across, letter.across[1] + across),
        how=replace(letter.how, base=letter.how.base + across),
        piece=piece,
    )


def _place(one: raw.FPDF_PAGEOBJECT) -> bytes | None:
    """Give what tells a piece of text from all others, its address; None for none."""
    return bytes(one) if one else None


def _inked(page: pdfium.PdfPage) -> tuple[float, float, float, float]:
    """Measure how far ink keeps from each edge of the paper, at a dot to a point."""
    dots = page.render(scale=1, grayscale=True).to_numpy()
    inked = dots.reshape(dots.shape[:2]) < WHITE
    columns, rows = np.flatnonzero(inked.any(axis=0)), np.flatnonzero(inked.any(axis=1))
    if not len(columns):
        return (math.inf,) * 4
    high, wide = inked.shape
    return (
        float(columns[0]), float(high - 1 - rows[-1]), float(wide - 1 - columns[-1]),
        float(rows[0]),
    )  # fmt: skip


def faults(
    page: Page, *, margin_mm: float = MARGIN_MM, smallest_pt: float = SMALLEST_PT
) -> list[str]:
    """List what is wrong with a page: type too small, words on each other, ink in its margins."""
    small = [
        f'"{word.text}" is {word.size_pt:.2f} pt'
        for word in page.words
        if word.size_pt < smallest_pt - SIZE_PT
    ]
    return [*small, *_overlaps(page), *_outside(page, margin_mm * MM)]


def _overlaps(page: Page) -> list[str]:
    """List the pairs of words whose boxes overlap by more than a touch."""
    if not page.words:
        return []
    corners = np.stack([word.corners for word in page.words])
    middle = corners.mean(axis=1, keepdims=True)
    along, across = corners[:, [1]] - corners[:, [0]], corners[:, [3]] - corners[:, [0]]
    half = [_shrunk(side) * sign for side in (along, across) for sign in (-0.5, 0.5)]
    less = np.concatenate(
        [middle + half[0] + half[2], middle + half[1] + half[2],
         middle + half[1] + half[3], middle + half[0] + half[3]], axis=1
    )  # fmt: skip
    boxes = shapely.polygons(less)
    one, other = shapely.STRtree(boxes).query(boxes, predicate="intersects")
    return [
        f'"{page.words[i].text}" lies on "{page.words[j].text}"'
        f" at {page.words[i].box[0]:.1f}, {page.words[i].box[1]:.1f}"
        for i, j in zip(one.tolist(), other.tolist(), strict=True)
        if i < j
    ]


def _shrunk(side: Floats) -> Floats:
    """Shorten sides of boxes by a touch, a thin one to next to nothing."""
    long = np.linalg.norm(side, axis=-1, keepdims=True)
    return side * np.maximum(long - TOUCH_PT, 0.01) / np.maximum(long, 1e-9)


def _outside(page: Page, margin_pt: float) -> list[str]:
    """List words that reach into the margins, and the margins that something drawn lies in."""
    room = (margin_pt, margin_pt, page.width_pt - margin_pt, page.height_pt - margin_pt)
    found = []
    for word in page.words:
        left, bottom, right, top = word.box
        beside, beyond = max(room[0] - left, right - room[2]), max(room[1] - bottom, top - room[3])
        hang_pt = max(TOUCH_PT, HANG * word.size_pt)
        if beside > hang_pt or beyond > (hang_pt if word.angle_deg else TOUCH_PT):
            found.append(f'"{word.text}" reaches into the margin at {left:.1f}, {bottom:.1f}')
    sides = zip(("left", "bottom", "right", "top"), page.inked_pt, strict=True)
    found += [
        f"something is drawn {free_pt:.0f} points from the {side} edge"
        for side, free_pt in sides
        if free_pt < math.floor(margin_pt - STROKE_PT)
    ]
    return found


def check_page(page: Page, *, margin_mm: float = MARGIN_MM) -> None:
    """Hold a page to what all must be: type of 7 points, no word on another, free margins."""
    found = faults(page, margin_mm=margin_mm)
    assert not found, f"page {page.number}: {found[:8]}"
