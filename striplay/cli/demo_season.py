"""Show a whole season on a sample field, as its commands would do it one after the other."""

import shutil
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path

from striplay.cli.shared import say, show_progress

PLAN, RECORDS, STORE, JOURNAL = "plan.toml", "records.csv", "records.gpkg", "journal.pdf"
LAYOUT, NEXT = "layout", "next.toml"
LAST_DAY = date(2026, 12, 31)
"""The last day of the season that was invented, whatever today's is."""
LIES = {
    PLAN: "the plan; field.geojson is its boundary",
    LAYOUT: "what lay writes: {book}field.html for a phone, files, accounts",
    RECORDS: "what was planted, counted, seen and weighed, as typed in; all of it is invented",
    STORE: "the same, recorded",
    JOURNAL: "planned and done, yields by strip and by row, what they tell",
    NEXT: "next season's plan, on the same strips",
}
"""What lies where, in the order it came about."""


def show_season(sample: Path, folder: Path, *, map_book: bool) -> None:
    """Lay, record, compare, tell as a journal and plan anew; say what lies where.

    Args:
        sample: folder of the plan, its boundary and its invented records.
        folder: a new or empty folder to write.
        map_book: whether to draw the map book too.

    Raises:
        OutputError: something is there already.
        WriteError: it can't be written.
    """
    from striplay.files.folder import make_folder

    show_progress()
    said: list[str] = []
    make_folder(folder, lambda fresh: said.extend(_season(sample, fresh, map_book=map_book)))
    for line in said:
        say(line)
    say(f"what lies in {folder}:")
    book = "mapbook.pdf to print, " if map_book else ""
    for name, what in LIES.items():
        say(f"  {name:<13} {what.format(book=book)}")
    say(f"go on, such as: striplay record {folder / PLAN} list")


def _season(sample: Path, fresh: Path, *, map_book: bool) -> Iterator[str]:
    """Do it all in a folder; tell each step by its command and what it says."""
    from striplay.files.folder import write_new
    from striplay.files.plan import read_plan
    from striplay.flow import lay
    from striplay.following import next_plan
    from striplay.handover import save
    from striplay.journaling import season_told, write_journal
    from striplay.recording import open_records
    from striplay.records.analysis_report import findings_report
    from striplay.report import layout_report

    for one in sorted(sample.iterdir()):
        shutil.copyfile(one, fresh / one.name)
    plan = read_plan(fresh / PLAN)
    layout = lay(plan)
    save(layout, fresh / LAYOUT, map_book=map_book)
    yield f"striplay lay {PLAN} -o {LAYOUT}"
    yield from _indented(layout_report(plan, layout.accounts))
    with open_records(plan, layout=layout) as records:
        read = records.read_table(fresh / RECORDS, LAST_DAY)
        entries = [entry for line in read.lines for entry in line.entries]
        written = records.add(entries, today=LAST_DAY)
        yield f"striplay record {PLAN} load {RECORDS}"
        yield f"  {len(written)} entries recorded"
        season = season_told(layout, records)
        yield f"striplay record {PLAN} compare"
        if season.findings is not None:
            yield from _indented(findings_report(season.findings, plan))
        write_journal(layout, season, fresh / JOURNAL)
        yield f"striplay record {PLAN} journal -o {JOURNAL}"
    after = next_plan(layout, fresh / NEXT)
    write_new(fresh / NEXT, after.text)
    yield f"striplay next {PLAN} -o {NEXT}"
    yield f"  {after.lines[0]}"
    yield from (f"  proposed from the records, not put in: {one}" for one in season.proposals)
    yield from (f"  not proposed from the records: {one}" for one in season.not_proposed)


def _indented(lines: Iterable[str]) -> Iterator[str]:
    return (f"  {line}" for line in lines)
