// The dial on the map: a line along the heading, a handle to turn it by, and strips to shift.
import { isInside, RADIANS } from "../page/ground.js";
import { strokeTwice } from "../page/paint.js";
import { arrow, letter } from "../page/signs.js";
import { inPixels, middleOf } from "../page/view.js";

/** @typedef {import("../page/ground.js").Line} Line */
/** @typedef {import("../page/ground.js").Point} Point */
/** @typedef {import("../page/hands.js").Held} Held */
/** @typedef {import("../page/paint.js").Brush} Brush */
/** @typedef {import("../page/view.js").View} View */

const HANDLE_PIXELS = 30;
const KNOB_PIXELS = 12;
/** A finger takes hold of a handle from that far off. */
const HOLD_PIXELS = 34;
/** From the handle's middle to the edge of the view. */
const EDGE_PIXELS = 40;
/** The arrows that say that strips can be shifted lie so far from the middle. */
const ASIDE_PIXELS = 22;

/** A heading from 0 up to 180 degrees, to a tenth. @param {number} degrees */
export function headingOf(degrees) {
  const tenths = Math.round((((degrees % 180) + 180) % 180) * 10) / 10;
  return tenths >= 180 ? 0 : tenths;
}

/** The way along a heading, east and north. @param {number} degrees @returns {Point} */
const wayOf = (degrees) => [Math.sin(degrees * RADIANS), Math.cos(degrees * RADIANS)];

/** Of two points in pixels, how far apart. @param {Point} one @param {Point} other */
const apart = ([x, y], [px, py]) => Math.hypot(x - px, y - py);

/**
 * What is set on the dial.
 * @typedef {object} Setting
 * @property {number} heading in degrees, as it was answered
 * @property {Line[]} rings of the field
 * @property {Point | null} spot a place that stands out
 */

/**
 * Make the dial.
 * @param {() => Setting | null} settingNow null where rows have no one heading
 * @param {(degrees: number, stroke: number) => void} turnTo
 * @param {(meters: number, stroke: number) => void} shiftBy from where the stroke began, to the right
 * @param {() => number} newStroke
 * @param {() => void} drawAgain
 */
export function makeDial(settingNow, turnTo, shiftBy, newStroke, drawAgain) {
  /** @type {View} */
  let view = { x: 0, y: 0, scale: 1, width: 1, height: 1 };
  /** The heading under the hand, not yet answered; null where none is held. @type {number | null} */
  let turning = null;

  const radius = () => {
    const [x, y] = middleOf(view);
    return Math.max(Math.min(x, y) - EDGE_PIXELS, HANDLE_PIXELS * 2);
  };

  /** @param {number} degrees @param {number} far @returns {Point} in pixels */
  const placeAt = (degrees, far) => {
    const [[x, y], [east, north]] = [middleOf(view), wayOf(degrees)];
    return [x + far * east, y - far * north];
  };

  /** @param {Brush} brush @param {number} degrees */
  function drawLine(brush, degrees) {
    const { on } = brush;
    const [tail, head] = [placeAt(degrees, -radius()), placeAt(degrees, radius())];
    strokeTwice(
      brush,
      () => {
        on.beginPath();
        on.moveTo(...tail);
        on.lineTo(...head);
        on.stroke();
      },
      "--marked",
      3,
    );
  }

  /** @param {Brush} brush @param {Point} at @param {number} size */
  function drawRound({ on, color }, at, size) {
    on.beginPath();
    on.arc(at[0], at[1], size, 0, 2 * Math.PI);
    on.fillStyle = color("--marked");
    on.fill();
    on.strokeStyle = color("--paper");
    on.lineWidth = 3;
    on.stroke();
  }

  /** @param {Brush} brush */
  function draw(brush) {
    view = brush.view;
    const setting = settingNow();
    if (!setting) {
      return;
    }
    const { on, color } = brush;
    const degrees = turning ?? setting.heading;
    drawLine(brush, degrees);
    drawRound(brush, placeAt(degrees, -radius()), KNOB_PIXELS);
    for (const side of [90, -90]) {
      const [x, y] = placeAt(degrees + side, ASIDE_PIXELS);
      arrow(on, [x, y], wayOf(degrees + side), color("--marked"), color("--paper"));
    }
    const handle = placeAt(degrees, radius());
    drawRound(brush, handle, HANDLE_PIXELS);
    on.font = `700 15px ${color("--face")}`;
    [on.textAlign, on.textBaseline] = ["center", "middle"];
    on.fillStyle = color("--paper");
    on.fillText(`${headingOf(degrees).toFixed(1)}°`, handle[0], handle[1] + 1);
    if (setting.spot) {
      const place = inPixels(view, setting.spot);
      letter(on, "!", place, color("--face"), color("--marked"), color("--paper"));
    }
  }

  /** @param {number} before @returns {Held} */
  function turn(before) {
    const stroke = newStroke();
    let moved = false;
    return {
      move([x, y]) {
        const [mx, my] = middleOf(view);
        const degrees = headingOf(Math.atan2(x - mx, my - y) / RADIANS);
        // The handle stays under the hand where the heading comes round to 0.
        turning = (x - mx) * wayOf(degrees)[0] - (y - my) * wayOf(degrees)[1] < 0 ? degrees + 180 : degrees;
        moved = true;
        turnTo(degrees, stroke);
        drawAgain();
      },
      drop(kept) {
        turning = null;
        if (moved && !kept) {
          turnTo(before, stroke);
        }
        drawAgain();
      },
    };
  }

  /** @param {Point} from @param {number} heading @returns {Held} */
  function shift(from, heading) {
    const stroke = newStroke();
    let moved = false;
    const [east, north] = wayOf(heading + 90);
    return {
      move([x, y]) {
        moved = true;
        shiftBy(((x - from[0]) * east - (y - from[1]) * north) / view.scale, stroke);
      },
      drop(kept) {
        if (moved && !kept) {
          shiftBy(0, stroke);
        }
      },
    };
  }

  return {
    draw,
    /**
     * Take hold of the handle, or of the strips.
     * @param {Point} pixels
     * @param {Point} meters the same place
     * @returns {Held | null}
     */
    grab(pixels, meters) {
      const setting = settingNow();
      if (!setting) {
        return null;
      }
      const ends = [radius(), -radius()].map((far) => placeAt(setting.heading, far));
      if (ends.some((end) => apart(end, pixels) <= HOLD_PIXELS)) {
        return turn(setting.heading);
      }
      return isInside(meters, setting.rings) ? shift(pixels, setting.heading) : null;
    },
  };
}
