"""Take a yield monitor's file to what strips yielded: told, drawn, and given as entries."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from striplay.errors import PlanError
from striplay.files.folder import replace_file
from striplay.files.monitor import read_monitor
from striplay.flow import lay
from striplay.handover import check_pages
from striplay.laid_plan import Layout
from striplay.notices import Notice
from striplay.operations.under import named
from striplay.plan.models import Plan
from striplay.plan.monitor import MonitorSource
from striplay.recording import Records
from striplay.records.entry import Yield
from striplay.records.monitor import by_strip
from striplay.records.monitor_edges import EdgeRuns, edges_of_runs
from striplay.records.monitored import Monitored
from striplay.records.plots import Plot
from striplay.records.plots_recorded import plots_of, plots_of_rows
from striplay.records.yields import YieldOf, yields_of

NO_TABLE = (
    "monitor: is missing; name the file's columns under [monitor]: time, longitude, latitude, and "
    "flow with flow_unit, or yield with yield_unit"
)


def rules_of(plan: Plan) -> MonitorSource:
    """Give how a plan has a yield monitor's file read.

    Raises:
        PlanError: it does not say.
    """
    if plan.monitor is None:
        raise PlanError(plan.path.name, [NO_TABLE])
    return plan.monitor


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
    rules = rules_of(layout.plan)
    log = read_monitor(path, rules)
    return by_strip(layout.plan, rules, layout.ground, layout.laid, layout.routes, log, crop)


def edges_read(layout: Layout, found: Monitored) -> EdgeRuns:
    """Tell what a monitor's runs say of rows at edges, by the header that its crop is cut with."""
    header = layout.plan.harvester(found.crop)
    return edges_of_runs(found, layout.laid, None if header is None else header.width_m)


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
            remark=(
                f"yield monitor, {found.source}: {one.points:,} points, "
                f"{100 * one.share:.0f} % of it"
            ),
        )
        for one in found.strips
    ]


def row_entries_of(found: Monitored, edges: EdgeRuns, day: date) -> Sequence[Yield]:
    """Give an entry for each run that tells of rows at an edge or inside; none where none does.

    Args:
        found: what the file comes to.
        edges: what its runs tell of rows at edges.
        day: when it was harvested.
    """
    return [
        Yield(
            day=day,
            strip=one.run.strip,
            crop=found.crop,
            rows=(one.first, one.last),
            grain_kg=(one.run.kg_per_m2 or 0.0) * one.run.area_m2,
            moisture=found.base_moisture,
            area_m2=one.run.area_m2,
            remark=f"yield monitor, {found.source}: lines {one.run.lines[0]} to {one.run.lines[1]}",
        )
        for one in edges.taken
    ]


def keep_yields(
    records: Records, found: Monitored, day: date, today: date, edges: EdgeRuns | None = None
) -> tuple[int, list[str]]:
    """Record the yields of strips that have none of that crop yet.

    Args:
        records: the season's, open.
        found: what the file comes to.
        day: when it was harvested.
        today: the last day that it may be.
        edges: what its runs tell of rows at edges, to be recorded row by row where they do.

    Returns:
        How many entries are recorded, and what is told of strips left out.

    Raises:
        RecordError: a day that can't be.
        StoreError: another run is writing the store, or it is damaged.
        WriteError: the store can't be written.
    """
    has = {
        one.strip
        for one in yields_of(records.recorded(), records.edition)
        if one.crop == found.crop and one.rows is None
    }
    entries = entries_of(found, day)
    new = [one for one in entries if one.strip not in has]
    left = sorted(has & {one.strip for one in entries if one.strip is not None})
    told = []
    if left:
        told.append(
            f"{named(left, 'strips')}: a yield of {found.crop} is recorded already and would count "
            "twice; undo it first if the monitor's is to stand"
        )
    if edges is not None:
        kept = {one.strip for one in new}
        new += [one for one in row_entries_of(found, edges, day) if one.strip in kept]
    if new:
        records.add(new, today=today)
    return len(new), told


def plots_recorded(
    plan: Plan, yields: Sequence[YieldOf]
) -> tuple[list[Plot], Mapping[str, Mapping[str, float]]]:
    """Give the plots that the season's records hold, and each crop's share of the land in strips.

    Args:
        plan: laid where it has a trial.
        yields: what is recorded.

    Raises:
        PlanError: a trial that can't be laid.
        BoundaryError: its boundary can't be used.
    """
    return (plots_of_rows(yields), {}) if plan.trial is None else plots_of(yields, lay(plan).laid)
