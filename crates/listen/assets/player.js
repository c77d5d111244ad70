// The sound itself: versions of the mix from the engine, pieces of other sources laid end
// to end, all on the session's clock; one source at a time, faded into another where both
// are there; ways to listen; level; ceiling.

import { Engine } from "/engine.js";
import { Way } from "/ways.js";

const PIECE = 16384; // frames of a piece
const CROSS_S = 0.02; // from one source to another
const EDGE_S = 0.005; // at the ends of a loop, and where sound is missing
const IN_S = 1.5; // first sound after a press
const OUT_S = 0.06;
const LOOK_S = 0.4; // before the end of a loop its start is made ready
const WEIGH_S = 2; // between two looks at the load
const CEILING = 0.891; // -1 dBFS

const slope = (seconds) => 1 - Math.exp(-1 / (seconds * sampleRate));
const GAIN_SLOPE = slope(0.05);
const LEVEL_SLOPE = slope(0.06);
const amplitude = (db) => 10 ** (db / 20);

class Player extends AudioWorkletProcessor {
  constructor({ processorOptions: { live, plain } = {} }) {
    super();
    this.plain = plain === true;
    this.engine = live ? new Engine(live, sampleRate) : null;
    this.busy_ms = 0;
    this.weighed = 0;
    this.pair = [0, 0]; // what plays
    this.read = [0, 0]; // what was read of a piece
    this.pieces = new Map(); // key -> Map(index -> Float32Array)
    this.at = 0;
    this.loop = null;
    this.now = null; // { key, gain }
    this.next = null; // { key, gain, equal, part }
    this.playing = false;
    this.fresh = true;
    this.envelope = 0; // of starting and stopping
    this.there = 0; // 0 where sound is missing
    this.edge = 1; // at the ends of a loop
    this.wrapped = false;
    this.level = amplitude(-30);
    this.wanted = this.level;
    this.way = new Way({}, sampleRate);
    this.nextWay = null;
    this.wayPart = 1;
    this.told = 0;
    this.port.onmessage = ({ data }) => this.hear(data);
  }

  hear(message) {
    switch (message.type) {
      case "piece": {
        if (!this.pieces.has(message.key)) this.pieces.set(message.key, new Map());
        this.pieces.get(message.key).set(message.index, message.samples);
        break;
      }
      case "tracks":
        this.engine?.take(message.index, message.samples);
        break;
      case "keep": {
        this.engine?.keep(message.tracks);
        for (const [key, pieces] of this.pieces) {
          const wanted = message.pieces[key];
          if (!wanted) this.pieces.delete(key);
          else for (const index of pieces.keys()) if (!wanted.includes(index)) pieces.delete(index);
        }
        break;
      }
      case "source":
        if (message.numbers && !this.version(message)) break;
        if (!this.now) this.now = { key: message.key, gain: amplitude(message.gain_db) };
        else if (this.now.key === message.key && !this.next) {
          this.now.wanted = amplitude(message.gain_db);
          this.later = null;
        } else if (this.next && this.next.key === message.key && this.next.part > 0) {
          this.next.wanted = amplitude(message.gain_db);
          this.later = null;
        } else
          this.later = {
            key: message.key,
            gain: amplitude(message.gain_db),
            equal: message.equal,
            part: 0,
          };
        break;
      case "play":
        // After every press it fades in slowly, wherever it was moved to.
        if (!this.playing) this.fresh = true;
        this.playing = true;
        break;
      case "stop":
        this.playing = false;
        break;
      case "seek":
        this.jump = message.frame;
        break;
      case "loop":
        this.loop = message.loop;
        break;
      case "level":
        this.wanted = message.silent ? 0 : amplitude(Math.min(0, message.db));
        break;
      case "way":
        if (this.envelope === 0) this.way = new Way(message.way, sampleRate);
        else this.nextWay = new Way(message.way, sampleRate);
        break;
    }
  }

  /** Makes a version of the mix ready in the engine. */
  version({ key, numbers }) {
    const used = [this.now?.key, this.next?.key];
    const good = this.engine?.version(key, numbers, used);
    if (!good) this.port.postMessage({ refused: "the engine does not take these moves" });
    return good;
  }

  /** Two samples of a source, or null where they are not there. */
  frame(key, frame) {
    if (this.engine?.has(key)) return this.engine.frame(key, frame);
    const piece = this.pieces.get(key)?.get(Math.floor(frame / PIECE));
    if (!piece) return null;
    const place = 2 * (frame % PIECE);
    this.read[0] = piece[place];
    this.read[1] = piece[place + 1];
    return this.read;
  }

  /** Whether a source can be faded in at the position. */
  ready(key) {
    const cross = Math.round(CROSS_S * sampleRate);
    if (this.engine?.has(key)) return this.engine.ready(key, this.at, cross);
    return this.frame(key, this.at) && this.frame(key, this.after(this.at, cross));
  }

  /** What is done once a block. */
  turn() {
    this.engine?.next();
    if (!this.next && this.later && (this.ready(this.later.key) || !this.playing)) {
      this.next = this.later;
      this.later = null;
      this.told = Infinity; // it is told with this block
    }
    if (this.engine && this.loop && this.playing) {
      const left = this.loop[1] - this.at;
      if (left > 0 && left < LOOK_S * sampleRate) {
        for (const one of [this.now, this.next]) if (one) this.engine.prepare(one.key, this.loop[0]);
      }
    }
  }

  /** The next frame of what plays, before ways and level; whether there is one. */
  sound() {
    let left = 0;
    let right = 0;
    let there = false;
    if (this.now) {
      if (this.now.wanted !== undefined) this.now.gain += (this.now.wanted - this.now.gain) * GAIN_SLOPE;
      const own = this.frame(this.now.key, this.at);
      if (own) {
        there = true;
        let share = 1;
        if (this.next) {
          share = this.next.equal ? Math.cos(0.5 * Math.PI * this.next.part) : 1 - this.next.part;
        }
        left += share * this.now.gain * own[0];
        right += share * this.now.gain * own[1];
      }
    }
    if (this.next) {
      const other = this.frame(this.next.key, this.at);
      if (other) {
        there = true;
        const share = this.next.equal ? Math.sin(0.5 * Math.PI * this.next.part) : this.next.part;
        left += share * this.next.gain * other[0];
        right += share * this.next.gain * other[1];
      }
      this.next.part += 1 / (CROSS_S * sampleRate);
      if (this.next.part >= 1) {
        this.now = { key: this.next.key, gain: this.next.gain, wanted: this.next.wanted };
        this.next = null;
      }
    }
    this.pair[0] = left;
    this.pair[1] = right;
    return there;
  }

  after(frame, frames) {
    const then = frame + frames;
    if (this.loop && frame < this.loop[1] && then >= this.loop[1]) {
      return this.loop[0] + (then - this.loop[1]);
    }
    return then;
  }

  process(_, [output]) {
    const begun = Date.now();
    const [left, right] = [output[0], output[1] ?? output[0]];
    this.turn();
    if (this.plain) this.straight(left, right);
    else this.play(left, right);
    this.busy_ms += Date.now() - begun;
    this.weighed += left.length;
    this.told += left.length;
    if (this.told >= 1024) this.tell();
    return true;
  }

  tell() {
    this.told = 0;
    const key = this.next?.key ?? this.now?.key ?? "";
    const message = { at: this.at, key, waiting: this.playing && this.there === 0 };
    if (this.weighed >= WEIGH_S * sampleRate) {
      message.load = (this.busy_ms * sampleRate) / 1000 / this.weighed;
      this.busy_ms = this.weighed = 0;
    }
    this.port.postMessage(message);
  }

  /** For comparison with a render: what plays, as it is. */
  straight(left, right) {
    if (this.jump !== undefined) [this.at, this.jump] = [this.jump, undefined];
    // Nobody waits for this block: the engine may take all the turns it needs.
    for (let turn = 0; turn < 1000 && this.playing && this.now && !this.frame(this.now.key, this.at); turn += 1) this.engine?.next();
    for (let i = 0; i < left.length; i += 1) {
      const own = this.playing && this.now ? this.frame(this.now.key, this.at) : null;
      left[i] = own ? own[0] : 0;
      right[i] = own ? own[1] : 0;
      if (own) this.at = this.after(this.at, 1);
    }
  }

  play(left, right) {
    const edge = EDGE_S * sampleRate;
    for (let i = 0; i < left.length; i += 1) {
      // A jump waits until the old place has faded out.
      const leaving = this.jump !== undefined;
      const moving = this.playing && !leaving;
      if (moving) this.envelope = Math.min(1, this.envelope + 1 / ((this.fresh ? IN_S : EDGE_S) * sampleRate));
      else {
        this.envelope = Math.max(0, this.envelope - 1 / ((leaving ? EDGE_S : OUT_S) * sampleRate));
        if (this.envelope === 0) {
          if (leaving) {
            this.at = this.jump;
            this.jump = undefined;
            this.there = 0;
          }
        }
      }
      if (this.envelope === 1) this.fresh = false;
      if (this.envelope === 0 && !this.playing) {
        if (this.later && !this.next) {
          this.now = { key: this.later.key, gain: this.later.gain };
          this.later = null;
        }
        left[i] = right[i] = 0;
        this.level += (this.wanted - this.level) * LEVEL_SLOPE;
        continue;
      }
      const there = this.sound();
      this.there += there ? 1 / edge : -1 / edge;
      this.there = Math.min(1, Math.max(0, this.there));
      let ends = 1;
      if (this.loop) {
        const left_over = this.loop[1] - this.at;
        if (left_over > 0 && left_over < edge) ends = Math.min(ends, left_over / edge);
        const since = this.at - this.loop[0];
        if (this.wrapped && since >= 0 && since < edge) ends = Math.min(ends, since / edge);
      }
      if (this.nextWay) {
        this.wayPart -= 1 / (2 * edge);
        if (this.wayPart <= 0) {
          this.wayPart = 0;
          this.way = this.nextWay;
          this.nextWay = null;
        }
      } else if (this.wayPart < 1) this.wayPart = Math.min(1, this.wayPart + 1 / (2 * edge));
      this.level += (this.wanted - this.level) * LEVEL_SLOPE;
      const fade = this.envelope * this.envelope * (3 - 2 * this.envelope);
      const gain = fade * this.there * ends * this.wayPart * this.level;
      this.way.run(this.pair);
      left[i] = Math.min(CEILING, Math.max(-CEILING, gain * this.pair[0]));
      right[i] = Math.min(CEILING, Math.max(-CEILING, gain * this.pair[1]));
      // Where sound is missing the clock waits.
      if (there && !leaving) {
        const then = this.after(this.at, 1);
        this.wrapped = then < this.at ? true : this.wrapped && this.loop !== null;
        this.at = then;
      }
    }
  }
}

registerProcessor("cupel-player", Player);
