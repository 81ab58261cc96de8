"""Let writers that need a file to write to have one, and give what they wrote as bytes."""

import sqlite3
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from pyogrio.errors import DataLayerError, DataSourceError, FeatureError


def written(name: str, write: Callable[[Path], object]) -> dict[str, bytes]:
    """Give all files that a writer makes in a folder of its own, by their names.

    Args:
        name: of the file it is to write; it may write others beside it.
        write: writes it.

    Raises:
        OSError: the disk is full.
    """
    with TemporaryDirectory(prefix="striplay-") as folder:
        try:
            write(Path(folder) / name)
        except (DataLayerError, DataSourceError, FeatureError, sqlite3.Error) as error:
            # its own words are of tables and transactions
            raise OSError(f"the disk is full, or refuses {name}") from error
        return {path.name: path.read_bytes() for path in sorted(Path(folder).iterdir())}
