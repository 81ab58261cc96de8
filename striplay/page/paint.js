// The ground as it is painted: areas, strips in their crops' colors and hatches, rows, lines.
import { meet } from "./ground.js";
import { hatchOf } from "./hatch.js";
import { inPixels, seenIn, shareInside } from "./view.js";

/** @typedef {import("./data.js").Area} Area */
/** @typedef {import("./data.js").Crop} Crop */
/** @typedef {import("./data.js").Ground} Ground */
/** @typedef {import("./data.js").Strip} Strip */
/** @typedef {import("./ground.js").Box} Box */
/** @typedef {import("./ground.js").Line} Line */
/** @typedef {import("./view.js").View} View */
/** @typedef {(name: string) => string} Color gives a color of the style sheet as it is in this look */
/** @typedef {{on: CanvasRenderingContext2D, view: View, color: Color}} Brush */

/** Rows are drawn where they stand so many pixels apart. */
const ROW_PIXELS = 4;
/** Corners nearer to each other than that are one: it can't be seen. */
const CORNER_PIXELS = 0.7;
/** Lines are drawn that far out of view, so that no end of theirs shows. */
const BEYOND_PIXELS = 12;
/** Dashes of rows between those of a strip's own crop. */
export const DASHES = [3, 4];

/**
 * Trace closed rings.
 * @param {Brush} brush
 * @param {Line[]} rings
 */
export function traceRings({ on, view: { x, y, scale, width, height } }, rings) {
  const [left, top] = [width / 2 - x * scale, height / 2 + y * scale];
  for (const ring of rings) {
    let [px, py] = [left + ring[0] * scale, top - ring[1] * scale];
    on.moveTo(px, py);
    for (let i = 2; i + 3 < ring.length; i += 2) {
      const [qx, qy] = [left + ring[i] * scale, top - ring[i + 1] * scale];
      if (Math.abs(qx - px) + Math.abs(qy - py) >= CORNER_PIXELS) {
        on.lineTo(qx, qy);
        [px, py] = [qx, qy];
      }
    }
    on.closePath();
  }
}

/**
 * Trace what is in view of a line; the rest costs nothing.
 * @param {Brush} brush
 * @param {Line} line
 * @param {Box} frame in pixels, `bottom` its least
 * @param {number} dash length of a dash and the gap after it; a line that is cut begins with a whole one
 */
function traceLine({ on, view: { x, y, scale, width, height } }, line, frame, dash) {
  const [left, top] = [width / 2 - x * scale, height / 2 + y * scale];
  let [px, py, down] = [left + line[0] * scale, top - line[1] * scale, false];
  for (let i = 2; i + 1 < line.length; i += 2) {
    const [dx, dy] = [left + line[i] * scale - px, top - line[i + 1] * scale - py];
    const short = Math.abs(dx) + Math.abs(dy) < CORNER_PIXELS;
    if (!short || i + 3 >= line.length) {
      const inside = shareInside(px, py, dx, dy, frame);
      if (inside) {
        const length = Math.hypot(dx, dy);
        const first = length ? inside[0] - ((inside[0] * length) % dash) / length : 0;
        if (!down) {
          on.moveTo(px + first * dx, py + first * dy);
        }
        on.lineTo(px + inside[1] * dx, py + inside[1] * dy);
      }
      down = inside !== null && inside[1] === 1;
      [px, py] = [px + dx, py + dy];
    }
  }
}

/**
 * Draw lines as the pen is set.
 * @param {Brush} brush
 * @param {Line[]} lines
 * @param {number[]} [dashes] lengths of dash and gap
 */
export function strokeLines(brush, lines, dashes = []) {
  const { on, view } = brush;
  const dash = dashes.reduce((sum, one) => sum + one, 0) || 1e-6;
  const frame = {
    left: -BEYOND_PIXELS - dash,
    bottom: -BEYOND_PIXELS - dash,
    right: view.width + BEYOND_PIXELS + dash,
    top: view.height + BEYOND_PIXELS + dash,
  };
  on.beginPath();
  for (const line of lines) {
    traceLine(brush, line, frame, dash);
  }
  on.setLineDash(dashes);
  on.stroke();
  on.setLineDash([]);
}

/** @param {Brush} brush @param {Area[]} areas @param {string} fill */
export function fillAreas(brush, areas, fill) {
  const { on } = brush;
  on.fillStyle = fill;
  for (const area of areas) {
    on.beginPath();
    traceRings(brush, area.rings);
    on.fill("evenodd");
  }
}

/**
 * Fill the path that is traced with a crop's color and hatch.
 * @param {Brush} brush
 * @param {Crop} crop
 */
export function fillCrop({ on, view, color }, crop) {
  on.globalAlpha = Number(color("--dim"));
  on.fillStyle = crop.color;
  on.fill("evenodd");
  const hatch = hatchOf(on, crop.hatch, color("--hatch"));
  if (hatch) {
    hatch.setTransform(new DOMMatrix().translate(...inPixels(view, [0, 0])));
    on.fillStyle = hatch;
    on.fill("evenodd");
  }
  on.globalAlpha = 1;
}

/**
 * Draw strips, those of a crop at once.
 * @param {Brush} brush
 * @param {Strip[]} strips
 */
export function drawStrips(brush, strips) {
  const { on, color } = brush;
  for (const crop of new Set(strips.map((strip) => strip.crop))) {
    on.beginPath();
    for (const strip of strips) {
      if (strip.crop === crop) {
        traceRings(brush, strip.rings);
      }
    }
    fillCrop(brush, crop);
    on.strokeStyle = color("--edge");
    on.lineWidth = 1;
    on.stroke();
  }
  const wide = strips.filter(({ across, rows, between }) => {
    const count = rows.length + between.length;
    return count && (across * brush.view.scale) / count >= ROW_PIXELS;
  });
  on.strokeStyle = color("--row");
  on.lineWidth = 1;
  strokeLines(brush, wide.flatMap((strip) => strip.rows));
  strokeLines(brush, wide.flatMap((strip) => strip.between), DASHES);
}

/**
 * Draw lines on paper, so that they stand out.
 * @param {Brush} brush
 * @param {() => void} stroke draws them
 * @param {string} ink
 * @param {number} wide
 */
export function strokeTwice({ on, color }, stroke, ink, wide) {
  on.strokeStyle = color("--paper");
  on.lineWidth = wide + 4;
  stroke();
  on.strokeStyle = color(ink);
  on.lineWidth = wide;
  stroke();
}

/**
 * Paint the ground: what changes only with the view and the look.
 * @param {Brush} brush
 * @param {Ground} ground
 */
export function paintGround(brush, ground) {
  const { on, view, color } = brush;
  on.fillStyle = color("--paper");
  on.fillRect(0, 0, view.width, view.height);
  const seen = seenIn(view);
  fillAreas(brush, ground.field, color("--left"));
  fillAreas(brush, ground.headland, color("--headland"));
  drawStrips(brush, ground.strips.filter((strip) => meet(strip.box, seen)));
  fillAreas(brush, ground.obstacles, color("--obstacle"));
  on.beginPath();
  traceRings(brush, ground.field.flatMap((area) => area.rings));
  on.strokeStyle = color("--ink");
  on.lineWidth = 2;
  on.stroke();
}
