"""Make the planning page: one file with its look and script, which talks with its engine alone."""

from striplay.page.bind import Pieces, bound, policy_of

TABLE_PAGE = Pieces(
    template="table/table.html",
    styles=("page/look.css", "table/table.css"),
    scripts=(
        "page/ground.js", "page/data.js", "page/where.js", "page/view.js", "page/hatch.js",
        "page/paint.js", "page/labels.js", "page/signs.js", "page/map.js", "page/hands.js",
        "page/parts.js", "page/key.js", "page/look.js", "table/talk.js", "table/answer.js",
        "table/typed.js", "table/dial.js", "table/section.js", "table/told.js", "table/draw.js",
        "table/choices.js", "table/file.js", "table/table.js",
    ),
)  # fmt: skip


def table_page(talk: str) -> tuple[bytes, str]:
    """Give the page and its content security policy.

    Args:
        talk: the address of its talk with the engine, the one place that it may connect to.
    """
    return bound(TABLE_PAGE, {}, connect=talk), policy_of(TABLE_PAGE, connect=talk)
