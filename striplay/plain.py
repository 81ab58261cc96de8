"""Make text plain: no character that moves a cursor, breaks a line or turns its reading round."""

import re

from striplay.limits import MAX_SHOWN

UNSEEN = re.compile(
    "[\x00-\x1f\x7f-\x9f"  # control characters, escape sequences begin with one
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"  # they turn the direction of reading
    "\u2028\u2029\ufeff\ufff9-\ufffb"  # breaks of lines and paragraphs; marks of a file or a note
    "\ud800-\udfff]"  # halves of characters, as file names may hold
)
"""Characters that stand for no letter, and that harm where a text is shown."""


def plain(text: str) -> str:
    r"""Give a text on one line, a space in place of each character that stands for no letter.

    >>> plain("north\n\x1b[31mforty")
    'north  [31mforty'
    """
    return UNSEEN.sub(" ", text)


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
    return "\n".join(
        UNSEEN.sub(lambda one: f"\\u{ord(one[0]):04x}", line) for line in text.split("\n")
    )
