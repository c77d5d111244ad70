"""Fits the network of single sounds and writes `src/singles.bin`.

    fit_singles.py [--judge OTHER.npz ...] [--write] [--show] CORPUS.npz ...

Corpora come from make_singles.py, make_tracks.py and read_sessions.py (seeds below
1000); what has more than two hits is left out. The network is judged, and its
sureness set, on libraries that were left out as a whole: of recorded sounds called
sure, each library weighing as the root of its number, 0.96 must be right."""
import argparse, os, struct
import numpy as np
from fit import GROUPS, HITS, ROLES, confusion, right, softmax, temperature
from make_singles import library
from make_tracks import SINGLES

HIDDEN, NETS, LIMIT, EPOCHS, FOLDS = 64, 5, 4.0, 40, 4
MADE = {"synth", "sum", "demo", "sung", "world", "speech"}  # no library


def load(paths):
    parts = []
    for path in paths:
        d = np.load(path)
        known = np.array([r in ROLES for r in d["role"]]) & (d["x"][:, HITS] <= 2)
        parts.append((d["x"][known].astype(np.float32), np.array([ROLES.index(r) for r in d["role"][known]]),
                      np.array([library(s) for s in d["source"][known]])))
    return [np.concatenate(columns) for columns in zip(*parts)]


def weights(y, source):
    """Roles as often as in folders of samples, libraries by the root of their number."""
    w = np.zeros(len(y))
    for i in set(y):
        mine = y == i
        for name in set(source[mine]):
            k = mine & (source == name)
            w[k] = 1 / np.sqrt(k.sum())
        w[mine] *= SINGLES.get(ROLES[i], .5) / w[mine].sum()
    return w / w.mean()


class Net:
    def __init__(self, x, y, w, nets):
        self.mean = np.median(x, 0)
        low, high = np.percentile(x, [5, 95], axis=0)
        self.inv = 1 / np.maximum(np.maximum((high - low) / 3.3, x.std(0) * .3), 1e-3)
        z, target = self.scale(x), np.eye(len(ROLES), dtype=np.float32)[y]
        self.nets = [train(z, target, w, seed) for seed in range(nets)]

    def scale(self, x):
        return np.clip((x - self.mean) * self.inv, -LIMIT, LIMIT).astype(np.float32)

    def logits(self, x):
        z = self.scale(x)
        return (sum(np.maximum(z @ a + b, 0) @ c + d for a, b, c, d in self.nets) / len(self.nets)).astype(float)


def train(x, target, w, seed, noise=.3, drop=.3, hole=.08, mix=.3, shrink=.01, rate=2e-3, batch=256):
    """Adam on blurred sounds with figures and units missing, and on sums of two
    (Zhang et al., "mixup: Beyond Empirical Risk Minimization", ICLR 2018)."""
    r = np.random.default_rng(seed)
    wide, roles = x.shape[1], target.shape[1]
    normal = lambda a, b: (r.normal(0, 1, (a, b)) * np.sqrt(2 / a)).astype(np.float32)
    layers = [normal(wide, HIDDEN), np.zeros(HIDDEN, np.float32), normal(HIDDEN, roles), np.zeros(roles, np.float32)]
    first, second = [np.zeros_like(p) for p in layers], [np.zeros_like(p) for p in layers]
    chance = np.cumsum(w / w.sum())
    steps = EPOCHS * len(x) // batch
    for t in range(1, steps + 1):
        i = np.minimum(np.searchsorted(chance, r.random(batch)), len(x) - 1)
        j, part = r.permutation(batch), r.beta(mix, mix, (batch, 1)).astype(np.float32)
        z, y = part * x[i] + (1 - part) * x[i][j], part * target[i] + (1 - part) * target[i][j]
        z = z + noise * r.standard_normal(z.shape, dtype=np.float32)
        z[r.random(z.shape, dtype=np.float32) < hole] = 0
        a, b, c, d = layers
        before = z @ a + b
        kept = (r.random(before.shape, dtype=np.float32) >= drop) / np.float32(1 - drop)
        hidden = np.maximum(before, 0) * kept
        back = (softmax(hidden @ c + d) - y) / batch
        deeper = (back @ c.T) * kept * (before > 0)
        now = rate * .5 * (1 + np.cos(np.pi * t / steps))
        slopes = (z.T @ deeper, deeper.sum(0), hidden.T @ back, back.sum(0))
        for k, (p, slope) in enumerate(zip(layers, slopes)):
            first[k] = .9 * first[k] + .1 * slope
            second[k] = .999 * second[k] + .001 * slope ** 2
            p -= np.float32(now) * (first[k] / (1 - .9 ** t) / (np.sqrt(second[k] / (1 - .999 ** t)) + 1e-8) + (shrink * p if k in (0, 2) else 0))
    return layers


def report(title, p, y, w):
    ok, top = right(p, y), p.max(1)
    g = np.stack([p[:, [i for i, k in enumerate(GROUPS) if k == j]].sum(1) for j in range(5)], 1)
    gok = g.argmax(1) == np.array(GROUPS)[y]
    mean = lambda v, k: np.average(v[k], weights=w[k]) if k.any() else 0
    every, sure, gsure = np.ones(len(y), bool), top >= .9, g.max(1) >= .9
    print(f"{title}: n {len(y)} role {mean(ok, every):.3f} group {mean(gok, every):.3f}; sure {mean(sure, every):.2f} of them right {mean(ok, sure):.3f}; "
          f"group sure {mean(gsure, every):.2f} right {mean(gok, gsure):.3f}", flush=True)


def write(net, t, path):
    out = bytearray()
    for values in (net.mean, net.inv):
        out += np.asarray(values, "<f4").tobytes()
    part = 1 / (t * len(net.nets))
    for a, b, c, d in net.nets:
        for matrix in (a.T, b, c.T * part, d * part):
            scale = max(np.abs(matrix).max(), 1e-9) / 32767
            out += struct.pack("<f", scale)
            out += np.round(matrix / scale).astype("<i2").tobytes()
    open(path, "wb").write(out)
    print("wrote", path, len(out), "bytes")


def main():
    a = argparse.ArgumentParser()
    a.add_argument("--judge", nargs="*", default=[])
    a.add_argument("--write", action="store_true")
    a.add_argument("--show", action="store_true")
    a.add_argument("corpora", nargs="+")
    a = a.parse_args()
    x, y, source = load(a.corpora)
    w = weights(y, source)
    names = np.random.default_rng(0).permutation(sorted(set(source) - MADE))
    fold = np.array([int(np.nonzero(names == s)[0][0]) % FOLDS if s not in MADE else -1 for s in source])
    left_out = fold >= 0
    out = np.zeros((len(y), len(ROLES)))
    for f in range(FOLDS):
        keep = fold != f
        out[~keep] = Net(x[keep], y[keep], w[keep], 2).logits(x[~keep])
    ly, lw = y[left_out], weights(y[left_out], source[left_out])
    t = temperature(out[left_out], ly)
    while t < 5:
        p = softmax(out[left_out] / t)
        sure = p.max(1) >= .9
        if not sure.any() or np.average(right(p, ly)[sure], weights=lw[sure]) >= .96:
            break
        t *= 1.03
    print(x.shape, "temperature", round(t, 3))
    p = softmax(out[left_out] / t)
    report("libraries left out", p, ly, lw)
    for name in names:
        k = source[left_out] == name
        report(f"  {name}", p[k], ly[k], np.ones(k.sum()))
    if a.show:
        confusion(p, ly)
    net = Net(x, y, w, NETS)
    for path in a.judge:
        jx, jy, _ = load([path])
        report(os.path.basename(path), softmax(net.logits(jx) / t), jy, np.ones(len(jy)))
    if a.write:
        write(net, t, os.path.join(os.path.dirname(os.path.abspath(__file__)), "../src/singles.bin"))


if __name__ == "__main__":
    main()
