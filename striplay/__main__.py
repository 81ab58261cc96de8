"""Run the command line with `python -m striplay`."""

from striplay.cli import main

if __name__ == "__main__":
    main(prog_name="striplay")
