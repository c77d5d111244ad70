// Keeps the player supplied: a few seconds of what plays now and of what shall play.

import { readSound } from "/talk.js";

export const PIECE = 16384;
const AHEAD_S = 2.5;

/** Sound of one session on one audio context. */
export class Sound {
  constructor(rate, told) {
    this.rate = rate;
    this.told = told;
    this.sources = new Map();
    this.at = 0;
    this.loop = null;
    this.solo = [];
    this.revision = 0;
    this.wanted = null;
    this.playing = false;
    this.asked = new Map(); // "key index" -> AbortController or true
  }

  /** Must be called from a press: before it nothing can sound. */
  async open() {
    if (this.context) return this.context.resume();
    this.context = new AudioContext({ sampleRate: this.rate, latencyHint: "interactive" });
    await this.attach(this.context);
    return this.context.resume();
  }

  async attach(context) {
    await context.audioWorklet.addModule("/player.js");
    this.node = new AudioWorkletNode(context, "cupel-player", {
      numberOfInputs: 0,
      outputChannelCount: [2],
    });
    this.node.port.onmessage = ({ data }) => {
      if (this.jump === undefined) this.at = data.at;
      else if (Math.abs(data.at - this.jump) < this.rate) {
        this.at = data.at;
        this.jump = undefined;
      }
      this.heard = data.key;
      this.told(this.at, data);
      this.supply();
    };
    this.node.connect(context.destination);
    for (const message of this.waiting ?? []) this.node.port.postMessage(message);
    this.waiting = [];
  }

  post(message, transfer) {
    if (this.node) this.node.port.postMessage(message, transfer ?? []);
    else (this.waiting ??= []).push(message);
  }

  /** Sources as the room has them; a new revision is heard in what depends on it. */
  know(sources, revision) {
    this.sources = new Map(sources.map((source) => [source.id, source]));
    this.revision = revision;
    if (this.wanted) this.choose(this.wanted);
  }

  key(id = this.wanted) {
    const changes = id === "after" ? this.revision : 0;
    const own = id === "before" || id === "after" ? this.solo.join(",") : "";
    return `${id}|${changes}|${own}`;
  }

  choose(id) {
    const source = this.sources.get(id);
    if (!source) return;
    const equal = !(source.is_mix && (this.sources.get(this.wanted)?.is_mix ?? true));
    this.wanted = id;
    this.post({ type: "source", key: this.key(), gain_db: source.gain_db, equal });
    this.supply();
  }

  only(tracks) {
    this.solo = tracks;
    if (this.wanted) this.choose(this.wanted);
  }

  play() {
    this.playing = true;
    this.post({ type: "play" });
    this.supply();
  }

  stop() {
    this.playing = false;
    this.post({ type: "stop" });
  }

  seek(frame) {
    this.at = Math.max(0, Math.round(frame));
    this.jump = this.at;
    this.post({ type: "seek", frame: this.at });
    this.supply();
  }

  repeat(loop) {
    this.loop = loop && loop[1] - loop[0] > 0.1 * this.rate ? loop.map(Math.round) : null;
    this.post({ type: "loop", loop: this.loop });
    if (this.loop && (this.at < this.loop[0] || this.at >= this.loop[1])) this.seek(this.loop[0]);
    else this.supply();
  }

  level(db) {
    this.post({ type: "level", db, silent: db <= -60 });
  }

  hearAs(way) {
    this.post({ type: "way", way });
  }

  /** Indices of the pieces that are about to be heard, the next first. */
  ahead() {
    const pieces = [];
    let at = this.at;
    let left = AHEAD_S * this.rate;
    while (left > 0) {
      const index = Math.floor(at / PIECE);
      if (!pieces.includes(index)) pieces.push(index);
      let end = (index + 1) * PIECE;
      if (this.loop && at < this.loop[1] && end >= this.loop[1]) {
        left -= Math.max(1, this.loop[1] - at);
        at = this.loop[0];
      } else {
        left -= end - at;
        at = end;
      }
    }
    return pieces;
  }

  supply() {
    if (!this.wanted) return;
    const pieces = this.ahead();
    const keys = [[this.wanted, this.key()]];
    const heard = this.heard?.split("|")[0];
    if (heard && this.heard !== this.key() && this.sources.has(heard)) keys.push([heard, this.heard]);
    this.post({ type: "keep", pieces: Object.fromEntries(keys.map(([, key]) => [key, pieces])) });
    for (const [name, request] of this.asked) {
      const [key, index] = [name.slice(0, name.lastIndexOf(" ")), Number(name.slice(name.lastIndexOf(" ") + 1))];
      if (!keys.some(([, own]) => own === key) || !pieces.includes(index)) {
        if (request !== true) request.abort();
        this.asked.delete(name);
      }
    }
    // What is wanted comes first; the old source goes on with what it has.
    const [id, key] = keys[0];
    for (const index of pieces) this.fetch(id, key, index);
  }

  async fetch(id, key, index) {
    const name = `${key} ${index}`;
    const busy = [...this.asked.values()].filter((request) => request !== true).length;
    if (this.asked.has(name) || busy >= 3) return;
    const request = new AbortController();
    this.asked.set(name, request);
    try {
      const { samples } = await readSound(id, index * PIECE, PIECE, this.solo, request.signal);
      if (this.asked.get(name) !== request) return;
      this.asked.set(name, true);
      this.post({ type: "piece", key, index, samples }, [samples.buffer]);
      this.supply();
    } catch (error) {
      this.asked.delete(name);
      if (error.name !== "AbortError") this.failed?.(error);
    }
  }
}
