// Where it plays: the line of time with sections, loudness, loop and position.

const SPACE = "http://www.w3.org/2000/svg";
const WIDTH = 720;
const HEIGHT = 84;

export const clock = (seconds) => {
  const whole = Math.max(0, Math.floor(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
};

function draw(name, attributes, parent, words) {
  const element = document.createElementNS(SPACE, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (words !== undefined) element.textContent = words;
  parent.append(element);
  return element;
}

/** The line of time in `home`; `seek` is told seconds. */
export class Timeline {
  constructor(home, room, seek) {
    this.home = home;
    this.seconds = room.frames / room.sample_rate_hz;
    this.bars = room.bars_s;
    this.seek = seek;
    this.at = 0;
    const svg = draw("svg", { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, "aria-hidden": "true" }, home);
    this.loop = draw("rect", { class: "loop", y: 0, height: HEIGHT - 18, width: 0 }, svg);
    this.sections(svg, room);
    this.loudness(svg, room);
    this.line = draw("line", { class: "now", y1: 0, y2: HEIGHT - 18, x1: 0, x2: 0 }, svg);
    home.setAttribute("aria-valuemax", Math.round(this.seconds));
    home.addEventListener("click", (event) => {
      const box = home.getBoundingClientRect();
      this.seek(((event.clientX - box.left) / box.width) * this.seconds);
    });
    home.addEventListener("keydown", (event) => {
      const to = { Home: 0, End: this.seconds, PageUp: this.at - 10, PageDown: this.at + 10 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      this.seek(Math.min(this.seconds, Math.max(0, to)));
    });
  }

  x(seconds) {
    return (WIDTH * seconds) / this.seconds;
  }

  sections(svg, room) {
    for (const section of room.sections) {
      const x = this.x(section.start_s);
      draw("line", { class: "hair", x1: x, x2: x, y1: 0, y2: HEIGHT - 14 }, svg);
      const words = section.busiest ? `${section.name}*` : section.name;
      if (this.x(section.end_s) - x > 34) draw("text", { class: "quiet", x: x + 3, y: HEIGHT - 3 }, svg, words);
    }
  }

  loudness(svg, room) {
    const heard = room.loudness_lufs.filter((lufs) => lufs !== null);
    if (heard.length < 2) return;
    const top = Math.max(...heard);
    const y = (lufs) => 6 + (HEIGHT - 30) * Math.min(1, (top - lufs) / 30);
    // Each is that of the 3 s before it: it stands at their middle.
    const x = (second) => this.x(Math.max(0, second - 1.4)).toFixed(1);
    const points = room.loudness_lufs
      .map((lufs, second) => (lufs === null ? null : `${x(second)},${y(lufs).toFixed(1)}`))
      .filter((point) => point !== null);
    draw("polyline", { class: "mix-line", points: points.join(" ") }, svg);
  }

  show(seconds) {
    this.at = seconds;
    const x = this.x(seconds).toFixed(1);
    this.line.setAttribute("x1", x);
    this.line.setAttribute("x2", x);
    this.home.setAttribute("aria-valuenow", Math.round(seconds));
    this.home.setAttribute("aria-valuetext", clock(seconds));
  }

  mark(span) {
    this.loop.setAttribute("x", span ? this.x(span[0]) : 0);
    this.loop.setAttribute("width", span ? Math.max(1.5, this.x(span[1]) - this.x(span[0])) : 0);
  }
}

/** The bar around a time, in seconds; two seconds where there is no grid. */
export function barAt(room, seconds) {
  const bars = room.bars_s;
  const place = bars.findLastIndex((bar) => bar <= seconds + 1e-6);
  if (place < 0 || place + 1 >= bars.length) return [Math.max(0, seconds - 1), seconds + 1];
  return [bars[place], bars[place + 1]];
}

/** The section around a time. */
export function sectionAt(room, seconds) {
  const section = room.sections.find((one) => one.start_s <= seconds + 1e-6 && seconds < one.end_s);
  return section ? [section.start_s, section.end_s] : null;
}
