"""Run `striplay many`: many fields by one plan."""

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from striplay.cli.shared import Needed, json_option, say, say_data
from striplay.limits import MAX_JOBS

if TYPE_CHECKING:
    from striplay.many.run import Progress, Results

NONE_LAID = 1
"""Exit status where no field could be laid."""


class Pair(click.ParamType[tuple[str, str]]):
    """A column and the key that it sets, written COLUMN=KEY."""

    name = "column"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, str]:
        """Read it; a refusal says how it is written."""
        if isinstance(value, tuple):
            return value[0], value[1]
        column, equals, key = str(value).rpartition("=")
        if not (equals and column and key):
            self.fail(f"{value}: write COLUMN=KEY, such as heading=direction.heading", param, ctx)
        return column, key


@click.command()
@click.argument("fields", metavar="FIELDS", type=click.Path(path_type=Path))
@click.option(
    "--plan", "plan_file", metavar="PLAN.toml", type=click.Path(path_type=Path),
    cls=Needed, what="what each field is laid by",
    example="striplay many fields.gpkg --plan north.toml -o out",
    help="The plan that every field is laid by; its own boundary is not read.",
)  # fmt: skip
@click.option(
    "-o", "--output", "folder", metavar="DIR", type=click.Path(path_type=Path),
    cls=Needed, example="striplay many fields.gpkg --plan north.toml -o out",
    help="Folder to write: new, empty, or one that the same command began before.",
)  # fmt: skip
@click.option(
    "--column", "columns", metavar="COLUMN=KEY", multiple=True, type=Pair(),
    help="A column of FIELDS and the key of the plan that it sets, field by field; columns that "
    "are called as a key, such as crops.corn.rate, set it by themselves.",
)  # fmt: skip
@click.option("--id", "named_by", metavar="COLUMN", help="The column that names a field.")
@click.option("--layer", metavar="NAME", help="Layer to read, where FIELDS has several.")
@click.option("--where", metavar="CONDITION", help="Which features are laid; all if left out.")
@click.option("--operations", is_flag=True, help="Drive and judge every operation too; slower.")
@click.option(
    "--files", metavar="KIND", help="geoparquet (where pyarrow is installed) or geopackage."
)
@click.option(
    "--jobs", metavar="N", type=click.IntRange(1, MAX_JOBS), default=None,
    help="Processes on this machine; one for each core if left out.",
)  # fmt: skip
@click.option(
    "--cluster", metavar="ADDRESS",
    help="A dask cluster's scheduler to lay on, such as tcp://10.0.0.5:8786, instead of --jobs.",
)  # fmt: skip
@json_option
def many(
    fields: Path,
    plan_file: Path,
    folder: Path,
    *,
    columns: tuple[tuple[str, str], ...],
    named_by: str | None,
    layer: str | None,
    where: str | None,
    operations: bool,
    files: str | None,
    jobs: int | None,
    cluster: str | None,
    as_json: bool,
) -> None:
    """Lay every field of a file by one plan, and write tables, shapes and a page of small maps.

    A field that can't be laid is told with its reason and stops no other. Ended at any moment, the
    same command goes on where it was. Exit status: 0 done, refused fields or not; 1 none could be
    laid, or ended before; 2 wrong use.

    \b
    Example:
      striplay many fields.gpkg --plan north.toml -o out --id field_no
    """
    if cluster is not None and jobs is not None:
        raise click.UsageError("--jobs and --cluster: keep one of them")
    from striplay.many.run import Asked, lay_many
    from striplay.many.template import Wishes

    wishes = Wishes(columns, named_by, driven=operations)
    asked = Asked(fields, plan_file, folder, wishes, layer, where, files)
    with _shown() as tell, _told_how_to_go_on(folder):
        if cluster is not None:
            from striplay.many.cluster import cluster_at

            with cluster_at(cluster) as lay:
                results = lay_many(asked, lay=lay, tell=tell)
        else:
            results = lay_many(asked, jobs=jobs or os.cpu_count() or 1, tell=tell)
    _report(results, folder, as_json=as_json)
    if results.count and not sum(results.laid.values()):
        raise SystemExit(NONE_LAID)


LINE_S = 30.0
"""So often a line tells how far a run is where no bar can be shown."""


def lines_of(clock: Callable[[], float]) -> Callable[["Progress"], None]:
    """Give what tells how far a run is in a line on stderr every half minute, by a clock in s."""
    began = last = clock()

    def tell(so_far: "Progress") -> None:
        nonlocal last
        now = clock()
        if now - last < LINE_S:
            return
        last = now
        of = "" if so_far.count is None else f" of {so_far.count:,}"
        rate = so_far.fresh / (now - began)
        say(f"{so_far.done:,}{of} fields done, {rate:.1f} a second", err=True)

    return tell


@contextmanager
def _shown() -> Iterator[Callable[["Progress"], None]]:
    """Show how far a run is, how fast, and the time left, where a person is watching."""
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        TextColumn,
        TimeRemainingColumn,
    )
    from rich.progress import Progress as Bar

    console = Console(stderr=True)
    if not console.is_terminal:
        yield lines_of(time.monotonic)
        return
    looks = (
        TextColumn("fields"), BarColumn(), MofNCompleteColumn(),
        TextColumn("{task.fields[rate]}"), TimeRemainingColumn(),
    )  # fmt: skip
    with Bar(*looks, console=console) as bar:
        task = bar.add_task("", total=None, rate="")

        def tell(so_far: "Progress") -> None:
            speed = bar.tasks[0].speed
            rate = f"{speed:.1f} a second" if speed else ""
            bar.update(task, completed=so_far.done, total=so_far.count, rate=rate)

        yield tell


@contextmanager
def _told_how_to_go_on(folder: Path) -> Iterator[None]:
    """Say of a run that is ended before its end how to go on."""
    try:
        yield
    except (KeyboardInterrupt, SystemExit):
        say(f"ended before its end; the same command goes on with {folder}", err=True)
        raise


def _report(results: "Results", folder: Path, *, as_json: bool) -> None:
    from striplay.many.report import data_of, report_of

    for notice in results.template.common:
        if notice.severity != "know":
            say(f"of every field: {notice.text}", err=True)
    for notice in results.notices:
        say(notice.text, err=True)
    if as_json:
        import json

        say_data(json.dumps(data_of(results), indent=2, allow_nan=False))
        return
    for line in report_of(results):
        say(line)
    say(f"written to {folder}; open {results.page.name} in it")
