"""Make an edition of a small plan by hand, and entries of it, for the tests of records."""

from datetime import date

import numpy as np
import shapely

from striplay.records.edition import CropFacts, Edition, Pass, Piece, Sown

TODAY = date(2027, 11, 1)
DAY = date(2027, 5, 4)
FOOT_M, ACRE_M2, POUND_KG = 0.3048, 4046.8564224, 0.45359237
ROW_M = 30 * 0.0254
WEST, SOUTH, STEP = -93.5, 42.0, 0.001
MARK = "0a1b2c3d"


def edition(mark=MARK, *, units="us", strips_mark="11112222", name="North"):
    """Give three strips of 16 rows, 40 ft by 1,089 ft: an acre each; the third in two pieces.

    Corn, soybean with a relay of wheat between its rows, corn. The headland is planted.
    """
    width_m, acre = 40 * FOOT_M, ACRE_M2
    length_m = acre / width_m
    pieces = (
        Piece(1, 1, "corn", 16, width_m, acre, 16 * length_m),
        Piece(2, 1, "soybean", 16, width_m, acre, 16 * length_m),
        Piece(3, 1, "corn", 16, width_m, acre / 4, 4 * length_m),
        Piece(3, 2, "corn", 16, width_m, acre * 3 / 4, 12 * length_m),
    )
    at = [(0, 0, 1), (1, 0, 1), (2, 0, 0.25), (2, 0.25, 1)]
    polygons = [
        shapely.box(WEST + x * STEP, SOUTH + low * STEP, WEST + (x + 1) * STEP, SOUTH + high * STEP)
        for x, low, high in at
    ]
    return Edition(
        mark=mark,
        field=name,
        units=units,
        strips_mark=strips_mark,
        headland=True,
        pieces=pieces,
        sown=(
            Sown(1, "corn", 16, ROW_M),
            Sown(2, "soybean", 16, ROW_M),
            Sown(2, "wheat", None, ROW_M / 2, drilled=True),
            Sown(3, "corn", 16, ROW_M),
        ),
        crops={
            "corn": CropFacts(0.155, 56 * POUND_KG),
            "soybean": CropFacts(0.13, 60 * POUND_KG),
            "wheat": CropFacts(None, None),
        },
        operations=("plant corn", "spray corn + soybean"),
        passes=(
            Pass("plant corn", 1, None, None),
            Pass("plant corn", 2, 1, 1),
            Pass("plant corn", 3, 3, 1),
            Pass("plant corn", 3, 3, 2),
            Pass("spray corn + soybean", 1, 1, 1),
            Pass("spray corn + soybean", 1, 2, 1),
        ),
        outline=shapely.box(WEST, SOUTH, WEST + 3 * STEP, SOUTH + STEP),
        polygons=np.array(polygons, dtype=object),
    )
