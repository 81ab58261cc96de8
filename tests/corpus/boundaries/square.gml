<?xml version="1.0" encoding="utf-8" ?>
<ogr:FeatureCollection
     gml:id="aFeatureCollection"
     xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
     xsi:schemaLocation="http://ogr.maptools.org/ x.xsd"
     xmlns:ogr="http://ogr.maptools.org/"
     xmlns:gml="http://www.opengis.net/gml/3.2">
  <gml:boundedBy><gml:Envelope srsName="urn:ogc:def:crs:EPSG::4326"><gml:lowerCorner>42.0 -93.5</gml:lowerCorner><gml:upperCorner>42.001 -93.499</gml:upperCorner></gml:Envelope></gml:boundedBy>
                                                                                                                                                            
  <ogr:featureMember>
    <ogr:x gml:id="x.0">
      <gml:boundedBy><gml:Envelope srsName="urn:ogc:def:crs:EPSG::4326"><gml:lowerCorner>42.0 -93.5</gml:lowerCorner><gml:upperCorner>42.001 -93.499</gml:upperCorner></gml:Envelope></gml:boundedBy>
      <ogr:geometryProperty><gml:Polygon srsName="urn:ogc:def:crs:EPSG::4326" gml:id="x.geom.0"><gml:exterior><gml:LinearRing><gml:posList>42.0 -93.499 42.001 -93.499 42.001 -93.5 42.0 -93.5 42.0 -93.499</gml:posList></gml:LinearRing></gml:exterior></gml:Polygon></ogr:geometryProperty>
      <ogr:id>1</ogr:id>
    </ogr:x>
  </ogr:featureMember>
</ogr:FeatureCollection>
