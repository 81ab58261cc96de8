"""Bind a page: one file with its look, its script and its data, which fetches nothing else."""

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from striplay.plain import escaped

_IMPORT = re.compile(
    r'^import (?:\{[^}]*\} from )?"\.{1,2}/(?:page/)?\w+\.js";\n', re.MULTILINE
)  # fmt: skip
_EXPORT = re.compile(r"^export (?=async|class|const|function)", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Pieces:
    """What a page is bound of, as places in the package.

    Attributes:
        template: its markup, with places for policy, style, script and data.
        styles: its style sheets, one after the other.
        scripts: its modules; each imports only from those before it.
    """

    template: str
    styles: tuple[str, ...]
    scripts: tuple[str, ...]


def bound(pieces: Pieces, data: dict[str, Any], *, connect: str = "") -> bytes:
    """Give a page with some data, which stands in it as data alone.

    The policy lets the page's own script and style run, told by their hashes, and nothing else: no
    other script, no style or image from outside, and no connection but to `connect`.
    """
    parts = {
        "policy": policy_of(pieces, connect=connect),
        "style": style_of(pieces),
        "script": script_of(pieces),
        "data": json_text(data),
    }
    page = re.sub(r"\{\{(\w+)\}\}", lambda found: parts[found[1]], read(pieces.template))
    return page.encode()


def policy_of(pieces: Pieces, *, connect: str = "") -> str:
    """Give the content security policy of a page: its one script, its one style."""
    found = (
        f"default-src 'none'; script-src '{_hash(script_of(pieces))}'; "
        f"style-src '{_hash(style_of(pieces))}'; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
    return f"{found}; connect-src {connect}" if connect else found


def json_text(data: Mapping[str, Any]) -> str:
    r"""Write data so that it stands in a page as data: nothing in it ends or opens markup.

    >>> json_text({"title": "</script><b>", "crop": "\u202emaize"})
    '{"title":"\\u003c/script>\\u003cb>","crop":"\\u202emaize"}'
    """
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return escaped(text).replace("<", "\\u003c")


@cache
def script_of(pieces: Pieces) -> str:
    """Give the modules of a page as one script: each after those that it imports from."""
    return "".join(_EXPORT.sub("", _IMPORT.sub("", read(name))) for name in pieces.scripts)


def style_of(pieces: Pieces) -> str:
    """Give the style sheets of a page as one."""
    return "".join(map(read, pieces.styles))


@cache
def read(place: str) -> str:
    """Give the text of a file of the package."""
    return resources.files("striplay").joinpath(place).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    """Give the hash that lets a text run, as a content security policy writes it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
