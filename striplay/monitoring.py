"""Take a yield monitor's file to what strips yielded: told, drawn, and given as entries."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from striplay.errors import PlanError
from striplay.files.folder import replace_file
from striplay.files.monitor import read_monitor
from striplay.flow import Layout
from striplay.handover import check_pages
from striplay.notices import Notice
from striplay.records.entry import Yield
from striplay.records.monitor import by_strip
from striplay.records.monitored import Monitored

NO_TABLE = (
    "monitor: is missing; name the file's columns under [monitor]: time, longitude, latitude, and "
    "flow with flow_unit, or yield with yield_unit"
)


def read_yields(layout: Layout, path: str | Path, crop: str | None = None) -> Monitored:
    """Read a yield monitor's file by the plan's [monitor], and tell it by strip.

    Args:
        layout: the plan, laid.
        path: the file.
        crop: what was harvested; what most points lie in when left out.

    Raises:
        PlanError: the plan has no [monitor].
        MonitorError: a file that can't be read, or is not of this field.
    """
    rules = layout.plan.monitor
    if rules is None:
        raise PlanError(
            layout.plan.path.name,
            [NO_TABLE],
        )
    log = read_monitor(path, rules)
    return by_strip(layout.plan, rules, layout.ground, layout.laid, layout.routes, log, crop)


def write_yield_map(
    layout: Layout, found: Monitored, path: str | Path, *, printed: date | None = None
) -> list[Notice]:
    """Write the map of a yield monitor's file, and its words, as pages.

    Args:
        layout: the plan, laid.
        found: what the file comes to.
        path: the PDF to write.
        printed: date on the pages; the plan's when left out.

    Returns:
        What the user should know of the pages: characters that they can't print.

    Raises:
        OutputError: another ending, or no file to be replaced.
        WriteError: it can't be written.
    """
    from striplay.sheets.book import book_of, write_pages  # noqa: PLC0415 - heavy to load
    from striplay.sheets.yield_sheets import yield_story  # noqa: PLC0415

    path = Path(path)
    check_pages(path)
    book = book_of(layout, printed=printed)
    told: list[Notice] = []
    story = yield_story(book, layout, found)
    replace_file(path, lambda fresh: told.extend(write_pages(book, fresh, [story], found.source)))
    return told


def entries_of(found: Monitored, day: date) -> Sequence[Yield]:
    """Give an entry for each strip: its yield over the ground that counts, taken for all of it.

    Args:
        found: what the file comes to.
        day: when it was harvested.
    """
    return [
        Yield(
            day=day,
            strip=one.strip,
            crop=found.crop,
            grain_kg=one.grain_kg / one.share,
            moisture=found.base_moisture if one.moisture is None else one.moisture,
            area_m2=one.area_m2 / one.share,
            remark=f"yield monitor, {found.source}: {one.points:,} points, {100 * one.share:.0f} % of it",
        )
        for one in found.strips
    ]
