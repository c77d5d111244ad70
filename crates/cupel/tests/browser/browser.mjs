// A browser with the page open, and the little that every trial needs.

import { existsSync } from "node:fs";
import { chromium } from "playwright-core";

const PLACES = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];

export const browserPath = () => process.env.CUPEL_CHROMIUM ?? PLACES.find((path) => existsSync(path));

export async function open(address, size = { width: 1100, height: 900 }, first = null) {
  const browser = await chromium.launch({
    executablePath: browserPath(),
    args: ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"],
  });
  const context = await browser.newContext({ viewport: size });
  if (first) await context.addInitScript(first);
  const page = await context.newPage();
  const complaints = [];
  page.on("pageerror", (error) => complaints.push(`error: ${error.message}`));
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) complaints.push(`${message.type()}: ${message.text()}`);
  });
  await page.goto(address);
  await page.waitForFunction(() => document.body.dataset.ready === "true", null, { timeout: 30000 });
  return { browser, page, complaints };
}

/** Waits until the reference lies on the session's beats, and gives the room. */
export const laid = (page) => page.evaluate(async () => {
  const { parts } = await import("/page.js");
  while (parts().room.laying) await new Promise((done) => setTimeout(done, 50));
  return parts().room;
});

/** Checks are counted; the first that fails ends the trial. */
let passed = 0;
export function check(holds, words) {
  if (!holds) throw new Error(`does not hold: ${words}`);
  passed += 1;
  console.log(`holds: ${words}`);
}
export const count = () => passed;

export async function until(probe, words, milliseconds = 8000) {
  const end = Date.now() + milliseconds;
  for (;;) {
    if (await probe()) return check(true, words);
    if (Date.now() > end) return check(false, words);
    await new Promise((done) => setTimeout(done, 50));
  }
}
