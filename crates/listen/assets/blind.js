// Listening without knowing which: preference with hidden repeats, and which is X.

import { make } from "/decide.js";
import { keepResult } from "/talk.js";

const ROUNDS = 8;
const TRIALS = 16;
// Smallest number right of 16 that guessing reaches in less than 1 of 20 (12: 0.038).

function shuffled(list) {
  const all = [...list];
  for (let place = all.length - 1; place > 0; place -= 1) {
    const other = crypto.getRandomValues(new Uint32Array(1))[0] % (place + 1);
    [all[place], all[other]] = [all[other], all[place]];
  }
  return all;
}

const coin = () => crypto.getRandomValues(new Uint8Array(1))[0] % 2;

/** Pairs to compare: each pair of sources, then half of them again the other way. */
export function pairsOf(sources, rounds) {
  const pairs = [];
  for (let one = 0; one < sources.length; one += 1) {
    for (let other = one + 1; other < sources.length; other += 1) pairs.push([one, other]);
  }
  const once = [];
  while (once.length < rounds / 2) once.push(...shuffled(pairs));
  const first = once.slice(0, Math.ceil(rounds / 2)).map((pair) => (coin() ? pair : [...pair].reverse()));
  // The repeats hide among the rest, turned over.
  const again = first.map((pair, place) => ({ pair: [...pair].reverse(), of: place }));
  const all = [...first.map((pair, place) => ({ pair, of: null, place })), ...again];
  const plain = shuffled(all.filter((round) => round.of === null));
  const repeats = shuffled(all.filter((round) => round.of !== null));
  return [...plain, ...repeats];
}

/** The part of the page in `home`; `sound` plays, `begun` and `over` tell the page. */
export class Blind {
  constructor(home, room, sound, begun, over) {
    Object.assign(this, { home, room, sound, begun, over });
    this.start();
  }

  know(room) {
    this.room = room;
    if (!this.running) this.start();
  }

  start() {
    this.running = false;
    const boxes = this.room.sources.map((source, place) =>
      make("label", {}, make("input", { type: "checkbox", value: source.id, checked: place < 2 }), ` ${source.name}`));
    const form = make("fieldset", { class: "choices" }, make("legend", {}, "Between these"), ...boxes);
    const chosen = () => [...form.querySelectorAll("input:checked")].map((box) => box.value);
    const say = make("p", { class: "quiet", role: "status" }, "");
    const go = (fewest, most, run) => () => {
      const sources = chosen();
      if (sources.length < fewest || sources.length > most) {
        say.textContent = most === 2 ? "Choose two of them." : "Choose at least two of them.";
        return;
      }
      this.running = true;
      this.begun();
      run(sources);
    };
    this.home.replaceChildren(form, make("p", { class: "ticks" },
      make("button", { type: "button", id: "prefer", onclick: go(2, 9, (s) => this.prefer(s)) }, "Which do I like better?"),
      make("button", { type: "button", id: "which", onclick: go(2, 2, (s) => this.which(s)) }, "Can I tell them apart?")),
      say, this.history());
  }

  history() {
    const results = this.room.kept.results.slice(-5).reverse();
    if (!results.length) return make("p", { class: "quiet" }, "No results yet.");
    return make("ul", { class: "results" }, ...results.map((result) => make("li", {}, this.words(result))));
  }

  name(id) {
    return this.room.sources.find((source) => source.id === id)?.name ?? id;
  }

  words(result) {
    const names = result.sources.map((id) => this.name(id));
    if (result.kind === "which-is-x") {
      const chance = result.by_chance;
      const words = chance < 0.05
        ? "you can tell them apart"
        : "not shown that you can tell them apart; that does not show that they are the same";
      return `${names.join(" or ")}: ${result.right} of ${result.trials} right, by guessing that comes with a chance of ${chance.toFixed(3)}; ${words}.`;
    }
    const votes = names.map((name, place) => `${name} ${result.votes[place]}`);
    return `Liked better: ${votes.join(", ")}; of the hidden repeats you answered ${result.right} of ${result.trials} alike.`;
  }

  ask(question, labels, choose, keys) {
    const play = labels.map(([label, id]) =>
      make("button", { type: "button", "data-hear": label, onclick: () => this.sound(id) }, `Hear ${label}`));
    const answers = keys.map(([words, value]) =>
      make("button", { type: "button", class: "answer", "data-answer": words, onclick: () => choose(value) }, words));
    this.home.replaceChildren(
      make("p", { role: "status" }, question),
      make("p", { class: "ticks" }, ...play),
      make("p", { class: "ticks" }, ...answers),
      make("p", { class: "ticks" }, make("button", { type: "button", onclick: () => this.leave() }, "Leave")));
    play[0].focus();
  }

  prefer(sources) {
    const rounds = pairsOf(sources, ROUNDS);
    const votes = sources.map(() => 0);
    const liked = new Map();
    let alike = 0;
    let repeats = 0;
    const next = () => {
      const round = rounds.shift();
      if (!round) {
        return this.keep({ kind: "preference", sources, votes, trials: repeats, right: alike });
      }
      const [one, other] = round.pair;
      const take = (choice) => {
        if (round.of === null) {
          votes[choice] += 1;
          liked.set(round.place, choice);
        } else {
          repeats += 1;
          if (liked.get(round.of) === choice) alike += 1;
        }
        next();
      };
      this.ask(`Which do you like better? ${rounds.length + 1} to go.`,
        [["one", sources[one]], ["two", sources[other]]], take, [["One", one], ["Two", other]]);
    };
    next();
  }

  which([one, two]) {
    let trials = 0;
    let right = 0;
    const next = () => {
      if (trials === TRIALS) {
        return this.keep({ kind: "which-is-x", sources: [one, two], trials, right });
      }
      const hidden = coin();
      const take = (choice) => {
        trials += 1;
        if (choice === hidden) right += 1;
        next();
      };
      this.ask(`Which of both is X? ${TRIALS - trials} to go.`,
        [["A", one], ["B", two], ["X", hidden ? two : one]], take, [["X is A", 0], ["X is B", 1]]);
    };
    next();
  }

  async keep(result) {
    try {
      const kept = await keepResult({ ...result, revision: this.room.revision });
      this.room.kept.results.push(kept);
    } catch (error) {
      this.home.replaceChildren(make("p", { role: "alert" }, error.message));
      this.over();
      this.running = false;
      return;
    }
    this.leave();
  }

  leave() {
    this.start();
    this.over();
  }
}
