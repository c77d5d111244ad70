// What the engine in the player is fed with: its module, the strips of each version of the
// mix, and which pieces of the tracks' own sound it needs.

import { readStrips } from "/talk.js";

const AHEAD_S = 2;
const HELD_S = 4; // what plays, what filters need behind it, and the start of a loop
const MOST_BYTES = 256 * 2 ** 20;
const FEWEST_SLOTS = 12;
const KNOWN = 24; // versions whose strips are remembered

/** Whether a source is a version of the mix that the engine plays. */
export const isMixed = (id) => id === "before" || id === "after";

/** Why the engine cannot be used, in words for people. */
export class NoEngine extends Error {}

export class Feed {
  /** The engine for a room; `NoEngine` where it cannot play it. */
  static async open(room) {
    if (!room.live) throw new NoEngine("not every track can be held open");
    if (typeof WebAssembly !== "object") throw new NoEngine("this browser has no WebAssembly");
    let module;
    try {
      module = await WebAssembly.compileStreaming(fetch("/engine.wasm"));
    } catch (error) {
      throw new NoEngine(`this browser does not take WebAssembly (${error.message})`);
    }
    return new Feed(room.live, room.sample_rate_hz, module);
  }

  constructor(live, rate, module) {
    const bytes = 4 + live.tracks * 8 * (1 + live.piece_frames);
    const wanted = Math.ceil((HELD_S * rate) / live.piece_frames);
    this.slots = Math.min(wanted, Math.floor(MOST_BYTES / bytes));
    if (this.slots < FEWEST_SLOTS) throw new NoEngine(`${live.tracks} tracks do not fit into the page`);
    this.live = live;
    this.rate = rate;
    this.module = module;
    this.known = new Map();
  }

  /** For the player. */
  options() {
    return { module: this.module, tracks: this.live.tracks, slots: this.slots };
  }

  /** The strips of a version, once they are known. */
  strips(key) {
    return this.known.get(key);
  }

  /** Asks for the strips of a version. */
  async ask(key, source, solo, decisions) {
    const numbers = await readStrips({ source, solo, decisions });
    if (this.span(numbers) > this.slots - 2) throw new NoEngine("a track is moved too far for it");
    this.known.set(key, numbers);
    for (const old of [...this.known.keys()].slice(0, -KNOWN)) this.known.delete(old);
    return numbers;
  }

  /** Pieces that a version needs at once: behind a place, and ahead of it. */
  span([, behind, ahead]) {
    return Math.ceil((behind + ahead + 0.25 * this.rate) / this.live.piece_frames) + 1;
  }

  /** Pieces about to be needed by these versions, the next first. */
  pieces(at, loop, keys) {
    const numbers = keys.map((key) => this.known.get(key)).filter((one) => one);
    const behind = Math.max(0, ...numbers.map((one) => one[1]));
    const ahead = Math.max(0, ...numbers.map((one) => one[2]));
    const pieces = [];
    const add = (from, to) => {
      const place = (frame) => Math.max(0, Math.floor((frame + this.live.lead_frames) / this.live.piece_frames));
      for (let index = place(from - behind); index <= place(to + ahead); index += 1) {
        if (!pieces.includes(index)) pieces.push(index);
      }
    };
    let left = AHEAD_S * this.rate;
    let from = at;
    while (left > 0) {
      let to = from + left;
      const wraps = loop && from < loop[1] && to >= loop[1];
      if (wraps) to = loop[1];
      add(from, to);
      left -= Math.max(1, to - from);
      if (!wraps) break;
      from = loop[0];
    }
    return pieces.slice(0, this.slots);
  }
}
