// Talks with the server; the token comes with the address and stays in this tab.

const KEY = "cupel-token";

function takeToken() {
  const given = location.hash.slice(1);
  if (/^[0-9a-f]{32}$/.test(given)) {
    sessionStorage.setItem(KEY, given);
    history.replaceState(null, "", location.pathname);
  }
  return sessionStorage.getItem(KEY) ?? "";
}

const token = takeToken();

/** An answer that is no success, in the server's words. */
export class Refused extends Error {
  constructor(status, words) {
    super(words.trim() || `the server answered ${status}`);
    this.status = status;
  }
}

async function ask(path, options = {}) {
  const headers = { "x-cupel-token": token, ...options.headers };
  let response;
  try {
    response = await fetch(path, { ...options, headers, cache: "no-store" });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused(0, "Cupel no longer answers. Start cupel listen again and open its address.");
  }
  if (!response.ok && response.status !== 409) {
    throw new Refused(response.status, await response.text());
  }
  return response;
}

const send = (path, body) =>
  ask(path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
  });

export const readRoom = async () => (await ask("/api/room")).json();
export const readDrawings = async () => (await ask("/api/drawings")).text();
export const decide = async (decision) => (await send("/api/decide", decision)).json();
export const resolve = async (how) => (await send("/api/resolve", how)).json();
export const matchAt = async (span_s) => (await send("/api/match", { span_s })).json();
export const keepResult = async (result) => (await send("/api/blind", result)).json();

/** Frames of a source from a frame of the session on, left and right in turn. */
export async function readSound(source, frame, frames, solo, signal) {
  const query = new URLSearchParams({ source, frame, frames, solo: solo.join(",") });
  const response = await ask(`/api/sound?${query}`, { signal });
  return new Float32Array(await response.arrayBuffer());
}

/** A piece of all tracks' own sound. */
export const readPiece = async (index, signal) =>
  new Uint8Array(await (await ask(`/api/piece?index=${index}`, { signal })).arrayBuffer());

/** The strips of a version of the mix: `source`, `solo`, `decisions`. */
export const readStrips = async (wanted) =>
  new Float64Array(await (await send("/api/strips", wanted)).arrayBuffer());
