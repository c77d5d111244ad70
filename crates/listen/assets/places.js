// The position on the report's drawings, wherever time runs there.

import { barAt } from "/transport.js";

const SPACE = "http://www.w3.org/2000/svg";

/** The places of the drawings in `home`. */
export class Places {
  constructor(home, room) {
    this.room = room;
    this.places = [...home.querySelectorAll("g.place")].map((group) => {
      const number = (name) => Number(group.dataset[name]);
      const line = document.createElementNS(SPACE, "line");
      line.setAttribute("class", "now");
      line.setAttribute("y1", number("top"));
      line.setAttribute("y2", number("bottom"));
      group.append(line);
      return {
        of: group.dataset.of,
        span: [number("from"), number("to")],
        sides: [number("left"), number("right")],
        line,
      };
    });
  }

  /** Where each kind of place stands; the source that plays decides what is shown. */
  stand(of, seconds, source) {
    if (of === "reference") {
      return source?.id === "reference" ? seconds + source.own_s - source.session_s : null;
    }
    if (of === "mix" || this.room.bars_s.length < 2) return of === "mix" ? seconds : null;
    const [start, end] = barAt(this.room, seconds);
    return (seconds - start) / (end - start);
  }

  show(seconds, source) {
    for (const { of, span, sides, line } of this.places) {
      const at = this.stand(of, seconds, source);
      const there = at !== null && at >= span[0] && at <= span[1];
      line.setAttribute("visibility", there ? "visible" : "hidden");
      if (!there) continue;
      const x = sides[0] + ((at - span[0]) / (span[1] - span[0])) * (sides[1] - sides[0]);
      line.setAttribute("x1", x.toFixed(1));
      line.setAttribute("x2", x.toFixed(1));
    }
  }
}
