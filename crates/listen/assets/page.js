// The page: reads the room, ties sound, time, findings, moves and blind tests together.

import { Blind } from "/blind.js";
import { make, showDistance, showFindings, showMoves } from "/decide.js";
import { Feed } from "/feed.js";
import { Places } from "/places.js";
import { Sound } from "/sound.js";
import * as talk from "/talk.js";
import { Timeline, barAt, clock, sectionAt } from "/transport.js";

const at = (id) => document.getElementById(id);
const say = (words) => {
  at("status").textContent = words;
};
const failed = (error) => say(error.message);

const WAYS = [
  ["stereo", "As it is", "n", {}],
  ["mono", "Mono", "m", { sides: "mono" }],
  ["difference", "Only the difference of both sides", "d", { sides: "difference" }],
  ["low", "Low end only", "l", { highest: 120 }],
  ["small", "Small speaker", "k", { sides: "mono", lowest: 200, highest: 10000 }],
  ["band", "One band", "b2", { lowest: 1000, highest: 2000 }],
];

let room;
let sound;
let timeline;
let places = null;
let blind;
let seconds = 0;
let loop = "passage";
let finding = null;

function radio(home, name, choices, chosen, pick) {
  for (const [value, words] of choices) {
    home.append(make("label", {}, make("input", {
      type: "radio",
      name,
      value,
      checked: value === chosen,
      onchange: () => pick(value),
    }), ` ${words}`));
  }
}

const setRadio = (name, value) => {
  const input = document.querySelector(`input[name="${name}"][value="${CSS.escape(value)}"]`);
  if (input) input.checked = true;
};

function chooseSource(id) {
  if (!sound.sources.has(id)) return;
  setRadio("source", id);
  sound.choose(id);
}

function span(of) {
  if (of === "passage") return room.passage_s;
  if (of === "section") return sectionAt(room, seconds);
  if (of === "bar") return barAt(room, seconds);
  return null;
}

function chooseLoop(of) {
  loop = of;
  setRadio("loop", of);
  const chosen = span(of);
  timeline.mark(chosen);
  sound.repeat(chosen ? chosen.map((s) => s * room.sample_rate_hz) : null);
}

function chooseWay(id) {
  setRadio("way", id);
  const [, , , way] = WAYS.find(([name]) => name === id);
  const own = { ...way };
  if (id === "low") own.highest = Number(at("corner").value);
  if (id === "band") {
    const middle = Number(at("middle").value);
    own.lowest = middle / Math.SQRT2;
    own.highest = middle * Math.SQRT2;
  }
  sound.hearAs(own);
}

async function press() {
  if (sound.playing) {
    sound.stop();
    at("play").textContent = "Play";
    at("play").setAttribute("aria-pressed", "false");
    return;
  }
  try {
    await sound.open();
  } catch (error) {
    say(`This browser gives no sound: ${error.message}`);
    return;
  }
  sound.play();
  say("It starts quiet and fades in.");
  at("play").textContent = "Stop";
  at("play").setAttribute("aria-pressed", "true");
}

function hear(one, withMoves, button) {
  leaveFinding();
  finding = { name: one.name, button };
  button.setAttribute("aria-pressed", "true");
  const listen = one.listen;
  sound.only(listen.solo);
  chooseSource(withMoves ? "after" : "before");
  sound.hearAs({
    sides: listen.side,
    lowest: listen.band_hz?.[0] > 25 ? listen.band_hz[0] : undefined,
    highest: listen.band_hz?.[1] < 16000 ? listen.band_hz[1] : undefined,
  });
  if (listen.span_s) {
    const [start, end] = listen.span_s;
    // Short places are heard with what leads to them.
    const long = end - start < 2 ? [Math.max(0, start - 1), end + 1] : [start, Math.min(end, start + 30)];
    timeline.mark(long);
    sound.repeat(long.map((s) => s * room.sample_rate_hz));
    sound.seek(long[0] * room.sample_rate_hz);
  }
  if (!sound.playing) press();
}

function leaveFinding() {
  if (!finding) return;
  finding.button.setAttribute("aria-pressed", "false");
  finding = null;
  sound.only([]);
  chooseWay(document.querySelector('input[name="way"]:checked')?.value ?? "stereo");
  chooseLoop(loop);
}

/** A decision is heard before it is written. */
async function decide(decision) {
  const answered = sound.decided(decision);
  try {
    const changed = await talk.decide(decision);
    answered();
    took(changed);
  } catch (error) {
    answered();
    sound.know(room.sources, room.revision);
    failed(error);
  }
}

/** Says how the versions of the mix are made, and why. */
function without(why) {
  document.body.dataset.engine = why ? "pieces" : "live";
  at("engine").textContent = why
    ? `The mix is rendered by Cupel piece by piece, and a changed move is heard a little later: ${why}.`
    : "The mix is made live in this page; a changed move is heard at once.";
}

function took(changed) {
  room = changed;
  sound.know(room.sources, room.revision);
  showMoves(at("move-list"), room, decide);
  showDistance(at("distance"), room);
  showFindings(at("finding-list"), room, hear, leaveFinding);
  blind?.know(room);
  at("conflict").hidden = !room.conflict;
  say(room.conflict ? "The session file was changed elsewhere." : "Written.");
  if (room.matching) setTimeout(matched, 200);
}

function showMatched() {
  const span = room.matched_s;
  at("matched").textContent = span ? `Equally loud at ${clock(span[0])} to ${clock(span[1])}.` : "";
}

/** Makes all sources equally loud where it plays, or at the passage. */
async function matchAt(span_s) {
  say("Matching the loudness.");
  try {
    const now = await talk.matchAt(span_s);
    room.sources = now.sources;
    room.matched_s = now.matched_s;
    sound.know(room.sources, room.revision);
    showMatched();
    say("Matched.");
  } catch (error) {
    failed(error);
  }
}

/** Where it plays: the loop, or the bar at the position. */
const here = () => span(loop) ?? barAt(room, seconds);

/** Asks until the sources are equally loud again. */
async function matched() {
  try {
    const now = await talk.readRoom();
    if (now.revision !== room.revision) return;
    room.sources = now.sources;
    sound.know(room.sources, room.revision);
    if (now.matching) setTimeout(matched, 300);
  } catch (error) {
    failed(error);
  }
}

function keys(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const typing = event.target.matches("input[type=number], input[type=range], textarea");
  const onButton = event.target.matches("button, summary, input, [role=slider]");
  if (typing) return;
  if (event.key === " " && !onButton) {
    event.preventDefault();
    press();
    return;
  }
  if (event.key === "Escape") {
    leaveFinding();
    if (blind?.running) blind.leave();
    return;
  }
  const digit = Number(event.key);
  if (digit >= 1 && digit <= room.sources.length && !blind?.running) {
    chooseSource(room.sources[digit - 1].id);
    return;
  }
  if (event.target.matches("input[type=radio]") && event.key.startsWith("Arrow")) return;
  if (event.key === "ArrowLeft" || event.key === "ArrowRight") {
    event.preventDefault();
    const [start, end] = barAt(room, seconds);
    const to = event.key === "ArrowRight" ? end : seconds - start > 0.5 ? start : barAt(room, start - 0.01)[0];
    seek(to);
    return;
  }
  const key = event.key.toLowerCase();
  const loops = { p: "passage", s: "section", b: "bar", w: "whole" };
  if (loops[key]) chooseLoop(loops[key]);
  const way = WAYS.find(([, , own]) => own === key);
  if (way) chooseWay(way[0]);
}

function seek(to) {
  seconds = Math.max(0, Math.min(to, room.frames / room.sample_rate_hz));
  if (loop === "section" || loop === "bar") chooseLoop(loop);
  sound.seek(seconds * room.sample_rate_hz);
  timeline.show(seconds);
}

function tell(frame, data) {
  seconds = frame / room.sample_rate_hz;
  timeline.show(seconds);
  places?.show(seconds, sound.sources.get(data.key.split("|")[0]));
  at("where").textContent = clock(seconds);
  document.body.dataset.heard = data.key;
}

/** The sources, with the one that plays chosen. */
function showSources() {
  const chosen = document.querySelector('input[name="source"]:checked')?.value ?? "before";
  for (const label of [...at("sources").querySelectorAll("label")]) label.remove();
  radio(at("sources"), "source", room.sources.map((s, n) => [s.id, `${s.name} (${n + 1})`]), chosen, chooseSource);
}

/** Asks until the reference lies on the session's beats. */
async function laid() {
  try {
    const now = await talk.readRoom();
    if (now.laying) return void setTimeout(laid, 1000);
    room.laying = false;
    if (now.not_laid) say(`The reference could not be laid on the session's beats: ${now.not_laid}`);
    if (now.sources.length === room.sources.length) return;
    room.sources = now.sources;
    sound.know(room.sources, room.revision);
    showSources();
    blind?.know(room);
  } catch (error) {
    failed(error);
  }
}

function build(feed) {
  at("name").textContent = room.name;
  document.title = `${room.name}, listening with Cupel`;
  sound = new Sound(room.sample_rate_hz, tell, feed);
  sound.without = without;
  sound.failed = failed;
  timeline = new Timeline(at("timeline"), room, seek);
  showSources();
  radio(at("loops"), "loop", [["passage", "the busiest passage, over and over"], ["section", "this section"],
    ["bar", "this bar"], ["whole", "the whole"]], "passage", chooseLoop);
  radio(at("ways"), "way", WAYS.map(([id, words]) => [id, words]), "stereo", chooseWay);
  at("ways").append(
    make("label", { class: "gain" }, "low end up to ", make("input", { id: "corner", type: "number", min: "80", max: "200",
      step: "10", value: "120", onchange: () => chooseWay("low") }), " Hz"),
    make("label", { class: "gain" }, "band around ", make("input", { id: "middle", type: "number", min: "40", max: "16000",
      step: "10", value: "1400", onchange: () => chooseWay("band") }), " Hz"));
  at("play").addEventListener("click", press);
  at("level").addEventListener("input", (event) => {
    const db = Number(event.target.value);
    at("level-words").textContent = db <= -60 ? "silent" : `${db} dB`;
    sound.level(db);
  });
  sound.know(room.sources, room.revision);
  chooseSource("before");
  if (room.passage_s) seek(room.passage_s[0]);
  chooseLoop("passage");
  showMoves(at("move-list"), room, decide);
  showDistance(at("distance"), room);
  showFindings(at("finding-list"), room, hear, leaveFinding);
  blind = new Blind(at("blind-body"), room, (id) => { sound.choose(id); if (!sound.playing) press(); },
    () => { leaveFinding(); document.body.classList.add("hidden-sources"); at("sources").disabled = true; },
    () => { document.body.classList.remove("hidden-sources"); at("sources").disabled = false; chooseSource("before"); });
  at("match-here").addEventListener("click", () => matchAt(here()));
  at("match-passage").addEventListener("click", () => matchAt(null));
  showMatched();
  at("put-into").addEventListener("click", () => talk.resolve("put-into").then(took, failed));
  at("read-again").addEventListener("click", () => talk.resolve("read-again").then(took, failed));
  at("conflict").hidden = !room.conflict;
  for (const id of ["player", "findings", "moves", "blind"]) at(id).hidden = false;
  at("findings").hidden = !room.findings.some((one) => one.grade !== "good");
  at("moves").hidden = room.moves.length === 0;
  document.addEventListener("keydown", keys);
  if (room.laying) setTimeout(laid, 1000);
  say("Ready. Press play; it starts quiet and fades in.");
  document.body.dataset.ready = "true";
}

async function drawings() {
  const parsed = new DOMParser().parseFromString(await talk.readDrawings(), "text/html");
  const parts = [...parsed.body.childNodes];
  if (!parts.length) return;
  at("drawing-body").replaceChildren(...parts);
  at("drawings").hidden = false;
  places = new Places(at("drawing-body"), room);
  places.show(seconds, sound.sources.get(sound.wanted));
}

try {
  room = await talk.readRoom();
  let why = null;
  const feed = await Feed.open(room).catch((error) => {
    why = error.message;
    return null;
  });
  build(feed);
  without(why);
  await drawings();
} catch (error) {
  failed(error);
}

/** For trials of the page: what it plays with. */
export const parts = () => ({ room, sound, timeline });
