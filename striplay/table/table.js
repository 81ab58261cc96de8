// The planning table: what is changed on it, and what the engine answers.
import { bareGround, EMPTY_BOX, groundLaid, groundSaid } from "./answer.js";
import { fillOffers, OFFER_KINDS, select, showChosen } from "./choices.js";
import { headingOf, makeDial } from "./dial.js";
import { makeDrawing } from "./draw.js";
import { keepCopy, listenToFiles } from "./file.js";
import { drawSet, wordsOfSet } from "./section.js";
import { makeTalk } from "./talk.js";
import { fillAccounts, fillNotices, fillSide, fillVerdicts } from "./told.js";
import { fillTyped, lengthText, listenToTyped, planLength, typedIsRefused, typedIsTaken } from "./typed.js";
import { listenToMap, zoomingKeys } from "../page/hands.js";
import { FOOT_M } from "../page/ground.js";
import { fillKey } from "../page/key.js";
import { lookAsked, otherLook, wearLook } from "../page/look.js";
import { makeMap } from "../page/map.js";
import { button, input, made, paired, part } from "../page/parts.js";
import { areaAt, wordsOffStrips } from "../page/where.js";

/** @typedef {import("../page/ground.js").Point} Point */
/** @typedef {import("./answer.js").SaidAnswer} SaidAnswer */
/** @typedef {import("./answer.js").SaidDriven} SaidDriven */
/** @typedef {import("./answer.js").SaidGround} SaidGround */
/** @typedef {import("./answer.js").SaidOffers} SaidOffers */
/** @typedef {import("./talk.js").Changes} Changes */
/** @typedef {import("./talk.js").Said} Said */

const over = /** @type {HTMLCanvasElement} */ (part("over"));
const base = /** @type {HTMLCanvasElement} */ (part("base"));
const sheet = /** @type {HTMLCanvasElement} */ (part("section"));
const naming = /** @type {HTMLDialogElement} */ (part("naming"));
/** A drag shifts rows by whole steps: a tenth of a foot, or 5 cm. */
const DRAG_STEP = { us: 0.1 * FOOT_M, metric: 0.05 };
/** A reader of screens is told when nothing has changed for so long. */
const REST_TO_SAY_MILLISECONDS = 700;
const MOVE_PIXELS = 60;
/** Figures that a reader of screens is told after a change. */
const SAID_FIGURES = 4;

/** @type {SaidGround | null} */
let said = null;
/** @type {SaidOffers | null} */
let offers = null;
/** @type {SaidAnswer | null} */
let answer = null;
let bare = bareGround(EMPTY_BOX);
let laid = bare;
/** @type {ReturnType<typeof makeMap> | null} */
let map = null;
/** @type {ReturnType<typeof makeDrawing> | null} */
let drawing = null;
let isDrawing = false;
/** @type {Point | null} */
let spot = null;
/** What is asked for, answered or not: the next step starts from it. */
const wanted = { heading: 0, offset: 0 };
let [strokes, keyStroke, rest] = [0, 0, 0];
/** The part of the page that a refusal is shown after. */
let near = "turns";
const shiftFrom = { stroke: -1, offset: 0 };

const address = new URL("talk", location.href);
address.protocol = "ws:";
const talk = makeTalk(
  address.href,
  hear,
  (open) => showLine(open ? "" : "The line to striplay is lost; trying again. What you changed is kept on this page. If striplay was ended, keep a copy."),
  (busy) => part("side").setAttribute("aria-busy", String(busy)),
  () => answer?.document ?? "",
);

function newStroke() {
  strokes += 1;
  return strokes;
}

const units = () => said?.units ?? "us";
const lengths = () => said?.lengths_m ?? {};

/** What was said of the last thing asked goes, when another is. */
function clearWords() {
  part("saved").hidden = true;
  part("refused").hidden = true;
}

/** @param {Changes} changes @param {number} stroke @param {string} place where a refusal is shown */
function change(changes, stroke, place) {
  near = place;
  clearWords();
  talk.change(changes, stroke);
}

/** @param {number} degrees @param {number} stroke */
function turnTo(degrees, stroke) {
  wanted.heading = degrees;
  change({ "direction.heading": degrees }, stroke, "turns");
}

/** Shift the rows from where the stroke began, to the right as one looks along the heading. @param {number} meters @param {number} stroke */
function shiftBy(meters, stroke) {
  if (!answer) {
    return;
  }
  if (shiftFrom.stroke !== stroke) {
    Object.assign(shiftFrom, { stroke, offset: wanted.offset });
  }
  const outward = answer.start === "left" ? -meters : meters;
  const set = answer.set_m;
  const offset = (((shiftFrom.offset + outward) % set) + set) % set;
  wanted.offset = offset;
  change({ "direction.offset": planLength(offset, units()) }, stroke, "turns");
}

/** @param {number} meters @param {number} stroke */
function dragBy(meters, stroke) {
  const step = DRAG_STEP[units()];
  shiftBy(Math.round(meters / step) * step, stroke);
}

/** @param {number} degrees @param {number} [stroke] */
const turnBy = (degrees, stroke = newStroke()) => turnTo(headingOf(wanted.heading + degrees), stroke);

/** Shift by one step more. @param {number} meters @param {number} [stroke] */
function shiftOn(meters, stroke = newStroke()) {
  shiftFrom.stroke = -1;
  shiftBy(meters, stroke);
}

const dial = makeDial(
  () => (answer && answer.straight && !isDrawing
    ? { heading: answer.heading_deg, rings: bare.field.flatMap((area) => area.rings), spot }
    : null),
  turnTo,
  dragBy,
  newStroke,
  () => map?.mark({}),
); // prettier-ignore

/** Tell what lies at a point of the map. @param {Point} point */
function tellAt(point) {
  if (!answer) {
    return;
  }
  const place = areaAt(laid.strips, point);
  const strip = laid.strips[place];
  const facts = strip
    ? paired(answer.labels.strip, strip.words).filter(([, words]) => words)
    : [];
  part("tapped").textContent = strip
    ? `Strip ${strip.name}: ${facts.map(([label, words]) => `${label} ${words}`).join(", ")}`
    : wordsOffStrips(laid, answer.headland_words, point);
}

/** Bring a place into view and mark it. @param {Point} place */
function showSpot(place) {
  spot = place;
  map?.reveal(Float64Array.from([...place, ...place]), place);
  map?.mark({});
  part("map").scrollIntoView({ block: "nearest" });
}

/** Show the ground, or what is drawn on empty ground. @param {boolean} drawn */
function showDrawing(drawn) {
  isDrawing = drawn;
  document.body.classList.toggle("drawing", drawn);
  part("drawing").hidden = !drawn;
  part("draw-leave").hidden = said?.empty ?? true;
  map?.mark({ signs: drawn && drawing ? drawing.draw : dial.draw });
  if (drawn) {
    drawing?.begin(units(), lengths());
  } else {
    map?.lay(laid);
  }
}

/** Make the map, once the units are known. @param {SaidGround} ground */
function firstMap(ground) {
  const shown = makeMap(base, over, part("tools"), bare, ground.units);
  map = shown;
  shown.mark({ wide: true });
  drawing = makeDrawing(shown, (ring, latitude, longitude) => {
    near = "drawing";
    talk.ask({ do: "draw", ring_m: ring, latitude, longitude });
  });
  listenToMap(base, over, shown, {
    take: (point) => (isDrawing ? drawing?.take(point) : tellAt(point)),
    grab: (pixels, event) =>
      isDrawing || event.button || event.shiftKey ? null : dial.grab(pixels, shown.toMeters(pixels)),
    keys: mapKeys(shown),
    still: true,
  });
  shown.resize();
}

/** @param {NonNullable<typeof map>} shown @returns {Record<string, (event: KeyboardEvent) => void>} */
function mapKeys(shown) {
  /** @param {KeyboardEvent} event */
  const strokeOf = ({ repeat }) => {
    keyStroke = repeat ? keyStroke : newStroke();
    return keyStroke;
  };
  /** @param {1 | -1} way @returns {(event: KeyboardEvent) => void} */
  const turning = (way) => (event) => turnBy(event.shiftKey ? way / 10 : way, strokeOf(event));
  /** @param {1 | -1} way @param {"planter_m" | "row_m"} step @returns {(event: KeyboardEvent) => void} */
  const shifting = (way, step) => (event) => shiftOn(way * (offers?.[step] ?? 0), strokeOf(event));
  return {
    ...zoomingKeys(shown),
    ArrowLeft: turning(-1),
    ArrowDown: turning(-1),
    ArrowRight: turning(1),
    ArrowUp: turning(1),
    "[": shifting(-1, "planter_m"),
    "]": shifting(1, "planter_m"),
    "{": shifting(-1, "row_m"),
    "}": shifting(1, "row_m"),
    a: () => shown.pan(MOVE_PIXELS, 0),
    d: () => shown.pan(-MOVE_PIXELS, 0),
    w: () => shown.pan(0, MOVE_PIXELS),
    s: () => shown.pan(0, -MOVE_PIXELS),
  };
}

/** @param {SaidGround} ground */
function onGround(ground) {
  said = ground;
  document.title = ground.title || "Planning table";
  part("title").textContent = ground.title || "Planning table";
  part("about").replaceChildren(...[ground.file, ground.area_text, ground.where_text].filter(Boolean).map((words) => made("span", words)));
  [bare, answer, spot] = [groundSaid(ground), null, null];
  laid = bare;
  document.body.classList.toggle("empty", ground.empty);
  if (!map) {
    firstMap(ground);
  }
  showDrawing(ground.empty);
}

/** Show the set across, as wide as the page has room for. */
function showSet() {
  if (!answer || !offers) {
    return;
  }
  drawSet(sheet, answer.section, answer.set_m, offers.crops);
  const words = wordsOfSet(answer.section, offers.crops);
  sheet.setAttribute("aria-label", `One set across the rows. ${words.join("; ")}`);
}

/** Show the state of lists, fields and buttons. @param {SaidAnswer} now */
function showState(now) {
  if (offers) {
    showChosen(offers, now);
  }
  fillTyped("heading", now.heading_text);
  fillTyped("offset", now.offset_text);
  for (const id of ["turn", "shift"]) {
    for (const one of part(id).querySelectorAll("input, button")) {
      one.toggleAttribute("disabled", !now.straight);
    }
  }
  part("undo").toggleAttribute("disabled", !now.can_undo);
  part("redo").toggleAttribute("disabled", !now.can_redo);
  part("reset").toggleAttribute("disabled", !now.changed.length);
}

/** Tell a reader of screens what came of a change, when no more follows. @param {SaidAnswer} now */
function sayLater(now) {
  clearTimeout(rest);
  rest = setTimeout(() => {
    const figures = now.figures.slice(0, SAID_FIGURES);
    const told = figures.map((figure) => `${figure.label} ${figure.text}, ${figure.change_text}`);
    part("said").textContent = [`Heading ${now.heading_text}, offset ${now.offset_text}`, ...told].join("; ");
  }, REST_TO_SAY_MILLISECONDS);
}

/** @param {SaidAnswer} now */
function onAnswer(now) {
  answer = now;
  spot = null;
  if (!talk.isBusy()) {
    Object.assign(wanted, { heading: now.heading_deg, offset: now.offset_m });
  }
  part("refused").hidden = true;
  part("saved").hidden = part("saved").hidden || now.changed.length > 0;
  showLine("");
  part("later").hidden = false;
  part("driven").classList.add("old");
  laid = groundLaid(bare, now, offers?.crops ?? []);
  if (!isDrawing) {
    map?.lay(laid);
  }
  showState(now);
  fillSide(now, offers?.crops ?? [], showSpot);
  showSet();
  fillLegend();
  sayLater(now);
}

function fillLegend() {
  if (answer && offers) {
    const { strips, headland_words: headland } = answer;
    const grown = new Set(answer.grown);
    fillKey(part("legend"), { crops: offers.crops, headland, ground: laid, strips, grown });
  }
}

/** @param {SaidDriven} driven */
function onDriven(driven) {
  if (!answer || driven.number !== answer.number) {
    return;
  }
  if (driven.facts.length) {
    part("later").hidden = true;
    part("driven").classList.remove("old");
    fillAccounts(part("driven"), "Driving and margin", [{ name: "", facts: driven.facts }]);
  }
  fillNotices(driven.notices ?? answer.notices, driven.verdicts, showSpot);
  fillVerdicts(driven.verdicts, showSpot);
}

/** @param {string[]} faults */
function onRefused(faults) {
  const box = part("refused");
  if (naming.open) {
    part("name-form").append(box);
  } else {
    part(near).after(box);
  }
  typedIsRefused();
  part("faults").replaceChildren(...faults.map((fault) => made("li", fault)));
  box.hidden = false;
  box.scrollIntoView({ block: "nearest" });
  part("doing").hidden = true;
  if (answer) {
    Object.assign(wanted, { heading: answer.heading_deg, offset: answer.offset_m });
    if (offers) {
      showChosen(offers, answer);
    }
  }
}

/** @param {{doing: string, share: number | null}} progress */
function onProgress({ doing, share }) {
  part("doing").hidden = share === 1;
  part("doing-words").textContent = doing;
  if (share === null) {
    part("share").removeAttribute("value");
  } else {
    part("share").setAttribute("value", String(share));
  }
}

/** @param {{name: string, where: string, command: string}} saved */
function onSaved({ name, where, command }) {
  naming.close();
  part("refused").hidden = true;
  part("saved").replaceChildren(made("span", `Saved as ${name} in ${where}. To lay it: `), made("code", command), button("Close", clearWords));
  part("saved").hidden = false;
}

/** @param {string} words @param {boolean} [undriven] whether what is driven won't come */
function showLine(words, undriven = false) {
  part("later").hidden = undriven || part("later").hidden;
  part("line").hidden = !words;
  part("line-words").textContent = words;
  part("keep").hidden = !answer;
}

/** @param {Said} message */
function hear(message) {
  /** @type {Record<string, (heard: any) => void>} */
  const acts = {
    ground: onGround,
    offers(heard) {
      offers = heard;
      fillOffers(heard);
      showChosen(heard, heard);
    },
    answer: onAnswer,
    driven: onDriven,
    refused: (heard) => onRefused(heard.faults),
    progress: onProgress,
    saved: onSaved,
    lost: ({ words, of }) => showLine(words, of === "driving"),
  };
  acts[message.say]?.(message);
}

function askName() {
  const name = said?.file || "plan.toml";
  input("name").value = name.replace(/(_(\d+))?(\.toml)?$/, (_, __, count) => `_${Number(count ?? 1) + 1}.toml`);
  part("refused").hidden = true;
  naming.showModal();
  input("name").select();
}

/** @param {string} id @param {() => void} act */
function onSubmit(id, act) {
  part(id).addEventListener("submit", (event) => {
    event.preventDefault();
    act();
  });
}

function setHeading() {
  const text = input("heading").value.replace("°", "").trim();
  const degrees = Number(text);
  typedIsTaken("heading");
  wanted.heading = text && Number.isFinite(degrees) ? degrees : wanted.heading;
  change({ "direction.heading": text && Number.isFinite(degrees) ? degrees : text }, newStroke(), "turns");
}

function listenToButtons() {
  /** @param {string} asked */
  const ask = (asked) => () => {
    clearWords();
    talk.ask({ do: asked });
  };
  /** @type {[string, () => void][]} */
  const acts = [
    ["undo", ask("undo")],
    ["redo", ask("redo")],
    ["reset", ask("reset")],
    ["save", askName],
    ["name-leave", () => naming.close()],
    ["sketch", () => showDrawing(true)],
    ["draw-leave", () => showDrawing(false)],
    ["best", ask("best")],
    ["cancel", () => {
      talk.cancel();
      part("doing").hidden = true;
    }],
    ["turn-back", () => turnBy(-1)],
    ["turn-on", () => turnBy(1)],
    ["pass-left", () => shiftOn(-(offers?.planter_m ?? 0))],
    ["row-left", () => shiftOn(-(offers?.row_m ?? 0))],
    ["row-right", () => shiftOn(offers?.row_m ?? 0)],
    ["pass-right", () => shiftOn(offers?.planter_m ?? 0)],
    ["best-offset", () => change({ "direction.offset": "best" }, newStroke(), "turns")],
    ["in", () => map?.closer(1.6)],
    ["out", () => map?.zoom(1 / 1.6, map.middle())],
    ["whole", () => map?.whole()],
    ["mode", () => wear(otherLook())],
    ["keep", () => keepCopy(said?.file || "plan.toml", answer?.document ?? "")],
  ]; // prettier-ignore
  for (const [id, act] of acts) {
    part(id).addEventListener("click", act);
  }
  onSubmit("turn", setHeading);
  onSubmit("shift", () => {
    typedIsTaken("offset");
    change({ "direction.offset": lengthText(input("offset").value, units()) }, newStroke(), "turns");
  });
  onSubmit("name-form", () => talk.ask({ do: "save", name: input("name").value.trim() }));
  for (const kind of OFFER_KINDS) {
    select(kind).addEventListener("change", () => {
      const offer = offers?.[kind][select(kind).selectedIndex];
      if (offer) {
        change(offer.changes, newStroke(), kind === "headlands" || kind === "starts" ? "turns" : "sets-row");
      }
    });
  }
}

/** @param {KeyboardEvent} event */
function onKey(event) {
  const pressed = event.key.toLowerCase();
  const typing = event.target instanceof HTMLInputElement || naming.open;
  if (typing || !(event.ctrlKey || event.metaKey) || !["z", "y"].includes(pressed)) {
    return;
  }
  event.preventDefault();
  talk.ask({ do: pressed === "y" || event.shiftKey ? "redo" : "undo" });
}

/** @param {string} mode */
function wear(mode) {
  wearLook(mode);
  map?.recolor();
  showSet();
  fillLegend();
}

listenToButtons();
listenToTyped(["heading", "offset"]);
listenToFiles({
  mostBytes: () => said?.most_bytes ?? Infinity,
  begin() {
    near = "map";
  },
  take: (name, bytes) => talk.ask({ do: "open", name, bytes }),
  takePlan: (toml) => talk.ask({ do: "document", toml }),
  refuse: (words) => onRefused([words]),
});
addEventListener("keydown", onKey);
addEventListener("beforeunload", (event) => {
  if (answer && (answer.changed.length || !answer.is_saved)) {
    event.preventDefault();
  }
});
new ResizeObserver(showSet).observe(part("across"));
wear(lookAsked());
