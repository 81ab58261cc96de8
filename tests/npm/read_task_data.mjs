/**
 * Read task data with the npm package isoxml, and print what it found as JSON: a list, a file each.
 *
 * node read_task_data.mjs taskdata.zip ...
 */
import { readFileSync } from "node:fs";
import isoxml from "isoxml";

/** @param {string} file */
async function read(file) {
  const manager = new isoxml.ISOXMLManager();
  await manager.parseISOXMLFile(new Uint8Array(readFileSync(file)), "application/zip");

  const id = (entity) => manager.getReferenceByEntity(entity)?.xmlId ?? null;
  const points = (line) =>
    line.attributes.Point.map(({ attributes: point }) => [
      Number(point.PointType),
      point.PointEast,
      point.PointNorth,
    ]);
  const polygon = ({ attributes }) => ({
    type: Number(attributes.PolygonType),
    rings: attributes.LineString.map((ring) => ({
      type: Number(ring.attributes.LineStringType),
      points: points(ring),
    })),
  });
  const line = (one) => ({
    type: Number(one.attributes.LineStringType),
    name: one.attributes.LineStringDesignator ?? null,
    width: one.attributes.LineStringWidth ?? null,
    points: points(one),
  });
  const pattern = (one) => ({
    id: id(one),
    name: one.attributes.GuidancePatternDesignator,
    type: Number(one.attributes.GuidancePatternType),
    spread: Number(one.attributes.GuidancePatternPropagationDirection),
    extension: Number(one.attributes.GuidancePatternExtension),
    options: Number(one.attributes.GuidancePatternOptions ?? 0),
    radius: one.attributes.GuidancePatternRadius ?? null,
    left: one.attributes.NumberOfSwathsLeft ?? 0,
    right: one.attributes.NumberOfSwathsRight ?? 0,
    line: line(one.attributes.LineString[0]),
  });
  const zone = ({ attributes }) => ({
    code: attributes.TreatmentZoneCode,
    name: attributes.TreatmentZoneDesignator,
    polygons: (attributes.PolygonTreatmentZoneonly ?? []).map(polygon),
    rates: attributes.ProcessDataVariable.map(({ attributes: rate }) => ({
      ddi: rate.ProcessDataDDI,
      value: rate.ProcessDataValue,
      product: rate.ProductIdRef.entity.attributes.ProductDesignator,
    })),
  });

  const root = manager.rootElement.attributes;
  const field = root.Partfield[0];
  return {
    warnings: manager.getWarnings(),
    version: manager.options.version,
    fields: root.Partfield.length,
    id: id(field),
    name: field.attributes.PartfieldDesignator,
    area: field.attributes.PartfieldArea,
    customer: field.attributes.CustomerIdRef?.entity.attributes.CustomerLastName ?? null,
    farm: field.attributes.FarmIdRef?.entity.attributes.FarmDesignator ?? null,
    products: (root.Product ?? []).map((one) => [id(one), one.attributes.ProductDesignator]),
    outline: field.toGeoJSON(),
    polygons: (field.attributes.PolygonnonTreatmentZoneonly ?? []).map(polygon),
    lines: (field.attributes.LineString ?? []).map(line),
    groups: (field.attributes.GuidanceGroup ?? []).map((one) => ({
      id: id(one),
      name: one.attributes.GuidanceGroupDesignator,
      patterns: one.attributes.GuidancePattern.map(pattern),
    })),
    tasks: root.Task.map((one) => ({
      id: id(one),
      name: one.attributes.TaskDesignator,
      status: Number(one.attributes.TaskStatus),
      field: one.attributes.PartfieldIdRef.xmlId,
      group: one.attributes.GuidanceAllocation?.[0].attributes.GuidanceGroupIdRef.xmlId ?? null,
      zones: (one.attributes.TreatmentZone ?? []).map(zone),
    })),
  };
}

const found = [];
for (const file of process.argv.slice(2)) found.push(await read(file));
console.log(JSON.stringify(found));
