// The panel "Where am I": for someone on foot or stopped, never on the move.
import { meet, nearest, toPlane, windOf } from "./ground.js";
import { fillFacts, length, part, shortest } from "./parts.js";
import { areaAt, drivenBy, edgesOf, passAt, recent, stripsWithin } from "./where.js";

/** @typedef {import("./data.js").Fact} Fact */
/** @typedef {import("./data.js").Ground} Ground */
/** @typedef {import("./data.js").Operation} Operation */
/** @typedef {import("./data.js").Sent} Sent */
/** @typedef {import("./ground.js").Point} Point */
/** @typedef {import("./where.js").Reading} Reading */
/** @typedef {ReturnType<import("./map.js").makeMap>} Shown the map as it is shown */

/** Ground about a phone's place that comes into view with it, to each side. */
const NEAR_METERS = 50;
const ON_THE_MOVE =
  "Put the phone away while driving. Your place shows when you have stood for some seconds.";

/**
 * Make the panel.
 * @param {Sent} sent
 * @param {Ground} ground
 * @param {Shown} map
 * @param {() => Operation | undefined} operation the one that is chosen
 * @param {(text: string) => void} say tells a reader of screens
 */
export function makeHere(sent, ground, map, operation, say) {
  /** @type {Reading[]} */
  let readings = [];
  /** @type {number | null} */
  let watch = null;

  /**
   * Show in words where a phone is.
   * @param {string} title
   * @param {Fact[]} facts
   * @param {string} note
   */
  function tellWhere(title, facts, note) {
    part("where-title").textContent = title;
    fillFacts(part("where-facts"), facts);
    part("where-note").textContent = note;
    say(title);
  }

  /** @param {number} meters */
  const said = (meters) => length(meters, sent.units);

  /**
   * What is told of a place in a strip: the pass there, and how far to the edges.
   * @param {Point} point
   * @param {number} place of the strip
   * @returns {Fact[]}
   */
  function factsAt(point, place) {
    const strip = ground.strips[place];
    const edges = edgesOf(strip, point);
    return [
      ["Crop", strip.crop.name],
      ["Pass", passWords(point, place)],
      ...edges.map(({ away, wind }) => /** @type {Fact} */ ([`To the ${wind} edge`, said(away)])),
    ];
  }

  /**
   * What is told of a place on the edge of several strips: crop and pass of each.
   * @param {Point} point
   * @param {number[]} places of the strips
   * @returns {Fact[]}
   */
  function factsOnEdge(point, places) {
    return places.flatMap((place) => {
      const { name, crop } = ground.strips[place];
      return /** @type {Fact[]} */ ([
        [`Strip ${name}`, crop.name],
        ["Pass there", passWords(point, place)],
      ]);
    });
  }

  /**
   * Name the pass of the operation at a place; nothing in a plan without any.
   * @param {Point} point
   * @param {number} strip its place
   */
  function passWords(point, strip) {
    const one = operation();
    if (!one) {
      return "";
    }
    const place = passAt(one, point, strip);
    return place < 0 ? `none of ${one.name} here` : `${one.passes[place].name} of ${one.name}`;
  }

  /**
   * Show where a phone is.
   * @param {Reading} reading
   */
  function showHere({ point, accuracy }) {
    const place = areaAt(ground.strips, point);
    const around = stripsWithin(ground, point, accuracy).map((one) => ground.strips[one].name);
    const sure = `The phone says that it is within ${said(accuracy)} of the dot, 19 times in 20.`;
    const several = around.length > 1 ? ` You may be in strip ${around.join(" or ")}.` : "";
    map.mark({ here: { point, accuracy } });
    const edge = stripsWithin(ground, point, shortest(sent.units) / 2);
    if (edge.length > 1) {
      const names = edge.map((one) => ground.strips[one].name).join(" and ");
      tellWhere(`Likely on the edge between strip ${names}`, factsOnEdge(point, edge), sure + several);
      return;
    }
    if (place >= 0) {
      const { name, rings } = ground.strips[place];
      const near = nearest(point, rings).away <= accuracy;
      const title = `${near ? "Likely in strip" : "In strip"} ${name}`;
      tellWhere(title, factsAt(point, place), sure + several);
      return;
    }
    if (areaAt(ground.field, point) >= 0) {
      tellWhere("In the field, in no strip", [], sure + several);
      return;
    }
    const { away, near } = nearest(point, ground.field.flatMap((area) => area.rings));
    const wind = windOf([near[0] - point[0], near[1] - point[1]]);
    tellWhere("Outside the field", [["To the field", `${said(away)} ${wind}`]], sure + several);
  }

  /** @param {GeolocationPosition} position */
  function onPosition({ coords, timestamp }) {
    if (watch === null) {
      return;
    }
    const { longitude, latitude, accuracy, speed } = coords;
    const point = toPlane(sent.plane, longitude, latitude);
    const first = !readings.length;
    readings = recent([...readings, { point, accuracy, speed, seconds: timestamp / 1000 }]);
    const driven = drivenBy(readings);
    if (driven) {
      map.mark({ here: null });
      tellWhere(driven === "sure" ? "You are moving." : "You may be moving.", [], ON_THE_MOVE);
      return;
    }
    showHere(readings[readings.length - 1]);
    if (first) {
      bringHere(point, accuracy);
    }
  }

  /**
   * Bring a place near the field into view with the ground about it.
   * @param {Point} point
   * @param {number} accuracy in meters
   */
  function bringHere([x, y], accuracy) {
    const room = Math.max(3 * accuracy, NEAR_METERS);
    const about = { left: x - room, right: x + room, bottom: y - room, top: y + room };
    if (meet(about, ground.box)) {
      map.show(about);
    }
  }

  /** @param {GeolocationPositionError} error */
  function onNoPosition(error) {
    map.mark({ here: null });
    const why =
      error.code === error.PERMISSION_DENIED
        ? "The browser may not use the place of this phone: allow it in the settings, or open the page in another browser. The map works without."
        : "The phone finds no place just now. Under open sky it may take a minute.";
    tellWhere("No place known", [], why);
  }

  function stopLocating() {
    if (watch !== null) {
      navigator.geolocation.clearWatch(watch);
    }
    watch = null;
    readings = [];
    map.mark({ here: null });
    tellWhere("", [], "");
    part("locate").textContent = "Show where I am";
    part("locate").setAttribute("aria-pressed", "false");
  }

  function press() {
    if (watch !== null) {
      stopLocating();
      return;
    }
    if (!("geolocation" in navigator)) {
      tellWhere("No place known", [], "This browser gives pages no place. The map works without.");
      return;
    }
    part("locate").textContent = "Stop";
    part("locate").setAttribute("aria-pressed", "true");
    tellWhere("Waiting for the phone", [], "");
    watch = navigator.geolocation.watchPosition(onPosition, onNoPosition, {
      enableHighAccuracy: true,
      maximumAge: 0,
      timeout: 30000,
    });
  }

  return { press };
}
