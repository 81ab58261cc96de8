"""The command line: a command a file, results to stdout, everything else to stderr."""

from striplay.cli.main import main

__all__ = ["main"]
