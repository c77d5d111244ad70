// Ways to listen, alike for every source.

/** A second-order filter of the bilinear transform (Butterworth, Q 0.7071). */
class Filter {
  constructor(high, cutoff, rate) {
    const w = (2 * Math.PI * Math.min(cutoff, 0.49 * rate)) / rate;
    const alpha = Math.sin(w) / Math.SQRT2;
    const cos = Math.cos(w);
    const a0 = 1 + alpha;
    const edge = (high ? 1 + cos : 1 - cos) / 2 / a0;
    this.b0 = edge;
    this.b1 = (high ? -2 : 2) * edge;
    this.b2 = edge;
    this.a1 = (-2 * cos) / a0;
    this.a2 = (1 - alpha) / a0;
    this.state = [0, 0, 0, 0];
  }
  run(x, side) {
    const s = this.state;
    const y = this.b0 * x + s[side];
    s[side] = this.b1 * x - this.a1 * y + s[side + 2];
    s[side + 2] = this.b2 * x - this.a2 * y;
    return y;
  }
}

/** One way to listen. */
export class Way {
  constructor(way, rate) {
    this.sides = way.sides ?? "stereo";
    this.filters = [];
    if (way.highest) {
      this.filters.push(new Filter(false, way.highest, rate), new Filter(false, way.highest, rate));
    }
    if (way.lowest) {
      this.filters.push(new Filter(true, way.lowest, rate), new Filter(true, way.lowest, rate));
    }
  }
  /** Two samples, in their place. */
  run(pair) {
    let [left, right] = pair;
    if (this.sides === "mono") left = right = 0.5 * (left + right);
    else if (this.sides === "difference") {
      left = 0.5 * (left - right);
      right = -left;
    }
    for (const filter of this.filters) {
      left = filter.run(left, 0);
      right = filter.run(right, 1);
    }
    pair[0] = left;
    pair[1] = right;
  }
}
