"""Hand over what was planned: the output folder, whole or not at all; a picture of a section."""

import logging
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from striplay.accounts.count import passes_over_strips
from striplay.choosing.compare import Comparison
from striplay.columns import JOBS_CSV, LAYERS, PASSES_CSV, SOWN_CSV, STRIP_CSV
from striplay.errors import BoundaryError, OutputError, PlanError
from striplay.files.content import Content, CropLook
from striplay.files.folder import check_folder, replace_file, replace_folder
from striplay.files.plan import check_spares
from striplay.files.writers import MAP_BOOK, chosen
from striplay.flow import latitude_deg_of
from striplay.laid_plan import Layout
from striplay.looks import looks_of
from striplay.notices import Notice, gravest_first
from striplay.plan.models import Plan
from striplay.section.seeding import row_rates, wide_row_notices
from striplay.section.sequence import set_notices
from striplay.section.systems import sections_of
from striplay.worksheet import Worksheet

if TYPE_CHECKING:
    from collections.abc import Iterable

    from striplay.looks import Ink

_log = logging.getLogger(__name__)


def save(
    layout: Layout,
    folder: str | Path,
    *,
    files: "Iterable[str] | None" = None,
    map_book: bool = True,
    turns: bool = False,
    printed: date | None = None,
    ink: "Ink | None" = None,
) -> list[Notice]:
    """Write all files of a layout into a folder, whole or not at all.

    Args:
        layout: what to write.
        folder: a new or empty folder, or one written here before, which is replaced.
        files: kinds of files to write, such as `["geojson", "kml"]`; those of the plan's `[files]`
            when left out, the usual ones where it names none.
        map_book: whether to draw mapbook.pdf.
        turns: whether passes.geojson holds the ways between passes too.
        printed: date on the sheets; the plan's when left out.
        ink: of the sheets, color or gray; the plan's when left out.

    Returns:
        What the user should know of the files: characters that the sheets can't print, and what
        else one of them can't hold.

    Raises:
        OutputError: the folder holds what was not written here, or another run is writing it; or
            no such kind of file.
        WriteError: it can't be written.
    """
    folder = Path(folder)
    files = layout.plan.files.write if files is None else tuple(files)
    writers = chosen(files)
    check_output(layout.plan, folder, files)
    content = content_of(layout, turns=turns, printed=printed)
    told: list[Notice] = []

    def write(fresh: Path) -> None:
        for writer in writers:
            if writer.encode is None:
                continue
            _log.info("writing %s", ", ".join(writer.files))
            for name, data in writer.encode(content).items():
                (fresh / name).write_bytes(data)
            if writer.tell is not None:
                told.extend(writer.tell(content))
        if map_book and any(writer.name == MAP_BOOK for writer in writers):
            from striplay.sheets.bind import write_map_book  # noqa: PLC0415 - heavy to load

            _log.info("writing mapbook.pdf")
            path = fresh / "mapbook.pdf"
            told.extend(write_map_book(layout, path, printed=printed, ink=ink))

    replace_folder(folder, write)
    return told


def content_of(layout: Layout, *, turns: bool = False, printed: date | None = None) -> Content:
    """Give all of a layout that its files are made of.

    Args:
        layout: what is handed over.
        turns: whether `ways` holds the ways between passes too.
        printed: date on what is read or printed; the plan's when left out.
    """
    from striplay import lists  # noqa: PLC0415 - pandas is heavy to load
    from striplay.files.layers import to_lonlat  # noqa: PLC0415 - likewise
    from striplay.tables import sown_table  # noqa: PLC0415 - likewise

    plan, plane = layout.plan, layout.ground.plane
    layers = {name: to_lonlat(getattr(layout, name), plane) for name in LAYERS}
    over = passes_over_strips(layout.routes, layout.laid)
    sown = sown_table(plan, layout.laid, layout.figures)
    return Content(
        plan=plan,
        mark=layout.mark,
        ground=layout.ground,
        laid=layout.laid,
        operations=layout.operations,
        worksheets=layout.worksheets,
        layers=layers,
        ways=to_lonlat(layout.passes_and_turns, plane) if turns else layers["passes"],
        lists={
            STRIP_CSV: lists.strip_list(layout.strips, over, plan.units),
            SOWN_CSV: lists.sown_list(sown, plan.units),
            JOBS_CSV: lists.job_list(layout.accounts["operations"], plan.units),
            PASSES_CSV: lists.pass_list(layout.passes, plan.units),
        },
        accounts=layout.accounts,
        looks=_looks(layout),
        printed=printed or plan.printed,
    )


def _looks(layout: Layout) -> dict[str, CropLook]:
    """Give each crop and mixture the look it has on the sheets, in color."""
    return {
        name: CropLook(look.fill.color, look.fill.hatch, look.fill.line, look.letter)
        for name, look in looks_of(layout.grown, "color").items()
    }


def check_output(plan: Plan, folder: Path, files: "Iterable[str] | None" = None) -> None:
    """Check that a folder may be written with a plan's layout.

    Args:
        plan: what is asked.
        folder: where to.
        files: kinds of files to write; the plan's when left out.

    Raises:
        OutputError: no such kind of file, or the folder holds what was not written here, or what
            the plan is made of.
    """
    chosen(plan.files.write if files is None else files)
    check_folder(folder)
    check_spares(plan, folder)


def draw_section(plan: Plan, path: str | Path, *, day: date | None = None) -> list[Notice]:
    """Draw one set of a plan across the rows, to scale, into a file; it needs no boundary.

    Where there is a boundary, plants on a day are those of its hemisphere.

    Args:
        plan: whose set.
        path: the picture to write, ending in .svg, .png or .pdf.
        day: the day that plants are drawn as on; full height when left out.

    Returns:
        What the user should know about the set, the gravest first.

    Raises:
        PlanError: no strips, no width that fits, or weather that can't be read.
        OutputError: another ending, or no file to be replaced.
        WriteError: it can't be written.
    """
    from striplay.sheets.section_axes import (  # noqa: PLC0415 - matplotlib is heavy
        check_ending,
        write_section,
    )
    from striplay.sheets.section_scene import scene_of  # noqa: PLC0415

    path = Path(path)
    check_ending(path)
    section = sections_of(plan.without_trial)[0]
    scene = scene_of(plan, section, day, south=None if day is None else _south(plan))
    rates = row_rates(plan, scene.section, headland=False)
    told: list[Notice] = [*scene.section.notices, *set_notices(plan, section.strips)]
    told += wide_row_notices(plan, rates)
    replace_file(path, lambda fresh: told.extend(write_section(scene, fresh)))
    return gravest_first(told)


def write_comparison(
    comparison: Comparison, path: str | Path, *, printed: date | None = None
) -> list[Notice]:
    """Write plans side by side as a sheet.

    Args:
        comparison: the plans, as `compare` gives them.
        path: the PDF to write.
        printed: date on the sheet; that of the first plan when left out.

    Returns:
        What the user should know of the sheet: characters that it can't print.

    Raises:
        OutputError: another ending, or no file to be replaced.
        WriteError: it can't be written.
    """
    from striplay.sheets.book import book_of, write_pages  # noqa: PLC0415 - slow to load
    from striplay.sheets.compare_sheets import compare_story  # noqa: PLC0415

    path = Path(path)
    check_pages(path)
    first, *rest = comparison.laid
    book = book_of(first, printed=printed)
    if rest:
        titles = {layout.plan.title for layout in comparison.laid}
        title = book.title if len(titles) == 1 else f"{book.title} and {len(rest)} more"
        marks = " ".join([layout.mark for layout in comparison.laid][:MARKS_SHOWN])
        book = replace(book, title=title, mark=marks)
    told: list[Notice] = []
    story = compare_story(book, comparison)
    subject = "plans side by side"
    replace_file(path, lambda fresh: told.extend(write_pages(book, fresh, [story], subject)))
    return told


MARKS_SHOWN = 3
"""Versions of plans named at the head of a sheet that holds several."""


def print_operation(
    layout: Layout, name: str, path: str | Path, *, printed: date | None = None
) -> list[Notice]:
    """Print all that one operation's operator needs: cover, double page, record, strips by number.

    A planter of several crops in one pass has its seed boxes too, one of a mixture its blend.

    Args:
        layout: whose operation.
        name: what it is called, or its number in the order done, from 1.
        path: the PDF to write.
        printed: date on the sheets; the plan's when left out.

    Returns:
        What the user should know of the pages: characters that they can't print.

    Raises:
        PlanError: the plan has no such operation.
        OutputError: another ending, or no file to be replaced.
        WriteError: it can't be written.
    """
    from striplay.sheets.bind import stories_for  # noqa: PLC0415 - likewise
    from striplay.sheets.book import book_of, write_pages  # noqa: PLC0415 - heavy to load
    from striplay.sheets.turned import turned_alike  # noqa: PLC0415

    path = Path(path)
    check_pages(path)
    sheet = _operation(layout, name)
    book = turned_alike(book_of(layout, printed=printed), layout)
    told: list[Notice] = []

    def write(fresh: Path) -> None:
        # made as they are taken, so that what they can't print is told of
        told.extend(write_pages(book, fresh, stories_for(book, layout, sheet), sheet.name))

    replace_file(path, write)
    return told


def check_pages(path: Path) -> None:
    """Check that a file's ending is that of printed pages.

    Raises:
        OutputError: it is not.
    """
    if path.suffix.lower() != ".pdf":
        raise OutputError(f"{path.name}: must end in .pdf")


def _operation(layout: Layout, name: str) -> Worksheet:
    """Find an operation by its name or its number."""
    sheets = layout.worksheets
    names = [sheet.name for sheet in sheets]
    if name in names:
        return sheets[names.index(name)]
    if name.isdecimal() and 1 <= int(name) <= len(sheets):
        return sheets[int(name) - 1]
    listed = ", ".join(f'{number} "{one}"' for number, one in enumerate(names, start=1))
    what = f"its operations are {listed}" if names else "it has none that passes come of"
    raise PlanError(layout.plan.path.name, [f'no operation "{name}"; {what}'])


def _south(plan: Plan) -> bool | None:
    """Tell whether a plan's field lies south of the equator; None where no boundary tells."""
    try:
        latitude_deg = latitude_deg_of(plan)
    except BoundaryError:  # a picture needs none
        return None
    return None if latitude_deg is None else latitude_deg < 0
