"""Fits the network of `src/network.rs` and writes `src/network.bin`.

    fit.py [--judge OTHER.npz ...] [--write] CORPUS.npz ...

Corpora come from make_tracks.py and read_sessions.py (seeds below 1000). What is
printed first is judged on sources (kits, fonts, synthesis) that were left out."""
import argparse, os, struct
import numpy as np
from sklearn.neural_network import MLPClassifier

ROLES = ["kick", "snare", "clap", "rim", "closed hat", "open hat", "shaker", "cymbal", "tom", "percussion", "drum loop", "sub", "bass",
         "chords", "pad", "strings", "piano", "guitar", "lead", "pluck", "brass", "voice", "effects", "texture", "mix"]
GROUPS = [0] * 11 + [1] * 2 + [2] * 8 + [3] + [4] * 2 + [2]
HIDDEN, NETS, LIMIT = 48, 5, 4.0
SINGLE = 1.5  # how much a single sound weighs
HITS = 125  # the figure that counts hits
PAIR = {"effects": "texture", "texture": "effects"}  # the data's word means both


def load(paths):
    parts = [np.load(p) for p in paths]
    get = lambda k: np.concatenate([p[k] for p in parts])
    return get("x").astype(float), get("role"), get("source"), get("single")


class Net:
    def fit(self, x, y, seed0=0, nets=NETS, weights=None):
        self.mean = np.median(x, 0)
        low, high = np.percentile(x, [5, 95], axis=0)
        self.inv = 1 / np.maximum(np.maximum((high - low) / 3.3, x.std(0) * .3), 1e-3)
        z = self.scale(x)
        self.nets = []
        for seed in range(seed0, seed0 + nets):
            r = np.random.default_rng(seed)
            many, labels = [z], [y]
            for _ in range(3):  # the same sounds, blurred and with figures missing
                n = z + r.normal(0, .3, z.shape) * (r.random(z.shape) < .7)
                n[r.random(z.shape) < .08] = 0
                many.append(n)
                labels.append(y)
            net = MLPClassifier((HIDDEN,), alpha=3e-3, batch_size=128, learning_rate_init=2e-3, max_iter=22, random_state=seed)
            import warnings
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                net.fit(np.concatenate(many), np.concatenate(labels), sample_weight=None if weights is None else np.tile(weights, len(many)))
            assert list(net.classes_) == list(range(len(ROLES)))
            self.nets.append(net)
        return self

    def scale(self, x):
        return np.clip((x - self.mean) * self.inv, -LIMIT, LIMIT)

    def logits(self, x):
        z = self.scale(x)
        total = 0
        for net in self.nets:
            h = np.maximum(z @ net.coefs_[0] + net.intercepts_[0], 0)
            total = total + h @ net.coefs_[1] + net.intercepts_[1]
        return total / len(self.nets)


def softmax(l):
    e = np.exp(l - l.max(1, keepdims=True))
    return e / e.sum(1, keepdims=True)


def right(p, y):
    best = p.argmax(1)
    return np.array([b == t or PAIR.get(ROLES[t]) == ROLES[b] for b, t in zip(best, y)])


def report(title, logits, y, t):
    p = softmax(logits / t)
    g = np.stack([p[:, [i for i, k in enumerate(GROUPS) if k == j]].sum(1) for j in range(5)], 1)
    ok = right(p, y)
    gok = g.argmax(1) == np.array(GROUPS)[y]
    sure, gsure = p.max(1) >= .9, g.max(1) >= .9
    print(f"{title}: n {len(y)} role {ok.mean():.3f} group {gok.mean():.3f}; sure {sure.mean():.2f} of them right {ok[sure].mean() if sure.any() else 0:.3f}; "
          f"group sure {gsure.mean():.2f} right {gok[gsure].mean() if gsure.any() else 0:.3f}")
    return p, ok


def temperature(logits, y):
    grid = np.exp(np.linspace(np.log(.5), np.log(5), 60))
    loss = [-np.log(softmax(logits / t)[np.arange(len(y)), y] + 1e-9).mean() for t in grid]
    return grid[int(np.argmin(loss))]


def confusion(p, y):
    for i, role in enumerate(ROLES):
        mine = y == i
        if mine.any():
            best = np.bincount(p[mine].argmax(1), minlength=len(ROLES))
            order = np.argsort(-best)[:6]
            print(f"  {role:11s} {mine.sum():4d}  " + ", ".join(f"{ROLES[k]} {best[k] / mine.sum():.2f}" for k in order if best[k]))


def write(net, t, spread, path):
    out = bytearray(struct.pack("<f", spread))
    for values in (net.mean, net.inv):
        out += np.asarray(values, "<f4").tobytes()
    for one in net.nets:
        # the mean of the nets, and the temperature, go into the last layer
        part = 1 / (t * len(net.nets))
        for matrix in (one.coefs_[0].T, one.intercepts_[0], one.coefs_[1].T * part, one.intercepts_[1] * part):
            scale = np.abs(matrix).max() / 32767
            out += struct.pack("<f", scale)
            out += np.round(matrix / scale).astype("<i2").tobytes()
    open(path, "wb").write(out)
    print("wrote", path, len(out), "bytes;", len(net.mean), "figures,", HIDDEN, "hidden,", len(net.nets), "nets")


def main():
    a = argparse.ArgumentParser()
    a.add_argument("--judge", nargs="*", default=[])
    a.add_argument("--write", action="store_true")
    a.add_argument("--folds", type=int, default=4)
    a.add_argument("--show", action="store_true")
    a.add_argument("corpora", nargs="+")
    a = a.parse_args()
    x, role, source, single = load(a.corpora)
    y = np.array([ROLES.index(r) for r in role])
    # sources in folds; the big ones that synthesise are split at random
    r = np.random.default_rng(0)
    names = sorted(set(source))
    big = {"synth", "sum", "demo"}
    place = {n: i % a.folds for i, n in enumerate(r.permutation([n for n in names if n not in big]))}
    fold = np.array([place[s] if s in place else r.integers(a.folds) for s in source])
    weights = np.where(x[:, HITS] <= 2, SINGLE, 1)
    out = np.zeros((len(y), len(ROLES)))
    for f in range(a.folds):
        keep = fold != f
        if len(set(y[keep])) == len(ROLES):
            out[~keep] = Net().fit(x[keep], y[keep], nets=2, weights=weights[keep]).logits(x[~keep])
    known = np.array([s not in big for s in source])
    few = x[:, HITS] <= 2
    t = temperature(out[known & ~few], y[known & ~few])
    spread = temperature(out[known & few], y[known & few]) / t
    while spread < 2:  # of single sounds called sure, of sources left out, 0.96 must be right
        p = softmax(out[known & few] / t / spread)
        sure = p.max(1) >= .9
        if not sure.any() or right(p, y[known & few])[sure].mean() >= .96:
            break
        spread *= 1.05
    print("single sounds are told less surely by", round(spread, 2))
    out[few] /= spread
    print("figures", x.shape, "temperature on sources left out", round(t, 3), "on the rest", round(temperature(out[~known], y[~known]), 3))
    p, ok = report("sources left out", out[known], y[known], t)
    if a.show:
        confusion(p, y[known])
    report("rest", out[~known], y[~known], t)
    report("single sounds, sources left out", out[single & known], y[single & known], t)
    report("single sounds", out[single], y[single], t)
    net = Net().fit(x, y, weights=weights)
    for path in a.judge:
        jx, jr, _, _ = load([path])
        keep = np.array([j in ROLES for j in jr])
        logits = net.logits(jx[keep])
        logits[jx[keep][:, HITS] <= 2] /= spread
        jy = np.array([ROLES.index(j) for j in jr[keep]])
        p, _ = report(os.path.basename(path), logits, jy, t)
        if a.show:
            confusion(p, jy)
    if a.write:
        write(net, t, spread, os.path.join(os.path.dirname(os.path.abspath(__file__)), "../src/network.bin"))


if __name__ == "__main__":
    main()
