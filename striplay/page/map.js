// The map: a canvas with the ground, kept as it is until the view rests, and one over it with the rest.
import { meet, nearest, pointAt } from "./ground.js";
import { boxAbout, placeLabels, withChosen } from "./labels.js";
import { drawStrips, fillAreas, paintGround, strokeLines, strokeTwice, traceRings } from "./paint.js";
import { arrow, cross, letter, northArrow, scaleBar, SIGN_PIXELS, writeOn } from "./signs.js";
import {
  clearIn,
  inMeters,
  inPixels,
  isSameView,
  longestIn,
  middleOf,
  seenIn,
  viewAbout,
  viewOver,
} from "./view.js";

/** @typedef {import("./data.js").Ground} Ground */
/** @typedef {import("./data.js").Operation} Operation */
/** @typedef {import("./data.js").Pass} Pass */
/** @typedef {import("./data.js").Strip} Strip */
/** @typedef {import("./ground.js").Box} Box */
/** @typedef {import("./ground.js").Line} Line */
/** @typedef {import("./ground.js").Point} Point */
/** @typedef {import("./labels.js").Label} Label */
/** @typedef {import("./paint.js").Brush} Brush */
/** @typedef {import("./view.js").View} View */

/**
 * What stands out on the map.
 * @typedef {object} Marked
 * @property {Strip | null} strip
 * @property {Operation | null} operation whose passes are drawn
 * @property {Pass | null} pass
 * @property {Pass | null} next
 * @property {{point: Point, accuracy: number} | null} here
 * @property {boolean} cross whether the middle is marked, to move by keys
 * @property {((brush: Brush) => void) | null} signs draws what else a page marks, over all
 * @property {boolean} wide whether only strips wide enough for a name have one
 */

const MOST_PIXELS_A_METER = 60;
/** Share of the view that the whole field fills. */
const WHOLE = 0.92;
/** The ground is drawn anew when the view has rested for so long; till then as it was, moved. */
const REST_MILLISECONDS = 90;
/** A pass's arrows: about where along it, and how far aside where a name stands there. */
const ARROWS = [0.25, 0.5, 0.75];
const ARROWS_ASIDE = [0, 0.04, -0.04, 0.08, -0.08, 0.12, -0.12];

/**
 * Make the map.
 * @param {HTMLCanvasElement} base the ground
 * @param {HTMLCanvasElement} over what is marked, and names
 * @param {HTMLElement} tools the buttons that stand on it
 * @param {Ground} first what lies on the ground at first
 * @param {"us" | "metric"} units
 */
export function makeMap(base, over, tools, first, units) {
  let ground = first;
  /** @type {View} */
  let view = { x: 0, y: 0, scale: 1, width: 1, height: 1 };
  /** The view that the ground is drawn in; null where it must be drawn anew. @type {View | null} */
  let drawn = null;
  let whole = true;
  /** @type {Marked} */
  let marked = { strip: null, operation: null, pass: null, next: null, here: null, cross: false, signs: null, wide: false };
  /** What buttons, scale and north arrow take of the map. @type {Box[]} */
  let kept = [];
  /** @type {Label[]} */
  let labels = [];
  let [asked, rest] = [false, 0];

  /** @type {Map<string, string>} */
  const inks = new Map();
  /** @type {Map<string, number>} */
  const widths = new Map();
  /** Names of strips as they are drawn in this look. @type {Map<string, HTMLCanvasElement>} */
  const stamps = new Map();

  /** @param {string} name of a color in the style sheet @returns {string} as it is in this look */
  const color = (name) => {
    if (!inks.has(name)) {
      inks.set(name, getComputedStyle(base).getPropertyValue(name).trim());
    }
    return inks.get(name) ?? "";
  };

  /**
   * @param {HTMLCanvasElement} canvas
   * @param {number} [fine] pixels of it to one of the page
   * @returns {Brush} in pixels of the page, on a canvas that is cleared
   */
  function brushOn(canvas, fine = canvas.width / view.width) {
    const on = canvas.getContext("2d");
    if (!on) {
      throw new Error("this browser draws no canvas");
    }
    on.setTransform(fine, 0, 0, fine, 0, 0);
    on.clearRect(0, 0, view.width, view.height);
    return { on, view, color };
  }

  /** @param {Brush} brush @returns {(text: string) => number} how wide a name is */
  const measured = ({ on }) => (text) => {
    on.font = `600 13px ${color("--face")}`;
    const known = widths.get(text) ?? on.measureText(text).width;
    widths.set(text, known);
    return known;
  };

  /** @param {Brush} brush @param {Box[]} free @returns {Label[]} */
  function labelsOf(brush, free) {
    const seen = seenIn(view);
    return placeLabels(view, ground.strips.filter((strip) => meet(strip.box, seen)), measured(brush), free, marked.wide);
  }

  /** @param {Label} label @param {number} fine pixels of the canvas to one @returns {HTMLCanvasElement} its name */
  function stampOf({ strip: { label }, box }, fine) {
    const known = stamps.get(label);
    if (known) {
      return known;
    }
    const stamp = document.createElement("canvas");
    const [width, height] = [box.right - box.left, box.top - box.bottom];
    [stamp.width, stamp.height] = [Math.ceil(width * fine), Math.ceil(height * fine)];
    const brush = brushOn(stamp, fine);
    brush.on.font = `600 13px ${color("--face")}`;
    [brush.on.textAlign, brush.on.textBaseline, brush.on.lineJoin] = ["center", "middle", "round"];
    writeOn(brush, label, width / 2, height / 2);
    stamps.set(label, stamp);
    return stamp;
  }

  /** Stamp names: to draw their letters anew takes longer. @param {Brush} brush @param {Label[]} shown */
  function stampNames({ on }, shown) {
    const fine = on.getTransform().a;
    for (const label of shown) {
      const stamp = stampOf(label, fine);
      const { left, bottom } = label.box;
      const [x, y] = [Math.round(left * fine) / fine, Math.round(bottom * fine) / fine];
      on.drawImage(stamp, x, y, stamp.width / fine, stamp.height / fine);
    }
  }

  /**
   * Frame a strip on its outside, so that a narrow one keeps its color.
   * @param {Brush} brush
   * @param {Strip} strip
   */
  function drawStrip(brush, strip) {
    const { on } = brush;
    on.beginPath();
    traceRings(brush, strip.rings);
    strokeTwice(brush, () => on.stroke(), "--marked", 7);
    fillAreas(brush, [strip], color("--paper"));
    drawStrips(brush, [strip]);
  }

  /** @param {Pass} pass @param {0 | 1} share @returns {Point} in pixels */
  const endOf = (pass, share) => inPixels(view, pointAt(pass.path, share).point);

  /**
   * Draw a pass, its way and its ends; arrows stand clear of names.
   * @param {Brush} brush
   * @param {Pass} pass
   * @param {Box[]} taken
   */
  function drawPass(brush, pass, taken) {
    const inked = /** @type {const} */ ([color("--marked"), color("--paper")]);
    strokeTwice(brush, () => strokeLines(brush, pass.work), "--marked", 4);
    strokeLines(brush, pass.lifted, [3, 7]);
    for (const share of ARROWS) {
      const places = ARROWS_ASIDE.map((aside) => pointAt(pass.path, share + aside));
      const clear = places.find(({ point }) => {
        const box = boxAbout(...inPixels(view, point), SIGN_PIXELS, SIGN_PIXELS);
        return !taken.some((other) => meet(other, box));
      });
      const { point, along } = clear ?? places[0];
      arrow(brush.on, inPixels(view, point), along, ...inked);
    }
    letter(brush.on, "A", endOf(pass, 0), color("--face"), ...inked);
    letter(brush.on, "B", endOf(pass, 1), color("--face"), ...inked);
  }

  /** @param {Brush} brush @param {{point: Point, accuracy: number}} here */
  function drawHere({ on }, { point, accuracy }) {
    const [x, y] = inPixels(view, point);
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

  /** Draw the ground, and the passes of the operation. @param {Brush} brush */
  function drawUnder(brush) {
    paintGround(brush, ground);
    const seen = seenIn(view);
    const shown = (marked.operation?.passes ?? []).filter((pass) => meet(pass.box, seen));
    brush.on.strokeStyle = color("--pass");
    brush.on.lineWidth = 1;
    brush.on.globalAlpha = 0.7;
    strokeLines(brush, shown.flatMap((pass) => pass.work));
    brush.on.globalAlpha = 1;
  }

  /**
   * Draw what is marked and the names of strips: what is marked keeps its own name and covers no other.
   * @param {Brush} brush
   * @param {Box[]} free what is to be left free
   * @param {Label[]} all
   */
  function drawOver(brush, free, all) {
    const { strip, pass, next, here } = marked;
    if (strip) {
      drawStrip(brush, strip);
    }
    if (next) {
      brush.on.strokeStyle = color("--marked");
      brush.on.lineWidth = 2;
      strokeLines(brush, next.work, [10, 6]);
    }
    const signs = [
      ...(pass ? [endOf(pass, 0), endOf(pass, 1)] : []),
      ...(here ? [inPixels(view, here.point)] : []),
    ].map((place) => boxAbout(...place, SIGN_PIXELS, SIGN_PIXELS));
    const clear = all.filter((label) => !signs.some((box) => meet(box, label.box)));
    const named = strip ? withChosen(view, strip, measured(brush), clear, free) : clear;
    if (pass) {
      drawPass(brush, pass, named.map((label) => label.box));
    }
    stampNames(brush, named);
    if (here) {
      drawHere(brush, here);
    }
    scaleBar(brush, units);
    northArrow(brush);
  }

  /** Draw the ground sharp, in the view as it is. */
  function drawGround() {
    clearTimeout(rest);
    drawUnder(brushOn(base));
    base.style.transform = "";
    drawn = view;
  }

  /** Show the ground as it was drawn, moved to where it lies now, till the view rests. */
  function moveGround() {
    if (drawn && !isSameView(view, drawn)) {
      const times = view.scale / drawn.scale;
      const [x, y] = inPixels(view, inMeters(drawn, [0, 0]));
      base.style.transform = `matrix(${times}, 0, 0, ${times}, ${x}, ${y})`;
      clearTimeout(rest);
      rest = setTimeout(drawGround, REST_MILLISECONDS);
    }
  }

  function drawFrame() {
    asked = false;
    if (drawn) {
      moveGround();
    } else {
      drawGround();
    }
    const brush = brushOn(over);
    if (!labels.length) {
      labels = labelsOf(brush, kept);
    }
    drawOver(brush, kept, labels);
    if (marked.cross) {
      cross(brush.on, middleOf(view), color("--ink"));
    }
    marked.signs?.(brush);
  }

  /** Draw once what is asked for, when the handler is done: in a frame's callback it took longer. */
  function drawSoon() {
    base.dataset.view = `${view.x} ${view.y} ${view.scale}`;
    if (!asked) {
      asked = true;
      queueMicrotask(drawFrame);
    }
  }

  /** @param {View} to */
  function look(to) {
    view = to;
    labels = [];
    drawSoon();
  }

  /** What the scale and the north arrow take of the map. @param {View} seen @returns {Box[]} */
  const cornersOf = ({ width, height }) => [
    { left: 0, right: Math.min(200, width / 2), bottom: height - 44, top: height },
    { left: 0, right: 38, bottom: 0, top: 58 },
  ];

  const least = () => Math.min(
    view.width / (ground.box.right - ground.box.left), view.height / (ground.box.top - ground.box.bottom),
  ) / 4; // prettier-ignore

  /**
   * The line to keep in view when the map comes closer: what is chosen.
   * @returns {Line | null}
   */
  function chosenLine() {
    const { here, pass, strip } = marked;
    if (here) {
      return Float64Array.from([...here.point, ...here.point]);
    }
    return pass ? pass.path : strip && strip.guide;
  }

  /** @param {Line} line @returns {Point | null} the place on it that is in view, nearest to the middle */
  function nearMiddle(line) {
    const inView = longestIn(line, clearIn(view));
    return inView.length ? nearest(inMeters(view, middleOf(view)), [inView]).near : null;
  }

  /** @param {number} times @param {Point} about in pixels, which stays where it is */
  function zoom(times, about) {
    whole = false;
    const [x, y] = inMeters(view, about);
    const scale = Math.max(least(), Math.min(MOST_PIXELS_A_METER, view.scale * times));
    const [nx, ny] = inMeters({ ...view, scale }, about);
    look({ ...view, scale, x: view.x + x - nx, y: view.y + y - ny });
  }

  return {
    /** @param {Point} pixels */
    toMeters: (pixels) => inMeters(view, pixels),
    middle: () => middleOf(view),
    /** How wide something is on the map. @param {number} meters @returns {number} pixels */
    wideAs: (meters) => meters * view.scale,
    zoom,
    /** Fit the canvases to their room on the page. */
    resize() {
      const { width, height, left, top } = over.getBoundingClientRect();
      view = { ...view, width: Math.max(width, 1), height: Math.max(height, 1) };
      const fine = Math.min(devicePixelRatio || 1, 2);
      for (const canvas of [base, over]) {
        canvas.width = Math.round(view.width * fine);
        canvas.height = Math.round(view.height * fine);
      }
      const box = tools.getBoundingClientRect();
      kept = [
        { left: box.left - left, right: box.right - left, bottom: box.top - top, top: box.bottom - top },
        ...cornersOf(view),
      ];
      stamps.clear();
      drawn = null;
      look(whole ? viewOver(view, ground.box, WHOLE) : view);
    },
    whole() {
      whole = true;
      look(viewOver(view, ground.box, WHOLE));
    },
    /** @param {number} dx in pixels @param {number} dy in pixels */
    pan(dx, dy) {
      whole = false;
      look({ ...view, x: view.x - dx / view.scale, y: view.y + dy / view.scale });
    },
    /** Come closer to what is chosen, where it is in view; else to the middle. @param {number} times */
    closer(times) {
      const line = chosenLine();
      const place = line && nearMiddle(line);
      if (place) {
        view = viewAbout(view, place);
      }
      zoom(times, middleOf(view));
    },
    /** Fill the view with a box. @param {Box} box */
    show(box) {
      whole = false;
      look(viewOver(view, box, 1));
    },
    /**
     * Bring a line into view where nothing of it is, as close as the map is.
     * @param {Line} line
     * @param {Point} place of it that then comes into the middle
     */
    reveal(line, place) {
      if (!nearMiddle(line)) {
        whole = false;
        look(viewAbout(view, place));
      }
    },
    /** @param {Partial<Marked>} more */
    mark(more) {
      if ("operation" in more && more.operation !== marked.operation) {
        drawn = null;
      }
      marked = { ...marked, ...more };
      drawSoon();
    },
    /** Show what lies on the ground now; another field is shown whole. @param {Ground} now */
    lay(now) {
      const same = String(Object.values(now.box)) === String(Object.values(ground.box));
      ground = now;
      drawn = null;
      whole = whole || !same;
      look(whole ? viewOver(view, ground.box, WHOLE) : view);
    },
    /** Draw in the look that the page has now. */
    recolor() {
      inks.clear();
      stamps.clear();
      drawn = null;
      drawSoon();
    },
    /** The whole field on one canvas of its own, to print. @param {number} width @param {number} height */
    picture(width, height) {
      const [before, shown] = [view, marked];
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = [2 * width, 2 * height];
      view = viewOver({ ...view, width, height }, ground.box, WHOLE);
      marked = { ...marked, here: null };
      const brush = brushOn(canvas);
      drawUnder(brush);
      drawOver(brush, cornersOf(view), labelsOf(brush, cornersOf(view)));
      [view, marked] = [before, shown];
      return canvas;
    },
  };
}
