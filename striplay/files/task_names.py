"""Name what stands in task data: numbers that stay the same, and words short enough for a terminal.

ISO 11783-10 gives every object an id of three letters and digits, and its words 32 characters.
"""

import hashlib
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field

from striplay.plain import plain

LETTERS = 32
"""Characters of a designator."""
NUMBERS = 999_999_999
"""Numbers of ids: nine digits fit everywhere, in 32 bits too."""
_JOINERS = "\u200c\u200d"
_VIRAMA = 9
_SKIN = range(0x1F3FB, 0x1F400)
_FLAGS = range(0x1F1E6, 0x1F200)


@dataclass
class Ids:
    """Gives objects their ids.

    A number is made of what an object is called, not of its place in a list, so that a field, a
    seed or a pass keeps its own when something else of the plan changes.
    """

    _taken: set[str] = field(default_factory=set)

    def new(self, kind: str, *said: object) -> str:
        """Give a new id.

        Args:
            kind: three letters of the standard, such as PFD for a field.
            said: what tells it from others of its kind.

        >>> Ids().new("PFD", "Home north")
        'PFD956775986'
        """
        text = "\0".join([kind, *map(str, said)])
        start = int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")
        number = start % NUMBERS
        while f"{kind}{number + 1}" in self._taken:
            number = (number + 1) % NUMBERS
        self._taken.add(f"{kind}{number + 1}")
        return f"{kind}{number + 1}"


def designator(text: str, most: int = LETTERS) -> str:
    r"""Give a text plain and cut to so many characters, no letter parted from its marks.

    >>> designator("Home\nnorth"), designator("e\u0301" * 20, 5) == "e\u0301" * 2
    ('Home north', True)
    """
    text = plain(text).strip()
    if len(text) <= most:
        return text
    end = most
    while end > 0 and _hangs_on(text, end):
        end -= 1
    # a letter with more marks than there is room for loses some of them
    return text[: end or most].rstrip()


def _hangs_on(text: str, at: int) -> bool:
    """Tell whether a character belongs to the one before it."""
    one, before = text[at], text[at - 1]
    if unicodedata.category(one).startswith("M") or one in _JOINERS or ord(one) in _SKIN:
        return True
    if before in _JOINERS or unicodedata.combining(before) == _VIRAMA:
        return True
    if ord(one) in _FLAGS:
        flags = len(text[:at]) - len(text[:at].rstrip("".join(map(chr, _FLAGS))))
        return flags % 2 == 1
    return False


def apart(texts: Iterable[str]) -> list[str]:
    """Give designators of which no two are alike: those that would be have a number at the end.

    >>> apart(["x" * 40 + "a", "x" * 40 + "b"]) == ["x" * 32, "x" * 30 + " 2"]
    True
    """
    found: list[str] = []
    taken: set[str] = set()
    for text in texts:
        short, number = designator(text), 1
        while short in taken:
            number += 1
            short = f"{designator(text, LETTERS - len(f' {number}'))} {number}"
        taken.add(short)
        found.append(short)
    return found
