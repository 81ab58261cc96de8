"""Say which version of striplay runs here, on a worker of a cluster too."""

from importlib.metadata import version


def version_here() -> str:
    """Give the version as it is installed."""
    return version("striplay")
