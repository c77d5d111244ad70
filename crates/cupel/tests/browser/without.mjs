// Where the engine cannot be used: `node without.mjs ADDRESS`. The page says so and plays
// pieces from the server.

import { check, count, open, until } from "./browser.mjs";

const [address] = process.argv.slice(2);
const engine = (page) => page.evaluate(() => document.body.dataset.engine);
const words = (page) => page.textContent("#engine");
const heard = (page) => page.evaluate(() => document.body.dataset.heard ?? "");

// A browser without WebAssembly.
const bare = await open(address, undefined, () => delete globalThis.WebAssembly);
check((await engine(bare.page)) === "pieces", "without WebAssembly the server renders");
check((await words(bare.page)).includes("no WebAssembly"), "and the page says why");
await bare.page.click("#play");
await bare.page.keyboard.press("2");
await until(async () => (await heard(bare.page)).startsWith("after"), "the mix plays all the same");
await bare.page.locator('#move-list input[data-key="on"]').first().click();
await until(async () => (await bare.page.textContent("#status")).includes("Written"), "a move is switched");
check(bare.complaints.length === 0, `the page does not complain: ${bare.complaints.join("; ")}`);
await bare.browser.close();

// A machine that turns out too slow while it plays.
const slow = await open(address);
check((await engine(slow.page)) === "live", "with it the mix is made in the page");
await slow.page.click("#play");
await slow.page.keyboard.press("2");
await until(async () => (await heard(slow.page)).endsWith("|live"), "the engine plays");
await slow.page.evaluate(async () => {
  const { sound } = (await import("/page.js")).parts();
  sound.weigh(0.95);
});
check((await engine(slow.page)) === "live", "once too slow is no reason yet");
await slow.page.evaluate(async () => {
  const { sound } = (await import("/page.js")).parts();
  sound.weigh(0.95);
});
check((await words(slow.page)).includes("too slow"), "twice is: the page says why");
await until(async () => {
  const key = await heard(slow.page);
  return key.startsWith("after") && !key.endsWith("|live");
}, "the server's pieces go on with it");
check(slow.complaints.length === 0, `the page does not complain: ${slow.complaints.join("; ")}`);
await slow.browser.close();
console.log(`${count()} hold`);
