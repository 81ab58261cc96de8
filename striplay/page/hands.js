// Hands on the map: fingers, mouse and keys.

/** @typedef {import("./ground.js").Point} Point */
/** @typedef {ReturnType<import("./map.js").makeMap>} Shown the map as it is shown */

/** How far a finger moves before it pans, in pixels. */
const SLIP_PIXELS = 9;
/** What an arrow key moves the map by, in pixels, and what a key zooms by. */
const KEY_PIXELS = 60;
const KEY_ZOOM = 1.4;

/** @param {PointerEvent | WheelEvent} event @returns {Point} */
const placeOf = (event) => [event.offsetX, event.offsetY];

/**
 * The middle of two fingers, and how far they are apart.
 * @param {Map<number, Point>} fingers
 */
function spreadOf(fingers) {
  const [one, two] = [...fingers.values()];
  const [x, y] = [two[0] - one[0], two[1] - one[1]];
  /** @type {Point} */
  const middle = [one[0] + x / 2, one[1] + y / 2];
  return { middle, apart: Math.max(Math.hypot(x, y), 1) };
}

/**
 * Move the map by fingers and mouse, and take what is tapped.
 * @param {HTMLElement} over
 * @param {Shown} map
 * @param {(point: Point) => void} take
 */
function listenToFingers(over, map, take) {
  /** @type {Map<number, Point>} */
  const fingers = new Map();
  let moved = 0;

  /** @param {PointerEvent} event */
  const onUp = (event) => {
    const tapped = fingers.size === 1 && fingers.has(event.pointerId) && moved <= SLIP_PIXELS;
    fingers.delete(event.pointerId);
    if (tapped && event.type === "pointerup") {
      take(map.toMeters(placeOf(event)));
    }
  };

  over.addEventListener("pointerdown", (event) => {
    moved = fingers.size ? Infinity : 0;
    fingers.set(event.pointerId, placeOf(event));
    over.setPointerCapture(event.pointerId);
  });
  over.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) {
      return;
    }
    const now = placeOf(event);
    if (fingers.size === 1) {
      const [dx, dy] = [now[0] - before[0], now[1] - before[1]];
      moved += Math.hypot(dx, dy);
      if (moved > SLIP_PIXELS) {
        map.pan(dx, dy);
      }
      fingers.set(event.pointerId, now);
      return;
    }
    const was = spreadOf(fingers);
    fingers.set(event.pointerId, now);
    const is = spreadOf(fingers);
    map.pan(is.middle[0] - was.middle[0], is.middle[1] - was.middle[1]);
    map.zoom(is.apart / was.apart, is.middle);
  });
  over.addEventListener("pointerup", onUp);
  over.addEventListener("pointercancel", onUp);
  over.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      map.zoom(Math.exp(-Math.max(-200, Math.min(200, event.deltaY)) / 300), placeOf(event));
    },
    { passive: false },
  );
}

/**
 * Move the map by keys; its middle is marked while it is.
 * @param {HTMLElement} over
 * @param {Shown} map
 * @param {(point: Point) => void} take
 * @param {(steps: number) => void} step to another pass
 */
function listenToKeys(over, map, take, step) {
  /** @type {Record<string, () => void>} */
  const keys = {
    ArrowLeft: () => map.pan(KEY_PIXELS, 0),
    ArrowRight: () => map.pan(-KEY_PIXELS, 0),
    ArrowUp: () => map.pan(0, KEY_PIXELS),
    ArrowDown: () => map.pan(0, -KEY_PIXELS),
    "+": () => map.zoom(KEY_ZOOM, map.middle()),
    "=": () => map.zoom(KEY_ZOOM, map.middle()),
    "-": () => map.zoom(1 / KEY_ZOOM, map.middle()),
    0: () => map.whole(),
    Enter: () => take(map.toMeters(map.middle())),
    n: () => step(1),
    p: () => step(-1),
  };
  over.addEventListener("keydown", (event) => {
    const act = keys[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (act && !event.ctrlKey && !event.metaKey && !event.altKey) {
      event.preventDefault();
      map.mark({ cross: true });
      act();
    }
  });
  over.addEventListener("blur", () => map.mark({ cross: false }));
}

/**
 * Let the map be moved, and what is on it be taken.
 * @param {HTMLElement} base
 * @param {HTMLElement} over
 * @param {Shown} map
 * @param {(point: Point) => void} take shows what lies at a point
 * @param {(steps: number) => void} step goes to another pass
 */
export function listenToMap(base, over, map, take, step) {
  listenToFingers(over, map, take);
  listenToKeys(over, map, take, step);
  new ResizeObserver(() => map.resize()).observe(base);
}
