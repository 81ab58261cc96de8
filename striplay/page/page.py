"""Make the field page: one file with its look, its script and its data, which fetches nothing."""

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from striplay.page.sent import sent
from striplay.plain import escaped

if TYPE_CHECKING:
    from striplay.files.content import Content

SCRIPTS = (
    "ground.js", "data.js", "where.js", "view.js", "hatch.js", "paint.js", "labels.js", "signs.js",
    "map.js", "hands.js", "parts.js", "key.js", "here.js", "paper.js", "field.js",
)  # fmt: skip
"""The page's modules; each imports only from those before it."""
_IMPORT = re.compile(r'^import (?:\{[^}]*\} from )?"\./\w+\.js";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=async|class|const|function)", re.MULTILINE)


def encode(content: "Content") -> Mapping[str, bytes]:
    """Give the field page of a layout."""
    return {"field.html": page_of(sent(content))}


def page_of(data: dict[str, Any]) -> bytes:
    """Give the page of some data, which stands in it as data alone.

    The policy lets the page's own script and style run, told by their hashes, and nothing else: no
    other script, no style or image from outside, no connection.
    """
    script, style = script_text(), read_text("field.css")
    policy = policy_of(script, style)
    parts = {"policy": policy, "style": style, "script": script, "data": json_text(data)}
    template = read_text("field.html")
    page = re.sub(r"\{\{(\w+)\}\}", lambda found: parts[found[1]], template)
    return page.encode()


def policy_of(script: str, style: str) -> str:
    """Give the policy that lets a page run one script and one style and fetch nothing."""
    return (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )


def json_text(data: dict[str, Any]) -> str:
    r"""Write data so that it stands in a page as data: nothing in it ends or opens markup.

    >>> json_text({"title": "</script><b>", "crop": "\u202emaize"})
    '{"title":"\\u003c/script>\\u003cb>","crop":"\\u202emaize"}'
    """
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return escaped(text).replace("<", "\\u003c")


@cache
def script_text() -> str:
    """Give the modules of the page as one script: each after those that it imports from."""
    return "".join(_EXPORT.sub("", _IMPORT.sub("", read_text(name))) for name in SCRIPTS)


def _hash(text: str) -> str:
    """Give the hash that lets a text run, as a content security policy writes it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def read_text(name: str) -> str:
    """Give a file of this package: a template, a script or a style."""
    return resources.files("striplay.page").joinpath(name).read_text(encoding="utf-8")
