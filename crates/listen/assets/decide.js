// Yes or no to each move; hear a finding.

import { clock } from "/transport.js";

export function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value === true) element.setAttribute(key, "");
    else if (value !== false && value !== undefined && value !== null) element.setAttribute(key, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

const sentence = (words) => words && `${words[0].toUpperCase()}${words.slice(1)}${words.endsWith(".") ? "" : "."}`;

/** What a move does to the parts of the distance, in words. */
function effect(room, move) {
  const names = room.distance?.names ?? [];
  const parts = move.nearer_db
    .map((nearer, part) => ({ nearer, name: names[part] }))
    .filter(({ nearer }) => nearer !== null && Math.abs(nearer) >= 0.05)
    .map(({ nearer, name }) => `${name} ${Math.abs(nearer).toFixed(1)} dB ${nearer > 0 ? "nearer" : "further off"}`);
  return parts.length ? parts.join(", ") : "less than 0.1 dB in every part";
}

/** The list of moves in `home`; `send` takes decisions. */
export function showMoves(home, room, send) {
  const rows = room.moves.map((move) => {
    const label = `${move.target}: ${move.words}`;
    const gain =
      move.gain_db === null
        ? null
        : make("label", { class: "gain" }, "dB ", make("input", {
            type: "number",
            step: "0.5",
            min: "-96",
            max: "24",
            value: move.gain_db.toFixed(1),
            "aria-label": `gain of ${move.target}, dB`,
            "data-gain": move.id,
            onchange: (event) => send({ id: move.id, gain_db: Number(event.target.value) }),
          }));
    const tick = (key, words, checked) =>
      make("label", {}, make("input", {
        type: "checkbox",
        checked,
        "data-move": move.id,
        "data-key": key,
        "aria-label": `${words}: ${label}`,
        onchange: (event) => send({ id: move.id, [key]: event.target.checked }),
      }), ` ${words}`);
    return make("li", { class: move.on ? "" : "off", "data-id": move.id },
      make("p", { class: "do" }, make("strong", {}, move.target), `: ${move.words}`),
      make("p", { class: "quiet" }, sentence(move.why)),
      make("p", { class: "quiet" }, `${move.on ? "Does" : "Would do"}: ${effect(room, move)}.`),
      make("p", { class: "ticks" }, tick("on", "on", move.on), tick("locked", "keep as it is", move.locked),
        tick("done", "done in my workstation", move.done), gain));
  });
  replace(home, rows);
}

/** New rows, with the focus where it was. */
function replace(home, rows) {
  const active = document.activeElement;
  const same = active?.dataset?.move
    ? `[data-move="${CSS.escape(active.dataset.move)}"][data-key="${active.dataset.key}"]`
    : active?.dataset?.gain
      ? `[data-gain="${CSS.escape(active.dataset.gain)}"]`
      : null;
  const inside = same && home.contains(active);
  home.replaceChildren(...rows);
  if (inside) home.querySelector(same)?.focus();
}

/** The parts of the distance, before and now. */
export function showDistance(home, room) {
  const distance = room.distance;
  if (!distance) {
    home.textContent = "";
    return;
  }
  const parts = distance.names
    .map((name, part) => [name, distance.before_db[part], distance.now_db[part]])
    .filter(([, before, now]) => before !== null && now !== null)
    .map(([name, before, now]) => `${name} ${before.toFixed(1)} to ${now.toFixed(1)} dB`);
  home.textContent = `Distance from the reference, as the tracks came and with what is on: ${parts.join("; ")}.`;
}

/** The list of findings; `hear` is told which one, `leave` that it is over. */
export function showFindings(home, room, hear, leave) {
  const name = (id) => room.tracks.find((track) => track.id === id)?.name ?? id;
  const rows = room.findings
    .filter((finding) => finding.grade !== "good")
    .map((finding) => {
      const listen = finding.listen;
      const place = [
        listen.solo.length && listen.solo.length <= 4 ? `solo ${listen.solo.map(name).join(", ")}` : null,
        listen.span_s ? `at ${clock(listen.span_s[0])}` : null,
      ].filter((part) => part !== null);
      const moves = room.moves.filter((move) => finding.moves.includes(move.id));
      const press = (words, withMoves) =>
        make("button", {
          type: "button",
          "aria-pressed": "false",
          "aria-label": `${words}: ${finding.sentence}`,
          "data-finding": finding.name,
          "data-with": String(withMoves),
          onclick: (event) => {
            const pressed = event.target.getAttribute("aria-pressed") === "true";
            if (pressed) leave();
            else hear(finding, withMoves, event.target);
          },
        }, words);
      return make("li", {},
        make("p", { class: "do" }, make("strong", {}, finding.grade === "mend" ? "Mend" : "Look"), `: ${finding.sentence}`,
          finding.unsure ? " (unsure)" : ""),
        finding.mend ? make("p", { class: "quiet" }, finding.mend) : null,
        listen.words || place.length
          ? make("p", { class: "quiet" }, `To hear it: ${[place.join(" "), listen.words].filter(Boolean).join(": ")}`)
          : null,
        make("p", { class: "ticks" }, press("Hear it", false), moves.length ? press("with its moves", true) : null));
    });
  home.replaceChildren(...rows);
}
