"""Make the field page: one file with its look, its script and its data, which fetches nothing."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from striplay.page.bind import Pieces, bound
from striplay.page.sent import sent

if TYPE_CHECKING:
    from striplay.files.content import Content

FIELD_PAGE = Pieces(
    template="page/field.html",
    styles=("page/look.css", "page/field.css"),
    scripts=(
        "page/ground.js", "page/data.js", "page/where.js", "page/view.js", "page/hatch.js",
        "page/paint.js", "page/labels.js", "page/signs.js", "page/map.js", "page/hands.js",
        "page/parts.js", "page/key.js", "page/look.js", "page/here.js", "page/paper.js",
        "page/field.js",
    ),
)  # fmt: skip


def encode(content: "Content") -> Mapping[str, bytes]:
    """Give the field page of a layout."""
    return {"field.html": page_of(sent(content))}


def page_of(data: dict[str, Any]) -> bytes:
    """Give the field page of some data."""
    return bound(FIELD_PAGE, data)
