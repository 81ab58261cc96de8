"""Make text plain: no character that moves a cursor, breaks a line or turns its reading round."""

import json
import re
import unicodedata
from functools import cache

from striplay.limits import MAX_SHOWN

_BEYOND = re.compile("[^\x20-\x7e]")
_OF_NONE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
"""Categories without a look: controls, formats, halves, private, unassigned, breaks."""
_BLANK = "\u034f\u115f\u1160\u17b4\u17b5\u3164\uffa0"
"""Fillers and vowels that stand for nothing, letters and marks by their category."""
_NUMBER_SIGNS = (
    "\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u0890\u0891\u08e2\U000110bd\U000110cd"
)
"""Formats that are seen: signs that stand before or round numbers."""
_JOINERS = "\u200c\u200d"
_JOINED, _VIRAMA = {"AL", "NSM"}, 9


@cache
def _is_unseen(one: str) -> bool:
    """Tell whether a character stands for no letter, and harms where a text is shown."""
    if one in _NUMBER_SIGNS or one in _JOINERS:
        return False
    return unicodedata.category(one) in _OF_NONE or one in _BLANK


def unseen_in(name: str) -> str | None:
    """Give the first character of a name that can't be seen in it, None where all can.

    Two names that look alike may differ by such a one. Joiners pass where scripts need them: behind
    a sign that mutes a vowel, or between Arabic letters (RFC 5892, appendices A.1 and A.2).
    """
    for found in _BEYOND.finditer(name):
        one, at = found[0], found.start()
        if _is_unseen(one) or (one in _JOINERS and not _joins(name, at)):
            return one
    return None


def _joins(name: str, at: int) -> bool:
    """Tell whether a joiner stands where it changes how letters look."""
    before, after = name[at - 1 : at], name[at + 1 : at + 2]
    if not before or not after:
        return False
    if unicodedata.combining(before) == _VIRAMA:
        return True
    return {unicodedata.bidirectional(before), unicodedata.bidirectional(after)} <= _JOINED


def plain(text: str) -> str:
    r"""Give a text on one line, a space in place of each character that stands for no letter.

    >>> plain("north\n\x1b[31mforty")
    'north  [31mforty'
    """
    return _BEYOND.sub(lambda found: " " if _is_unseen(found[0]) else found[0], text)


def shortened(text: str) -> str:
    r"""Give a text plain, and cut where it is too long to show.

    >>> shortened("x" * 70) == "x" * 57 + "...", shortened("a\x1b[2J")
    (True, 'a [2J')
    """
    text = plain(text)
    return text if len(text) <= MAX_SHOWN else f"{text[: MAX_SHOWN - 3]}..."


def plain_lines(text: str) -> str:
    """Give a text plain, line by line."""
    return "\n".join(map(plain, text.split("\n")))


def escaped(text: str) -> str:
    r"""Give JSON text with each such character written out; its line breaks and spaces stay.

    >>> escaped('{"title": "a\x7fb"}')
    '{"title": "a\\u007fb"}'
    """
    return "\n".join(_BEYOND.sub(_written_out, line) for line in text.split("\n"))


def _written_out(found: re.Match[str]) -> str:
    return json.dumps(found[0])[1:-1] if _is_unseen(found[0]) else found[0]
