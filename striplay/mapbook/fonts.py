"""Find the fonts that sheets are printed in, and the characters that none of them has.

The sheets' own font has Latin, Greek, Cyrillic, Arabic, Hebrew and more; `pip install
"striplay[scripts]"` brings more scripts. Fonts of the machine are not looked for, so that the same
plan gives the same bytes everywhere.
"""

import unicodedata
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, fontManager
from matplotlib.ft2font import FT2Font
from matplotlib.text import Text

from striplay.notices import Notice

OWN = "DejaVu Sans"
"""Comes with the library that draws."""
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


@cache
def families() -> tuple[str, ...]:
    """Give the families to print in; a character is taken from the first that has it."""
    names = [OWN]
    for path in _more():
        before = len(fontManager.ttflist)
        fontManager.addfont(path)
        entry = fontManager.ttflist[before]
        names.append(entry.name)
        # listed in both weights, though its file has but one: no search for another then
        fontManager.ttflist[before:] = [replace(entry, weight=weight) for weight in (400, 700)]
    return tuple(names)


def _more() -> list[Path]:
    """Find the font files of the packages that are installed."""
    found: list[Path] = []
    for package in PACKAGES:
        spec = find_spec(package)
        for folder in (spec.submodule_search_locations or []) if spec else []:
            found += sorted(Path(folder).rglob(DESIGN))
    return found


@cache
def _characters() -> frozenset[int]:
    """Give the characters that can be printed, in normal and in bold type."""
    own = (
        FT2Font(findfont(FontProperties(family=OWN, weight=weight))).get_charmap()
        for weight in ("normal", "bold")
    )
    both = set.intersection(*(set(one) for one in own))
    return frozenset(both.union(*(FT2Font(path).get_charmap() for path in _more())))


def _missing(text: str) -> set[str]:
    """Find the characters of a text that can't be printed."""
    return set() if text.isascii() else {one for one in text if ord(one) not in _characters()}


def printed(text: str) -> str:
    """Give a text as it is printed: a box for each character that no font has."""
    missing = _missing(text)
    if not missing:
        return text
    boxes = {ord(one): "" if _joins(one) else INSTEAD for one in missing}
    return text.translate(boxes)


def _joins(one: str) -> bool:
    """Tell whether a character only says how others are joined; it has no look of its own."""
    return unicodedata.category(one) == "Cf"


def print_boxes(figure: Figure) -> list[str]:
    """Make every text of a figure one that can be printed; give what they were."""
    texts = figure.findobj(Text)
    written = [text.get_text() for text in texts]
    for text, said in zip(texts, written, strict=True):
        text.set_text(printed(said))
    return written


def unprinted(texts: Iterable[str]) -> list[Notice]:
    """Say which characters of some texts the sheets can't print; nothing where they can."""
    missing = sorted(one for one in set().union(*map(_missing, texts)) if not _joins(one))
    if not missing:
        return []
    some = ", ".join(f'"{one}" ({unicodedata.name(one, "unnamed").lower()})'
                     for one in missing[:NAMED])  # fmt: skip
    more = f" and {len(missing) - NAMED} more" if len(missing) > NAMED else ""
    said = (
        f"the sheets print {INSTEAD} for {some}{more}, which no font here has; "
        'pip install "striplay[scripts]" brings fonts of more scripts, or write the name in '
        "other letters"
    )
    return [Notice("sheets", "mind", None, said)]
