// What a person does: `node page.mjs ADDRESS SESSION_FILE`.

import { appendFileSync, readFileSync } from "node:fs";
import { request } from "node:http";
import { dirname, join } from "node:path";
import { check, count, open, until } from "./browser.mjs";

const [address, file] = process.argv.slice(2);
const begun = Date.now();
const trace = process.env.TRACE;
const { browser, page, complaints } = await open(address);
if (trace) page.on("request", (r) => r.method() === "POST" && console.log("POST", r.url().split("/").pop(), r.postData()));
check((await page.textContent("#status")).includes("press play") || (await page.textContent("#status")).includes("Press play"), "the page is ready");
check(!page.url().includes("#"), "the token is not left in the address");

// Play; the first sound within two seconds of opening.
await page.click("#play");
await until(async () => (await page.evaluate(() => document.body.dataset.heard ?? "")).startsWith("before"), "it plays");
console.log(`first sound ${Date.now() - begun} ms after the start of the browser`);
const places = () => page.evaluate(() =>
  [...document.querySelectorAll("g.place line")].filter((one) => one.getAttribute("visibility") !== "hidden").map((one) => one.getAttribute("x1")));
await until(async () => (await places()).length > 0, "the position stands on the drawings");
const stood = await places();
await until(async () => (await places()).join() !== stood.join(), "and moves on with what plays");
const heard = () => page.evaluate(() => (document.body.dataset.heard ?? "").split("|")[0]);
await page.keyboard.press("2");
await until(async () => (await heard()) === "after", "another source by its key");
await page.keyboard.press("m");
check(await page.isChecked('input[name="way"][value="mono"]'), "mono by its key");
await page.keyboard.press("b");
check(await page.isChecked('input[name="loop"][value="bar"]'), "a bar is looped by its key");
await page.keyboard.press("p");

// A finding: one press loops and soloes, another leaves it.
const finding = page.locator("[data-finding]").first();
await finding.click();
check((await finding.getAttribute("aria-pressed")) === "true", "a finding is heard");
await page.keyboard.press("Escape");
check((await finding.getAttribute("aria-pressed")) === "false", "Escape leaves it");

// Yes or no to a move, written into the file.
const move = page.locator('#move-list input[data-key="on"]').first();
const id = await move.getAttribute("data-move");
const on = () => {
  const part = readFileSync(file, "utf8").split("[[moves]]").find((one) => one.includes(`id = "${id}"`)) ?? "";
  return !/\non = false/.test(part);
};
const was = on();
await page.locator(`#move-list input[data-move="${id}"][data-key="on"]`).click();
await until(() => on() !== was, "a move is switched and written");
const listening = join(dirname(file), "cupel", "listening.json");
const done = () => {
  try {
    return JSON.parse(readFileSync(listening)).done.includes(id);
  } catch {
    return false;
  }
};
const ticked = done();
await page.locator(`#move-list input[data-move="${id}"][data-key="done"]`).click();
await until(() => done() !== ticked, "a move is ticked off");

// The file is changed elsewhere: nothing is written over it, nothing is lost.
appendFileSync(file, "\n# changed elsewhere\n");
await page.locator(`#move-list input[data-move="${id}"][data-key="on"]`).click();
await page.waitForSelector("#conflict:not([hidden])");
check(readFileSync(file, "utf8").includes("# changed elsewhere"), "the change made elsewhere stays");
await page.click("#put-into");
await page.waitForSelector("#conflict", { state: "hidden" });
await until(() => on() === was && readFileSync(file, "utf8").includes("# changed elsewhere"), "both are in the file");

// Blind: sixteen answers, with their chance.
await page.click("#which");
for (let trial = 0; trial < 16; trial += 1) {
  await page.click('[data-hear="X"]');
  await page.click('[data-answer="X is A"]');
}
await until(async () => (await page.textContent("#blind-body")).includes("by guessing that comes with a chance of"), "the result has its chance");
const kept = JSON.parse(readFileSync(listening)).results.at(-1);
check(kept.trials === 16 && kept.kind === "which-is-x" && kept.by_chance > 0 && kept.by_chance <= 1, "and is kept");

// Reload: the same tab needs no token again.
await page.reload();
await page.waitForFunction(() => document.body.dataset.ready === "true");
check((await page.textContent("#blind-body")).includes("of 16 right"), "a reload keeps all");

// Every control has a name, and the focus is seen.
const nameless = await page.evaluate(() =>
  [...document.querySelectorAll("button, input, [role=slider]")].filter((one) => {
    const label = one.getAttribute("aria-label") ?? one.textContent.trim() ?? "";
    return !label && !one.closest("label")?.textContent.trim();
  }).length);
check(nameless === 0, "every control has a name");
await page.keyboard.press("Tab");
await page.focus("#play");
check(await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle !== "none" || document.activeElement.matches(":focus")), "the focus is seen");

// Text stands out by 4.5 to 1 (WCAG 2.2, 1.4.3), light and dark.
for (const scheme of ["light", "dark"]) {
  await page.emulateMedia({ colorScheme: scheme });
  const worst = await page.evaluate(() => {
    const part = (value) => {
      const c = value / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    };
    const light = ([r, g, b]) => 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
    const colour = (text) => (text.match(/[\d.]+/g) ?? []).map(Number);
    const ground = (element) => {
      for (let at = element; at; at = at.parentElement) {
        const own = colour(getComputedStyle(at).backgroundColor);
        if (own.length >= 3 && (own[3] ?? 1) > 0.99) return own;
      }
      return [255, 255, 255];
    };
    let worst = Infinity;
    for (const element of document.querySelectorAll("main p, main label, main legend, button, h1, h2, dt, dd")) {
      if (!element.textContent.trim() || !element.offsetParent) continue;
      const [a, b] = [light(colour(getComputedStyle(element).color)), light(ground(element))];
      worst = Math.min(worst, (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05));
    }
    return worst;
  });
  check(worst >= 4.5, `text stands out, ${scheme}: ${worst.toFixed(1)} to 1`);
}

// On a phone nothing is wider than the screen.
await page.setViewportSize({ width: 390, height: 800 });
const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
check(over <= 0, `no wider than a phone: ${over} px over`);

// Who has no token, another host or another origin gets nothing.
const url = new URL(address);
const ask = (path, headers = {}) =>
  new Promise((done, failed) => {
    const asked = request({ host: "127.0.0.1", port: url.port, path, headers }, (answer) => {
      answer.resume();
      answer.on("end", () => done(answer));
    });
    asked.on("error", failed);
    asked.end();
  });
check((await ask("/api/room")).statusCode === 401, "no token, no answer");
check((await ask("/api/room", { "x-cupel-token": url.hash.slice(1), host: "example.org" })).statusCode === 403, "another host is turned away");
check((await ask("/api/room", { "x-cupel-token": url.hash.slice(1), origin: "http://example.org" })).statusCode === 403, "another origin is turned away");
check((await ask("/../session.toml")).statusCode === 404, "no file but the page's");
check((await ask("/")).headers["content-security-policy"].includes("default-src 'none'"), "a strict policy");
check((await ask("/api/sound?source=before&frame=0&frames=99999999", { "x-cupel-token": url.hash.slice(1) })).statusCode === 422, "requests are limited");

// A second tab, and one closed while it plays, harm nothing.
const second = await page.context().newPage();
await second.goto(address);
await second.waitForFunction(() => document.body.dataset.ready === "true");
await second.click("#play");
await second.close();
check((await ask("/api/room", { "x-cupel-token": url.hash.slice(1) })).statusCode === 200, "it still answers");

const bad = complaints.filter((one) => !one.includes("409") && !one.includes("401"));
check(bad.length === 0, `the page does not complain: ${bad.join("; ")}`);
await browser.close();
console.log(`${count()} hold`);
