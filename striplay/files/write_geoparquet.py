"""Write layers as GeoParquet, a file a layer."""

import io

from striplay.files.content import Content


def encode(content: Content) -> dict[str, bytes]:
    """Give a GeoParquet file for each layer; needs pyarrow."""
    files = {}
    for name, table in content.layers.items():
        packed = io.BytesIO()
        table.to_parquet(packed, index=False)
        files[f"{name}.parquet"] = packed.getvalue()
    return files
