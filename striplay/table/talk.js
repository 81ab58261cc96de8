// The talk with the engine: one thing asked at a time, of changes that wait the newest alone.

/** @typedef {Record<string, unknown>} Changes by dotted key of the plan */
/** @typedef {{do: string, [key: string]: unknown}} Asked */
/** @typedef {{say: string, number?: number, [key: string]: unknown}} Said */

/** What is answered by a state of the plan, or refused. */
const ANSWERED = ["change", "undo", "redo", "reset", "open", "draw", "document"];
/** A lost line is tried again after so long, then ever later. */
const FIRST_TRY_MILLISECONDS = 400;
const LAST_TRY_MILLISECONDS = 5000;

/**
 * Join changes that wait with newer ones of the same stroke.
 * @param {Asked[]} waiting
 * @param {Changes} changes
 * @param {number} stroke
 * @returns {boolean} whether there were some
 */
function joinChanges(waiting, changes, stroke) {
  const last = waiting[waiting.length - 1];
  if (!last || last.do !== "change" || last.stroke !== stroke) {
    return false;
  }
  last.changes = { .../** @type {Changes} */ (last.changes), ...changes };
  return true;
}

/**
 * Talk with the engine.
 * @param {string} address of the socket
 * @param {(said: Said) => void} hear
 * @param {(open: boolean) => void} lineIs whether there is a line to the engine
 * @param {(busy: boolean) => void} busyIs whether something asked is still to be answered
 * @param {() => string} documentNow the plan as it was answered last; empty before
 */
export function makeTalk(address, hear, lineIs, busyIs, documentNow) {
  /** @type {WebSocket | null} */
  let socket = null;
  /** @type {Asked[]} */
  const waiting = [];
  /** @type {Asked | null} */
  let underway = null;
  /** @type {{toml: unknown, number: number} | null} */
  let handed = null; // the plan handed back, until the engine has answered it
  let [number, tried] = [0, 0];

  const isOpen = () => socket !== null && socket.readyState === WebSocket.OPEN;

  /** @param {Asked} asked */
  function sendNow(asked) {
    number += 1;
    socket?.send(JSON.stringify({ ...asked, number }));
    if (ANSWERED.includes(asked.do)) {
      underway = { ...asked, number };
    }
    if (asked.do === "document") {
      handed = { toml: asked.toml, number };
    }
  }

  function sendNext() {
    while (isOpen() && !underway && waiting.length) {
      sendNow(/** @type {Asked} */ (waiting.shift()));
    }
    busyIs(underway !== null || waiting.length > 0);
  }

  /** @param {MessageEvent} event */
  function onMessage(event) {
    /** @type {Said} */
    const said = JSON.parse(event.data);
    const answered = said.number === underway?.number && ["answer", "refused"].includes(said.say);
    if (answered || (said.say === "progress" && underway?.do !== "document")) {
      underway = null; // what takes long may be followed by something newer, which a plan handed back goes before
    }
    if (handed && said.say === "answer" && Number(said.number) >= handed.number) {
      handed = null;
    }
    hear(said);
    sendNext();
  }

  function onOpen() {
    const kept = handed?.toml ?? documentNow();
    const again = underway;
    [underway, tried] = [null, 0];
    if (again && again.do !== "document") {
      waiting.unshift(again);
    }
    if (kept) {
      waiting.unshift({ do: "document", toml: kept });
    }
    lineIs(true);
    sendNext();
  }

  function onClose() {
    lineIs(false);
    setTimeout(connect, Math.min(FIRST_TRY_MILLISECONDS * 2 ** tried, LAST_TRY_MILLISECONDS));
    tried += 1;
  }

  function connect() {
    socket = new WebSocket(address);
    socket.addEventListener("open", onOpen);
    socket.addEventListener("message", onMessage);
    socket.addEventListener("close", onClose);
  }

  connect();
  return {
    /** Ask for something, after what is asked already. @param {Asked} asked */
    ask(asked) {
      waiting.push(asked);
      sendNext();
    },
    /** Change the plan; a stroke of the hand is one step of undo. @param {Changes} changes @param {number} stroke */
    change(changes, stroke) {
      if (!joinChanges(waiting, changes, stroke)) {
        waiting.push({ do: "change", changes, stroke });
      }
      sendNext();
    },
    /** Break off what takes long, at once. */
    cancel() {
      underway = null;
      if (isOpen()) {
        sendNow({ do: "cancel" });
      }
    },
    isBusy: () => underway !== null || waiting.length > 0,
  };
}
