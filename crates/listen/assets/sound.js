// Keeps the player supplied: a few seconds of what plays now and of what shall play. The
// versions of the mix come from the engine in the player where there is one, all else in
// pieces from the server.

import { isMixed, NoEngine } from "/feed.js";
import { readPiece, readSound } from "/talk.js";

export const PIECE = 16384;
const AHEAD_S = 2.5;
const TRACKS = "tracks"; // stands for the tracks' own sound among what was asked for
const MOST_LOAD = 0.8; // of the player's time

/** Sound of one session on one audio context; `feed` where the engine is used. */
export class Sound {
  constructor(rate, told, feed = null) {
    this.rate = rate;
    this.told = told;
    this.feed = feed;
    this.sources = new Map();
    this.at = 0;
    this.loop = null;
    this.solo = [];
    this.revision = 0;
    this.decisions = []; // on their way to the file
    this.changes = 0;
    this.wanted = null;
    this.playing = false;
    this.heavy = 0;
    this.asked = new Map(); // "key index" -> AbortController or true
  }

  /** Must be called from a press: before it nothing can sound. */
  async open() {
    if (this.context) return this.context.resume();
    this.context = new AudioContext({ sampleRate: this.rate, latencyHint: "interactive" });
    await this.attach(this.context);
    return this.context.resume();
  }

  /** `plain`, in an offline context, leaves out level, fades and ceiling. */
  async attach(context, plain = false) {
    await context.audioWorklet.addModule("/player.js");
    const offline = context instanceof OfflineAudioContext;
    this.node = new AudioWorkletNode(context, "cupel-player", {
      numberOfInputs: 0,
      outputChannelCount: [2],
      processorOptions: { live: this.feed?.options(), plain: plain && offline },
    });
    this.node.port.onmessage = ({ data }) => {
      if (data.refused !== undefined) {
        this.leave(data.refused);
        return;
      }
      if (this.jump === undefined) this.at = data.at;
      else if (Math.abs(data.at - this.jump) < this.rate) {
        this.at = data.at;
        this.jump = undefined;
      }
      this.heard = data.key;
      if (data.load !== undefined && !offline) this.weigh(data.load);
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

  /** Where the engine takes too long again and again, the server renders. */
  weigh(load) {
    this.load = load;
    this.heavy = load > MOST_LOAD ? this.heavy + 1 : 0;
    if (this.heavy >= 2) this.leave("this machine is too slow for it");
  }

  /** From here on everything comes in pieces; `without` is told why. */
  leave(why) {
    if (!this.feed) return;
    this.feed = null;
    this.without?.(why);
    if (this.wanted) this.choose(this.wanted);
  }

  /** Sources as the room has them; a new revision is heard in what depends on it. */
  know(sources, revision) {
    this.sources = new Map(sources.map((source) => [source.id, source]));
    this.revision = revision;
    if (this.wanted) this.choose(this.wanted);
  }

  /** A decision is heard at once; what is given back is called when it was answered. */
  decided(decision) {
    if (decision.on === undefined && decision.gain_db === undefined) return () => {};
    this.decisions.push(decision);
    this.changes += 1;
    if (this.feed && this.wanted === "after") this.choose("after");
    return () => {
      this.decisions = this.decisions.filter((one) => one !== decision);
      this.changes += 1;
    };
  }

  key(id = this.wanted) {
    const changes = id !== "after" ? 0 : this.feed ? `${this.revision}.${this.changes}` : this.revision;
    const own = isMixed(id) ? this.solo.join(",") : "";
    return `${id}|${changes}|${own}${this.feed && isMixed(id) ? "|live" : ""}`;
  }

  choose(id) {
    const source = this.sources.get(id);
    if (!source) return;
    const from = this.sources.get(this.heard?.split("|")[0] ?? this.wanted);
    const equal = !(source.is_mix && (from?.is_mix ?? true));
    this.wanted = id;
    const message = { type: "source", key: this.key(), gain_db: source.gain_db, equal };
    if (this.feed && isMixed(id)) this.mix(message, id);
    else this.post(message);
    this.supply();
  }

  /** Plays a version of the mix as soon as its strips are known. */
  async mix(message, id) {
    const numbers = this.feed.strips(message.key);
    if (numbers) {
      this.post({ ...message, numbers });
      return;
    }
    try {
      await this.feed.ask(message.key, id, this.solo, this.decisions);
      if (this.feed && this.wanted === id && this.key() === message.key) this.choose(id);
    } catch (error) {
      if (error instanceof NoEngine || error.status === 410) this.leave(error.message);
      else this.failed?.(error);
    }
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

  /** What is needed of what: [source, key, pieces], what is wanted first. */
  needs() {
    const versions = [[this.wanted, this.key()]];
    const heard = this.heard?.split("|")[0];
    if (heard && this.heard !== this.key() && this.sources.has(heard)) versions.push([heard, this.heard]);
    const live = ([, key]) => key.endsWith("|live");
    const needs = versions.filter((one) => !live(one)).map(([id, key]) => [id, key, this.ahead()]);
    const keys = versions.filter(live).map(([, key]) => key);
    if (!this.feed || keys.length === 0) return needs;
    const tracks = [TRACKS, TRACKS, this.feed.pieces(this.at, this.loop, keys)];
    return live(versions[0]) ? [tracks, ...needs] : [...needs, tracks];
  }

  supply() {
    if (!this.wanted) return;
    const needs = this.needs();
    const kept = Object.fromEntries(needs.map(([, key, pieces]) => [key, pieces]));
    this.post({ type: "keep", pieces: kept, tracks: kept[TRACKS] ?? [] });
    for (const [name, request] of this.asked) {
      const [key, index] = [name.slice(0, name.lastIndexOf(" ")), Number(name.slice(name.lastIndexOf(" ") + 1))];
      if (!kept[key]?.includes(index)) {
        if (request !== true) request.abort();
        this.asked.delete(name);
      }
    }
    // What is wanted comes first; the old source goes on with what it has.
    const [id, key, pieces] = needs[0];
    for (const index of pieces) this.fetch(id, key, index);
  }

  /** How many answers are still to come. */
  busy() {
    return [...this.asked.values()].filter((request) => request !== true).length;
  }

  async fetch(id, key, index) {
    const name = `${key} ${index}`;
    if (this.asked.has(name) || this.busy() >= 3) return;
    const request = new AbortController();
    this.asked.set(name, request);
    try {
      const samples = id === TRACKS
        ? await readPiece(index, request.signal)
        : await readSound(id, index * PIECE, PIECE, this.solo, request.signal);
      if (this.asked.get(name) !== request) return;
      this.asked.set(name, true);
      this.post({ type: id === TRACKS ? "tracks" : "piece", key, index, samples }, [samples.buffer]);
      this.supply();
    } catch (error) {
      this.asked.delete(name);
      if (error.name !== "AbortError") this.failed?.(error);
    }
  }
}
