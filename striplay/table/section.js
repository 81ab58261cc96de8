// One set across the rows, to scale: its strips with their rows on the soil, and the machines' passes below.
import { hatchOf } from "../page/hatch.js";

/** @typedef {import("../page/data.js").Crop} Crop */
/** @typedef {import("./answer.js").Across} Across */
/** @typedef {(name: string) => string} Color */
/**
 * A canvas to draw a set on, and its scale.
 * @typedef {object} Sheet
 * @property {CanvasRenderingContext2D} on
 * @property {Color} color
 * @property {(meters: number) => number} at pixels from the left
 * @property {number} wide in pixels
 * @property {number} gutter what names beside the passes take
 * @property {number} scale pixels a meter
 * @property {number} setM
 */

/** As much of the neighboring sets is shown at either side, as a share of a set. */
const BESIDE = 0.09;
const HEAD_PIXELS = 24;
const SOIL_PIXELS = 76;
/** Names of machines stand beside their passes where the picture is so wide, else above them. */
const WIDE_PIXELS_LEAST = 600;
const GUTTER_PIXELS = 210;
const LANE_PIXELS = { beside: 25, above: 42 };
const WIDTH_PIXELS = 30;
const STEM_PIXELS = 30;
/** Rows nearer than that to each other are not drawn each. */
const LEAST_ROW_PIXELS = 2.2;
/** Leaves are drawn where rows stand so far apart. */
const LEAF_PIXELS = 7;

/** @param {Sheet} sheet @param {(shift: number) => void} draw once for the set, and paler for its neighbors */
function thrice({ on, at, setM }, draw) {
  for (const k of [-1, 1, 0]) {
    on.save();
    on.globalAlpha = k ? 0.4 : 1;
    const [left, right] = k ? [at(-BESIDE * setM), at((1 + BESIDE) * setM)] : [at(0), at(setM)];
    on.beginPath();
    on.rect(left, 0, right - left, 1e4);
    on.clip();
    draw(k * setM);
    on.restore();
  }
}

/** @param {Sheet} sheet @param {number} left @param {number} right @param {Crop} crop */
function fillStrip({ on, color }, left, right, crop) {
  const [top, high] = [HEAD_PIXELS, SOIL_PIXELS];
  const before = on.globalAlpha;
  on.globalAlpha = before * Number(color("--dim"));
  on.fillStyle = crop.color;
  on.fillRect(left, top, right - left, high);
  const hatch = hatchOf(on, crop.hatch, color("--hatch"));
  if (hatch) {
    on.fillStyle = hatch;
    on.globalAlpha *= 0.45;
    on.fillRect(left, top, right - left, high);
  }
  on.globalAlpha = before;
  on.strokeStyle = color("--edge");
  on.lineWidth = 1;
  on.strokeRect(left, top, right - left, high);
}

/** A row as one sees it from its end: a stem, and leaves where there is room. @param {Sheet} sheet @param {number} x @param {number} apart pixels to the next row @param {boolean} between */
function drawPlant({ on, color }, x, apart, between) {
  const soil = HEAD_PIXELS + SOIL_PIXELS;
  const high = between ? STEM_PIXELS / 2 : STEM_PIXELS;
  const reach = Math.min(apart * 0.36, 9);
  on.strokeStyle = color("--ink");
  on.lineWidth = apart > LEAF_PIXELS ? 2 : 1;
  on.beginPath();
  on.moveTo(x, soil);
  on.lineTo(x, soil - high);
  if (apart > LEAF_PIXELS) {
    for (const [side, share] of [[-1, 0.35], [1, 0.55], [-1, 0.75]]) {
      on.moveTo(x, soil - high * share);
      on.quadraticCurveTo(x + side * reach * 0.7, soil - high * (share + 0.28), x + side * reach, soil - high * (share + 0.08));
    }
  }
  on.stroke();
}

/** The least distance from one row to the next. @param {Across} across @param {number} setM @returns {number} in meters */
function leastApart({ rows }, setM) {
  const at = rows.map((row) => row.offset_m).sort((one, other) => one - other);
  const apart = at.slice(1).map((x, k) => x - at[k]).filter((gap) => gap > 0.01);
  return apart.length ? Math.min(...apart) : setM;
}

/** @param {Sheet} sheet @param {string} text @param {number} left @param {number} right @param {number} y @param {string[]} shorter what does where it has no room */
function writeWithin({ on, color }, text, left, right, y, shorter) {
  const words = [text, ...shorter].find((one) => on.measureText(one).width <= right - left - 6);
  if (words) {
    on.fillStyle = color("--ink");
    on.textAlign = "center";
    on.fillText(words, (left + right) / 2, y);
  }
}

/** @param {Sheet} sheet @param {Across} across @param {Crop[]} crops */
function drawAcross(sheet, across, crops) {
  const { on, at, color, scale, setM } = sheet;
  const apart = leastApart(across, setM) * scale;
  thrice(sheet, (shift) => {
    for (const { crop, offset_m: offset, width_m: width } of across.strips) {
      fillStrip(sheet, at(offset + shift), at(offset + width + shift), crops[crop]);
    }
    for (const { offset_m: offset, layer } of apart < LEAST_ROW_PIXELS ? [] : across.rows) {
      drawPlant(sheet, at(offset + shift), apart, layer > 0);
    }
  });
  on.strokeStyle = color("--ink");
  on.lineWidth = 3;
  on.beginPath();
  on.moveTo(sheet.gutter, HEAD_PIXELS + SOIL_PIXELS);
  on.lineTo(sheet.wide, HEAD_PIXELS + SOIL_PIXELS);
  on.stroke();
  on.font = `650 15px ${color("--face")}`;
  on.textBaseline = "middle";
  for (const { crop, offset_m: offset, width_m: width, words } of across.strips) {
    const { name, letter } = crops[crop];
    const [left, right] = [at(offset), at(offset + width)];
    writeWithin(sheet, words, left, right, HEAD_PIXELS / 2, []);
    writeWithin(sheet, name, left, right, HEAD_PIXELS + 20, [letter]);
  }
}

/** @param {Sheet} sheet @param {Across["lanes"][number]} lane @param {number} top */
function drawLane(sheet, { label, passes }, top) {
  const { on, at, color } = sheet;
  const { gutter } = sheet;
  const [bar, high] = [gutter ? top + 4 : top + 21, 16];
  thrice(sheet, (shift) => {
    passes.forEach(({ offset_m: offset, width_m: width }, k) => {
      const [left, right] = [at(offset + shift), at(offset + width + shift)];
      on.fillStyle = color(k % 2 ? "--paper" : "--wash");
      on.fillRect(left, bar, right - left, high);
      on.strokeStyle = color("--ink");
      on.lineWidth = 1.5;
      on.strokeRect(left + 1, bar, right - left - 2, high);
      on.beginPath();
      on.moveTo((left + right) / 2, bar + 4);
      on.lineTo((left + right) / 2, bar + high - 4);
      on.stroke();
    });
  });
  on.font = `500 15px ${color("--face")}`;
  [on.textAlign, on.textBaseline] = ["left", "middle"];
  on.strokeStyle = color("--paper");
  on.lineWidth = 4;
  const place = /** @type {const} */ ([2, gutter ? bar + high / 2 : top + 11, (gutter || sheet.wide) - 6]);
  on.strokeText(label, ...place);
  on.fillStyle = color("--ink");
  on.fillText(label, ...place);
}

/** Where the set begins and ends. @param {Sheet} sheet @param {number} bottom */
function drawEnds({ on, at, color, setM }, bottom) {
  on.strokeStyle = color("--ink");
  on.lineWidth = 1;
  on.setLineDash([4, 4]);
  on.beginPath();
  for (const x of [at(0), at(setM)]) {
    on.moveTo(x, HEAD_PIXELS);
    on.lineTo(x, bottom);
  }
  on.stroke();
  on.setLineDash([]);
}

/** How wide the set is, below it. @param {Sheet} sheet @param {string} text @param {number} y */
function drawWidth(sheet, text, y) {
  const { on, at, color, setM } = sheet;
  const [left, right] = [at(0), at(setM)];
  on.font = `650 15px ${color("--face")}`;
  on.textBaseline = "middle";
  const half = on.measureText(text).width / 2 + 8;
  const middle = (left + right) / 2;
  on.strokeStyle = color("--ink");
  on.lineWidth = 1.5;
  on.beginPath();
  for (const [end, inner, way] of [[left, middle - half, 1], [right, middle + half, -1]]) {
    on.moveTo(inner, y);
    on.lineTo(end, y);
    on.moveTo(end + way * 7, y - 5);
    on.lineTo(end, y);
    on.lineTo(end + way * 7, y + 5);
  }
  on.stroke();
  on.fillStyle = color("--ink");
  on.textAlign = "center";
  on.fillText(text, middle, y);
}

/**
 * Draw one set across.
 * @param {HTMLCanvasElement} canvas
 * @param {Across} across
 * @param {number} setM
 * @param {Crop[]} crops
 */
export function drawSet(canvas, across, setM, crops) {
  const on = canvas.getContext("2d");
  if (!on) {
    return;
  }
  const wide = Math.max(canvas.getBoundingClientRect().width, 1);
  const gutter = wide >= WIDE_PIXELS_LEAST ? GUTTER_PIXELS : 0;
  const lane = gutter ? LANE_PIXELS.beside : LANE_PIXELS.above;
  const high = HEAD_PIXELS + SOIL_PIXELS + across.lanes.length * lane + WIDTH_PIXELS;
  canvas.style.height = `${high}px`;
  const fine = Math.min(devicePixelRatio || 1, 2);
  [canvas.width, canvas.height] = [Math.round(wide * fine), Math.round(high * fine)];
  on.setTransform(fine, 0, 0, fine, 0, 0);
  const style = getComputedStyle(canvas);
  const scale = (wide - gutter) / (setM * (1 + 2 * BESIDE));
  /** @type {Sheet} */
  const sheet = {
    on,
    color: (name) => style.getPropertyValue(name).trim(),
    at: (meters) => gutter + (meters + BESIDE * setM) * scale,
    wide,
    gutter,
    scale,
    setM,
  };
  drawAcross(sheet, across, crops);
  drawEnds(sheet, high - 6);
  across.lanes.forEach((one, k) => {
    drawLane(sheet, one, HEAD_PIXELS + SOIL_PIXELS + 4 + k * lane);
  });
  drawWidth(sheet, across.set_text, high - WIDTH_PIXELS / 2);
}

/**
 * One set in words, from left to right.
 * @param {Across} across
 * @param {Crop[]} crops
 * @returns {string[]}
 */
export const wordsOfSet = ({ strips, lanes, set_text: set }, crops) => [
  ...strips.map(({ crop, words }) => `${crops[crop].name}: ${words}`),
  ...lanes.map(({ label, passes }) => `${label}: ${passes.length} ${passes.length === 1 ? "pass" : "passes"}`),
  `one set: ${set}`,
];
