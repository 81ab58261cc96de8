"""Say which files a plan wants written."""

from typing import Literal

from pydantic import Field

from striplay.plan.quantities import FileKinds
from striplay.plan.table import Table


class FilesWish(Table):
    """Which files `lay` writes."""

    write: FileKinds | None = Field(
        None,
        description="Kinds of files to write, see [files](tables_reference.md); left out: the "
        "usual ones.",
        examples=[["geojson", "geopackage", "kml"]],
    )
    task_data: Literal["4", "3.3"] = Field(
        "4",
        description="Version of ISO 11783-10 that task data is written in: 4, or 3.3 for older "
        "terminals, see [terminals](howto_terminal.md).",
        examples=["3.3"],
    )
