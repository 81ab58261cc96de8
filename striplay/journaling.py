"""Write a season's journal: what was planned, what is recorded, and what it tells."""

from datetime import date
from pathlib import Path

from striplay.errors import YieldError
from striplay.files.folder import replace_file
from striplay.handover import check_pages
from striplay.laid_plan import Layout
from striplay.notices import Notice
from striplay.operations.jobs import crops_of
from striplay.proposing import proposed_from
from striplay.recording import Records
from striplay.records.findings import findings_of
from striplay.records.journal import PlannedWork, Season, journal_of
from striplay.records.plots_recorded import plots_of

SUBJECT = "Season journal"


def season_told(layout: Layout, records: Records) -> Season:
    """Give all that a journal tells of a season.

    Args:
        layout: the season's plan, laid.
        records: of the same plan.
    """
    plan, edition, recorded = layout.plan, records.edition, records.recorded()
    planned = [
        PlannedWork(
            one.job.name, one.job.day, tuple(crops_of(one.job)) if one.job.does == "plant" else ()
        )
        for one in layout.routes
    ]
    journal = journal_of(plan, edition, planned, recorded)
    plots, shares = plots_of(journal.yields, layout.laid)
    found, untold = None, NO_PLOTS
    if plots:
        try:
            found = findings_of("records", plots, shares, drawn=plan.trial is not None)
        except YieldError as error:
            untold = f"Yields are not compared: {error}."
    proposed = proposed_from(layout, records)
    return Season(edition, journal, found, untold, proposed.changes, proposed.untold)


NO_PLOTS = (
    "Yields are not compared: neither check strips of a trial nor rows by themselves were weighed. "
    "Strips beside what the plan states, or beside other years, prove little."
)


def write_journal(
    layout: Layout, season: Season, path: str | Path, *, printed: date | None = None
) -> list[Notice]:
    """Write a season's journal as pages.

    Args:
        layout: the season's plan, laid.
        season: what is told of it.
        path: the PDF to write.
        printed: date on the pages; the last day recorded when left out.

    Returns:
        What the user should know of the pages: characters that they can't print.

    Raises:
        OutputError: another ending, or no file to be replaced.
        WriteError: it can't be written.
    """
    from striplay.sheets.book import book_of, write_pages  # noqa: PLC0415 - heavy to load
    from striplay.sheets.journal_sheets import journal_story  # noqa: PLC0415

    path = Path(path)
    check_pages(path)
    last = season.journal.days
    book = book_of(layout, printed=printed or (last and last[1]))
    story = journal_story(book, layout, season)
    told: list[Notice] = []
    replace_file(path, lambda fresh: told.extend(write_pages(book, fresh, [story], SUBJECT)))
    return told
