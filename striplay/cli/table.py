"""Run `striplay table`: a page on this computer to plan with the farmer."""

from pathlib import Path

import click

from striplay.cli.shared import say


@click.command()
@click.argument(
    "file", metavar="[PLAN.toml | BOUNDARY]", required=False, type=click.Path(path_type=Path)
)
@click.option(
    "--port", type=click.IntRange(0, 65535), default=0, metavar="NUMBER",
    help="Port of this computer to listen on; any that is free when left out.",
)  # fmt: skip
@click.option(
    "--browser/--no-browser", default=True, help="Open the page (default), or only say where it is."
)
def table(file: Path | None, port: int, *, browser: bool) -> None:
    """Plan on a page in the browser: turn the rows, and see at once what comes of it.

    The page is served by this computer to itself alone, under an address that no one can guess. A
    plan is written only when it is saved. Without a file the table is empty: open a boundary there,
    or draw one. Ctrl-C ends it.

    \b
    Example:
      striplay table sample_fields/quarter_section/plan.toml
    """
    import webbrowser

    from striplay.table.opened import opened
    from striplay.table.page import table_page
    from striplay.table.server import Table, listening, serve

    start = opened(file, Path())
    bound = listening(port)

    def ready(address: str) -> None:
        say(address)
        say("open it in a browser on this computer; Ctrl-C ends it", err=True)
        if browser:
            webbrowser.open(address)

    serve(Table(start), table_page, bound, ready)
