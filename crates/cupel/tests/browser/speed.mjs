// Figures, no checks: `node speed.mjs ADDRESS [MINUTES]`. How soon a changed move is heard,
// how many times real time the engine makes the mix, what memory the page takes.

import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { open } from "./browser.mjs";

const [address, minutes = "0"] = process.argv.slice(2);
/** Processes that hold pages, other browsers' too. */
function holders() {
  const list = execFileSync("ps", ["-eo", "pid,args"]).toString().split("\n");
  return list.filter((line) => line.includes("--type=renderer")).map((line) => Number(line.trim().split(" ")[0]));
}

const others = holders();
const { browser, page } = await open(address);
const engine = await page.evaluate(() => document.body.dataset.engine);
const room = await page.evaluate(async () => (await import("/page.js")).parts().room);
console.log(`${room.live?.tracks ?? 0} tracks, ${(room.frames / room.sample_rate_hz / 60).toFixed(1)} min, engine: ${engine}`);

// From the press to the first changed block: the player says what it plays every 21 ms.
async function pressed() {
  await page.click("#play");
  await page.evaluate(async () => (await import("/page.js")).parts().sound.choose("after"));
  await page.waitForFunction(() => (document.body.dataset.heard ?? "").startsWith("after"));
  const times = [];
  const moves = page.locator('#move-list input[data-key="on"]');
  for (let n = 0; n < Math.min(12, 2 * (await moves.count())); n += 1) {
    await page.waitForTimeout(700);
    times.push(await page.evaluate(async (place) => {
      const { sound } = (await import("/page.js")).parts();
      const before = sound.heard;
      const input = document.querySelectorAll('#move-list input[data-key="on"]')[place];
      const begun = performance.now();
      input.click();
      const wanted = sound.key();
      return new Promise((done) => {
        const { told } = sound;
        sound.told = (at, data) => {
          told(at, data);
          // The first answer that another version is being faded in.
          if (data.key !== before) {
            sound.told = told;
            done({ ms: performance.now() - begun, wanted: data.key === wanted });
          }
        };
      });
    }, Math.floor(n / 2)));
  }
  times.sort((a, b) => a.ms - b.ms);
  const ms = times.map((one) => one.ms.toFixed(0));
  console.log(`a move is heard after ${ms.join(", ")} ms (median ${ms[Math.floor(ms.length / 2)]})`);
}

// Thirty seconds of a loop, as fast as it goes.
async function fast() {
  await page.evaluate(async () => {
    const { Sound } = await import("/sound.js");
    const { room, sound: own } = (await import("/page.js")).parts();
    const rate = room.sample_rate_hz;
    const seconds = 30;
    const context = new OfflineAudioContext(2, seconds * rate, rate);
    const sound = new Sound(rate, () => {}, own.feed);
    await sound.attach(context, false);
    const wait = (ms) => new Promise((done) => setTimeout(done, ms));
    sound.know(room.sources, room.revision);
    sound.choose("after");
    const start = Math.round((room.passage_s?.[0] ?? 5) * rate);
    sound.seek(start);
    sound.repeat([start, start + 2 * rate]);
    sound.level(0);
    sound.play();
    await wait(300);
    for (let quiet = 0; quiet < 5; quiet += sound.busy() ? -quiet : 1) {
      sound.supply();
      await wait(20);
    }
    sound.supply = () => {};
    window.go = async () => {
      const begun = performance.now();
      const heard = await context.startRendering();
      const ms = performance.now() - begun;
      const loud = heard.getChannelData(0).reduce((most, x) => Math.max(most, Math.abs(x)), 0);
      return { ms, seconds, loud };
    };
  });
  const begun_s = processor_s();
  const took = await page.evaluate(() => window.go());
  const busy_s = processor_s() - begun_s;
  console.log(`the mix in the page: ${((1000 * took.seconds) / took.ms).toFixed(1)} times real time, ` +
    `${(took.seconds / busy_s).toFixed(1)} by its processor time, peak ${took.loud.toFixed(3)}`);
}

/** Processor time of the page so far, seconds. */
function processor_s() {
  let ticks = 0;
  for (const pid of holders().filter((one) => !others.includes(one))) {
    const fields = readFileSync(`/proc/${pid}/stat`, "latin1").split(") ")[1].split(" ");
    ticks += Number(fields[11]) + Number(fields[12]);
  }
  return ticks / 100;
}

/** Proportional memory of the renderer processes, MiB. */
function memory() {
  const renderers = holders().filter((pid) => !others.includes(pid));
  let kib = 0;
  for (const pid of renderers) {
    try {
      kib += Number(/^Pss:\s+(\d+)/m.exec(readFileSync(`/proc/${pid}/smaps_rollup`, "utf8"))[1]);
    } catch {
      // It has ended meanwhile.
    }
  }
  return kib / 1024;
}

async function long() {
  let most = 0;
  const end = Date.now() + 60000 * Number(minutes);
  const seconds = room.frames / room.sample_rate_hz;
  await page.evaluate(async () => (await import("/page.js")).parts().sound.repeat(null));
  for (let n = 0; Date.now() < end; n += 1) {
    await page.evaluate(async (frame) => (await import("/page.js")).parts().sound.seek(frame),
      Math.floor(((n * 0.381966) % 1) * (seconds - 20) * room.sample_rate_hz));
    await page.waitForTimeout(5000);
    most = Math.max(most, memory());
    const { at, load, heard } = await page.evaluate(async () => {
      const { sound } = (await import("/page.js")).parts();
      return { at: sound.at, load: sound.load, heard: sound.heard };
    });
    console.log(`${(at / room.sample_rate_hz).toFixed(1)} s ${heard}: ${memory().toFixed(0)} MiB, load ${load?.toFixed(2)}`);
  }
  console.log(`most memory of the renderers: ${most.toFixed(0)} MiB`);
}

console.log(`memory before a press: ${memory().toFixed(0)} MiB`);
await pressed();
console.log(`memory while it plays: ${memory().toFixed(0)} MiB`);
if (Number(minutes) > 0) await long();
if (engine === "live") await fast();
await browser.close();
