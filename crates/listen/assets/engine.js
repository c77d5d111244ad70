// The engine on the player's side: the tracks' own sound in slots, and two voices of each
// version of the mix, one that plays and one that waits at the start of a loop.

const VOICES = 10;
// Frames of tracks played unheard in one turn, so that filters settle without a gap.
const BUDGET = 1 << 16;

export class Engine {
  constructor({ module, tracks, slots }, rate) {
    this.wasm = new WebAssembly.Instance(module, {}).exports;
    this.wasm.engine_open(tracks, rate, slots, VOICES);
    this.block = this.wasm.engine_block_frames();
    this.piece = this.wasm.engine_piece_frames();
    this.lead = this.wasm.engine_lead_frames();
    this.slots = new Array(slots).fill(null); // the piece that each holds
    this.versions = new Map();
    this.free = Array.from({ length: VOICES }, (_, voice) => voice);
    this.turn = 0;
    this.tried = new Array(VOICES).fill(-1);
  }

  /** Every block of the player is a turn. */
  next() {
    this.turn += 1;
  }

  has(key) {
    return this.versions.has(key);
  }

  /** A piece of all tracks; false where there is no room for it. */
  take(index, bytes) {
    let slot = this.slots.indexOf(index);
    if (slot < 0) slot = this.slots.indexOf(null);
    if (slot < 0) return false;
    const at = this.wasm.engine_slot(slot);
    new Uint8Array(this.wasm.memory.buffer, at, bytes.length).set(bytes);
    const good = this.wasm.engine_fill(slot, index, bytes.length) === 1;
    this.slots[slot] = good ? index : null;
    return good;
  }

  /** Slots of other pieces may be filled anew. */
  keep(pieces) {
    for (const [slot, index] of this.slots.entries()) {
      if (index !== null && !pieces.includes(index)) this.slots[slot] = null;
    }
  }

  /** Makes a version ready; those that are not `used` make room. */
  version(key, numbers, used) {
    if (this.versions.has(key)) return true;
    for (const [other, version] of this.versions) {
      if (used.includes(other)) continue;
      this.free.push(version.main, version.twin);
      this.versions.delete(other);
    }
    if (this.free.length < 2 || numbers.length > this.wasm.engine_most_numbers()) return false;
    const [main, twin] = this.free.splice(0, 2);
    new Float64Array(this.wasm.memory.buffer, this.wasm.engine_numbers(), numbers.length).set(numbers);
    const good = this.wasm.engine_set(main, numbers.length) && this.wasm.engine_set(twin, numbers.length);
    if (!good) {
      this.free.push(main, twin);
      return false;
    }
    this.versions.set(key, {
      main,
      twin,
      twinAt: null,
      from: 0,
      end: 0,
      heard: new Float32Array(2 * this.block),
      pair: [0, 0],
    });
    return true;
  }

  /** Brings a voice to a frame; what takes longer than a turn goes on in the next. */
  reach(voice, frame) {
    if (this.tried[voice] === this.turn) return false;
    const there = this.wasm.engine_reach(voice, frame, BUDGET) === 1;
    if (!there) this.tried[voice] = this.turn;
    return there;
  }

  /** Whether a version can be heard from a frame on, for some frames. */
  ready(key, frame, frames) {
    const version = this.versions.get(key);
    if (!version) return false;
    const last = Math.floor((frame + frames + this.lead) / this.piece);
    return this.slots.includes(last) && this.reach(version.main, frame);
  }

  /** Lets a version wait where a loop starts. */
  prepare(key, frame) {
    const version = this.versions.get(key);
    if (!version || version.twinAt === frame) return;
    if (this.reach(version.twin, frame)) version.twinAt = frame;
  }

  /** Two samples of a version, or null where its sound is not there. */
  frame(key, frame) {
    const version = this.versions.get(key);
    if (!version) return null;
    if ((frame < version.from || frame >= version.end) && !this.render(version, frame)) return null;
    const place = frame - version.from;
    version.pair[0] = version.heard[place];
    version.pair[1] = version.heard[place + this.block];
    return version.pair;
  }

  render(version, frame) {
    if (frame !== version.end && version.twinAt === frame) {
      [version.main, version.twin] = [version.twin, version.main];
      version.twinAt = null;
    }
    if (!this.reach(version.main, frame)) return false;
    const frames = this.wasm.engine_render(version.main, this.block);
    if (frames === 0) return false;
    const heard = new Float32Array(this.wasm.memory.buffer, this.wasm.engine_heard(), 2 * this.block);
    version.heard.set(heard);
    version.from = frame;
    version.end = frame + frames;
    return true;
  }
}
