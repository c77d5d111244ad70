// What is heard is what is rendered: `node null.mjs ADDRESS PREMASTER`, the premaster in
// 32-bit floats, of the same moves.

import { readFileSync } from "node:fs";
import { check, count, laid, open } from "./browser.mjs";
import { peak, record } from "./record.mjs";

const [address, premaster] = process.argv.slice(2);
const { browser, page } = await open(address);
const room = await laid(page);
const engine = await page.evaluate(() => document.body.dataset.engine);
check(engine === "live", "the mix is made in the page");
const rate = room.sample_rate_hz;

/** Both sides of a file of 32-bit floats. */
function read(path) {
  const bytes = readFileSync(path);
  let at = 12;
  while (bytes.toString("latin1", at, at + 4) !== "data") at += 8 + bytes.readUInt32LE(at + 4);
  const frames = Math.floor((bytes.length - at - 8) / 8);
  const sides = [new Float32Array(frames), new Float32Array(frames)];
  for (let frame = 0; frame < frames; frame += 1) {
    for (const side of [0, 1]) sides[side][frame] = bytes.readFloatLE(at + 8 + 8 * frame + 4 * side);
  }
  return sides;
}

const rendered = read(premaster);
const db = (x) => (x > 0 ? `${(20 * Math.log10(x)).toFixed(1)} dBFS` : "nothing");
function compare(heard, from, words) {
  const part = rendered.map((side) => side.subarray(from, from + heard[0].length));
  const rest = heard.map((side, number) => side.map((x, frame) => x - part[number][frame]));
  check(peak(part) > 0.05, `the render sounds there: ${db(peak(part))}`);
  check(peak(rest) < 1e-6, `${words}: ${db(peak(rest))} left`);
}

// The passage, from the middle of the session: filters have settled on the way there.
const start = Math.round(room.passage_s[0] * rate);
const seconds = Math.min(20, room.passage_s[1] - room.passage_s[0]);
const plain = { plain: true };
const after = [[0, "choose", "after"], [0, "play"]];
compare(await record(page, seconds, [[0, "seek", start], ...after], plain), start, "the passage is as rendered");
compare(await record(page, 6, after, plain), 0, "so is the start of the session");

// Round a loop: its start is as rendered again.
const loop = [start, start + 2 * rate];
const round = await record(page, 5, [[0, "seek", start], [0, "repeat", loop], ...after], plain);
compare(round.map((side) => side.subarray(2 * rate, 4 * rate)), start, "so is a loop the second time");

// The same by pieces from the server, which the page takes where it has no engine.
const pieces = await record(page, 3, [[0, "seek", start], ...after], { plain: true, pieces: true });
compare(pieces, start, "so are the server's own pieces");

await browser.close();
console.log(`${count()} hold`);
