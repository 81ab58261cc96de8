"""Say which files a plan wants written."""

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
