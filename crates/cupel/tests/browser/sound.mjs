// What is heard: `node sound.mjs ADDRESS CUPEL FOLDER`. Loudness by Cupel's own meter.

import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { check, count, laid, open } from "./browser.mjs";
import { peak, record, step, wav } from "./record.mjs";

const [address, cupel, folder] = process.argv.slice(2);
const { browser, page } = await open(address);
// The reference is laid on the session's beats while the page is already open.
const room = await laid(page);
const rate = room.sample_rate_hz;
const start = Math.round(room.passage_s[0] * rate);
const loud = [[0, "level", 0], [0, "play"]];

const lufs = (sides, name) => {
  const path = join(folder, `${name}.wav`);
  writeFileSync(path, wav(sides, rate));
  const document = JSON.parse(execFileSync(cupel, ["measure", path, "--json", "--cache", join(folder, "measured")]));
  return document.files[0].integrated_lufs;
};

// The whole passage of every source, after the fade.
const seconds = room.passage_s[1] - room.passage_s[0];
const measured = [];
for (const source of room.sources) {
  const events = [[0, "choose", source.id], [0, "seek", start - 2 * rate], ...loud];
  const heard = await record(page, seconds + 2, events);
  const passage = heard.map((side) => side.subarray(2 * rate));
  const value = lufs(passage, source.id);
  measured.push(value);
  console.log(`${source.id}: ${value.toFixed(2)} LUFS`);
}
const apart = Math.max(...measured) - Math.min(...measured);
check(room.sources.some((source) => source.id === "reference-in-time"), "the reference in the session's time is a source");
check(apart <= 0.2, `sources within 0.2 LU: ${apart.toFixed(3)}`);

// One place for all: what plays is what the server gives, frame by frame.
const at = start + 4096;
const heard = await record(page, 4, [[0, "choose", "before"], [0, "seek", at], ...loud]);
const given = await page.evaluate(async ({ at, frames }) => {
  const { readSound } = await import("/talk.js");
  return [...(await readSound("before", at, frames, []))];
}, { at, frames: 3 * rate });
// Loudest stretch after the fade: the gain between both is one number.
let [own, both] = [0, 0];
const offset = (lag) => {
  own = both = 0;
  for (let frame = 2 * rate; frame < 3 * rate - 2000; frame += 1) {
    own += given[2 * frame] ** 2;
    both += given[2 * frame] * heard[0][frame + lag];
  }
  return both;
};
let best = 0;
let most = -Infinity;
for (let lag = -600; lag <= 600; lag += 1) {
  const value = offset(lag);
  if (value > most) [most, best] = [value, lag];
}
offset(best);
const gain = both / own;
let rest = 0;
for (let frame = 2 * rate; frame < 3 * rate - 2000; frame += 1) {
  rest += (heard[0][frame + best] - gain * given[2 * frame]) ** 2;
}
const null_db = 10 * Math.log10(rest / (gain * gain * own));
check(null_db < -60, `what is heard is what the server gives: ${null_db.toFixed(1)} dB left, ${best} frames`);

// Switching between versions of one mix: no gap, no click.
const others = room.sources.filter((source) => source.id !== "before");
for (const source of others) {
  const events = [[0, "choose", source.id], [0, "choose", "before"], [0, "seek", start], ...loud, [2.5, "choose", source.id]];
  // The last choice before the start is what plays first.
  const sides = await record(page, 5, events);
  const there = Math.round(2.5 * rate);
  const own_step = Math.max(step(sides, 1.6 * rate, 2.45 * rate), step(sides, 2.6 * rate, 5 * rate));
  const at_switch = step(sides, there - 128, there + Math.round(0.05 * rate));
  check(at_switch <= own_step, `no click to ${source.id}: step ${at_switch.toFixed(4)}, the programme's own ${own_step.toFixed(4)}`);
  let silent = 0;
  let longest = 0;
  for (let frame = there - rate / 10; frame < there + rate / 5; frame += 1) {
    silent = sides[0][Math.round(frame)] === 0 && sides[1][Math.round(frame)] === 0 ? silent + 1 : 0;
    longest = Math.max(longest, silent);
  }
  check(longest < 32, `no gap to ${source.id}: ${longest} frames of nothing`);
}

// The same place after the switch: what plays then is the other source at that frame.
const locked = await record(page, 4, [[0, "choose", "after"], [0, "choose", "before"], [0, "seek", at], ...loud, [2, "choose", "after"]]);
const straight = await record(page, 4, [[0, "choose", "after"], [0, "seek", at], ...loud]);
let off = 0;
for (let frame = 3 * rate; frame < 3.9 * rate; frame += 1) off = Math.max(off, Math.abs(locked[0][frame] - straight[0][frame]));
check(off < 1e-4, `positions are locked to the sample: ${off.toExponential(1)} apart after a switch`);

// A move switched while it plays: heard there, without a click or a gap.
const step_on = room.moves.find((move) => move.on && move.gain_db !== null && Math.abs(move.gain_db) >= 1);
const pressed = [2, "decided", { id: step_on.id, on: false }];
const moved = await record(page, 4, [[0, "choose", "after"], [0, "seek", at], ...loud, pressed]);
const changed = Math.round(2 * rate);
const apart_at = (from, to) => {
  let most = 0;
  for (let frame = from; frame < to; frame += 1) most = Math.max(most, Math.abs(moved[0][frame] - straight[0][frame]));
  return most;
};
check(apart_at(0, changed - 128) === 0, "before the press nothing differs");
const soon = changed + Math.round(0.05 * rate);
check(apart_at(changed, soon) > 1e-4, "within 50 ms of the music the switched move is heard");
const own_move = Math.max(step(moved, 1.6 * rate, changed - 64), step(moved, soon, 4 * rate));
check(step(moved, changed - 64, soon) <= 1.05 * own_move, `no click: step ${step(moved, changed - 64, soon).toFixed(4)}, the programme's own ${own_move.toFixed(4)}`);

// Mono is mono; the difference has nothing of what is the same on both sides.
const mono = await record(page, 3, [[0, "choose", "before"], [0, "seek", start], [0, "hearAs", { sides: "mono" }], ...loud]);
let unlike = 0;
for (let frame = 0; frame < mono[0].length; frame += 1) unlike = Math.max(unlike, Math.abs(mono[0][frame] - mono[1][frame]));
check(unlike === 0 && peak(mono) > 0.001, "mono is mono");

// Starts quiet and fades in; never over the ceiling, however high the level.
const first = await record(page, 3, [[0, "choose", "before"], [0, "seek", start], ...loud]);
const early = peak(first, 0, Math.round(0.05 * rate));
const late = peak(first, 2 * rate, 3 * rate);
check(early < 0.05 * late, `fades in: ${early.toFixed(5)} at first, ${late.toFixed(3)} later`);
const quiet = await record(page, 3, [[0, "choose", "before"], [0, "seek", start], [0, "play"]]);
check(peak(quiet) < 0.05, `starts at a low level: ${peak(quiet).toFixed(4)}`);
check(peak(first) <= 0.8911, `stays under the ceiling: ${peak(first).toFixed(3)}`);

// The end of a loop: no click.
const bar = [start, start + Math.round(0.9 * rate)];
const looped = await record(page, 4, [[0, "choose", "before"], [0, "seek", start], [0, "repeat", bar], ...loud]);
const free = await record(page, 4, [[0, "choose", "before"], [0, "seek", start], ...loud]);
check(step(looped, 1.6 * rate, 4 * rate) <= 1.05 * step(free, 0.5 * rate, 4 * rate) + 1e-3,
  `no click at the end of a loop: ${step(looped, 1.6 * rate, 4 * rate).toFixed(4)} beside ${step(free, 0.5 * rate, 4 * rate).toFixed(4)}`);

await browser.close();
console.log(`${count()} hold`);
