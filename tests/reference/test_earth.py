"""Check areas and distances of the earth against published values and other libraries."""

import math

import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from pyproj import Geod, Proj, Transformer
from shapes import QUARTER_M, SHAPES

from striplay.ground import Plane, Shapes, locate
from striplay.units import ACRE_M2

WGS84 = Geod(ellps="WGS84")
PLANE = Plane(-93.5, 42.0)
CENTERS = [
    (-93.5, 42.0),
    (-90.2, 42.0),
    (0.5, 0.1),
    (151.0, -33.0),
    (25.0, 66.0),
    (-179.9999, 52.0),
]


def geographiclib_polygon(latlon):
    polygon = Geodesic.WGS84.Polygon()
    for latitude, longitude in latlon:
        polygon.AddPoint(latitude, longitude)
    _, perimeter_m, area_m2 = polygon.Compute()
    return perimeter_m, area_m2


def square_lonlat(plane, side_m):
    """Give the corners of a square in longitude and latitude."""
    half = side_m / 2
    return plane.to_lonlat(np.array([[-half, -half], [half, -half], [half, half], [-half, half]]))


def placed(lonlat):
    """Put a ring of longitude and latitude on its plane, as a file's."""
    return locate(Shapes("f", (shapely.Polygon(lonlat),), ("feature 1",), "EPSG:4326"))


# --- published geodesic areas: they check the yardsticks by which the plane is measured -----------


@pytest.mark.parametrize(
    ("latlon", "area_m2"),
    [
        # C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87:43-55, 2013; figures from the
        # planimeter tests of the geographiclib package.
        ([(0, -1), (-1, 0), (0, 1), (1, 0)], 24_619_419_146.0),
        ([(90, 0), (0, 0), (0, 90)], 63_758_202_715_511.0),
        ([(2, 1), (1, 2), (3, 3)], 18_454_562_325.45),
    ],
)
def test_geodesic_areas_of_karney(latlon, area_m2):
    latitude, longitude = np.array(latlon, float).T
    measured_m2, _ = WGS84.polygon_area_perimeter(longitude, latitude)
    assert abs(measured_m2) == pytest.approx(area_m2, abs=1.0)
    assert abs(geographiclib_polygon(latlon)[1]) == pytest.approx(area_m2, abs=1.0)


def test_geodesic_perimeter_of_karney():
    # the same source, perimeter of the first
    latlon = [(0, -1), (-1, 0), (0, 1), (1, 0)]
    latitude, longitude = np.array(latlon, float).T
    assert WGS84.polygon_area_perimeter(longitude, latitude)[1] == pytest.approx(
        627_598.2731, abs=1e-4
    )
    assert geographiclib_polygon(latlon)[0] == pytest.approx(627_598.2731, abs=1e-4)


def test_geodesic_area_of_a_box_with_a_hole():
    # pyproj's own documentation of Geod.geometry_area_perimeter
    box = shapely.Polygon([(1, 1), (10, 1), (10, 10), (1, 10)], holes=[[(1, 2), (3, 4), (5, 2)]])
    area_m2, _ = WGS84.geometry_area_perimeter(shapely.orient_polygons(box))
    assert abs(area_m2) == pytest.approx(944_373_881_400.3394, rel=1e-9)


def test_geodesic_length_of_a_line():
    # pyproj's own documentation of Geod.geometry_length
    assert WGS84.geometry_length(shapely.LineString([(1, 2), (3, 4)])) == pytest.approx(
        313_588.397, abs=1e-3
    )


# --- the local plane ------------------------------------------------------------------------------


def test_a_degree_of_latitude_and_of_longitude_at_42():
    # WGS 84 at 42 degrees: 111,073.287 m and 82,850.762 m (arithmetic on the ellipsoid's radii)
    step = 1e-4
    there = PLANE.to_plane(np.array([[-93.5, 42.0 + step], [-93.5, 42.0 - step]]))
    assert (there[0, 1] - there[1, 1]) / (2 * step) == pytest.approx(111_073.287, abs=0.01)
    there = PLANE.to_plane(np.array([[-93.5 + step, 42.0], [-93.5 - step, 42.0]]))
    assert (there[0, 0] - there[1, 0]) / (2 * step) == pytest.approx(82_850.762, abs=0.01)


def test_scale_grows_as_the_square_of_the_distance_from_the_center_line():
    # transverse Mercator: 7.9e-9 at 800 m, 3.1e-7 at 5 km (arithmetic: x^2 / 2 R^2)
    for off_m, error in ((800.0, 7.9e-9), (5000.0, 3.1e-7)):
        lonlat = PLANE.to_lonlat(np.array([[off_m, -50.0], [off_m, 50.0]]))
        *_, ground_m = WGS84.inv(*lonlat[0], *lonlat[1])
        assert 100.0 / ground_m - 1 == pytest.approx(error, rel=0.03, abs=2e-10)


@pytest.mark.parametrize(("longitude", "latitude"), CENTERS)
def test_distances_agree_with_the_geodesic_to_1_mm_per_km_within_5_km(longitude, latitude):
    # yardsticks: pyproj's Geod and geographiclib's Geodesic
    plane = Plane(longitude, latitude)
    rng = np.random.default_rng(5)
    angle = rng.uniform(0, 2 * math.pi, 60)
    away_m = 5000 * np.sqrt(rng.uniform(0, 1, 60))
    points = np.column_stack([away_m * np.cos(angle), away_m * np.sin(angle)])
    lonlat = plane.to_lonlat(points)
    first, second = np.triu_indices(len(points), 1)
    on_plane_m = np.hypot(*(points[first] - points[second]).T)
    *_, ground_m = WGS84.inv(*lonlat[first].T, *lonlat[second].T)
    assert np.max(np.abs(on_plane_m - ground_m) / ground_m) < 1e-6
    one = Geodesic.WGS84.Inverse(lonlat[0, 1], lonlat[0, 0], lonlat[1, 1], lonlat[1, 0])["s12"]
    assert one == pytest.approx(ground_m[0], abs=1e-6)


@pytest.mark.parametrize(("longitude", "latitude"), CENTERS)
@pytest.mark.parametrize("name", [name for name in SHAPES if name not in {"sliver", "two parts"}])
def test_areas_agree_with_the_geodesic_to_1e_6(name, longitude, latitude):
    shape = SHAPES[name]
    there = Plane(longitude, latitude).geometries_to_lonlat(shape)
    found = locate(Shapes("f", (there,), ("feature 1",), "EPSG:4326"))
    ground_m2 = sum(
        math.copysign(abs(WGS84.polygon_area_perimeter(*np.array(ring.coords).T)[0]), sign)
        for ring, sign in [(there.exterior, 1), *((hole, -1) for hole in there.interiors)]
    )
    assert found.land.area == pytest.approx(ground_m2, rel=1e-6)


def test_a_field_10_km_across_keeps_its_area_to_1e_6():
    lonlat = square_lonlat(PLANE, 7000.0)
    latlon = [(latitude, longitude) for longitude, latitude in lonlat]
    # a geodesic side bows off the plane's straight one, so the yardstick takes 100 steps a side
    ring = np.concatenate(
        [
            np.linspace(a, b, 100, endpoint=False)
            for a, b in zip(lonlat, np.roll(lonlat, -1, 0), strict=True)
        ]
    )
    area_m2 = abs(geographiclib_polygon(latlon)[1])
    assert placed(lonlat).land.area == pytest.approx(area_m2, rel=1e-6)
    assert placed(ring).land.area == pytest.approx(
        abs(WGS84.polygon_area_perimeter(*ring.T)[0]), rel=1e-6
    )


@pytest.mark.parametrize(
    "latitude", [40.99999999788841, 41.0, 42.123456789012345, -0.3, 41.1 + 5e-10]
)
@pytest.mark.parametrize("longitude", [-95.34000010461318, 179.99999999999, 0.0, 12.3])
def test_the_plane_is_the_system_that_files_state(latitude, longitude):
    """Against PROJ's own reading of `Plane.crs`, which takes near whole degrees for those."""
    plane = Plane(longitude, latitude)
    points = np.array([[0.0, 0.0], [700.0, -300.0], [-5000.0, 5000.0]])
    there = Transformer.from_crs(plane.crs, "EPSG:4326", always_xy=True)
    lonlat = np.column_stack(there.transform(*points.T))
    assert plane.to_lonlat(points) == pytest.approx(lonlat, abs=1e-14, rel=1e-14)
    assert plane.to_plane(lonlat) == pytest.approx(points, abs=1e-7)


def test_the_plane_comes_back():
    points = np.array([[0.0, 0.0], [5000.0, -3000.0], [-24_000.0, 24_000.0]])
    assert PLANE.to_plane(PLANE.to_lonlat(points)) == pytest.approx(points, abs=1e-6)


# --- why not the grid zone ------------------------------------------------------------------------


@pytest.mark.parametrize(("longitude", "acres"), [(-93.5, 159.8788), (-90.2, 160.0838)])
def test_a_true_quarter_section_in_its_grid_zone(longitude, acres):
    # computed with pyproj: a 160.0000-ac square at 42 N is 159.8788 ac in its grid zone at
    # 93.5 W, and 160.0838 at 90.2 W
    plane = Plane(longitude, 42.0)
    lonlat = square_lonlat(plane, QUARTER_M)
    to_zone = Transformer.from_crs(4326, 26915, always_xy=True)
    zone = shapely.Polygon(np.column_stack(to_zone.transform(*lonlat.T)))
    assert zone.area / ACRE_M2 == pytest.approx(acres, abs=5e-4)
    from_zone = locate(Shapes("f", (zone,), ("feature 1",), "EPSG:26915"))
    assert from_zone.land.area / ACRE_M2 == pytest.approx(160.0, abs=1e-4)


def test_scale_and_convergence_of_the_grid_zone():
    # computed with pyproj at 42 N 93.5 W: scale .99962110, convergence -0.33457 degrees
    factors = Proj("EPSG:26915").get_factors(-93.5, 42.0)
    assert factors.meridional_scale == pytest.approx(0.99962110, abs=1e-8)
    assert factors.meridian_convergence == pytest.approx(-0.33457, abs=1e-5)


def test_grid_north_taken_for_true_north_moves_a_half_mile_pass():
    # arithmetic: the end moves 4.70 m
    step = np.array([[0.0, 0.0], [0.0, QUARTER_M]])
    zone = np.column_stack(
        Transformer.from_crs(4326, 26915, always_xy=True).transform(*PLANE.to_lonlat(step).T)
    )
    assert abs(zone[1, 0] - zone[0, 0]) == pytest.approx(4.70, abs=0.01)
    assert PLANE.to_lonlat(step)[1, 0] == pytest.approx(-93.5, abs=1e-12)


def test_a_seventh_decimal_of_a_degree_is_11_mm():
    # our choice; arithmetic on the ellipsoid: 1e-7 degree of latitude is 11 mm. RFC 7946 (H. Butler
    # and others, The GeoJSON Format, IETF, 2016) asks for no number: its section 11.2 says six
    # decimals are about 10 cm
    moved = PLANE.to_plane(np.array([[-93.5, 42.0 + 1e-7]]))
    assert moved[0, 1] == pytest.approx(0.011, abs=5e-4)
