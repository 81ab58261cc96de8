// The map of the field page: strips, rows and passes on two canvases, north up.
import { lengthOf, meet, pointAt } from "./ground.js";
import { hatchOf } from "./hatch.js";
import { arrow, cross, letter } from "./signs.js";

/** @typedef {import("./data.js").Area} Area */
/** @typedef {import("./data.js").Ground} Ground */
/** @typedef {import("./data.js").Operation} Operation */
/** @typedef {import("./data.js").Pass} Pass */
/** @typedef {import("./data.js").Strip} Strip */
/** @typedef {import("./ground.js").Box} Box */
/** @typedef {import("./ground.js").Line} Line */
/** @typedef {import("./ground.js").Point} Point */

/**
 * What stands out on the map.
 * @typedef {object} Marked
 * @property {Strip | null} strip
 * @property {Operation | null} operation whose passes are drawn
 * @property {Pass | null} pass
 * @property {Pass | null} next
 * @property {{point: Point, accuracy: number} | null} here
 * @property {boolean} cross whether the middle is marked, to move by keys
 */

/** Rows are drawn where they stand so many pixels apart, and names where they have room. */
const ROW_PIXELS = 4;
const NAME_PIXELS = 15;
const MOST_PIXELS_A_METER = 60;
/** Room for the scale and the buttons at the foot of the map. */
const BUTTON_PIXELS = 60;

/**
 * Make the map.
 * @param {HTMLCanvasElement} base what changes only with the view
 * @param {HTMLCanvasElement} over what is marked
 * @param {Ground} ground
 * @param {"us" | "metric"} units
 */
export function makeMap(base, over, ground, units) {
  const view = { x: 0, y: 0, scale: 1, width: 1, height: 1, whole: true };
  /** @type {Marked} */
  let marked = { strip: null, operation: null, pass: null, next: null, here: null, cross: false };
  let asked = false;

  /** @type {Map<string, string>} */
  const inks = new Map();

  /** @param {string} name of a color in the style sheet @returns {string} as it is in this look */
  const color = (name) => {
    if (!inks.has(name)) {
      inks.set(name, getComputedStyle(base).getPropertyValue(name).trim());
    }
    return inks.get(name) ?? "";
  };

  /** @param {Point} point @returns {Point} in pixels */
  const toPixels = ([x, y]) => [
    view.width / 2 + (x - view.x) * view.scale,
    view.height / 2 - (y - view.y) * view.scale,
  ];

  /** @param {Point} pixels @returns {Point} in meters */
  const toMeters = ([px, py]) => [
    view.x + (px - view.width / 2) / view.scale,
    view.y - (py - view.height / 2) / view.scale,
  ];

  /** The middle of what the buttons leave free. @returns {Point} in pixels */
  const middle = () => [view.width / 2, Math.max(view.height - BUTTON_PIXELS, view.height / 2) / 2];

  /** @returns {Box} the ground in view */
  const seen = () => {
    const [left, top] = toMeters([0, 0]);
    const [right, bottom] = toMeters([view.width, view.height]);
    return { left, bottom, right, top };
  };

  /**
   * @param {HTMLCanvasElement} canvas
   * @returns {CanvasRenderingContext2D} in pixels of the page
   */
  function fresh(canvas) {
    const found = canvas.getContext("2d");
    if (!found) {
      throw new Error("this browser draws no canvas");
    }
    const fine = canvas.width / view.width;
    found.setTransform(fine, 0, 0, fine, 0, 0);
    return found;
  }

  /** @param {HTMLCanvasElement} canvas @returns {CanvasRenderingContext2D} cleared */
  function pen(canvas) {
    const found = fresh(canvas);
    found.clearRect(0, 0, view.width, view.height);
    return found;
  }

  /** @param {CanvasRenderingContext2D} on @param {Line[]} lines */
  function trace(on, lines) {
    on.beginPath();
    for (const line of lines) {
      for (let i = 0; i < line.length; i += 2) {
        const [x, y] = toPixels([line[i], line[i + 1]]);
        if (i) {
          on.lineTo(x, y);
        } else {
          on.moveTo(x, y);
        }
      }
      if (line[0] === line[line.length - 2] && line[1] === line[line.length - 1]) {
        on.closePath();
      }
    }
  }

  /** @param {CanvasRenderingContext2D} on @param {Area[]} areas @param {string} fill */
  function fillAll(on, areas, fill) {
    on.fillStyle = fill;
    for (const area of areas) {
      trace(on, area.rings);
      on.fill("evenodd");
    }
  }

  /** @param {CanvasRenderingContext2D} on @param {Strip[]} strips */
  function drawStrips(on, strips) {
    const dim = Number(color("--dim"));
    for (const strip of strips) {
      trace(on, strip.rings);
      on.globalAlpha = dim;
      on.fillStyle = strip.crop.color;
      on.fill("evenodd");
      const hatch = hatchOf(on, strip.crop.hatch, color("--hatch"));
      if (hatch) {
        hatch.setTransform(new DOMMatrix().translate(...toPixels([0, 0])));
        on.fillStyle = hatch;
        on.fill("evenodd");
      }
      on.globalAlpha = 1;
      on.strokeStyle = color("--edge");
      on.lineWidth = 1;
      on.stroke();
    }
  }

  /** @param {CanvasRenderingContext2D} on @param {Strip[]} strips */
  function drawRows(on, strips) {
    on.strokeStyle = color("--row");
    on.lineWidth = 1;
    for (const strip of strips) {
      const across = strip.across * view.scale;
      const count = strip.rows.length + strip.between.length;
      if (count && across / count >= ROW_PIXELS) {
        trace(on, strip.rows);
        on.stroke();
        on.setLineDash([3, 4]);
        trace(on, strip.between);
        on.stroke();
        on.setLineDash([]);
      }
    }
  }

  /** @param {CanvasRenderingContext2D} on @param {Strip[]} strips */
  function drawNames(on, strips) {
    /** @type {Box[]} */
    const taken = [];
    on.font = `600 13px ${color("--face")}`;
    on.textAlign = "center";
    on.textBaseline = "middle";
    on.lineJoin = "round";
    for (const strip of strips) {
      const many = Math.max(1, Math.round((lengthOf(strip.guide) * view.scale) / 300));
      for (let k = 0; k < Math.min(many, 40); k += 1) {
        const [x, y] = toPixels(pointAt(strip.guide, (k + 0.5) / many).point);
        const half = on.measureText(strip.label).width / 2 + 3;
        const box = { left: x - half, right: x + half, bottom: y - 9, top: y + 9 };
        const shown = box.left > 0 && box.right < view.width && y > 9 && y < view.height - 9;
        if (shown && !taken.some((other) => meet(other, box))) {
          taken.push(box);
          nameAt(on, strip.label, x, y);
        }
      }
    }
  }

  /**
   * @param {CanvasRenderingContext2D} on
   * @param {string} text
   * @param {number} x
   * @param {number} y
   */
  function nameAt(on, text, x, y) {
    on.strokeStyle = color("--paper");
    on.lineWidth = 4;
    on.strokeText(text, x, y);
    on.fillStyle = color("--ink");
    on.fillText(text, x, y);
  }

  /** @param {CanvasRenderingContext2D} on */
  function drawScale(on) {
    const unit = units === "us" ? 0.3048 : 1;
    const steps = [5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000];
    const fits = steps.filter((step) => step * unit * view.scale <= Math.min(160, view.width / 3));
    const length = fits.length ? fits[fits.length - 1] : steps[0];
    const [x, y] = [14, view.height - 14];
    const end = x + length * unit * view.scale;
    for (const [ink, wide] of /** @type {[string, number][]} */ ([["--paper", 6], ["--ink", 2]])) {
      on.strokeStyle = color(ink);
      on.lineWidth = wide;
      on.beginPath();
      on.moveTo(x, y - 6);
      on.lineTo(x, y);
      on.lineTo(end, y);
      on.lineTo(end, y - 6);
      on.stroke();
    }
    on.font = `600 13px ${color("--face")}`;
    on.textAlign = "left";
    on.textBaseline = "alphabetic";
    nameAt(on, `${length.toLocaleString("en")} ${units === "us" ? "ft" : "m"}`, x + 4, y - 8);
    on.textAlign = "center";
    nameAt(on, "N", 20, 46);
    on.beginPath();
    on.moveTo(20, 10);
    on.lineTo(27, 34);
    on.lineTo(20, 29);
    on.lineTo(13, 34);
    on.closePath();
    on.fill();
  }

  /** @param {CanvasRenderingContext2D} on @param {Operation} operation */
  function drawPasses(on, operation) {
    const box = seen();
    const shown = operation.passes.filter((pass) => meet(pass.box, box));
    on.strokeStyle = color("--pass");
    on.lineWidth = 1;
    on.globalAlpha = 0.7;
    trace(on, shown.flatMap((pass) => pass.work));
    on.stroke();
    on.globalAlpha = 1;
  }

  /** @param {CanvasRenderingContext2D} on */
  function drawBase(on) {
    on.fillStyle = color("--paper");
    on.fillRect(0, 0, view.width, view.height);
    const box = seen();
    const strips = ground.strips.filter((strip) => meet(strip.box, box));
    fillAll(on, ground.field, color("--left"));
    fillAll(on, ground.headland, color("--headland"));
    drawStrips(on, strips);
    drawRows(on, strips);
    fillAll(on, ground.obstacles, color("--obstacle"));
    trace(on, ground.field.flatMap((area) => area.rings));
    on.strokeStyle = color("--ink");
    on.lineWidth = 2;
    on.stroke();
    if (marked.operation) {
      drawPasses(on, marked.operation);
    }
    const named = strips.filter((strip) => strip.across * view.scale >= NAME_PIXELS);
    drawNames(on, named.length ? named : strips);
    drawScale(on);
  }

  /** @param {CanvasRenderingContext2D} on @param {Line[]} lines @param {string} ink @param {number} wide */
  function strokeTwice(on, lines, ink, wide) {
    trace(on, lines);
    on.strokeStyle = color("--paper");
    on.lineWidth = wide + 4;
    on.stroke();
    on.strokeStyle = color(ink);
    on.lineWidth = wide;
    on.stroke();
  }

  /**
   * Frame a strip on its outside, so that a narrow one keeps its color.
   * @param {CanvasRenderingContext2D} on
   * @param {Strip} strip
   */
  function drawStrip(on, strip) {
    strokeTwice(on, strip.rings, "--marked", 7);
    fillAll(on, [strip], color("--paper"));
    drawStrips(on, [strip]);
    drawRows(on, [strip]);
    drawNames(on, [strip]);
  }

  /** @param {CanvasRenderingContext2D} on @param {Pass} pass */
  function drawPass(on, pass) {
    const inked = /** @type {const} */ ([color("--marked"), color("--paper")]);
    strokeTwice(on, pass.work, "--marked", 4);
    if (pass.lifted.length) {
      on.setLineDash([3, 7]);
      trace(on, pass.lifted);
      on.stroke();
      on.setLineDash([]);
    }
    for (const share of [0.25, 0.5, 0.75]) {
      const { point, along } = pointAt(pass.path, share);
      arrow(on, toPixels(point), along, ...inked);
    }
    letter(on, "A", toPixels(pointAt(pass.path, 0).point), color("--face"), ...inked);
    letter(on, "B", toPixels(pointAt(pass.path, 1).point), color("--face"), ...inked);
  }

  /** @param {CanvasRenderingContext2D} on @param {{point: Point, accuracy: number}} here */
  function drawHere(on, { point, accuracy }) {
    const [x, y] = toPixels(point);
    on.beginPath();
    on.arc(x, y, Math.max(accuracy * view.scale, 3), 0, 2 * Math.PI);
    on.globalAlpha = 0.2;
    on.fillStyle = color("--here");
    on.fill();
    on.globalAlpha = 1;
    on.strokeStyle = color("--here");
    on.lineWidth = 2;
    on.stroke();
    on.beginPath();
    on.arc(x, y, 5, 0, 2 * Math.PI);
    on.fillStyle = color("--here");
    on.fill();
    on.strokeStyle = color("--paper");
    on.stroke();
  }

  /** @param {CanvasRenderingContext2D} on */
  function drawMarks(on) {
    if (marked.strip) {
      drawStrip(on, marked.strip);
    }
    if (marked.next) {
      on.setLineDash([10, 6]);
      trace(on, marked.next.work);
      on.strokeStyle = color("--marked");
      on.lineWidth = 2;
      on.stroke();
      on.setLineDash([]);
    }
    if (marked.pass) {
      drawPass(on, marked.pass);
    }
    if (marked.here) {
      drawHere(on, marked.here);
    }
    if (marked.cross) {
      cross(on, middle(), color("--ink"));
    }
  }

  function drawAll() {
    drawBase(pen(base));
    drawMarks(pen(over));
    base.dataset.view = `${view.x} ${view.y} ${view.scale}`;
  }

  function drawSoon() {
    if (!asked) {
      asked = true;
      requestAnimationFrame(() => {
        asked = false;
        drawAll();
      });
    }
  }

  /** @param {Box} box @param {number} room share of the view that it fills */
  function showBox(box, room) {
    const [wide, high] = [Math.max(box.right - box.left, 1), Math.max(box.top - box.bottom, 1)];
    const [, py] = middle();
    view.scale = Math.min((room * view.width) / wide, (room * 2 * py) / high, 4);
    view.x = (box.left + box.right) / 2;
    view.y = (box.bottom + box.top) / 2 - (view.height / 2 - py) / view.scale;
  }

  const least = () => Math.min(
    view.width / (ground.box.right - ground.box.left), view.height / (ground.box.top - ground.box.bottom),
  ) / 4; // prettier-ignore

  return {
    toMeters,
    toPixels,
    middle,
    /** Fit the canvases to their room on the page. */
    resize() {
      const { width, height } = base.getBoundingClientRect();
      [view.width, view.height] = [Math.max(width, 1), Math.max(height, 1)];
      const fine = Math.min(devicePixelRatio || 1, 2);
      for (const canvas of [base, over]) {
        canvas.width = Math.round(view.width * fine);
        canvas.height = Math.round(view.height * fine);
      }
      if (view.whole) {
        showBox(ground.box, 0.92);
      }
      drawAll();
    },
    whole() {
      view.whole = true;
      showBox(ground.box, 0.92);
      drawSoon();
    },
    /** @param {number} dx in pixels @param {number} dy in pixels */
    pan(dx, dy) {
      view.whole = false;
      view.x -= dx / view.scale;
      view.y += dy / view.scale;
      drawSoon();
    },
    /** @param {number} times @param {Point} about in pixels, which stays where it is */
    zoom(times, about) {
      view.whole = false;
      const [x, y] = toMeters(about);
      view.scale = Math.max(least(), Math.min(MOST_PIXELS_A_METER, view.scale * times));
      const [nx, ny] = toMeters(about);
      view.x += x - nx;
      view.y += y - ny;
      drawSoon();
    },
    /** Fill the view with a box. @param {Box} box */
    show(box) {
      view.whole = false;
      showBox(box, 1);
      drawSoon();
    },
    /** Bring a box into view where it is not. @param {Box} box */
    reveal(box) {
      const now = seen();
      const inside =
        box.left >= now.left && box.right <= now.right && box.bottom >= now.bottom && box.top <= now.top;
      if (!inside) {
        view.whole = false;
        showBox(box, 0.8);
        drawSoon();
      }
    },
    /** @param {Partial<Marked>} more */
    mark(more) {
      const before = marked.operation;
      marked = { ...marked, ...more };
      if (marked.operation === before) {
        drawMarks(pen(over));
      } else {
        drawAll();
      }
    },
    /** Draw in the look that the page has now. */
    recolor() {
      inks.clear();
      drawAll();
    },
    /** The whole field on one canvas of its own, to print. @param {number} width @param {number} height */
    picture(width, height) {
      const before = { ...view };
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = [2 * width, 2 * height];
      [view.width, view.height] = [width, height];
      showBox(ground.box, 0.92);
      const on = fresh(canvas);
      drawBase(on);
      drawMarks(on);
      Object.assign(view, before);
      return canvas;
    },
  };
}

