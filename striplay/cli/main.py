"""Gather the commands."""

import click

from striplay import __version__
from striplay.cli.check import check
from striplay.cli.commands import Commands
from striplay.cli.compare import compare
from striplay.cli.demo import demo
from striplay.cli.fit import fit
from striplay.cli.lay import lay
from striplay.cli.many import many
from striplay.cli.next import next_
from striplay.cli.pair import pair
from striplay.cli.pay import pay
from striplay.cli.print import print_
from striplay.cli.record import record
from striplay.cli.record_measured import compare_plots, journal, monitor
from striplay.cli.section import section
from striplay.cli.start import start
from striplay.cli.systems import systems
from striplay.cli.table import table
from striplay.cli.weigh import weigh


@click.group(
    cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96}
)
@click.version_option(__version__, prog_name="striplay")
def main() -> None:
    """Plan strips of crops that every machine covers in whole passes.

    A boundary file, the farm's machines and its crops go in as one plan file. Strips, rows, areas,
    seed, passes and printable sheets come out.

    \b
    First steps:
      striplay demo                         see what comes out, on a sample field
      striplay start north.geojson          write a plan for your boundary
      striplay pair corn soybean            how crops suit each other
      striplay fit north.toml               which strip widths fit the machines
      striplay section north.toml -o s.svg  one set across the rows, drawn
      striplay weigh north.toml             which headings cost least
      striplay check north.toml             whether every operation can be done
      striplay pay north.toml               whether strips pay, and how sure that is
      striplay compare north.toml b.toml    variants side by side
      striplay systems north.toml           which of the five systems suits, and what it needs
      striplay table north.toml             turn the rows on a page, and see what comes of it
      striplay lay north.toml -o north      lay the strips and write the files
      striplay print north.toml --for 1 -o plant.pdf   one operation's pages, for the cab
      striplay next north.toml -o north_next.toml   next season's plan, on the same strips
      striplay record north.toml done --operation 1    keep what was done
      striplay many fields.gpkg --plan north.toml -o out    many fields by one plan
    """


for _command in (
    demo, start, pair, fit, section, weigh, check, pay, compare, systems, lay, print_, next_,
    record, table, many,
):  # fmt: skip
    main.add_command(_command)
for _command in (monitor, compare_plots, journal):
    record.add_command(_command)
