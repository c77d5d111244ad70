"""Judges the fitted networks on sessions with truth and on labelled one-shots.

    judge.py BINARY SHARED_FOLDER FIGURES.npz [--show]

These files only judge: look seldom."""
import csv, os, sys
import numpy as np
import soundfile as sf
from fit import GROUPS, HITS, ROLES, softmax
from make_tracks import Figures
from read_sessions import read

# what counts as right for a word that Cupel's list does not have, or has twice
ALSO = {"hat": ["closed hat", "open hat"], "effects": ["effects", "texture"], "texture": ["effects", "texture"]}


class Table:
    """A table of src, as src/network.rs reads it."""

    def __init__(self, path, figures=135, hidden=48, nets=5, head=True):
        data = open(path, "rb").read()
        self.spread = np.frombuffer(data, "<f4", 1)[0] if head else 1
        data = data[4:] if head else data
        self.mean = np.frombuffer(data, "<f4", figures)
        self.inv = np.frombuffer(data, "<f4", figures, 4 * figures)
        at, self.nets = 8 * figures, []
        for _ in range(nets):
            net = []
            for shape in ((hidden, figures), (hidden,), (len(ROLES), hidden), (len(ROLES),)):
                step = np.frombuffer(data, "<f4", 1, at)[0]
                n = int(np.prod(shape))
                net.append(np.frombuffer(data, "<i2", n, at + 4).reshape(shape) * step)
                at += 4 + 2 * n
            self.nets.append(net)

    def probabilities(self, x):
        z = np.clip((x - self.mean) * self.inv, -4, 4)
        total = sum(np.maximum(z @ a.T + b, 0) @ c.T + d for a, b, c, d in self.nets)
        total[x[:, HITS] <= 2] /= self.spread
        return softmax(total)


def show(title, rows):
    role = [any(b in ALSO.get(t, [t]) for b in [best]) for t, best, *_ in rows]
    group = [g == GROUPS[ROLES.index(ALSO.get(t, [t])[0])] for t, _, _, g, _ in rows]
    sure = np.array([p >= .9 for *_, p, _, _ in rows])
    role, group = np.array(role), np.array(group)
    print(f"{title}: {len(rows)} role {role.mean():.3f} group {group.mean():.3f} sure {sure.mean():.2f} right of sure {role[sure].mean() if sure.any() else 0:.3f}")


def main():
    figures = Figures(sys.argv[1])
    shared = sys.argv[2]
    cache = sys.argv[3]
    if not os.path.exists(cache):
        x, roles, names = [], [], []
        for s in sorted(os.listdir(shared)):
            if os.path.exists(f"{shared}/{s}/truth.json"):
                for name, role, row in read(f"{shared}/{s}", figures):
                    x.append(row); roles.append(role); names.append(f"{s} {name}")
        for line in csv.DictReader(open(shared + "/oneshots/labels.csv")):
            data, rate = sf.read(f"{shared}/oneshots/{line['file']}", always_2d=True, dtype="float32")
            x.append(figures.of(data, rate)); roles.append(line["role"]); names.append("oneshot " + line["file"])
        x = [row if len(row) else np.full(135, 1e9) for row in x]  # silence
        np.savez(cache, x=np.array(x), role=np.array(roles), name=np.array(names))
    if "--read-only" in sys.argv:
        return
    d = np.load(cache)
    src = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../src")
    p = Table(src + "/network.bin").probabilities(d["x"])
    # here every single sound lies in the folder of one-shots
    few = (d["x"][:, HITS] <= 2) & np.char.startswith(d["name"], "oneshot")
    p[few] = Table(src + "/singles.bin", hidden=64, head=False).probabilities(d["x"][few])
    groups = np.stack([p[:, [i for i, k in enumerate(GROUPS) if k == j]].sum(1) for j in range(5)], 1)
    rows = [(t, ROLES[q.argmax()], q.max(), g.argmax(), n) for t, q, g, n in zip(d["role"], p, groups, d["name"])]
    show("session tracks", [r for r in rows if not r[4].startswith("oneshot")])
    show("one-shots", [r for r in rows if r[4].startswith("oneshot")])
    if "--show" in sys.argv:
        for t, best, q, g, n in rows:
            mark = " " if best in ALSO.get(t, [t]) else "x"
            print(mark, f"{t:11s} {best:11s} {q:.2f} {n}")


if __name__ == "__main__":
    main()
