// A field drawn by hand on empty ground: corner by corner, or side by side with length and bearing.
import { bareGround, EMPTY_BOX } from "./answer.js";
import { lengthTyped, numberOf, unitMeters, unitOf } from "./typed.js";
import { boxOf, FOOT_M, RADIANS } from "../page/ground.js";
import { input, part } from "../page/parts.js";
import { writeOn } from "../page/signs.js";
import { inPixels, seenIn } from "../page/view.js";

/** @typedef {import("../page/ground.js").Point} Point */
/** @typedef {import("../page/paint.js").Brush} Brush */
/** @typedef {ReturnType<import("../page/map.js").makeMap>} Shown */
/** @typedef {import("./typed.js").Units} Units */

/** The international acre: 43,560 square feet (NIST Handbook 44, appendix C, from memory). */
const ACRE_M2 = 43560 * FOOT_M * FOOT_M;
const HECTARE_M2 = 10000;
const SIDES = [
  { id: "draw-latitude", up: "north", down: "south", most: 90 },
  { id: "draw-longitude", up: "east", down: "west", most: 180 },
];
/** Lines of the ground are so many feet or meters apart, the first step that stands so far apart on the map. */
const GRID_STEPS = [10, 50, 100, 500, 1000, 5000];
const GRID_PIXELS = 28;
/** A side as long as that on the map has its length beside it. */
const NAMED_PIXELS = 60;
/** A corner that is tapped is set on whole steps of so many feet or meters. */
const TAPPED_TO = 1;

/** The area within corners, by the trapezoids under its sides. @param {Point[]} corners @returns {number} m² */
function areaWithin(corners) {
  const twice = corners.reduce((sum, [x, y], k) => {
    const [nx, ny] = corners[(k + 1) % corners.length];
    return sum + x * ny - nx * y;
  }, 0);
  return Math.abs(twice) / 2;
}

/**
 * Draw a field by hand.
 * @param {Shown} map
 * @param {(ring: Point[], latitude: number, longitude: number) => void} close
 */
export function makeDrawing(map, close) {
  /** @type {Point[]} */
  let corners = [];
  /** @type {Units} */
  let units = "us";

  /** @type {Record<string, number>} */
  let lengths = {};

  const unitM = () => unitMeters(units);
  const unit = () => unitOf(units);
  /** @param {number} meters */
  const long = (meters) => `${Math.round(meters / unitM()).toLocaleString("en")} ${unit()}`;
  const areaWords = () => {
    const [each, name] = units === "us" ? [ACRE_M2, "acres"] : [HECTARE_M2, "ha"];
    return `${(areaWithin(corners) / each).toFixed(1)} ${name}`;
  };

  /** @param {string} text */
  const tell = (text) => {
    part("draw-told").textContent = text;
  };

  function show() {
    const box = boxOf([Float64Array.from(corners.flat())]);
    map.lay(bareGround({
      left: Math.min(EMPTY_BOX.left, box.left),
      bottom: Math.min(EMPTY_BOX.bottom, box.bottom),
      right: Math.max(EMPTY_BOX.right, box.right),
      top: Math.max(EMPTY_BOX.top, box.top),
    }));
    const count = corners.length === 1 ? "1 corner" : `${corners.length} corners`;
    tell(corners.length > 2 ? `${count}, ${areaWords()} so far` : count);
  }

  /** Lines of the ground, a round number of feet apart. @param {Brush} brush */
  function drawGrid({ on, view, color }) {
    const step = GRID_STEPS.find((one) => one * unitM() * view.scale >= GRID_PIXELS) ?? 5000;
    const apart = step * unitM();
    const seen = seenIn(view);
    on.strokeStyle = color("--thin");
    on.lineWidth = 1;
    on.beginPath();
    for (let x = Math.ceil(seen.left / apart) * apart; x <= seen.right; x += apart) {
      const [px] = inPixels(view, [x, 0]);
      on.moveTo(px, 0);
      on.lineTo(px, view.height);
    }
    for (let y = Math.ceil(seen.bottom / apart) * apart; y <= seen.top; y += apart) {
      const [, py] = inPixels(view, [0, y]);
      on.moveTo(0, py);
      on.lineTo(view.width, py);
    }
    on.stroke();
  }

  /** @param {Brush} brush */
  function draw(brush) {
    const { on, view, color } = brush;
    drawGrid(brush);
    const places = corners.map((corner) => inPixels(view, corner));
    on.beginPath();
    places.forEach(([x, y], k) => (k ? on.lineTo(x, y) : on.moveTo(x, y)));
    on.strokeStyle = color("--marked");
    on.lineWidth = 3;
    on.stroke();
    if (corners.length > 2) {
      on.setLineDash([8, 6]);
      on.beginPath();
      on.moveTo(...places[places.length - 1]);
      on.lineTo(...places[0]);
      on.stroke();
      on.setLineDash([]);
    }
    on.font = `650 15px ${color("--face")}`;
    [on.textAlign, on.textBaseline, on.lineJoin] = ["center", "middle", "round"];
    corners.slice(1).forEach((corner, k) => {
      const [one, other] = [places[k], places[k + 1]];
      const meters = Math.hypot(corner[0] - corners[k][0], corner[1] - corners[k][1]);
      const [dx, dy] = [other[0] - one[0], other[1] - one[1]];
      const pixels = Math.hypot(dx, dy);
      if (pixels > NAMED_PIXELS) {
        const [x, y] = [(one[0] + other[0]) / 2, (one[1] + other[1]) / 2];
        const words = long(meters);
        const aside = 6 + (Math.abs(dy / pixels) * on.measureText(words).width) / 2 + Math.abs(dx / pixels) * 10;
        writeOn(brush, words, x + (aside * dy) / pixels, y - (aside * dx) / pixels);
      }
    });
    for (const [x, y] of places) {
      on.beginPath();
      on.arc(x, y, 7, 0, 2 * Math.PI);
      on.fillStyle = color("--marked");
      on.fill();
    }
  }

  /** @param {Point} point */
  function add(point) {
    corners.push(point);
    show();
  }

  function addSide() {
    const [far, bearing] = [lengthTyped(input("draw-length").value, units, lengths), numberOf(input("draw-bearing").value)];
    if (!(far > 0) || !(bearing >= 0 && bearing <= 360)) {
      tell(`Give a length, in ${unit()} or with its unit, and a bearing from 0 to 360: 0 is north, 90 is east. Decimals take a point: 12.5.`);
      return;
    }
    const from = corners[corners.length - 1] ?? [0, 0];
    corners = corners.length ? corners : [from];
    add([from[0] + far * Math.sin(bearing * RADIANS), from[1] + far * Math.cos(bearing * RADIANS)]);
    input("draw-length").value = "";
    input("draw-length").focus();
  }

  function finish() {
    const [latitude, longitude] = [numberOf(input("draw-latitude").value), numberOf(input("draw-longitude").value)];
    if (corners.length < 3) {
      tell("A field has three corners at least.");
    } else if (!(Math.abs(latitude) <= 90) || !(Math.abs(longitude) <= 180)) {
      tell("Give the latitude, from -90 to 90, and the longitude, from -180 to 180, of the field. Decimals take a point.");
    } else {
      close(corners, latitude, longitude);
    }
  }

  /** Say where on the earth that is, so that a sign that is wrong is seen. */
  function tellWhere() {
    const off = SIDES.find(({ id, most }) => Math.abs(numberOf(input(id).value)) > most);
    if (off) {
      part("draw-where").textContent = `There is no such place: degrees ${off.up} or ${off.down} go up to ${off.most}.`;
      return;
    }
    const told = SIDES.map(({ id, up, down }) => {
      const degrees = numberOf(input(id).value);
      return Number.isNaN(degrees) ? "" : `${Math.abs(degrees)}° ${degrees >= 0 ? up : down}`;
    });
    part("draw-where").textContent = told.some(Boolean) ? `That is ${told.filter(Boolean).join(", ")}.` : "";
  }

  part("drawing").addEventListener("submit", (event) => {
    event.preventDefault();
    addSide();
  });
  part("draw-undo").addEventListener("click", () => {
    corners.pop();
    show();
  });
  part("draw-close").addEventListener("click", finish);
  for (const id of ["draw-latitude", "draw-longitude"]) {
    part(id).addEventListener("input", tellWhere);
  }

  return {
    draw,
    /** Take a corner that is tapped, on whole feet or meters. @param {Point} point */
    take([x, y]) {
      const step = TAPPED_TO * unitM();
      add([Math.round(x / step) * step, Math.round(y / step) * step]);
    },
    /** Begin on empty ground. @param {Units} spoken @param {Record<string, number>} known units of length */
    begin(spoken, known) {
      [corners, units, lengths] = [[], spoken, known];
      part("draw-unit").textContent = unit();
      show();
      tell("No corner yet.");
    },
  };
}
