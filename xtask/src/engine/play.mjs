// Plays the material by a module:
// `node play.mjs MODULE FOLDER TRACKS PIECES RATE FRAME:FRAMES:BLOCK...`.

import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";

const [path, folder, tracks, pieces, rate, ...played] = process.argv.slice(2);
const module = new WebAssembly.Module(readFileSync(path));
if (WebAssembly.Module.imports(module).length > 0) throw new Error("the module imports something");
const wasm = new WebAssembly.Instance(module, {}).exports;
wasm.engine_open(Number(tracks), Number(rate), Number(pieces) + 1, 1);
const first = wasm.engine_lead_frames() / wasm.engine_piece_frames();
const bytes = (at, count) => new Uint8Array(wasm.memory.buffer, at, count);
for (let slot = 0; slot <= Number(pieces); slot += 1) {
  const piece = readFileSync(join(folder, `piece-${slot}`));
  bytes(wasm.engine_slot(slot), piece.length).set(piece);
  const index = slot < Number(pieces) ? first + slot : first - 1;
  if (wasm.engine_fill(slot, index, piece.length) !== 1) throw new Error(`piece ${slot} is refused`);
}
const settings = readFileSync(join(folder, "settings"));
bytes(wasm.engine_numbers(), settings.length).set(settings);
if (wasm.engine_set(0, settings.length / 8) !== 1) throw new Error("the settings are refused");
const heard = [];
for (const [frame, frames, block] of played.map((one) => one.split(":").map(Number))) {
  while (wasm.engine_reach(0, frame, 10000) === 0);
  for (let left = frames; left > 0; ) {
    const count = wasm.engine_render(0, Math.min(block, left));
    if (count === 0) throw new Error(`nothing comes at ${frame + frames - left}`);
    for (let side = 0; side < 2; side += 1) {
      const at = wasm.engine_heard() + 4 * side * wasm.engine_block_frames();
      heard.push(Buffer.from(bytes(at, 4 * count)));
    }
    left -= count;
  }
}
writeFileSync(join(folder, "heard"), Buffer.concat(heard));
